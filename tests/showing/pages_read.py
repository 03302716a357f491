"""A page as elements, read by the HTML parser of Python."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from html.parser import HTMLParser

from voicecoach.events import Event
from voicecoach.showing.debrief_html import page

Make = Callable[[], list[Event]]

VOID = {"meta", "link", "br", "hr", "img", "input", "path", "rect", "circle"}
"""Elements without an end: those of HTML, and those of the drawings, which are written closed."""


@dataclass
class Element:
    tag: str
    attributes: dict[str, str | None]
    inside: list[Element | str] = field(default_factory=list)

    def find(self, tag: str) -> list[Element]:
        """All elements of that kind in it, in order."""
        found = [self] if self.tag == tag else []
        return found + [one for part in self.inside if isinstance(part, Element) for one in part.find(tag)]

    @property
    def text(self) -> str:
        """What can be read in it."""
        parts = (part if isinstance(part, str) else part.text for part in self.inside)
        return " ".join("".join(parts).split())

    def all(self) -> list[Element]:
        """It and everything in it."""
        return [self] + [one for part in self.inside if isinstance(part, Element) for one in part.all()]


class Reader(HTMLParser):
    """Reads a page into elements; fails where an end has no beginning or the other way round."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.root = Element("", {})
        self._open = [self.root]
        self.feed(text)
        self.close()
        assert self._open == [self.root], "an element is not closed"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, dict(attrs))
        self._open[-1].inside.append(element)
        if tag not in VOID:
            self._open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._open[-1].inside.append(Element(tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID:
            assert self._open.pop().tag == tag

    def handle_data(self, data: str) -> None:
        self._open[-1].inside.append(data)


@cache
def read(make: Make) -> Element:
    return Reader(page(make())).root


def section(root: Element, id: str) -> Element:
    return next(one for one in root.find("section") if one.attributes["aria-labelledby"] == id)

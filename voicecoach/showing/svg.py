"""Drawings in a page: SVG that fits into HTML, everything in it escaped."""

from __future__ import annotations

from xml.etree import ElementTree

from markupsafe import Markup

from voicecoach.showing.marks import harmless

Element = ElementTree.Element


def drawing(name: str, title: str, description: str, **attributes: str) -> Element:
    """An empty drawing that a screen reader reads as one picture, by its title and description.

    `name` is unique on the page.
    """
    svg = Element("svg", attributes | {"role": "img", "aria-labelledby": f"{name}-title {name}-desc"})
    for tag, text in (("title", title), ("desc", description)):
        ElementTree.SubElement(svg, tag, {"id": f"{name}-{tag}"}).text = harmless(text)
    return svg


def hidden(**attributes: str) -> Element:
    """An empty drawing that a screen reader passes over, since words beside it tell the same."""
    return Element("svg", attributes | {"aria-hidden": "true"})


def add(parent: Element, tag: str, kind: str, text: str = "", **attributes: float | str) -> Element:
    """Add something to a drawing; `kind` is its class, by which the page styles it; `_` stands for `-`."""
    plain = {key.replace("_", "-"): _number(value) for key, value in attributes.items()}
    element = ElementTree.SubElement(parent, tag, {"class": kind} | plain)
    if text:
        element.text = harmless(text)
    return element


def markup(svg: Element) -> Markup:
    """The drawing as part of a page."""
    return Markup(ElementTree.tostring(svg, encoding="unicode"))


def _number(value: float | str) -> str:
    return value if isinstance(value, str) else f"{value:.2f}".rstrip("0").rstrip(".")

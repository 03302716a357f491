"""The words of the coach while a student chooses what to do."""

from __future__ import annotations

from collections.abc import Sequence

MODES = {"practise": "Practise", "rehearse": "Rehearse", "selftest": "Self-test"}
"""The modes, in the order in which they are offered, as they are spoken."""
ORDINALS = ("first", "second", "third", "fourth")
"""How the things in an offer are told apart."""

ANY_MODE = "Practise, rehearse or self-test?"
INSTEAD = "What instead? Say a mode, or the name of a procedure."
AGAIN = "Say, coach, again, or coach, next, or coach, goodbye."
GOODBYE = "Goodbye."
BEGINNING = "One moment."


def fixed(name: str) -> tuple[str, ...]:
    """Texts that can be known beforehand, to be rendered then; `name` is that of the example."""
    return (invitation(name), BEGINNING, AGAIN, unclear(name), INSTEAD, GOODBYE)


def invitation(name: str) -> str:
    """What a student can say to begin; `name` is a procedure's."""
    return f"Say, for example: {_example(name)}."


def unclear(name: str) -> str:
    """Something was said to the coach that it cannot tell."""
    return f"I did not get that. Say, for example, {_example(name)}."


def chosen(mode: str, title: str) -> str:
    """Both are known, and the student must only agree."""
    return f"{MODES[mode]}: {_within(title)}. Say start when you are ready."


def which_mode(title: str) -> str:
    """The procedure is known, but not the mode."""
    return f"{title}. {ANY_MODE}"


def which_procedure(mode: str | None) -> str:
    """The procedure is not known; the mode may be."""
    begun = f"{MODES[mode]} which procedure?" if mode else "Which procedure?"
    return f"{begun} Say its name, or say, coach, what can I do."


def which_one(titles: Sequence[str]) -> str:
    """Not all of these are meant, only one."""
    return f"Which one: {', or '.join(_numbered(titles))}?"


def listed(titles: Sequence[str], more: bool) -> str:
    """Some procedures of the list, and whether there are more."""
    lines = [f"{line[0].upper()}{line[1:]}." for line in _numbered(titles)]
    return " ".join([*lines, "Say more, or choose one." if more else "That is all. Choose one."])


def _example(name: str) -> str:
    return f"coach, rehearse {name}"


def _numbered(titles: Sequence[str]) -> list[str]:
    return [f"{ordinal}, {_within(title)}" for ordinal, title in zip(ORDINALS, titles, strict=False)]


def _within(title: str) -> str:
    """A title inside a sentence; one that begins with an abbreviation stays as it is."""
    return title if title[1:2].isupper() else title[0].lower() + title[1:]

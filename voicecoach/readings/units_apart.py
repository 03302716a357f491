"""A unit that is said apart from its number: `in milliliters that's three fifty`, `it's on celsius`."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from voicecoach.following.numbers import single
from voicecoach.following.unit_words import RATES, unit_at
from voicecoach.readings.mentions import Mention, text
from voicecoach.readings.units import needed, same_kind

_VESSELS = ("cup", "tsp", "tbsp")
_TOLD = frozenset("in to on for is are was it's that's this those".split())
"""Words right before a unit that tell in what a number is given."""
_OTHER = frozenset(
    "not or than no some few couple several extra more into a an per each every the of how many my".split()
)
"""Words right before a unit that is not that of the number."""
_JOINING = re.compile(r"(?:(?:is|are|was|it's|of|that's|that|a|the|says|reads) )*")
_NOT_UNIT = re.compile(r"\bnot \w+ ")
_SLIPPED = frozenset(
    "it's that's that is i mean in the make it those they're these are no wait sorry was were be should set"
    " to on"
    " of course scale scale's one one's this reads says read oh goodness gosh grief good my boy dear"
    " actually way".split()
)
"""Words that may stand between a slip and the unit that puts it right."""
_ASKED = frozenset("do does want wants need or if whether should lost gained up down to some".split())
"""Words after which a unit that ends a text puts nothing right: `wait do you want pounds`."""
_CONVERTING = re.compile(r"\b(?:convert\w*|chang\w*|turn\w*|between|from|how many)\b")


def unit_apart(mention: Mention, unit: str) -> str:
    """The unit of a number that has none beside it; of the kind of `unit`, empty where none is told."""
    if mention.lead and unit_at(mention.lead.split()[-1:])[0] and (told := _before(mention, unit)):
        return told
    return _after(mention, unit) or _before(mention, unit)


def unit_put_right(words: Sequence[str], cues: Sequence[int], unit: str, own: str) -> str:
    """The unit that corrects the one of a value; empty where none does.

    `words`: those after the value, said in `unit`; `own` is that of the reading. `cues`: where words begin
    that follow a correction: `pounds no the scale's in kilos`. A unit of its kind right after the value's
    own is one, too.
    """
    numbers = single(words)
    until = numbers[0].start if numbers else len(words)
    corrected = ""
    length, named = unit_at(words[:until])
    if length and unit and named != unit and _alike(named, unit) and len(words[0]) > 1:
        corrected = named
    for cue in cues:
        for index, length, named in _named(words[cue:until]):
            before = _NOT_UNIT.sub("", text(words[cue : cue + index])).split()
            ends = cue + index + length == len(words) and not _ASKED.intersection(before)
            alike = not unit or _alike(named, unit) or _alike(named, own)
            if alike and (ends or _SLIPPED.issuperset(before)) and not _OTHER.intersection(before[-1:]):
                corrected = named
    return corrected


def _alike(one: str, other: str) -> bool:
    """Whether one unit may be said for the other by a slip; beats and breaths may."""
    return same_kind(one, other) or {one, other} == RATES


def _before(mention: Mention, unit: str) -> str:
    words = mention.lead.split()
    told = ""
    for index, length, named in _named(words):
        last = _JOINING.fullmatch("".join(f"{word} " for word in words[index + length :]))
        before = words[index - 1] if index else ""
        if (
            needed(named)
            and same_kind(named, unit)
            and before not in _OTHER
            and (last or before in ("in", "to", "on"))
        ):
            told = named
    return "" if _CONVERTING.search(mention.lead) and "to" not in words else told


def _after(mention: Mention, unit: str) -> str:
    words = mention.trail.split()
    for index, length, named in _named(words):
        ends = mention.later is None and index + length == len(words)
        before = words[index - 1] if index else ""
        if needed(named) and same_kind(named, unit) and before not in _OTHER and (ends or before in _TOLD):
            return named
    return ""


def _named(words: Sequence[str]) -> Iterator[tuple[int, int, str]]:
    """Where units are named among words, how many words each takes, and the unit."""
    index = 0
    while index < len(words):
        length, unit = unit_at(words[index:])
        if length and unit not in _VESSELS and (len(words[index]) > 1 or length > 1):
            yield index, length, unit
        index += max(length, 1)

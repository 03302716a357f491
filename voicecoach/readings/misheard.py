"""Words that recognizers write for the words of a number: `one forty for over eighty`, `seventy two beets`.

Each is put right only where its neighbours leave no other meaning: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence

from voicecoach.following.normal import NUMBER_WORDS
from voicecoach.following.unit_words import unit_at

_ONES = {"to": "two", "too": "two", "for": "four", "fore": "four", "ate": "eight", "won": "one"}
_TENS = frozenset("twenty thirty forty fifty sixty seventy eighty ninety oh".split())
_POINTS = frozenset(("pointed", "points", "pointing"))
_UNITS = {"beets": "beats", "beads": "beats", "breadths": "breaths", "mel": "ml", "emil": "ml"}
_LOST = frozenset(("i'm", "i'll", "a"))
"""What is made of a hesitation."""


def as_spoken(words: Sequence[str]) -> list[str]:
    """The words with those put right that were heard for words of a number."""
    out: list[str] = []
    for index, word in enumerate(words):
        after = words[index + 1 : index + 3]
        if word == "owe" and _numeral(out[-1:]) and _numeral(after):
            word = "oh"
        elif word in _ONES and _is_ones(out, words[index + 1 :]):
            word = _ONES[word]
        elif word in _POINTS and _numeral(out[-1:]) and _numeral(after):
            word = "point"
        elif word in _UNITS and _numeral(out[-1:]):
            word = _UNITS[word]
        elif word in _LOST and _after_a_point(out) and _numeral(after):
            continue
        out.append(word)
    return out


def _is_ones(before: Sequence[str], after: Sequence[str]) -> bool:
    """Whether a digit is due between these words: after tens or a point, before what ends a number."""
    if _after_a_point(before):
        return not _numeral(after)
    if not before or before[-1] not in _TENS or (before[-1] == "oh" and not _numeral(before[-2:-1])):
        return False
    ends = ("over", "slash", "point", "beets", "breadths")
    return not after or after[0] in ends or bool(unit_at(after)[0])


def _after_a_point(words: Sequence[str]) -> bool:
    return bool(words) and words[-1] == "point" and _numeral(words[-2:-1])


def _numeral(words: Sequence[str]) -> bool:
    """Whether the first of these words is one of which numbers are made."""
    return bool(words) and (words[0] in NUMBER_WORDS or words[0].isdigit())

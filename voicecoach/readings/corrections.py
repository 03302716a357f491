"""Corrections: `ninety no make that ninety two`, and values that are taken back: `scratch that`."""

from __future__ import annotations

import re
from collections.abc import Sequence

_CLEAR = re.compile(
    r"\b(?:i mean|i meant|(?:meant|wanted) to say|make (?:that|it)|scratch that|strike that|correction"
    r"|correct that"
    r"|let me correct|sorry|pardon me|oops|whoops|rather|change (?:that|it) to|my mistake|my bad|that's wrong"
    r"|that is wrong|not right|no wait|wait no|oh (?:i|no|wait|shoot|sorry)|i misread|i misspoke"
    r"|or was it|or is it|more like|closer to|should (?:say|read|have been)|fix that|or no|cross (?:that"
    r"|it) out|erase (?:that|it)|disregard|i take that back"
    r"|by (?:mistake|accident)|(?:counted|checked|looked|took it|did it|measured|read it) again|recounted"
    r"|(?:read|took|had|used) the wrong \w+"
    r"|rechecked"
    r"|(?:then|but) i (?:saw|see|noticed|realized|remembered|forgot)"
    r"|excuse me|let me (?:change|fix) (?:that|it)|strike it|check that)\b"
)
_SLIGHT = re.compile(r"\b(?:no|nope|nah|nuh uh|uh uh|wait|actually|hang on|hold on)\b")
_OH = re.compile(r"\boh(?: (?:good grief|goodness|gosh|my|boy|dear|shoot|man))*\b")
_NEAR = 7
"""Words within which a slight cue such as `no` corrects a number; `no kinks in the tubing` corrects none."""
_TAKEN_BACK = re.compile(
    r"\b(?:scratch that|strike that|(?<!before i )(?<!don't )forget (?:that|it)|cancel that|never mind"
    r"|disregard that|lost count"
    r"|start over|(?:start|begin|go) again|redo|recount|(?:that's|that is|that was) (?:wrong|not right)"
    r"|(?:count|check|look|read|measure|do|try|take|weigh|go|start|add)"
    r"(?: (?:it|that|them|him|her|this))?(?: up)? (?:again|over)"
    r"(?! (?:at|in|later|tomorrow|tonight|next|after|every)\b)"
    r"|let me (?:count|measure|weigh|pour)|but (?:let me|i'll|i need to|i want to|i should|i have to"
    r"|i'd better) (?:\w+ )?"
    r"(?:\w*check|pour|measure|count|be sure|make sure|see|look|weigh|verify|get down))\b"
)


def corrected_at(words: Sequence[str], starts: Sequence[int]) -> int:
    """Index of the words that correct a number, of which some begin at `starts`; 0 where none do.

    What was said before that counts no longer.
    """
    text = " ".join(words)
    cues = [(_place(text, cue.end()), True) for cue in _CLEAR.finditer(text)]
    slight = (cue for cues in (_SLIGHT, _TAKEN_BACK) for cue in cues.finditer(text))
    cues += [(_place(text, cue.end()), False) for cue in slight]
    corrected = 0
    for place, clear in sorted(cues):
        follows = [start for start in starts if start >= place]
        if follows and (clear or follows[0] - place < _NEAR):
            corrected = place
    return corrected


def taken_back(words: Sequence[str], end: int) -> bool:
    """Whether the value that ends at `end` is taken back after it and no other is said."""
    return bool(_TAKEN_BACK.search(" ".join(words[end:])))


def cues_after(words: Sequence[str], end: int) -> list[int]:
    """Where words begin that follow a correction, counted from `end`: `ounces i mean milliliters`."""
    text = " ".join(words[end:])
    return sorted(_place(text, cue.end()) for cues in (_CLEAR, _SLIGHT, _OH) for cue in cues.finditer(text))


def cue_only(lead: str) -> bool:
    """Whether the words before a number do nothing but correct."""
    left = _SLIGHT.sub("", _CLEAR.sub("", lead)).split()
    return (
        bool(lead.strip())
        and all(word in ("it's", "that's", "it", "is", "i", "that", "the", "to", "over") for word in left)
    ) or (left != lead.split() and len(left) < 3 and lead.endswith(" over "))


def _place(text: str, end: int) -> int:
    """The index of the first word after a place in the text."""
    return text[:end].count(" ") + 1

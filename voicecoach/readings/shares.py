"""How much of a meal was eaten where no number says so: `she cleaned her plate`, `he refused it`."""

from __future__ import annotations

import re
from collections.abc import Sequence

_ATE = r"(?:ate|eat|eats|eaten|et|finish\w*|took|had|cleaned|cleared|consumed|down to|gobbled|polished off)"
_WHOLE = re.compile(
    rf"\b{_ATE} (?:up )?(?:[\w']+ ){{0,2}}?(?:all|everything|every (?:bite|bit|crumb|scrap|last \w+)|entire"
    rf"|whole)\b"
    r"|\b(?:cleaned|cleared|licked|finished|emptied|polished off) (?:off |up )?"
    r"(?:(?:her|his|the|that|their|whole|entire) )*(?:plate|tray|meal|bowl|lunch|dinner|supper|breakfast|it"
    r"|everything)\b"
    r"|\b(?:all(?: of)?(?: (?:it|her|his|the|that))?(?: (?:food|meal|plate|tray|lunch))?|everything(?:'s)?)"
    r" (?:(?:is|was) )?(?:gone|eaten|finished)\b"
    r"|\b(?:nothing|none|not a (?:bite|crumb|thing))(?:'s| is| was)? (?:[\w']+ )?(?:left|remaining)\b"
    r"|\bplate is (?:clean|empty)\b|\bempty (?:plate|tray)\b"
)
_NONE = re.compile(
    r"\b(?:ate|eat|eats|eaten|took|touched|had) (?:[\w']+ )?(?:nothing|none|zip|zilch)\b|\bnothing (?:at all"
    r"|eaten)\b"
    r"|\b(?:refused|refuses|declined|didn't (?:eat|touch|take|want)|did not (?:eat|touch|take)"
    r"|wouldn't (?:eat|touch|take)|won't (?:eat|touch|take)|hasn't touched|not a (?:bite|crumb))\b"
    r"|\bnone of (?:it|her|his|the)\b|\b(?:plate|tray|food|it)(?:'s| is| was) untouched\b"
)
_NOT = re.compile(
    r"\b(?:if|almost|nearly|but (?:the|her|his|a)|except|not (?:all|everything|the whole)|yesterday"
    r"|last \w+|will"
    r"|could|usually|always|see|when|until|wants?|hopes?|try|let's|most)\b"
)


def told(words: Sequence[str]) -> float | None:
    """The share eaten, 0 or 1, by words that name no number; None where none do, or do not quite."""
    heard = " ".join(words)
    if _NOT.search(heard):
        return None
    if _WHOLE.search(heard):
        return 1.0
    return 0.0 if _NONE.search(heard) else None

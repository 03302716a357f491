"""Whether a balance is below zero by what is said around it: `down two hundred`."""

from __future__ import annotations

import re

from voicecoach.following.numbers import single
from voicecoach.readings.mentions import Mention, mentions

_BELOW = re.compile(
    r"(?<!put )(?<!write )(?<!writing )(?<!wrote )(?<!jot )(?<!note )(?<!going )(?<!goes )(?<!go )(?<!it )"
    r"(?<!that )(?<!mark )"
    r"\b(?:down|behind|short|deficit|shortfall|negative|minus|lost|losing|under|in the hole|in the red|dry)"
    r" (?!(?:no|not|sorry|wait|i mean|plus|positive)\b)"
)
_BELOW_AFTER = re.compile(
    r"^(?:(?:is|that's|on|in|the|and|it's|of|to|a|as|this|which|so) )*(?:negative|minus side|red|hole|bad"
    r"|below zero"
    r"|behind|short|deficit|down|under|minus(?= $)|more out|lost|in deficit)\b"
)
_MORE_OUT = re.compile(
    r"\bmore (?:out|output|urine) than|\b(?:put|went|gone|goes|came|comes|coming|peed|voided) (?:out )?more\b"
    r"|\boutput (?:is |was )?(?:beats?|exceeds|exceeded|over|more|higher|greater|bigger|ahead)"
    r"|\bout (?:is|was|beats|exceeds) (?:more|greater|higher|bigger|over|in)\b"
    r"|\bmore than (?:she|he|they|you|it|what) (?:\w+ )?(?:went in|came in|in|drank|took|had|drinks|got in)\b"
)
_ABOVE = re.compile(r"\b(?:positive|plus|ahead|up|to the good) $")


def is_below_zero(mention: Mention) -> bool:
    """Whether the words around a number make it one below zero."""
    if _ABOVE.search(mention.near):
        return False
    heard = " ".join(mention.words)
    return bool(_BELOW.search(mention.near) or _BELOW_AFTER.match(mention.trail) or _MORE_OUT.search(heard))


_IN = re.compile(r"\b(?:in|intake|drank|drunk|drinks) (?:(?:is|was|of|for|the|shift|a|her|his|total) )*$")
_OUT = re.compile(
    r"\b(?:out|output|urine|peed|voided|urinated) (?:(?:is|was|of|for|the|shift|a|her|his|total) )*$"
)


def more_went_out(mention: Mention) -> bool:
    """Whether it is by how much more went out: `in nine hundred out twelve hundred difference three hundred`.

    Not where it is said to be below zero anyway, nor where it is not that difference.
    """
    taken: dict[str, float] = {}
    for other in mentions(mention.words, single(mention.words)):
        if other.placed.start >= mention.placed.start:
            break
        for way, pattern in (("in", _IN), ("out", _OUT)):
            if pattern.search(other.lead):
                taken[way] = other.value
    return len(taken) == 2 and 0 < mention.value == taken["out"] - taken["in"]

"""What was served, what a cup holds and what is left in it, of which a total is only to be made."""

from __future__ import annotations

import re

from voicecoach.readings.mentions import Mention

_VESSEL = (
    r"(?:glass|glasses|cups?|mugs?|bowls?|cartons?|containers?|graduates?|cylinders?|bottles?|pitchers?"
    r"|cans?|box"
    r"|boxes|jugs?|bags?|tumblers?|beakers?|basins?|bedpans?|urinals?|hats?|servings?|portions?"
    r"|balloons?|syringes?|flush\w*|catheters?|pouch|french)"
)
SIZE = re.compile(
    rf"^(?!(?:of|in|from|on|the|a|an|into|at|for|to|with|and|by|is|goes|i|so) )(?:[a-z]+ )?{_VESSEL} "
)
"""The words after a number that tells how much a vessel holds: `the eight ounce juice glass`."""
_FULL = re.compile(r"^(?:\w+ )?(?:when|if|once) (?:it's |it is )?full ")
_SERVED = re.compile(
    r"\b(?:hold|held|contains?|contained|serv\w+|pour\w*|gave|give|given|giving|brought"
    r"|(?<!that )(?<!which )(?<!this )bring\w*|fill\w*|offer\w*|full|started with|starts with|starting with"
    r"|began with|out of|there was"
    r"|there were) (?:(?:me|him|her|his|their|up|about|a|of|total|in|was|is|with|to|the|had|it|it's|at) )*$"
)
_HOLDS = re.compile(
    r"\b(?:holds|takes|fits|capacity|(?:can|will|could) hold) (?:(?:up|about|a|of|total|is|to|the|it"
    r"|maybe) )*$"
)
_CUP_IS = re.compile(
    r"\b(?:cup|glass|mug|bowl|carton|bottle|can|tumbler|jug|pitcher|thermos|container|pack|box)(?: of \w+)?"
    r"(?:'s| is| was| has| had) "
    r"(?:(?:about|a|the) )*$"
)
_LEFT = re.compile(
    r"(?<!the )(?<!her )(?<!his )(?<!my )(?<!your )"
    r"\b(?:left|leaves?|leaving|remaining|remains?|leftover|still has|still have|still) "
    rf"(?:(?:is|was|about|behind|over|are|of|only|at|there|in|the|it|a|{_VESSEL}) )*$"
)
_IS_LEFT = re.compile(
    r"^(?:(?:of|in) )?(?:(?:it|that|is|was|are|were|still) )*"
    r"(?:left|remain\w*|leftover|over|untouched|uneaten|not eaten|not drunk|still in|served) "
    r"(?!(?:arm|hand|side|wrist|leg|upper|his|the) )"
    r"|^(?:\w+ ){1,4}(?:is|was|are|were) (?:still )?(?:left|remaining|untouched|uneaten) "
)
_LEAVES = re.compile(r"(?:that |which |so |so that )?leaves (?:us |me )?")
_TAKEN_AWAY = re.compile(r"\b(?:minus|less|subtract\w*|take away|from) $")


def tells_a_size(mention: Mention) -> bool:
    """Whether it tells how much a vessel holds: `the eight ounce juice glass`, `it holds nine hundred`."""
    return bool(SIZE.match(mention.trail) or _HOLDS.search(mention.near) or _FULL.match(mention.trail))


def is_served(mention: Mention) -> bool:
    """Whether it is what was served or is left, and not what was taken of it."""
    if mention.earlier and _LEAVES.fullmatch(mention.lead):
        # `two forty minus sixty leaves one eighty`
        return not _TAKEN_AWAY.search(mention.before_earlier)
    return bool(
        _SERVED.search(mention.near)
        or _CUP_IS.search(mention.near)
        or _LEFT.search(mention.near)
        or _IS_LEFT.match(mention.trail)
    )

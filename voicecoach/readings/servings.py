"""What was served, what a cup holds and what is left in it, of which a total is only to be made."""

from __future__ import annotations

import re

from voicecoach.readings.mentions import Mention

_DRINK = r"(?:creamers?|juices?|milks?|shakes?|puddings?|popsicles?|broth|soups?|coffees?|teas?|sodas?)"
_VESSEL = (
    r"(?:glass|glasses|cups?|mugs?|bowls?|cartons?|containers?|graduates?|cylinders?|bottles?|pitchers?|cans?"
    r"|box|boxes|jugs?|bags?|tumblers?|beakers?|basins?|bedpans?|urinals?|hats?|servings?|portions?"
    r"|thermos|packs?"
    r"|balloons?|bladders?|syringes?|flush\w*|catheters?|pouch|french)"
)
_ABOUT = r"(?:(?:about|always|like|only|just|all|up|of|total|is|to|on|in|it|maybe|marked|labeled|a|the) )*$"
SIZE = re.compile(
    rf"^(?!(?:of|in|from|on|the|a|an|into|at|for|to|with|and|by|is|goes|i|so) )(?:[a-z]+ )?{_VESSEL} "
    rf"|^(?:[\w']+ )?(?:when|if|once) (?:it's |it is )?full |^(?:each|apiece) (?!minute|time|way)"
    rf"|^(?:of [\w']+ )?in (?:(?:an?|each|every|one) (?:[\w']+ )?{_VESSEL}|the balloon) "
)
"""The words after a number that tells how much a vessel holds: `the eight ounce juice glass`."""
_HOLDS = re.compile(
    rf"\b(?:holds|takes|fits|capacity|(?:can|will|could) hold|{_VESSEL} (?:can|will|could) take) {_ABOUT}"
    r"|\b(?:reads?|measures?|steps|lines|marks|marked|numbers|numbered) (?:[\w']+ ){0,4}?(?:up to|stop at)"
    r" (?:a |the )?$"
    rf"|\b(?:{_VESSEL}|one)(?:'s| is| are) (?:(?:only|made|meant|built|good) )*for (?:a |about )*$"
)
"""As in `it holds nine hundred`, `this jug is for a thousand`, `it's marked up to eight hundred`."""
_SUCH = re.compile(
    rf"\b(?:an?|one|each|every|our|most|full) (?:[\w']+ ){{0,3}}?(?:{_VESSEL}|{_DRINK})(?: of \w+)?"
    rf"(?:'s| is| are| was| counts? as| equals| makes| comes? to) {_ABOUT}"
)
"""As in `an eight ounce glass is two forty`: whoever drinks of it."""
_SERVED = re.compile(
    r"\b(?:hold|held|contains?|contained|serv\w+|pour\w*|gave|give|given|giving|brought"
    r"|(?<!that )(?<!which )(?<!this )bring\w*|fill\w*|spill\w*|wast\w*|the other|offer\w*|(?<!he's )full"
    r"|(?:start|starts|started"
    r"|starting"
    r"|began) with|out of|(?<!that )there's|there was|there were) "
    r"(?:(?:me|him|her|his|their|up|about|a|of|total|in|was|is|with|to|the|had|it|it's|at) )*$"
    rf"|\b{_VESSEL}(?: of \w+)?(?:'s| is| was| has| had| says| reads) {_ABOUT}"
    rf"|\bon (?:the|its|this) (?:{_VESSEL}|label|lid|package|packet) $"
)
_SUBJECT = re.compile(
    r"(?:^(?:so |and |okay |well |now )*(?:that|the)|\b(?:this|these|those|each|every)) (?:[\w']+ ){0,2}?"
    r"(?!(?:total|intake|amount|number|count|sum|answer|shift|morning|day|one|lunch|whole|result|time"
    r"|rest|fluids?"
    r"|makes|all|volume|reading|it|final|grand|output|drinks?|liquids?|figure|he|she|they|what|which|i|we"
    r"|meal|tray"
    r"|patient|resident|score|that|just|there|right|only|really|probably|still)\b)"
    rf"[a-z]+(?:'s| is| are) {_ABOUT}"
)
"""A thing that is named, of which a number is the size: `this creamer's half an ounce`."""
_OF_A_DRINK = re.compile(rf"(?:[a-z]+ )?{_DRINK} ")
_ADJECTIVE = re.compile(r"\b(?:an?|the|this|that|one|each|every|those|these|small|little|big|another) $")
_SINGULAR = frozenset("ounce milliliter millilitre liter litre".split())
_LEFT = re.compile(
    r"(?<!the )(?<!her )(?<!his )(?<!my )(?<!your )"
    r"\b(?:left|leaves?|leaving|remaining|remains?|leftover|still has|still have|still) "
    rf"(?:(?:is|was|about|behind|over|are|of|only|at|there|in|the|it|a|{_VESSEL}) )*$"
)
_IS_LEFT = re.compile(
    r"^(?:(?:of|in) )?(?:(?:it|that|is|was|are|were|still) )*"
    r"(?:left|remain\w*|leftover|over|untouched|uneaten|not eaten|not drunk|still in|served) "
    r"(?!(?:arm|hand|side|wrist|leg|upper|his|the) )"
    r"|^(?:[\w']+ ){1,4}(?:is|was|are|were) (?:still )?(?:left|remaining|untouched|uneaten) "
)
_LEAVES = re.compile(r"(?:that |which |so |so that )?leaves (?:us |me )?")
_TAKEN_AWAY = re.compile(r"\b(?:minus|less|subtract\w*|take away|from) $")


def tells_a_size(mention: Mention) -> bool:
    """Whether it tells how much a vessel holds: `the eight ounce juice glass`, `it holds nine hundred`."""
    singular = mention.words[mention.placed.end - 1] in _SINGULAR and not mention.trail.startswith("of ")
    adjective = (singular and mention.trail) or _OF_A_DRINK.match(mention.trail)
    if adjective and mention.value > 1 and _ADJECTIVE.search(mention.lead):
        return True
    of_such = mention.earlier and re.search(r"\b(?:an?|one|each|every|our) $", mention.before_earlier)
    such = _SUCH.search(f"a {mention.lead}" if of_such else mention.lead)
    return bool(such or _HOLDS.search(mention.near) or SIZE.match(mention.trail))


def is_served(mention: Mention) -> bool:
    """Whether it is what was served or is left, and not what was taken of it."""
    if mention.earlier and _LEAVES.fullmatch(mention.lead):
        # `two forty minus sixty leaves one eighty`
        return not _TAKEN_AWAY.search(mention.before_earlier)
    return bool(
        _SERVED.search(mention.near)
        or _SUBJECT.search(mention.near)
        or _LEFT.search(mention.near)
        or _IS_LEFT.match(mention.trail)
    )

"""Numbers that are no value: what counts, names or lasts, and what is only reckoned with."""

from __future__ import annotations

import re
from collections.abc import Sequence

from voicecoach.following.numbers import Placed, single
from voicecoach.readings.elsewhere import is_elsewhere
from voicecoach.readings.mentions import Mention
from voicecoach.readings.servings import SIZE
from voicecoach.readings.times_of_day import is_time


def is_value(mention: Mention, share: bool = False) -> bool:
    """Whether the words around a number leave it a value. `share`: a half of something is one, too."""
    bare = not mention.amount.unit and len(mention.amount.values) == 1
    if bare and (is_time(mention) or _names(mention) or _counts(mention) or _lasts(mention)):
        return False
    if bare and not share and 0 < abs(mention.value) < 1:
        return False
    return not (
        mention.counting
        or _is_a_thing(mention)
        or _in_part_of_a_minute(mention)
        or _ends_a_range(mention)
        or is_elsewhere(mention)
        or _reckoned_with(mention)
        or _DENIED.search(mention.lead)
    )


_DENIED = re.compile(
    r"(?:\bnot|n't) (?:(?:write|say|put|chart|call it|around|a|an|about|at|the|quite|really|plus"
    r"|positive) )*$|\b(?:instead of|rather than) $"
    r"|\blost (?:count|track) (?:at|around) $|\bi(?:'m| am) $"
)


_PLACE = re.compile(
    r"\b(?:rooms?|beds?|apartment|suite|hall|wing|ward|floor|door|station|extension|table|chair|age|aged"
    r"|born in|id) (?:(?:number|is|it's|was|no|in|which|that) )*$"
)
_ROOM = frozenset("room bed apartment suite".split())
_ORDER = re.compile(
    r"\b(?:step|line|column|row|page|box|number|part|phase|glove|shift|type|size|side|section|item|question"
    r"|try"
    r"|attempt|drink|cup|glass|bowl|towel|reading|round|patient|resident) (?:number )?$"
)
_ON_THE_CLOCK = re.compile(
    r"\b(?:on|at|past|to|by|hits|reaches|from) the $"
    r"|\b(?:second hand|hand|watch|clock)\b.* (?:on|at|to|past|hits|reaches) $"
)


def without_places(words: Sequence[str]) -> list[str]:
    """Words without rooms and beds that are named by a number: `room two twelve`."""
    named = {
        place
        for number in single(words)
        if number.start and words[number.start - 1] in _ROOM and not number.amount.unit
        for place in range(number.start - 1, number.end)
    }
    return [word for place, word in enumerate(words) if place not in named]


def _names(mention: Mention) -> bool:
    """Whether the number names something: `room one twelve`, `step two`, the second hand `on the twelve`."""
    if _PLACE.search(mention.lead) or (0 <= mention.value < 10 and _ORDER.search(mention.lead)):
        return True
    return mention.value <= 12 and bool(_ON_THE_CLOCK.search(mention.lead))


_NEXT_TWO = re.compile(r"^([a-z]+) (?:([a-z]+) )?")
_NO_PLURAL = frozenset(
    "is was has does goes this his hers its yes us as plus minus less always besides perhaps "
    "afterwards looks seems sounds reads sits stands makes equals feels fits comes gets says shows "
    "means works across needs lies lays runs stays gives tells counts beats breaths writes records "
    "respirations resps minutes seconds times rises falls missus miss nurses cycles pulsations ".split()
)
"""Words that end like a plural and are none of things that are counted."""
_NO_ADJECTIVE = _NO_PLURAL | frozenset(
    "i i'm we he she it you they and but or so are were have had in on of at to for from with by the "
    "a an her my your their that now then no not sorry wait going per over out put down up still "
    "please today nurse mister because after before until when while if be even ".split()
)


def _counts(mention: Mention) -> bool:
    """Whether the number counts things: `two gloves`, `two clean towels`, `two eight ounce cups`."""
    if mention.value == 1 or (not mention.trail and SIZE.match(mention.after_later)):
        return True
    found = _NEXT_TWO.match(mention.after_later if mention.trail == "or " else mention.trail)
    if not found or mention.value > 30:
        return False
    if _plural(found[1]):
        return True
    return 1 < mention.value <= 12 and found[1] not in _NO_ADJECTIVE and _plural(found[2] or "")


def _plural(word: str) -> bool:
    return len(word) > 3 and word.endswith("s") and not word.endswith("ss") and word not in _NO_PLURAL


_THESE = re.compile(r"\b(?:the|these|those|both|his|her|all|are|up|with|take|clear|collect|move) $")
_TO_DO = re.compile(
    r"(?<!she )(?<!he )(?<!him )(?<!her )(?<!they )(?<!i )\b(?:take|after) (?:about |another )?$"
)
_ANGLE = re.compile(r"\b(?:bed|head|back|angle|turn\w*|tilt\w*|room|bath|water|outside)\b")
_A_SECOND = re.compile(
    r"^(?:per|a|an|each|every|in a|in an) (?:second|hour|day) |^(?:[\w']+ ){0,3}?(?:tops|max|maximum"
    r"|at most) "
)


def _is_a_thing(mention: Mention) -> bool:
    """Whether its unit makes it no value: `on two feet`, `the two cups`, `two millimeters a second`.

    Degrees of a bed are an angle.
    """
    unit = mention.amount.unit
    if unit == "ft":
        return mention.value <= 2
    if unit == "degrees":
        return bool(_ANGLE.search(mention.near))
    if unit == "%":
        return mention.trail.startswith(("milk ", "cream "))
    if unit == "breaths/min" or mention.trail.startswith(("slow ", "deep ")):
        return bool(_TO_DO.search(mention.lead))
    return bool((unit == "cup" and _THESE.search(mention.lead)) or _A_SECOND.match(mention.trail))


_PERIOD = re.compile(
    r"^(?:(?:full|whole|complete|entire|more|long|straight|solid|extra) )*"
    r"(?:seconds?|secs?|minutes?|mins?|hours?|hrs|days?|weeks?|months?|years?|seconds'|minute's) "
)
_FULL_MINUTE = re.compile(r"^(?:full|whole) min(?:ute)? ")
"""For how long a rate was counted, as it is typed: `apical 66 full min`."""
_STILL_COUNTING = re.compile(
    r"^something |^(?:[\w']+ ){0,2}?(?:halfway|(?:still|and|keep) counting|keep going|half to go|to go) "
)
_PART_OF_A_PERIOD = re.compile(r"^(?:of |a |an )*(?:second|minute|hour|day) ")
_TIMES = re.compile(r"^times (?!(?:a|per|each|every|this|the|in (?:a|one|1|the|that)|for (?:a|one|the)) )")
_COUNTING_TO = re.compile(r"\bcount(?:ing|ed)? (?:up )?to $|\bfor a (?:slow )?count of $")


def is_a_period(after: str) -> bool:
    """Whether the words after a number make it a time that something lasts: `minute`, `full minutes`."""
    return bool(_PERIOD.match(after))


def _lasts(mention: Mention) -> bool:
    """Whether it is how long something lasts, or how often it is done."""
    if _STILL_COUNTING.match(mention.trail):
        return True
    counted = mention.value > 10 and _FULL_MINUTE.match(mention.trail)
    if (is_a_period(mention.trail) and not counted) or _COUNTING_TO.search(mention.lead):
        return True
    if _TIMES.match(mention.after) and (mention.value <= 12 or mention.later):
        return True
    return 0 < mention.value < 1 and bool(_PART_OF_A_PERIOD.match(mention.trail))


_IN_HALF = re.compile(
    r"^(?:[\w']+ )?(?:in|for|over|during) (?:a |about |the |just |first |second )*(?:half|quarter) "
)
_IN_SECONDS = re.compile(r"(?:[\w']+ ){0,2}(?:in|for|over|during) (?:about |the |just )*")
_SECONDS = re.compile(r"^(?:full |whole )?sec(?:ond)?s? ")


def _in_part_of_a_minute(mention: Mention) -> bool:
    """Whether it was counted in less than a minute: `thirty eight beats in thirty seconds`, to be doubled."""
    if _IN_HALF.match(mention.after):
        return True
    later = mention.later
    if later is None or not _IN_SECONDS.fullmatch(mention.trail):
        return False
    return later.amount.values[0] < 60 and bool(_SECONDS.match(mention.after_later))


_FROM_ONE = re.compile(r"\b(?:one|1) (?:to|through|thru) $")
_BETWEEN = re.compile(r"\bbetween (?:the )?$")
_FROM = re.compile(r"\bfrom (?:the )?$")
_TO = re.compile(r"(?:to|through|thru) (?:a |the )?")
_CHANGED = re.compile(
    r"\b(?:went|gone|goes|go|rose|fell|dropped|round\w*|up|down|changed?|moved|corrected|lost|gained|come"
    r"|came"
    r"|comes|climbed|slid|slipped|off) (?:(?:from|by) )?(?:the )?$"
    r"|\b(?:convert\w*|turn\w*|chang\w*|round\w*) (?:the |it )?$"
)


def _ends_a_range(mention: Mention) -> bool:
    """Whether it is one end of a range: `between one hundred and one twenty five`, `sixty to a hundred`.

    In `it went from eighty to ninety` the second is what it is now.
    """
    if (
        _FROM_ONE.search(mention.lead)
        or _BETWEEN.search(mention.lead)
        or _FROM.search(mention.lead)
        or _TO.fullmatch(mention.trail)
    ):
        return True
    if mention.earlier and mention.lead in ("and ", "and the ", "and a "):
        return bool(_BETWEEN.search(mention.before_earlier))
    ends = mention.earlier and _TO.fullmatch(mention.lead)
    return bool(ends) and not _CHANGED.search(mention.before_earlier)


_OPERATOR = (
    r"(?:plus|minus|times(?! (?:in|a|per|each|every|this|for) )|less|slash|take away|multiplied by|divided by"
    r"|and then add)"
)
_TAKEN = re.compile(
    r"\b(?:multipl|divid|go|going|count|mark|rais|drop|round|increas|decreas|went|lines?"
    r"|numbers?)\w* (?:[\w']+ ){0,2}?"
    r"by (?:about )?$"
    r"|\bq $|\b(?:every|increments of|steps of|marks of) (?:about )?$"
    r"|\b(?:each|every|one|a) (?:[\w']+ )?(?:mark|line|notch|step|space|tick)\b(?: \w+){0,3}? (?:is|are"
    r"|means|equals|for)"
    r" (?:about )?$"
    r"|\b(?:add|adding|added|subtract\w*|take away|took away|taking away|take off|multipl\w+(?: \w+)? by"
    r"|times|divided? by|worth|(?:rins|flush|irrigat)\w* (?:[\w']+ )*with) (?:(?:another|an extra|about"
    r"|the) )*$"
    r"|\bnearest $|(?<=\w )each (?:counts?|is|are|gets?|makes?|holds?) (?:(?:as|for|about) )*$"
    r"|(?:^|\bto |\bi )fill (?:it|this|the [\w']+) (?:up )?(?:to|with) (?:the |about )*$"
)
_OPERATED = re.compile(rf"^(?:[\w']+ )?(?:of \w+ |in |out )?{_OPERATOR} (?:[\w']+ ){{0,3}}$")
_STEPS = re.compile(r"^(?:steps?|increments?|intervals?|divisions?|at a time|apart) ")
_EACH = re.compile(
    r"^(?:(?:to|per|for|in|the) )*(?:an|a|each|every|one|per) (?:ounce|cup|glass|bowl|line|mark|notch"
    r"|space) |^to the ounce "
)
_OF_ONE = re.compile(r"(?:is|equals|has|makes|that's|counts) (?:(?:the|same|as|about|around|like) )*")
_OF_A = re.compile(
    r"\ban? (?:fluid )?(?:ounce|cup|liter|pound|kilogram|kilo) (?:is|equals|has|makes) (?:about )?$"
)
_IN_ONE = re.compile(r"(?:(?:are|is) )*(?:in|to|per|for) ")
_SLIDER = re.compile(
    r"\b(?:big|large|small|heavy|light|little) (?:weight|one|poise|slider|bar|beam)(?:'s)? "
    r"(?:(?:is|was|at|on|reads|says|set|to|sits|goes|moved|slides|slid|the|stays|up|for) )*$"
)
_SIGNED = re.compile(
    r"\b(?:is|was|it's|that's|so|balance|a|of|no|mean|that|sorry|at|equals|makes|record|write|chart|comes to"
    r"|down|difference|net|bal|wait|actually) $|\w'(?:s|re|m) $"
)
"""Words after which `minus` belongs to the number, and takes nothing away."""


def _reckoned_with(mention: Mention) -> bool:
    """Whether a value is worked out from it, as from the 60 in `two forty minus sixty is one eighty`."""
    if (
        _SLIDER.search(mention.near)
        or _TAKEN.search(mention.lead)
        or _EACH.match(mention.after)
        or _STEPS.match(mention.trail)
    ):
        return True
    if mention.later and _OPERATED.match(mention.trail):
        return True
    if mention.later and _taken_away(mention.later.amount.values[0], mention.trail):
        return True
    earlier = mention.earlier
    if earlier is None:
        return False
    if mention.value == 1 and mention.amount.unit and _IN_ONE.fullmatch(mention.lead):
        return True
    return _taken_away(mention.value, mention.lead) or bool(re.fullmatch(f"{_OPERATOR} ", mention.lead))


def _taken_away(value: float, lead: str) -> bool:
    """Whether a number is taken away from the one before it, as in `twelve hundred in minus nine hundred`."""
    return bool(value < 0 and lead.strip() and not _SIGNED.search(lead) and not _ANEW.search(lead))


_ANEW = re.compile(r"\b(?:no|not|sorry|wait|nope|nah|nuh|mean|make|correction|them|it|then|now|today|oops)\b")


def tells_a_unit(mention: Mention) -> bool:
    """Whether a unit is told in another with it: `one ounce is thirty milliliters`."""
    return bool(
        _OF_A.search(mention.lead)
        or _defines(mention.placed, mention.trail, mention.later)
        or (mention.earlier and _defines(mention.earlier, mention.lead, mention.placed))
    )


def _defines(one: Placed, between: str, other: Placed | None) -> bool:
    """Whether a unit is told in another: `one ounce is thirty milliliters`."""
    return bool(other and one.amount.unit and one.amount.values == (1.0,) and _OF_ONE.fullmatch(between))

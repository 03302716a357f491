"""Times of day and dates, which are no values: `at ten`, `six thirty p m`, `fourteen hundred hours`."""

from __future__ import annotations

import re

from voicecoach.following.normal import NUMBER_WORDS
from voicecoach.readings.mentions import Mention, text

_ABOUT = r"(?:about |around |exactly |just |right |only |like |almost |nearly |roughly |maybe )*"
_CLOCK_AFTER = re.compile(
    r"^(?:o'?clock|o clock|a m|p m|am|pm|hours|hundred hours|noon|midnight|sharp|at night|past|till"
    r"|(?:in the|this) (?:morning|afternoon|evening)) "
)
_CLOCK_BEFORE = re.compile(
    r"(?<!\bthis )(?<!\blast )(?<!\bnext )(?<!\bsecond )(?<!\bfirst )(?<!\beach )(?<!\bone )(?<!\bevery )"
    r"\b(?:time|time's|hour|clock|phone|watch) (?:(?:is|was|of|now|it's|as|says|reads|at|here|on) )*"
    + _ABOUT
    + "$"
    r"|\b(?:half|quarter) (?:past|to|after|till|of) $|\b(?:past|oh|(?<!i )o) $"
)
_AT = re.compile(
    r"\b(?:at|until|till|since|as of) " + _ABOUT + "$"
    r"|(?<!\bbehind )(?<!\bahead )(?<!\bshort )(?<!\bup )(?<!\bdown )(?<!\bover )(?<!\bin )(?<!\bnegative )"
    r"(?<!\bpositive )(?<!er )(?<!\bintake )(?<!\boutput )(?<!\bmore )(?<!\bless )\bby " + _ABOUT + "$"
)
_BEING_AT = re.compile(r"(?:\b(?:is|was|are|were|reads?|sits?|stands?)|\w's) at " + _ABOUT + "$")
_VALUE_AT = re.compile(
    r"(?:\b(?:be|been|remains?|reading|sitting|standing|level|line|needle|measur\w+|holds?|holding|stays?"
    r"|steady"
    r"|rest\w*|stop\w*|start\w*|begin\w*|began|heard?|hear|get|got|weigh\w*|comes?|came|in|out|beat|beating"
    r"|breathing|runs?|running|going|sounds?|scale|up|down|right|meniscus|mark|look\w*|found|fade\w*|gone"
    r"|disappear\w*|nothing|pulse|heart|rate|sustained|respirations|breaths|temp|temperature|weight|output"
    r"|intake|urine"
    r"|total|balance|pressure|count|fluids?|fast|slow|high|low|weak|strong"
    r"|(?:put|got|get|have|had|hear|heard|read|measured) (?:it|him|her|that|them)))"
    r" (?:(?:now|still|today|exactly|just|right|steady|\w+ed|\w+ing) )*at " + _ABOUT + "$"
)
"""What makes of a number after `at` a value, where a time is not said like it: `the level at three fifty`."""
_BY = re.compile(r"\b(?:before|after) " + _ABOUT + "$")
_RATE_AT = re.compile(
    r"^(?!.*\b(?:record|chart|writ|wrote|log|not|count|check|do|did|take|took|finish)(?:e|ed|es|ing|s)? )"
    r"(?:.* )?(?:breathing|respirations|breaths|rate|pulse) at $"
)
"""The same of a number that may well be a time: `respirations at twelve`, not `i write it at twelve`."""
_A_MINUTE = re.compile(r"^(?:times )?(?:a|per|each|every|in a) minute ")

_IT_IS = re.compile(r"\b(?:it's|it is|it was|at|by|now|already) $")

_MONTH = (
    r"(?:january|february|march|april|may|june|july|august|september|october|november|december"
    r"|jan|feb|mar|apr|jun|jul|aug|sept?|oct|nov|dec|date|dated)"
)
_ORDINAL = (
    r"(?:first|second|third|fourth|fifth|sixth|seventh|eighth|ninth|tenth|eleventh|twelfth|\w+teenth"
    r"|twentieth"
    r"|thirtieth)"
)
_DATE_BEFORE = re.compile(
    rf"\b(?:{_MONTH}|birth|birthday|dob|born)(?:'s| is| of| the| it's| in| on| {_ORDINAL}| {_MONTH})* $"
)
_DATE_AFTER = re.compile(rf"^(?:{_ORDINAL}|th|st|nd|rd|of {_MONTH}|{_MONTH}) ")


def is_time(mention: Mention) -> bool:
    """Whether a number is a time of day or a date."""
    if _DATE_BEFORE.search(mention.lead) or _DATE_AFTER.match(mention.trail):
        return True
    if mention.words[mention.placed.start] in ("oh", "o", "zero") and mention.value >= 100:
        # `oh six thirty`
        return True
    beside = mention.earlier if mention.earlier and not mention.lead else None
    if beside and beside.amount.values == (20.0,) and 20 <= mention.value < 100:
        # The year: `twenty twenty five`.
        return True
    if "hundred" in mention.words[mention.placed.start : mention.placed.end] and mention.value % 100:
        return False
    if not _on_a_clock(mention.value):
        return bool(re.match(r"(?:hundred )?hours ", mention.trail))
    if _minutes_after(mention) or _in_a_list(mention):
        return True
    zero_hours = beside and beside.amount.values == (0.0,)
    if _CLOCK_AFTER.match(mention.trail) or _CLOCK_BEFORE.search(mention.lead) or zero_hours:
        return True
    if mention.value <= 12 and _BY.search(mention.lead):
        return True
    if not _AT.search(mention.lead) or _BEING_AT.search(mention.lead):
        return False
    if _RATE_AT.match(mention.lead) or _A_MINUTE.match(mention.trail):
        return False
    return not 12 < mention.value < 1000 or not _VALUE_AT.search(mention.lead)


def _minutes_after(mention: Mention) -> bool:
    """Whether it is the hour or the minutes in `ten after nine`."""
    if mention.later and mention.trail in ("after ", "of "):
        return mention.later.amount.values[0] <= 12
    earlier = mention.earlier
    return bool(
        earlier and mention.lead == "after " and mention.value <= 12 and _on_a_clock(earlier.amount.values[0])
    )


_TYPED = re.compile(r"[012]\d[0-5]\d")
_AND = frozenset("and or then noon midnight a p m am pm".split())


def _in_a_list(mention: Mention) -> bool:
    """Whether times are listed: `0600 1400 2200`, `at six two and ten`."""
    words, start = mention.words, mention.placed.start
    typed = [word for word in words if _TYPED.fullmatch(word)]
    if words[start] in typed and any(word.startswith("0") for word in typed):
        return True
    before = start
    while before and (words[before - 1] in _AND or words[before - 1] in NUMBER_WORDS):
        before -= 1
    listed = bool(mention.earlier) and not set(mention.lead.split()) - _AND and mention.value <= 12
    return listed and bool(_AT.search(text(words[:before])))


def may_be_a_time(mention: Mention) -> bool:
    """Whether hours and minutes are said like that, right after `it's`: `it's two fifteen`."""
    return bool(_IT_IS.search(mention.lead)) and _on_a_clock(mention.value) and mention.value % 100 > 0


def _on_a_clock(value: float) -> bool:
    """Whether a time of day is said like that: 6, 630, 1400; not 76, and not 400, which would be `four`."""
    if value != int(value) or value < 0:
        return False
    hours, minutes = divmod(int(value), 100)
    if hours == 0:
        return 1 <= minutes <= 12
    return hours <= 24 and minutes < 60 and (minutes > 0 or hours >= 10)

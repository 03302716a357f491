"""Numbers of somebody or something else, or of another day: `my mom's was one sixty`."""

from __future__ import annotations

import re

from voicecoach.readings.mentions import Mention
from voicecoach.readings.unreal import is_unreal

_PERSON = (
    r"(?:guy|lady|man|woman|fella|fellow|gentleman|resident|patient|client|person|roommate|neighbor|bed|side"
    r"|room|girl|boy|one|dude|aide|nurse|student)"
)
_SOMEBODY_ELSE = re.compile(
    r"\b(?:i (?:weigh|weighed|was|drank|ate|hit|ran|had one|once)"
    r"|(?:my|our|his|her) (?:own|mom|mother|dad|father|husband|wife|sister|brother|son|daughter|kids?|friend"
    r"|aunt|uncle|cousin|grand\w+|\w+friend|dog|cat|horse|cow|calf|baby|phone|watch"
    r"|fitbit)(?:'s)?(?: says i'm)?"
    rf"|mine|(?:the )?(?:other|next|last|previous|first) {_PERSON}(?:'s)?"
    r"|(?:roommate|neighbor|next door|some(?:body|one) else|evaluator|instructor|teacher|partner)(?:'s)?"
    r"|(?:grandma|grandpa|mom|mama|dad|nana|granny)(?:'s)?(?= (?:was|had|runs|used) )"
    r"|(?:across|down) the hall|before you|(?:a|some) (?:fella|guy|lady|man|woman|patient|resident)"
    r"|(?:night|day|evening) shift(?= (?:got|had|wrote|charted|emptied|said|left|recorded)))"
    r" (?:(?!(?:this|here|hers|his|today|you|yours|she|he|it|i)(?:'\w+)? )[a-z']+ )*$"
)
_THING = re.compile(
    r"\b(?:chair|wheelchair|walker|sling|lift|blankets?|robe|coat|boots|shoes|clothes|brace|cast|linens?|pad"
    r"|tank|purse|bag|sheets?)(?:'s|(?= (?:is|are|was|were|alone|by|weighs?|weighed|adds?|runs|has|have) )) "
    r"(?:(?:is|are|was|were|weighs?|weighed|itself|by|alone|add|adds|a|good|like|about|at|runs|has|have|to|be"
    r"|must|rated) )*$"
    r"|\b(?:his|her|my|your|the|this|that|these|those|a|an) (?:[\w']+ ){0,2}?"
    rf"(?!(?:{_PERSON}|who|\w+er|he|she|today|now) )\w+ weigh(?:s|ed)? "
    r"(?:(?:like|about|maybe|only|a|good|in|at|around) )*$"
)
"""What is not the resident, and what it weighs."""
_WEEKDAY = r"(?:mon|tues|wednes|thurs|fri|satur|sun)day"
_LAST = rf"last (?:time|week|month|night|shift|visit|year|{_WEEKDAY})(?:'s)?"
_ANOTHER_DAY = re.compile(
    rf"\b(?:yesterday(?:'s)?|{_LAST}|last (?:one|reading|check|entry|weight|i checked)|previous"
    rf"|previously|used to"
    r"|admission|admitted|adm|admit|ago"
    r"|(?:chart|care plan|records?|file|kardex|flow sheet|board|tag|sign|sticker|book) (?:says|said|has"
    r"|had|shows|showed|lists"
    r"|listed)"
    rf"|on {_WEEKDAY} (?:it|she|he|they|her weight|his weight) (?:was|had)) "
)
_ANOTHER_DAY_AFTER = re.compile(
    rf"^(?:(?:from|on|at|was|back) )?(?:yesterday|{_LAST}|admission|(?<=on ){_WEEKDAY}|the day before"
    r"|in the (?:army|navy|service|war)|in (?:high school|college)|when (?:she|he|i) was (?!up|rest|lying"
    r"|sit|stand)"
    r"|back (?:when|then|in)|these days|nowadays|most days|at home|at the (?:clinic|doctor's|hospital)"
    r"|\w+ (?:hour|day|week|month|year)s? ago) "
)
_COMPARED = re.compile(
    r"\b(?:since (?:[\w']+ )*?|(?:than|from|as|like|over|what (?:he|she|they|it) \w+) )"
    r"(?:yesterday|last (?:night|time|week|month|visit|shift)) "
)
"""A day with which a number is compared that comes after: `two pounds more than yesterday one forty`."""
_TODAY = re.compile(r"(?<!^)\b(?:today|now|today's) |^(?:today|now|today's) (?:it|he|she)\b")


def is_elsewhere(mention: Mention) -> bool:
    """Whether it is somebody else's, a thing's or of another day, or only spoken of."""
    near = _COMPARED.sub("", mention.near)
    if mention.earlier and near == mention.lead:
        # `one forty last week one forty two today`
        near = _ANOTHER_DAY_AFTER.sub("", near)
    thing = _THING.search(near)
    return bool(
        _ANOTHER_DAY.search(near)
        or (_ANOTHER_DAY_AFTER.match(mention.trail) and not _TODAY.search(mention.lead.split(" and ")[-1]))
        or _SOMEBODY_ELSE.search(near)
        or (thing and not (mention.earlier and near == mention.lead and not thing.start()))
        or is_unreal(mention, near)
    )

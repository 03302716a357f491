"""Numbers of somebody else or another day, and those only spoken of: `if it's over one sixty`."""

from __future__ import annotations

import re

from voicecoach.readings.mentions import Mention

_PERSON = (
    r"(?:guy|lady|man|woman|fella|fellow|gentleman|resident|patient|person|client|roommate|neighbor|bed|side"
    r"|room|girl|boy|one|dude)"
)
_SOMEBODY_ELSE = re.compile(
    r"\b(?:i (?:weigh|weighed|was|drank|ate|had one|once)"
    r"|(?:my|our|his|her) (?:own|mom|mother|dad|father|husband|wife|sister|brother|son|daughter|kids?"
    r"|friend|aunt"
    r"|uncle|cousin|grand\w+|boyfriend|girlfriend|dog|cat|horse|cow|calf|baby|phone|watch)(?:'s)?"
    rf"|mine|(?:the )?(?:other|next|last|previous|first) {_PERSON}(?:'s)?|roommate(?:'s)?|neighbor(?:'s)?"
    r"|next door(?:'s)?|across the hall|down the hall|before you|somebody else(?:'s)?|someone else(?:'s)?"
    r"|(?:evaluator|instructor|teacher|partner)(?:'s)?|(?:a|some) (?:fella|guy|lady|man|woman|patient"
    r"|resident))"
    r" (?:(?!this|here|hers|his|today|you|yours|she|he|she's|he's)[a-z']+ )*$"
)
_OF_SOMEBODY_ELSE = re.compile(
    rf"^(?:\w+ ){{0,3}}?(?:was|is|that's|for|from|in|of) (?:for )?(?:the )?(?:other|next|last"
    rf"|previous) {_PERSON}\b"
)
_THING = re.compile(
    r"\b(?:chair|wheelchair|walker|sling|blankets?|robe|boots|shoes|clothes|brace|cast|linens?|pad)(?:'s"
    r"| alone)? "
    r"(?:(?:is|are|was|were|weigh|weighs|weighed|itself|about|at|runs) )+$"
)
_CONDITION = re.compile(
    r"(?<!\bsure )(?<!\bsee )(?<!\bknow )(?<!\bcheck )(?<!\bwonder )(?<!\bask )(?<!\bas )\b(?:if|unless"
    r"|in case"
    r"|whether) (?!i (?:read|look|bend|hold|round|add|take|do)|you ask|i'm)"
    r"(?:(?!no |okay |yeah |yes |wait |then )[a-z']+ )*$"
    r"|\bi(?:'d| would) (?:drink|eat|weigh|be|love|hate|take|want|expect|think)\b.*$"
    r"|(?<!that )(?<!it )(?<!which )(?<!so )\b(?:could|would|might|may) (?:drink|eat|weigh|be|hold|have|go"
    r"|get) "
    r"(?:[a-z']+ ){0,2}$"
    r"|\b(?:when|once|until|till|before) (?:it|she|he|they|that|the \w+|her \w+|his \w+) (?:gets?|reaches"
    r"|hits|goes|is"
    r"|drops|falls) (?:up |down |all )?(?:to|above|below|over|under|past|at|about|the|near)\b.*$"
)
_LIMIT = re.compile(
    r"(?<!is )(?<!are )(?<!looks )\bnormal(?:ly)? (?:\w+ ){0,3}"
    r"(?:is|are|was|means|runs|should|goes|from|under|below|up|at) "
    r"|(?<!is )(?<!are )(?<!looks )(?<!above )(?<!below )(?<!than )(?<!not )\bnormal(?:ly)? $"
    r"|\bshould be (?:between|under|over|about|around|at least|in) "
    r"|\b(?:goal|target|usual|usually|typical|typically|expected|baseline|supposed|average|limit|limited"
    r"|restrict\w*|order|orders|ordered|allowed|allowance|cutoff|threshold|max|maximum|minimum|at most"
    r"|no more than|cleared for|has to be|have to be|must be|needs to be) "
    r"|\b(?:anything|anyone|anybody|wants? (?:it|her|him|them)|report|tell \w+|call \w+|call the nurse) "
    r"(?:\w+ )?(?:above|over|under|below|at|up to|more than|less than|higher than|lower than) "
    r"|\b(?:wants?|needs?|trying|try|has|have|supposed) (?:(?:it|her|him|them|this|me|you) )?to "
    r"(?:be|put out|drink|stay|weigh|have|get|make|void|pee|eat|take|keep|lose|gain|reach)\b.*$"
    r"|\b(?:encourag\w+|remind\w*|ask\w*|help\w*|push\w*|get) (?:him|her|them|you) to \w+ (?:\w+ )?$"
    r"|\bshould (?:drink|have|get|take|weigh) |\bwithin (?:about )?$|\b(?:goes|only goes) up to $"
    r"|\b(?:only goes to|goes only to|maxes out at|tops out at|rated for|rated to|good for"
    r"|good to) (?:about )?$"
    r"|\b(?:keep\w*|make sure|nobody|no one|stay\w*|shake\w*|notify|watch for|alert|call) (?:\w+ ){0,6}?"
    r"(?:above|over|under|below|at|up to|more than|less than|higher than|lower than) $"
)
_ANOTHER_DAY = re.compile(
    r"\b(?:yesterday|yesterday's|previous|previously|used to|admission|admitted|adm|admit|ago"
    r"|last (?:time|week|month|night|shift|visit|year|one|reading|check|entry|weight"
    r"|monday|tuesday|wednesday|thursday|friday|saturday|sunday|i checked)"
    r"|(?:chart|care plan|record|records|file|kardex|flow sheet|board) (?:says|said|has|had|shows|showed"
    r"|lists|listed)"
    r"|on (?:mon|tues|wednes|thurs|fri|satur|sun)day (?:it|she|he|they|her weight|his weight) (?:was|had)) "
)
_ANOTHER_DAY_AFTER = re.compile(
    r"^(?:(?:from|on|at|was|back) )?(?:yesterday|last (?:time|week|month|night|shift|visit|year)|admission"
    r"|the day before"
    r"|these days|nowadays|most days|at home|at the (?:clinic|doctor's|hospital)"
    r"|(?:a|an|one|two|\w+) (?:hour|day|week|month|year)s? ago) "
)
_COMPARED = re.compile(
    r"\b(?:since (?:\w+ )*?|(?:than|from|as|like|over|what (?:he|she|they|it) \w+) )"
    r"(?:yesterday|last (?:night|time|week|month|visit|shift)) "
)
"""A day with which a number is compared that comes after: `two pounds more than yesterday one forty`."""
_DAY = re.compile(r"\b(?:yesterday|today|now|last (?!night)\w+) ")
_TODAY = re.compile(r"\b(?:today|now|today's) ")


def is_elsewhere(mention: Mention) -> bool:
    """Whether it is somebody else's, of another day, what is normal, or what would be."""
    near = _COMPARED.sub("", mention.near)
    if mention.earlier and near == mention.lead and not _DAY.search(mention.before_earlier):
        # `one forty last week one forty two today`
        near = _ANOTHER_DAY_AFTER.sub("", near)
    return bool(
        _LIMIT.search(near)
        or _ANOTHER_DAY.search(near)
        or (_ANOTHER_DAY_AFTER.match(mention.trail) and not _TODAY.search(mention.lead))
        or _SOMEBODY_ELSE.search(near)
        or _OF_SOMEBODY_ELSE.match(mention.trail)
        or _THING.search(near)
        or _CONDITION.search(near)
    )

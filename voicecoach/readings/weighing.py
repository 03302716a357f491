"""How much speaks for a number being the one recorded, by the words around it."""

from __future__ import annotations

import re

from voicecoach.following.numbers import Amount
from voicecoach.procedure.model import Reading
from voicecoach.readings.mentions import Mention, text
from voicecoach.readings.nouns import kind, kinds
from voicecoach.readings.sense import sensible_in_any
from voicecoach.readings.units import convert, needed, same_kind

RECORD = re.compile(
    r"\b(?:record\w*|writ\w+|wrote|chart\w*|log\w*|not(?:e|es|ed|ing)|jot\w*|document\w*|enter\w*|puts?"
    r"|putting|mark"
    r"|goes|going|sheet|page|column|form|down|report\w*|final|say|call (?:it|that)|go with|settl\w+|choose"
    r"|pick|stick\w* with|answer)\b"
)
_RECORD_AFTER = re.compile(
    r"^(?:[\w']+ ){0,2}?(?:goes|going|is what|in the chart|on the (?:chart|sheet|form|page)|down|written"
    r"|recorded|charted|noted)\b"
)
_RESULT = re.compile(
    r"\b(?:so|that's|that is|makes?|making|equals?|total\w*|altogether|together|adds? up|comes? to"
    r"|came to|comes out"
    r"|averag\w*|overall|works out|ends? up|gives|leaves|leaving|brings"
    r"|sum|round\w*|result|answer|drank|ate|balance|intake|output)\b"
)
_EQUALS = re.compile(r"(?:(?:is|are|equals?|makes?|gives|which|that|that's|comes to|about) )+")
_NOW = re.compile(
    r"\b(?:now|today|today's|this time|hers|finally|his is|just got|i got|i get|current|currently"
    r"|recheck\w*|latest"
    r"|this one|scale (?:says|reads|shows)|really|again)\b"
)
_NOW_AFTER = re.compile(
    r"^(?:right )?(?:today|now|this time) (?!(?:it|she|he|they|you|her|his|that|we)\b|\w+'s)"
)
_BEFORE = re.compile(
    r"\b(?:this morning|earlier|before|at first|first (?:time|try|go|reading|check|count)|at breakfast"
    r"|started|was|were|(?:she|he|they) (?:says|said"
    r"|thinks"
    r"|thought|claims|swears|told me|tells me)|used)\b"
)
_ROUGHLY = re.compile(
    r"\b(?:over|under|above|below|than|past|almost|nearly|shy of|(?<!add )(?<!adds )up to|between|least"
    r"|if|of the) "
    r"(?:the |a )?$"
)
_BEYOND = re.compile(
    r"\b(?:that's|it's|is|that is|which is) (?:(?:way|well|just|a|little|bit|still|right) )*"
    r"(?:over|under|above|below|past|more than|less than|higher than|lower than) (?:a |the )?$"
)
"""Words before what a value is compared with: `a hundred and eight that's over a hundred`."""
_SAID_WRONGLY = re.compile(
    r"\b(?:i (?:had |have )?(?:said|told you|wrote|put|thought)(?: it was)?|but (?:i )?wrote(?: down)?) $"
)
_OF_A_DISH = re.compile(
    r"^of (?:it |(?:her|his|the|their|your) )(?!meal|tray|plate|breakfast|lunch|dinner|supper|food|it\b"
    r"|whole|snack)"
)
"""Words after the share of a dish, which is no share of the meal."""
_TOTAL_AFTER = re.compile(r"^(?:(?:in|all|the|is|as|for|a) )*(?:total|altogether|together|combined) (?!of )")
_GROSS = re.compile(
    r"\b(?:with (?:it|the \w+|her \w+|his \w+|\w+) (?:on )?|both )(?:(?:is|are|it's|was|of|them|she|he"
    r"|were) )*$"
)
_GROSS_AFTER = re.compile(r"^with (?:the|her|his|a) (?:\w*chair|walker|sling|shoes|clothes|boots|lift)\b")
"""Words beside what is weighed together with something."""
_BECAUSE = re.compile(
    r"\b(?:because|cause|since) (?:(?!(?:so|that's|makes|gives|means|comes?) )[a-z0-9.']+ )*$"
)
_SHOWN = re.compile(r"\b(?:it|it's|that's|scale|shows?|says|reads?|have|got)\b")
_MARK = re.compile(r"^(?:milliliter )?(?:marks?|lines?|notch|markings?) ")


def _is_converted(mention: Mention) -> bool:
    """Whether it is the number before it in another unit: `68.4 kg (150.8 lb)`."""
    earlier = mention.earlier
    if not earlier or mention.lead not in ("", "or ", "slash ") or mention.amount.unit == earlier.amount.unit:
        return False
    units = (earlier.amount.unit, mention.amount.unit)
    if "degrees" in units or not needed(units[1]) or not same_kind(*units):
        return False
    return abs(convert(earlier.amount.values[0], *units) - mention.value) < 0.01 * abs(mention.value)


def weight(reading: Reading, mention: Mention, amount: Amount) -> int:
    """How much speaks for a number being the one recorded."""
    own_unit = amount.unit in (reading.unit, *reading.also)
    return (
        (2 if own_unit else -5 if amount.unit else 0)
        + (3 if kind(mention) in kinds(reading) else 0)
        + (3 if RECORD.search(mention.near) or _RECORD_AFTER.match(mention.trail) else 0)
        + (3 if _RESULT.search(mention.lead) else 0)
        + (3 if mention.earlier and _EQUALS.fullmatch(mention.lead) else 0)
        + (3 if _NOW.search(mention.lead) or _NOW_AFTER.match(mention.trail) else 0)
        + (2 if sensible_in_any(reading, amount) else -4)
        - (3 if reading.unit == "%" and not amount.unit and 0 < mention.value < 10 else 0)
        - (3 if _is_converted(mention) else 0)
        + (3 if _TOTAL_AFTER.match(mention.trail) else 0)
        - (3 if _BEFORE.search(mention.near) else 0)
        - (5 if _SAID_WRONGLY.search(mention.lead) else 0)
        - (3 if _GROSS.search(mention.near) or _GROSS_AFTER.match(mention.trail) else 0)
        - (4 if reading.unit == "%" and _OF_A_DISH.match(mention.trail) else 0)
        - (6 if _BEYOND.search(mention.lead) else 0)
        - (9 if _BECAUSE.search(text(mention.words[: mention.placed.start])) else 0)
        - (3 if _ROUGHLY.search(mention.lead) or _MARK.match(mention.trail) else 0)
    )


def is_said_to_be_so(mention: Mention) -> bool:
    """Whether words before a number say that it is a value."""
    return any(words.search(mention.near) for words in (RECORD, _RESULT, _NOW, _SHOWN))

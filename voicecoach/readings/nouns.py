"""Which quantity a number is of, by the noun beside it: `pulse seventy six and respirations sixteen`."""

from __future__ import annotations

import re
from collections.abc import Sequence

from voicecoach.following.numbers import single
from voicecoach.procedure.model import Reading
from voicecoach.readings.mentions import Mention, text

_NOUNS = {
    "pulse": "pulse pulses heart heartbeat heartbeats heartrate hr beat beats bpm radial apical brachial",
    "breathing": "respirations respiration respiratory resp resps rr breathing breaths breath breathe "
    "breathes breathed",
    "pressure": "pressure bp systolic diastolic",
    "weight": "weight weights weighs weigh weighed weighing wt",
    "temperature": "temperature temp temps thermometer fever",
    "height": "height tall",
    "output": "output outputs urine urinated urination pee peed voided void drained drainage emptied",
    "intake": "intake drank drink drinks drunk drinking fluids fluid swallowed",
    "meal": "meal ate eat eats eaten food",
    "balance": "balance difference net bal",
    "oxygen": "cannula oxygen saturation sat sats spo oximeter ox",
    "sugar": "glucose",
    "pain": "pain",
    "medicine": "lasix insulin metoprolol tylenol saline antibiotic antibiotics dose iv",
    "bath": "bath bathwater shower tub outside",
}
_KIND = {noun: kind for kind, nouns in _NOUNS.items() for noun in nouns.split()} | {
    "put out": "output", "puts out": "output", "took in": "intake", "takes in": "intake", "b p": "pressure",
    "h r": "pulse", "blood sugar": "sugar", "bladder scan": "bladder",
    "i v": "medicine",
}  # fmt: skip
_BY_UNIT = {
    "beats/min": "pulse", "breaths/min": "breathing", "mmHg": "pressure", "lb": "weight", "kg": "weight",
    "degF": "temperature", "degC": "temperature",
}  # fmt: skip
_INTAKE = frozenset({"intake", "meal"})
"""What is eaten and what is drunk are both called intake."""

_NOUN = rf"(?P<noun>{'|'.join(sorted(_KIND, key=len, reverse=True))})"
_OTHER = _NOUN.replace("noun", "other")
_LINK = (
    r"(?:rate|is|was|are|were|be|of|at|as|count|counts|counted|today|now|read|reads|reading|came|comes|to|out"
    r"|equals|a|an|the|her|his|my|your|their|about|around|it|it's|that's|down|up|says|shows|only|just|total"
    r"|in"
    r"|so far|on|looks|like|for|this|morning|number|regular|strong|being|has|been|then|recorded|charted"
    r"|noted|high|low"
    r"|really)"
)
"""Words that may stand between a noun and its number."""
_LINKS = re.compile(rf"(?:{_LINK} )*")
_LEAD = re.compile(rf"\b{_NOUN}(?:'s)? (?:{_LINK} )*$")
_TWO = re.compile(rf"\b{_NOUN} (?:rate )?and (?:the |her |his |my |your )?{_OTHER} (?:rate )?(?:{_LINK} )*$")
_TRAIL = re.compile(
    r"^(?P<link>(?:(?:is|was|for|as|of|on|in|goes) )?"
    rf"(?:(?:the|her|his|my|your|their|a|an|this|that|full|radial|total) )*){_NOUN} "
)
_LETTERS = {"p": "pulse", "r": "breathing", "t": "temperature", "i": "intake", "o": "output"}
_LETTER = re.compile(r"(?:^|(?<!\bb)(?<!\bh)(?<!\br) )(?P<letter>[prtio]) $")
"""How vitals are typed: `P 92 R 18`."""
_NAMED_BEFORE = re.compile(rf"{_NOUN} (?:and )?")
_IN_OR_OUT = re.compile(r"(?:^|\b(?:and|the|his|her) )(?P<way>in|out) (?:(?:was|is|were) )?$")

_WAY_AFTER = re.compile(r"(?P<way>in|out) (?:$|(?:and|so|minus|less|then|but|is|makes) )")


def kinds(reading: Reading) -> frozenset[str]:
    """What a reading is of, more than one where its name says so, as in meal intake; empty where unknown."""
    named = {_KIND[word] for word in reading.quantity.lower().split() if word in _KIND}
    if "balance" in named:
        return frozenset({"balance"})
    if not named and reading.unit in _BY_UNIT:
        return frozenset({_BY_UNIT[reading.unit]})
    return frozenset(named)


def kind(mention: Mention) -> str:
    """What a number is of; empty where no noun beside it says so."""
    if listed := _listed(mention):
        return listed
    if (found := _LETTER.search(mention.lead)) and mention.words[mention.placed.start][0].isdigit():
        return _LETTERS[found["letter"]]
    after = _TRAIL.match(mention.trail)
    if (
        after
        and mention.earlier
        and _NAMED_BEFORE.fullmatch(mention.lead)
        and not re.search(rf"\b(?:{_NOUN}|o) ", mention.before_earlier)
    ):
        # `sixty eight pulse twenty resps`
        return _KIND[after["noun"]]
    if found := _LEAD.search(mention.lead):
        return _KIND[found["noun"]]
    if found := _IN_OR_OUT.search(mention.lead):
        return "intake" if found["way"] == "in" else "output"
    if (found := _WAY_AFTER.match(mention.trail)) and _ends_with_a_way(mention.words):
        return "intake" if found["way"] == "in" else "output"
    found = _TRAIL.match(mention.trail)
    if found and (found["link"].strip() or not _begins_the_next(mention, mention.trail[found.end() :])):
        return _KIND[found["noun"]]
    return ""


def _ends_with_a_way(words: Sequence[str]) -> bool:
    """Whether it is said after the numbers what went in or out: `nine hundred in eight hundred out`."""
    return any(_WAY_AFTER.match(text(words[place.end :])) for place in single(words)[-2:])


def clashes(kind: str, own: frozenset[str]) -> bool:
    """Whether a number of that kind cannot be what is recorded."""
    if not kind or kind in own:
        return False
    return not (kind in _INTAKE and own & _INTAKE)


def _listed(mention: Mention) -> str:
    """The kind of a number in a list after a list: `pulse and respirations are seventy six and sixteen`."""
    if found := _TWO.search(mention.lead):
        return _KIND[found["noun"]] if mention.later and mention.trail in ("and ", "") else ""
    found = _TWO.search(mention.before_earlier) if mention.lead in ("and ", "") else None
    return _KIND[found["other"]] if found else ""


def _begins_the_next(mention: Mention, rest: str) -> bool:
    """Whether a noun right after a number belongs to the next one: `seventy six respirations sixteen`."""
    if mention.later is None or not _LINKS.fullmatch(rest):
        return False
    return not _TRAIL.match(mention.after_later) or _ends_with_a_number(mention.words)


def _ends_with_a_number(words: Sequence[str]) -> bool:
    """Whether the last noun comes before its number: `seventy six respirations sixteen temp ninety eight`."""
    nouns = [index for index, word in enumerate(words) if word in _KIND]
    return bool(nouns) and bool(single(words[nouns[-1] + 1 :]))

"""Two numbers of a pressure that no `over` joins, and one of two put right."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from voicecoach.following.numbers import Amount, Placed
from voicecoach.procedure.model import Reading
from voicecoach.readings.corrections import corrected_at, cue_only
from voicecoach.readings.mentions import Mention
from voicecoach.readings.no_value import is_value
from voicecoach.readings.nouns import clashes, kind, kinds
from voicecoach.readings.sense import sensible


def joined(reading: Reading, around: Sequence[Mention]) -> Placed | None:
    """The pair that two single numbers make; None where none do."""
    return _named_pair(reading, around) or _bare_pair(reading, around) or _misheard_pair(reading, around)


def corrected(reading: Reading, pair: Placed, around: Sequence[Mention]) -> Placed:
    """The pair with what puts it right after it: `one twenty over eighty no eighty two`."""
    for mention in around:
        if mention.placed.start < pair.end:
            continue
        named = corrected_at(mention.words, [mention.placed.start]) > pair.end - 1 and _NAMED.search(
            mention.lead
        )
        off = min(abs(mention.value - one) for one in pair.amount.values)
        if cue_only(mention.lead) or named or (mention.lead.endswith("so ") and off < 5):
            pair = _one_corrected(reading, pair, mention)
    return pair


def _one_corrected(reading: Reading, pair: Placed, mention: Mention) -> Placed:
    """The pair with the nearer of its numbers corrected: `one twenty over eighty no eighty two`."""
    if len(mention.amount.values) == 2 or not is_value(mention):
        return pair
    upper, lower = pair.amount.values
    said = mention.value
    name = _name(mention.lead)
    nearer = (
        "upper" if abs(said - upper) < abs(said - lower) and not mention.lead.endswith("over ") else "lower"
    )
    first = (name or nearer) == "upper"
    values = (said, lower) if first else (upper, said)
    amount = Amount(values, pair.amount.unit or mention.amount.unit)
    return Placed(amount, pair.start, mention.placed.end) if sensible(reading, amount) else pair


_UPPER_NOUN = r"(?:systolic|top|upper|first|high|higher|big|bigger)"
_LOWER_NOUN = r"(?:diastolic|bottom|low|lower|last|second|little|small|smaller|underneath)"
_UPPER = (
    rf"(?:{_UPPER_NOUN}|hear|heard|start\w*|begins?|began|c[ao]mes? (?:in|on)|pick\w* up|appear\w*|until"
    r"|thump\w*|bounc\w*|jump\w*|knock\w*|tapping)"
)
_LOWER = (
    rf"(?:{_LOWER_NOUN}|quit\w*|dropp\w* (?:off|out)|died|dies|vanish\w*|lost|stop\w*|disappear\w*|fad\w*"
    r"|(?:go|goes|went) away|gone|end\w*|silen\w+|quiet\w*|nothing|after|down below|one (?:under|below"
    r"|beneath)"
    r"|(?:under|below|beneath) (?:it|that|is))"
)
_NAMED = re.compile(
    rf"\b(?:{_UPPER}|{_LOWER})(?:'s)? (?:(?:number|one|sound|beat|pressure|is|was|at|on|it|of|reading"
    rf"|that|him"
    rf"|her|around|about|right) )*$"
)


def _named_pair(reading: Reading, around: Sequence[Mention]) -> Placed | None:
    """Two numbers told apart by their names: `systolic one eighteen diastolic seventy six`."""
    named: dict[str, Mention] = {}
    name, taken = "", ""
    follows = bool(around) and not _NAMED.search(around[0].lead) and bool(_name(_right_after(around[0])))
    for mention in around:
        if not cue_only(mention.lead):
            before = _name(mention.lead.removeprefix(taken))
            taken = _right_after(mention) if follows or _LINKED.match(mention.trail) else ""
            name = _name(taken) or before if follows else before or _name(taken)
        if name and len(mention.amount.values) == 1:
            named[name] = mention
    if len(named) < 2:
        return None
    upper, lower = named["upper"], named["lower"]
    amount = Amount((upper.value, lower.value), lower.amount.unit or upper.amount.unit)
    places = (upper.placed, lower.placed)
    placed = Placed(amount, min(place.start for place in places), max(place.end for place in places))
    return placed if sensible(reading, amount) else None


_LINKED = re.compile(r"(?:for|on|as|that's) ")


def _name(text: str) -> str:
    """The name nearest to the end of a text; `the last thump` is named by its first word."""
    for names in ((("lower", _LOWER_NOUN), ("upper", _UPPER_NOUN)), (("lower", _LOWER), ("upper", _UPPER))):
        places = [
            (found.start(), name) for name, words in names for found in re.finditer(rf"\b{words}\b", text)
        ]
        if places:
            return max(places)[1]
    return ""


def _right_after(mention: Mention) -> str:
    """The words that name the number before them: `one eighteen systolic`, `one eighteen on top`."""
    named = re.match(rf"(?:(?:is|was|for|as|on|the|over|up|that's) )*(?:{_UPPER}|{_LOWER}) ", mention.trail)
    if named:
        return named[0]
    beside = re.match(r"(above|below|under|beneath|underneath) (?:(?:and|with|then) )*$", mention.trail)
    return ("top " if beside[1] == "above" else "bottom ") if beside else ""


_HEARD_FROM = re.compile(r"\b(?:hear\w*|sounds?|beats?|it|them|thump\w*) (?:was |were |is |are )?from $")
_JOINED = re.compile(r"(?:(?:and|with|then|to|down) )*")


def _bare_pair(reading: Reading, around: Sequence[Mention]) -> Placed | None:
    """Two numbers one after the other: `one eighteen seventy six`."""
    for upper, lower in pairwise(around):
        beside = _JOINED.fullmatch(upper.trail) or (f" {upper.lead}"[-4:] == lower.lead[-4:] == " at ")
        if not beside or len(upper.amount.values + lower.amount.values) != 2:
            continue
        amount = Amount((upper.value, lower.value), lower.amount.unit or upper.amount.unit)
        if clashes(kind(upper), kinds(reading)) or not sensible(reading, amount):
            continue
        if is_value(lower) or _HEARD_FROM.search(upper.lead):
            return Placed(amount, upper.placed.start, lower.placed.end)
    return None


_FOR_OVER = frozenset(("of ", "or ", "ever ", "offer "))


def _misheard_pair(reading: Reading, around: Sequence[Mention]) -> Placed | None:
    """Two numbers between which another word was heard for `over`: `one oh four of fifty eight`."""
    for upper, lower in pairwise(around):
        if upper.trail not in _FOR_OVER or len(upper.amount.values + lower.amount.values) != 2:
            continue
        amount = Amount((upper.value, lower.value), lower.amount.unit)
        far = upper.value >= 80 and upper.value - lower.value >= 20 and not upper.lead.endswith("to ")
        if (
            far
            and not upper.amount.unit
            and is_value(upper)
            and is_value(lower)
            and sensible(reading, amount)
        ):
            return Placed(amount, upper.placed.start, lower.placed.end)
    return None

"""Which of the numbers that a student says is the one recorded."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from voicecoach.following.numbers import Amount, Placed, paired, said, single
from voicecoach.following.unit_words import RATES
from voicecoach.procedure.model import Reading
from voicecoach.readings.as_meant import as_meant
from voicecoach.readings.corrections import corrected_at, cue_only, cues_after, taken_back
from voicecoach.readings.mentions import Mention, mentions, text
from voicecoach.readings.no_value import is_a_period, is_value
from voicecoach.readings.nouns import clashes, kind, kinds
from voicecoach.readings.results import results
from voicecoach.readings.sense import below_zero, sensible
from voicecoach.readings.servings import is_served, tells_a_size
from voicecoach.readings.shares import told
from voicecoach.readings.signs import is_below_zero, more_went_out
from voicecoach.readings.times_of_day import may_be_a_time
from voicecoach.readings.units import convert, needed, same_kind
from voicecoach.readings.units_apart import unit_apart, unit_put_right


def value(reading: Reading, heard: str) -> Amount | None:
    """The value recorded in a text, with the unit that was said; None where none of its shape is there."""
    without = _PARENTHESES.sub(" ", heard)
    if without != heard and (outside := value(reading, without)):
        return outside
    words = said(heard)
    best = _pair(reading, words) if reading.pair else _single(reading, words)
    if best is None or taken_back(words, best.end):
        return None
    unit = unit_put_right(words[best.end :], cues_after(words, best.end), best.amount.unit, reading.unit)
    return replace(best.amount, unit=unit) if unit else best.amount


_PARENTHESES = re.compile(r"\([^()]*\)")


def _single(reading: Reading, words: Sequence[str]) -> Placed | None:
    """The single number recorded among words."""
    places = as_meant(reading, single(words), words)
    in_pairs = [pair for pair in paired(words) if len(pair.amount.values) == 2]
    around = mentions(words, places)
    worked_out = results(around)
    candidates = [
        (mention, amount)
        for mention in around
        if not _in_a_pair(mention, in_pairs)
        and (amount := _as_recorded(reading, mention, mention.placed.start in worked_out))
    ]
    best = _best(reading, words, candidates, worked_out)
    if best is None and reading.unit == "%" and not places and (eaten := told(words)) is not None:
        return Placed(Amount((100 * eaten,), ""), 0, len(words))
    return best


def _in_a_pair(mention: Mention, pairs: Sequence[Placed]) -> bool:
    """Whether a number is one of two with `over` between them; `four hundred on two sheets` is no pair."""
    for pair in pairs:
        if pair.start <= mention.placed.start < pair.end:
            loose = pair.between in ("on", "by") and pair.amount.values[1] < 20
            return not (loose or is_a_period(text(mention.words[pair.end :])))
    return False


def _sensible_in_any(reading: Reading, amount: Amount) -> bool:
    """Whether a value makes sense, without a unit in any that the reading may be recorded in."""
    units = (reading.unit, *reading.also) if amount.unit in ("", "degrees") else (amount.unit,)
    return any(sensible(reading, replace(amount, unit=unit)) for unit in units)


_CHANGE = re.compile(
    r"\b(?:lost|lose|losing|gain\w*|up|down|off|dropped|shed|put on|another|heavier|lighter|within|every"
    r"|add|added)"
    r" (?:(?:about|maybe|by|like|another|over|almost|at least) )*$"
)


def _is_no_slip(mention: Mention, amount: Amount) -> bool:
    """Whether a number out of all sense is something else, and no value that was misheard or said wrongly."""
    if amount.values == (0.0,) or _CHANGE.search(mention.lead):
        return True
    if amount.unit or len(amount.values) > 1:
        return False
    return may_be_a_time(mention) or not (kind(mention) or _RECORD.search(mention.near))


_A_SIDE = re.compile(r"(?:arm|wrist|side|hand|leg|ear|radial|brachial) ")
_LEFT_COUNTS = frozenset({"output", "balance"})
"""Kinds of which what was given or is left is no part."""


def _as_recorded(reading: Reading, mention: Mention, worked_out: bool = False) -> Amount | None:
    """A number as a value of the reading; None where the words around it say that it is none.

    `worked_out`: it follows from others, so that it is no time, no size and no part.
    """
    own = kinds(reading)
    if clashes(kind(mention), own) and mention.amount.unit not in (reading.unit, *reading.also):
        return None
    share = reading.unit == "%"
    if reading.unit in RATES and mention.trail.startswith("so far "):
        return None
    if mention.counting or not (worked_out or is_value(mention, share)):
        return None
    if same_kind(reading.unit, "mL") and tells_a_size(mention):
        return None
    eaten_or_drunk = (share or same_kind(reading.unit, "mL")) and not own & _LEFT_COUNTS
    if eaten_or_drunk and not worked_out and is_served(mention):
        return None
    amount = mention.amount
    if share and not amount.unit and 0 < amount.values[0] < 1:
        return Amount((100 * amount.values[0],), "")
    if amount.unit == "L" and _A_SIDE.match(mention.trail):
        # `132/78 L arm`
        amount = replace(amount, unit="")
    if below_zero(reading) and (is_below_zero(mention) or more_went_out(mention)):
        amount = Amount((-abs(amount.values[0]),), amount.unit)
    if not amount.unit or (amount.unit == "degrees" and same_kind(reading.unit, "degF")):
        amount = replace(amount, unit=unit_apart(mention, reading.unit) or amount.unit)
    if not _sensible_in_any(reading, amount) and _is_no_slip(mention, amount):
        return None
    return amount


def _pair(reading: Reading, words: Sequence[str]) -> Placed | None:
    """The pair of numbers recorded among words."""
    around = mentions(words, paired(words))
    candidates = [
        (mention, amount)
        for mention in around
        if len(mention.amount.values) == 2 and (amount := _as_recorded(reading, mention))
    ]
    best = _best(reading, words, candidates)
    if best is None:
        return _named_pair(reading, around) or _bare_pair(reading, around)
    for mention in around:
        named = corrected_at(words, [mention.placed.start]) > best.end - 1 and _NAMED.search(mention.lead)
        if mention.placed.start >= best.end and (cue_only(mention.lead) or named):
            best = _one_corrected(reading, best, mention)
    return best


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


_UPPER_NOUN = r"(?:systolic|top|upper|first|high|higher)"
_LOWER_NOUN = r"(?:diastolic|bottom|low|lower|last|second)"
_UPPER = (
    rf"(?:{_UPPER_NOUN}|hear|heard|start\w*|begins?|began|came (?:in|on)|comes (?:in|on)|pick\w* up|appear\w*"
    r"|thump\w*|bounc\w*|jump\w*|knock\w*|tapping)"
)
_LOWER = (
    rf"(?:{_LOWER_NOUN}|quit\w*|dropp\w* (?:off|out)|died|dies|vanish\w*|lost|stop\w*|disappear\w*|fad\w*"
    r"|(?:go|goes|went) away|gone|end\w*|silent|quiet\w*|nothing)"
)
_NAMED = re.compile(
    rf"\b(?:{_UPPER}|{_LOWER})(?:'s)? (?:(?:number|one|sound|beat|pressure|is|was|at|it|of|reading|that|him"
    rf"|her) )*$"
)


def _named_pair(reading: Reading, around: Sequence[Mention]) -> Placed | None:
    """Two numbers told apart by their names: `systolic one eighteen diastolic seventy six`."""
    named: dict[str, Mention] = {}
    name = ""
    follows = bool(around) and not _NAMED.search(around[0].lead) and bool(_name(_right_after(around[0])))
    for mention in around:
        if not cue_only(mention.lead):
            name = _name(_right_after(mention)) if follows else _name(mention.lead) or name
        if name and len(mention.amount.values) == 1:
            named[name] = mention
    if len(named) < 2:
        return None
    upper, lower = named["upper"], named["lower"]
    amount = Amount((upper.value, lower.value), lower.amount.unit or upper.amount.unit)
    places = (upper.placed, lower.placed)
    placed = Placed(amount, min(place.start for place in places), max(place.end for place in places))
    return placed if sensible(reading, amount) else None


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
    named = re.match(rf"(?:(?:is|was|for|as|on|the|over) )*(?:{_UPPER}|{_LOWER}) ", mention.trail)
    return named[0] if named else ""


_JOINED = re.compile(r"(?:(?:and|with|then|to|down) )*")


def _bare_pair(reading: Reading, around: Sequence[Mention]) -> Placed | None:
    """Two numbers one after the other: `one eighteen seventy six`."""
    for upper, lower in pairwise(around):
        beside = _JOINED.fullmatch(upper.trail) or (f" {upper.lead}"[-4:] == lower.lead[-4:] == " at ")
        if not beside or len(upper.amount.values + lower.amount.values) != 2:
            continue
        amount = Amount((upper.value, lower.value), lower.amount.unit or upper.amount.unit)
        clash = clashes(kind(upper), kinds(reading))
        if not clash and is_value(lower) and sensible(reading, amount):
            return Placed(amount, upper.placed.start, lower.placed.end)
    return None


def _best(
    reading: Reading,
    words: Sequence[str],
    candidates: Sequence[tuple[Mention, Amount]],
    worked_out: frozenset[int] = frozenset(),
) -> Placed | None:
    """The candidate for which most speaks; what is said after a correction counts alone."""
    units = (reading.unit, *reading.also)
    alike = [
        (mention, amount)
        for mention, amount in candidates
        if not amount.unit or any(same_kind(amount.unit, unit) for unit in units)
    ]
    left = alike or candidates
    corrected = corrected_at(words, [mention.placed.start for mention, _ in left])
    left = [(mention, amount) for mention, amount in left if mention.placed.start >= corrected]
    if not left:
        return None
    mention, amount = max(
        left,
        key=lambda each: (
            _weight(reading, *each) + (4 if each[0].placed.start in worked_out else 0),
            each[0].placed.start,
        ),
    )
    if not amount.unit:
        amount = replace(amount, unit=_unit_said_again(mention, left))
    return replace(mention.placed, amount=amount)


_RECORD = re.compile(
    r"\b(?:record\w*|writ\w+|wrote|chart\w*|log\w*|not(?:e|es|ed|ing)|jot\w*|document\w*|enter\w*|puts?"
    r"|putting|mark"
    r"|goes|going|sheet|page|column|form|down|report\w*|final|say|call (?:it|that)|go with|settl\w+|choose"
    r"|pick|stick\w* with|answer)\b"
)
_RECORD_AFTER = re.compile(
    r"^(?:\w+ ){0,2}?(?:goes|going|is what|in the chart|on the (?:chart|sheet|form|page)|down|written"
    r"|recorded|charted|noted)\b"
)
_RESULT = re.compile(
    r"\b(?:so|that's|that is|makes?|making|equals?|total\w*|altogether|together|comes? to|came to|comes out"
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
    r"\b(?:this morning|earlier|before|at first|at breakfast|started|was|were|(?:she|he|they) (?:says|said"
    r"|thinks"
    r"|thought|claims|swears|told me|tells me)|used)\b"
)
_ROUGHLY = re.compile(
    r"\b(?:over|under|above|below|than|past|almost|nearly|up to|between|least|if|of the) "
    r"(?:the |a )?$"
)
_MARK = re.compile(r"^(?:milliliter )?(?:marks?|lines?|notch|markings?) ")


def _unit_said_again(mention: Mention, others: Sequence[tuple[Mention, Amount]]) -> str:
    """The unit of a number that is said again with it, or was said right before: `twelve one two breaths`."""
    for other, amount in others:
        later = max(mention, other, key=lambda each: each.placed.start)
        beside = other is later or (mention.earlier == other.placed and _AGAIN.fullmatch(later.lead))
        if amount.unit and amount.values == mention.amount.values and beside:
            return amount.unit
    return ""


_AGAIN = re.compile(
    r"(?:(?:that's|yes|yeah|yep|i|say|repeat|again|once more|okay|correct|right|write|it's) )*"
)


def _is_converted(mention: Mention) -> bool:
    """Whether it is the number before it in another unit: `68.4 kg (150.8 lb)`."""
    earlier = mention.earlier
    if not earlier or mention.lead not in ("", "or ", "slash ") or mention.amount.unit == earlier.amount.unit:
        return False
    units = (earlier.amount.unit, mention.amount.unit)
    if "degrees" in units or not needed(units[1]) or not same_kind(*units):
        return False
    return abs(convert(earlier.amount.values[0], *units) - mention.value) < 0.01 * abs(mention.value)


def _weight(reading: Reading, mention: Mention, amount: Amount) -> int:
    """How much speaks for a number being the one recorded."""
    own_unit = amount.unit in (reading.unit, *reading.also)
    return (
        (2 if own_unit else -5 if amount.unit else 0)
        + (3 if kind(mention) in kinds(reading) else 0)
        + (3 if _RECORD.search(mention.near) or _RECORD_AFTER.match(mention.trail) else 0)
        + (3 if _RESULT.search(mention.lead) else 0)
        + (3 if mention.earlier and _EQUALS.fullmatch(mention.lead) else 0)
        + (4 if _NOW.search(mention.lead) or _NOW_AFTER.match(mention.trail) else 0)
        + (2 if _sensible_in_any(reading, amount) else -4)
        - (3 if reading.unit == "%" and 0 < mention.value < 1 else 0)
        - (3 if _is_converted(mention) else 0)
        - (3 if _BEFORE.search(mention.near) else 0)
        - (3 if _ROUGHLY.search(mention.lead) or _MARK.match(mention.trail) else 0)
    )

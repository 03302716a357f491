"""Which of the numbers that a student says is the one recorded."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from voicecoach.following.numbers import Amount, Placed, paired, said, single
from voicecoach.following.unit_words import RATES
from voicecoach.procedure.model import Reading
from voicecoach.readings.as_meant import as_meant
from voicecoach.readings.corrections import corrected_at, cues_after, taken_back
from voicecoach.readings.elsewhere import is_elsewhere
from voicecoach.readings.mentions import Mention, mentions, text
from voicecoach.readings.misheard import as_spoken
from voicecoach.readings.no_value import is_a_period, is_value, tells_a_unit, without_places
from voicecoach.readings.nouns import clashes, kind, kinds
from voicecoach.readings.pairs import corrected, joined
from voicecoach.readings.results import results
from voicecoach.readings.sense import below_zero, sensible_in_any
from voicecoach.readings.servings import is_served, tells_a_size
from voicecoach.readings.shares import told
from voicecoach.readings.signs import is_below_zero, is_even, is_the_difference, more_went_out
from voicecoach.readings.times_of_day import is_time, may_be_a_time
from voicecoach.readings.units import same_kind
from voicecoach.readings.units_apart import unit_apart, unit_put_right
from voicecoach.readings.weighing import RECORD, is_said_to_be_so, weight


def value(reading: Reading, heard: str) -> Amount | None:
    """The value recorded in a text, with the unit that was said; None where none of its shape is there."""
    without = _PARENTHESES.sub(" ", heard)
    if without != heard and (outside := value(reading, without)):
        return outside
    words = without_places(as_spoken(said(heard)))
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
    worked_out = results([mention for mention in around if mention.amount.unit or not is_time(mention)])
    candidates = [
        (mention, amount)
        for mention in around
        if not _in_a_pair(mention, in_pairs)
        and (amount := _as_recorded(reading, mention, mention.placed.start in worked_out))
    ]
    if below_zero(reading) and is_even(words, [mention.value for mention in around if is_value(mention)]):
        return Placed(Amount((0.0,), ""), 0, len(words))
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


_CHANGE = re.compile(
    r"\b(?:lost|lose|losing|gain\w*|up|down|off|dropped|shed|put on|another|heavier|lighter|within|every"
    r"|add|added)"
    r" (?:(?:about|maybe|by|like|another|over|almost|at least) )*$"
)
_CHANGE_AFTER = re.compile(
    r"^(?:over|under|up|down|above|below|more|less|off|\w+er) "
    r"(?:than|from|since|yesterday|last|before|what|where|this morning)\b|^since "
    r"|^(?:more|less|fewer|high|low|warm|cool|hott|heavi|light|fast|slow)(?:er)? "
)
"""As in `four pounds over yesterday`."""


def _is_no_slip(mention: Mention, amount: Amount) -> bool:
    """Whether a number out of all sense is something else, and no value that was misheard or said wrongly."""
    change = _CHANGE.search(mention.lead) or _CHANGE_AFTER.match(mention.trail)
    if amount.values == (0.0,) or change or (amount.unit in ("lb", "kg") and amount.values[0] < 10):
        return True
    if amount.unit or len(amount.values) > 1:
        return False
    return may_be_a_time(mention) or not (kind(mention) or RECORD.search(mention.near))


def _is_of_a_thing(reading: Reading, mention: Mention) -> bool:
    """Whether it is in a unit of another quantity and of something else: `the tubing's about three feet`."""
    unit = mention.amount.unit
    if (
        not unit
        or cues_after(mention.words, mention.placed.end)
        or any(same_kind(unit, own) for own in (reading.unit, *reading.also))
    ):
        return False
    return bool(mention.near and not kind(mention) and not is_said_to_be_so(mention))


_A_SIDE = re.compile(r"(?:arm|wrist|side|hand|leg|ear|radial|brachial) ")
_LEFT_COUNTS = frozenset({"output", "balance"})
"""Kinds of which what was given or is left is no part."""


def _as_recorded(reading: Reading, mention: Mention, worked_out: bool = False) -> Amount | None:
    """A number as a value of the reading; None where the words around it say that it is none.

    `worked_out`: it follows from others, so that it is no time, no size and no part.
    """
    own = kinds(reading)
    difference = below_zero(reading) and is_the_difference(mention)
    foreign = clashes(kind(mention), own) and mention.amount.unit not in (reading.unit, *reading.also)
    if foreign and not difference:
        return None
    share = reading.unit == "%"
    if reading.unit in RATES and mention.trail.startswith("so far "):
        return None
    if mention.counting or is_elsewhere(mention) or tells_a_unit(mention):
        return None
    if _is_of_a_thing(reading, mention):
        return None
    if not (worked_out or difference or is_value(mention, share)):
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
    if not sensible_in_any(reading, amount) and _is_no_slip(mention, amount):
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
    return joined(reading, around) if best is None else corrected(reading, best, around)


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
    since = corrected_at(words, [mention.placed.start for mention, _ in left])
    left = [(mention, amount) for mention, amount in left if mention.placed.start >= since]
    if not left:
        return None
    said_of_it = [amount.values for _, amount in left]

    def for_it(each: tuple[Mention, Amount]) -> tuple[int, int]:
        start = each[0].placed.start
        again = said_of_it.count(each[1].values) > 1
        return weight(reading, *each) + (4 if start in worked_out else 0) + 2 * again, start

    mention, amount = max(left, key=for_it)
    if not amount.unit:
        amount = replace(amount, unit=_unit_said_again(mention, left))
    return replace(mention.placed, amount=amount)


def _unit_said_again(mention: Mention, others: Sequence[tuple[Mention, Amount]]) -> str:
    """The unit of a number that is said again with it, or was said right before: `twelve one two breaths`."""
    for other, amount in others:
        later = max(mention, other, key=lambda each: each.placed.start)
        beside = other is later or (mention.earlier == other.placed and _AGAIN.fullmatch(later.lead))
        if amount.unit and amount.values == mention.amount.values and beside:
            return amount.unit
    return ""


_AGAIN = re.compile(
    r"(?:(?:that's|which|is|so|or|yes|yeah|yep|i|say|repeat|again|once more|okay|correct|right|write|it's) )*"
)

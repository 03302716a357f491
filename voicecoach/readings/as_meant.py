"""Numbers that run into one another as they are said, put as a reading of that kind means them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from voicecoach.following.numbers import Amount, Placed
from voicecoach.procedure.model import Reading
from voicecoach.readings.sense import sensible_in_any
from voicecoach.readings.units import same_kind


def as_meant(reading: Reading, places: Sequence[Placed], words: Sequence[str]) -> list[Placed]:
    """The numbers among words as that reading means them: `ninety eight six`, `one eighty one twenty`."""
    places = [_without_one(reading, place, words) for place in _tens_and_ones(places, words)]
    if reading.unit in ("degF", "degC"):
        return _with_tenths(places, words)
    if same_kind(reading.unit, "mL"):
        return _rounded(places)
    if same_kind(reading.unit, "kg"):
        return _with_smaller(places, words)
    return [_of_a_hundred(place) for place in places] if reading.unit == "%" else places


_BEFORE_ONE = frozenset("missed skipped that this last first lost finished ate another extra other".split())


def _without_one(reading: Reading, place: Placed, words: Sequence[str]) -> Placed:
    """A number out of `i missed one nineteen`, where a hundred more would be out of all sense."""
    rest = replace(place.amount, values=(place.amount.values[0] - 100,))
    begins = place.start and words[place.start] == "one" and words[place.start - 1] in _BEFORE_ONE
    if not begins or not 110 <= place.amount.values[0] < 200 or sensible_in_any(reading, place.amount):
        return place
    return replace(place, amount=rest, start=place.start + 1) if sensible_in_any(reading, rest) else place


_SMALLER = {("lb", "oz"): 16, ("kg", "g"): 1000}
"""How many of a smaller unit make the larger: NIST Handbook 44, appendix C, and the SI prefix."""


def _with_smaller(places: Sequence[Placed], words: Sequence[str]) -> list[Placed]:
    """The same numbers, with `one fifty pounds eight ounces` as 150.5 pounds."""
    out: list[Placed] = []
    for place in places:
        last = out[-1] if out else None
        value = place.amount.values[0]
        if last and list(words[last.end : place.start]) in ([], ["and"]):
            whole = last.amount.values[0]
            parts = _SMALLER.get((last.amount.unit, place.amount.unit), 0)
            if 0 <= value < parts and whole == int(whole):
                amount = Amount((whole + value / parts,), last.amount.unit)
                out[-1] = Placed(amount, last.start, place.end)
                continue
        out.append(place)
    return out


def _of_a_hundred(place: Placed) -> Placed:
    """A percentage out of `breakfast at eight fifty percent`."""
    value = place.amount.values[0]
    if place.amount.unit != "%" or value <= 150 or value % 5 or place.end - place.start < 2:
        return place
    return replace(place, amount=replace(place.amount, values=(value % 100,)), start=place.start + 1)


def _tens_and_ones(places: Sequence[Placed], words: Sequence[str]) -> list[Placed]:
    """The same numbers, with `seventy and two` as one."""
    out: list[Placed] = []
    for place in places:
        last, value = out[-1] if out else None, place.amount.values[0]
        if (
            last
            and not last.amount.unit
            and list(words[last.end : place.start]) == ["and"]
            and 1 <= value <= 9
        ):
            tens = last.amount.values[0]
            if tens in range(50, 100, 10) and value == int(value):
                out[-1] = Placed(Amount((tens + value,), place.amount.unit), last.start, place.end)
                continue
        out.append(place)
    return out


def _with_tenths(places: Sequence[Placed], words: Sequence[str]) -> list[Placed]:
    """The same numbers, with `ninety eight six` as one."""
    out: list[Placed] = []
    for place in places:
        last = out[-1] if out else None
        if (
            last
            and list(words[last.end : place.start]) in ([], ["and"])
            and (not last.amount.unit or 0 < place.amount.values[0] < 1)
            and 30 <= (whole := last.amount.values[0]) <= 110
            and whole == int(whole)
            and ((tenths := place.amount.values[0]) in range(10) or 0 < tenths < 1)
        ):
            more = tenths if 0 < tenths < 1 else tenths / 10
            amount = Amount((whole + more,), place.amount.unit or last.amount.unit)
            out[-1] = Placed(amount, last.start, place.end)
        else:
            out.append(_of_degrees(place, words))
    return out


def _of_degrees(place: Placed, words: Sequence[str]) -> Placed:
    """A number of degrees out of `one oh one two`, and out of `almost a hundred ninety nine point nine`."""
    value = place.amount.values[0]
    for other in (value / 10, value - 100):
        if words[place.start] == "one" and value > 112 and 85 <= other <= 112:
            return replace(place, amount=replace(place.amount, values=(round(other, 6),)))
    return place


def _rounded(places: Sequence[Placed]) -> list[Placed]:
    """The same numbers, `one eighty one twenty` as 180 and 120: volumes are round."""
    out = list(places)
    for index, (one, other) in enumerate(pairwise(places)):
        first, second = one.amount.values[0], other.amount.values[0]
        beside = one.end == other.start and not one.amount.unit and one.end - one.start > 2
        if beside and first > 100 and 1 <= first % 10 <= 9 and 10 <= second < 100 and second % 5 == 0:
            out[index] = Placed(Amount((first - first % 10,), ""), one.start, one.end - 1)
            second = 100 * (first % 10) + second
            out[index + 1] = Placed(Amount((second,), other.amount.unit), one.end - 1, other.end)
    return out

"""Which numbers are worked out from those said before them: a sum, a difference, a product."""

from __future__ import annotations

from collections.abc import Sequence

from voicecoach.readings.mentions import Mention
from voicecoach.readings.units import TRADE_OUNCE

_HAIR = 1e-6


def results(around: Sequence[Mention]) -> frozenset[int]:
    """Where numbers begin that follow from those right before them and of which none follows in turn.

    A result takes the place of its parts: of `two forty less sixty is one eighty and thirty makes two ten`
    the last alone is one.
    """
    left: list[tuple[float, int]] = []
    every: list[tuple[float, int]] = []
    ounces = False
    found: set[int] = set()
    for mention in around:
        parts = _parts([value for value, _ in left], mention.value, ounces)
        if not parts and (of_all := _parts([value for value, _ in every], mention.value, ounces)):
            # What seemed to be a result was none: of 240, 180 and 60 the last is their difference by chance.
            parts = len([start for _, start in left if start >= every[-of_all][1]])
        if parts:
            found -= {start for _, start in left[-parts:]}
            left = left[:-parts]
            found.add(mention.placed.start)
        left.append((mention.value, mention.placed.start))
        every.append((mention.value, mention.placed.start))
        ounces = ounces or mention.amount.unit == "oz"
    return frozenset(found)


def _parts(earlier: Sequence[float], value: float, ounces: bool) -> int:
    """How many of the last numbers make a value; 0 where they do not."""
    if not value or not earlier:
        return 0
    for length in range(len(earlier), 1, -1):
        if _same(sum(earlier[-length:]), value):
            return length
    if len(earlier) > 1 and (
        _same(earlier[-2] - earlier[-1], value)
        or _same(earlier[-1] - earlier[-2], abs(value))
        or _same(earlier[-2] * earlier[-1], value)
    ):
        return 2
    return 1 if ounces and _same(earlier[-1] * TRADE_OUNCE, value) else 0


def _same(one: float, other: float) -> bool:
    return abs(one - other) < _HAIR

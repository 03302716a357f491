"""Readings: the value that a student records aloud."""

from __future__ import annotations

from voicecoach.events import Read
from voicecoach.following.numbers import Amount, amounts
from voicecoach.procedure.model import Reading


def recorded(at: float, step: str, reading: Reading, said: str) -> Read | None:
    """The reading in what was said; None where no number of its shape is there.

    Where several numbers are said, one with the reading's unit counts, else the last. A number with
    another unit is never taken.
    """
    shaped = [amount for amount in amounts(said) if (len(amount.values) == 2) == reading.pair]
    fitting = [amount for amount in shaped if amount.unit in ("", reading.unit)]
    if not fitting:
        return None
    best: Amount = max(enumerate(fitting), key=lambda item: (item[1].unit == reading.unit, item[0]))[1]
    return Read(at, step, best.values, best.unit, said)

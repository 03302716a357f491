"""Readings: the value that a student records aloud, and whether it can be taken as it was said."""

from __future__ import annotations

from voicecoach.events import Read
from voicecoach.following.numbers import Amount, in_words
from voicecoach.following.numbers import said as words_said
from voicecoach.following.unit_words import unit_at
from voicecoach.procedure.model import Reading
from voicecoach.readings.misheard import as_spoken
from voicecoach.readings.recording import value
from voicecoach.readings.sense import sensible
from voicecoach.readings.units import needed, spoken


def found(reading: Reading, said: str) -> Amount | None:
    """The value recorded in what was said, with the unit said; None where none of its shape is there.

    Whether it can be taken is for `doubt` to say.
    """
    return value(reading, said)


def doubt(reading: Reading, amount: Amount) -> str:
    """Why a value cannot be taken; empty where it can.

    `unit` where it is worth nothing without a unit and none, or no scale of degrees, was said; `other unit`
    where the reading is not recorded in the one said; `sense` where it is out of all sense.
    """
    allowed = (reading.unit, *reading.also)
    if amount.unit == "degrees" and any(unit in ("degF", "degC") for unit in allowed):
        return "unit"
    if amount.unit and amount.unit not in allowed:
        return "other unit"
    if not amount.unit and needed(reading.unit):
        return "unit"
    return "" if sensible(reading, amount) else "sense"


def completed(reading: Reading, amount: Amount, said: str) -> Amount | None:
    """The value after the student was asked about it; None where neither a unit nor a value was said.

    A unit alone completes a value that had none; what was said in another unit needs to be said again.
    A number alone is in the unit that the student had said before, or that the coach has asked for.
    """
    again = found(reading, said)
    if again is None:
        unit = _unit_alone(said)
        return Amount(amount.values, unit) if unit and amount.unit in ("", "degrees") else None
    if again.unit or amount.unit in ("", "degrees"):
        return again
    allowed = (reading.unit, *reading.also)
    if amount.unit in allowed:
        return Amount(again.values, amount.unit)
    return Amount(again.values, "" if reading.also else reading.unit)


def recorded(at: float, step: str, reading: Reading, said: str) -> Read | None:
    """The reading in what was said; None where no value is there that can be taken."""
    amount = found(reading, said)
    if amount is None or doubt(reading, amount):
        return None
    return Read(at, step, amount.values, amount.unit, said)


def question(reading: Reading, amount: Amount, why: str) -> str:
    """What the coach asks aloud about a value that cannot be taken; `why` is what `doubt` says of it."""
    number = " over ".join(f"{value:g}" for value in amount.values)
    if why == "unit" and amount.unit == "degrees":
        return f"{number} degrees Fahrenheit, or Celsius?"
    if why == "unit":
        first = amount.values[0]
        whole = len(amount.values) == 1 and 0 <= first < 1000 and first == int(first)
        return f"{in_words(int(first)).capitalize() if whole else number} what?"
    if why == "other unit":
        return f"In {' or '.join(spoken(unit) for unit in (reading.unit, *reading.also))}, please."
    return f"{number} {spoken(amount.unit)}".strip() + "? Say it again."


def _unit_alone(said: str) -> str:
    """The last unit named in a text without a number; empty where none is."""
    words = as_spoken(words_said(said))
    unit, place = "", 0
    while place < len(words):
        length, named = unit_at(words[place:])
        unit = named or unit
        place += max(length, 1)
    return unit

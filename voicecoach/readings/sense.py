"""What values make any sense, so that a slip of the tongue or of the ear is asked again and not scored."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from voicecoach.following.numbers import Amount
from voicecoach.procedure.model import Reading
from voicecoach.readings.nouns import kinds
from voicecoach.readings.units import convert, same_kind

SENSE = {
    "mL": (0.0, 5000.0), "L": (0.0, 5.0), "oz": (0.0, 170.0), "beats/min": (20.0, 250.0),
    "breaths/min": (4.0, 60.0), "mmHg": (20.0, 300.0), "lb": (50.0, 800.0), "kg": (20.0, 360.0),
    "degF": (85.0, 112.0), "degC": (29.0, 44.5), "%": (0.0, 100.0), "in": (36.0, 90.0), "cm": (90.0, 230.0),
}  # fmt: skip
"""The least and the most of an adult that makes any sense, by unit: common practice, no source."""
_ANY = (0.0, float("inf"))


def below_zero(reading: Reading) -> bool:
    """Whether a value may be below zero, as intake less output may."""
    return reading.sense[0] < 0 if reading.sense else "balance" in kinds(reading)


def sensible(reading: Reading, amount: Amount) -> bool:
    """Whether a value makes any sense; of a pair the second number must be below the first.

    A unit that does not turn into the reading's never does.
    """
    unit = amount.unit or reading.unit
    bounds, values = SENSE.get(unit, _ANY), amount.values
    if reading.sense:
        if not same_kind(unit, reading.unit) or unit == "degrees":
            return False
        bounds, values = reading.sense, tuple(convert(value, unit, reading.unit) for value in values)
    elif below_zero(reading):
        bounds = (-bounds[1], bounds[1])
    falling = all(upper > lower for upper, lower in pairwise(values))
    return falling and all(bounds[0] <= value <= bounds[1] for value in values)


def sensible_in_any(reading: Reading, amount: Amount) -> bool:
    """Whether a value makes sense, without a unit in any that the reading may be recorded in."""
    units = (reading.unit, *reading.also) if amount.unit in ("", "degrees") else (amount.unit,)
    return any(sensible(reading, replace(amount, unit=unit)) for unit in units)

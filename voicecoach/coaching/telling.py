"""What the coach tells of a case: whom the student meets, and what there is to see, feel and hear.

The coach tells it as the student would find it, never as the value that has to be recorded.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from voicecoach.events import Simulated
from voicecoach.procedure.case import Case, Share
from voicecoach.procedure.model import Reading, Step, Truth

SOUNDS = frozenset({"beats", "breaths", "sounds"})
"""Ways to find a value by hearing it."""
_TWO_A_SECOND = 2.0
"""Mercury by which the needle falls each second: ACC/AHA 2017, restated."""
_ABOVE_AND_BELOW = 40.0
"""Mercury that it falls before the first sound and after the last, about."""
_PARTS = {
    0.0: "all of it is eaten",
    0.25: "a quarter is left",
    0.5: "half is left",
    0.75: "three quarters are left",
    1.0: "nothing of it is eaten",
}
"""What is left of a dish, by the share."""
_ALOUD = {
    "lb": "pounds",
    "kg": "kilograms",
    "degF": "degrees Fahrenheit",
    "degC": "degrees Celsius",
    "%": "percent",
}
"""Units of displays as they are spoken."""


def introduction(case: Case) -> str:
    """Whom the student meets, in a sentence or two; empty where the case says nothing of it."""
    parts = []
    if case.resident:
        parts.append(f"Your resident is {case.resident} in room {case.room}.")
    if case.weak:
        parts.append(f"The {case.weak} side is weak.")
    return " ".join(parts)


def found(reading: Reading, step: Step, case: Case, at: str) -> str:
    """What is seen at the step `at` of the value that `step` records; empty where nothing is."""
    truth = reading.truth
    value = case.values.get(step.id)
    if truth is None or value is None or truth.shown in SOUNDS:
        return ""
    if truth.shown == "level":
        return _level(value[0], reading.scale or 1.0)
    if truth.shown == "display":
        return f"The display shows {value[0]:g} {_ALOUD.get(reading.unit, reading.unit)}."
    return _items(case.shares[step.id], case.ounces and truth.ounces, truth, at)


def simulated(at: float, reading: Reading, step: Step, case: Case) -> Simulated | None:
    """What the student feels or hears of the value that a step records; None where it is seen."""
    truth = reading.truth
    value = tuple(case.values.get(step.id, ()))
    if truth is None or not value or truth.shown not in SOUNDS:
        return None
    texts = {
        "beats": "In one full minute you feel {0:g} beats.",
        "breaths": "In one full minute you see {0:g} breaths.",
        "sounds": "You hear the first sound at {0:g} and the last at {1:g}.",
    }
    return Simulated(at, step.id, truth.shown, value, texts[truth.shown].format(*value))


def lasting(simulated: Simulated) -> float:
    """Seconds that it takes until the student knows the value, about."""
    if simulated.what != "sounds":
        return 60.0
    systolic, diastolic = simulated.values
    return (systolic - diastolic + _ABOVE_AND_BELOW) / _TWO_A_SECOND


def _level(value: float, scale: float) -> str:
    """A level beside the marks of a container."""
    below = math.floor(value / scale + 1e-9) * scale
    if abs(value - below) < 1e-6:
        return f"The level stands on the {below:g} mark."
    return f"The level lies between the {below:g} and the {below + scale:g} mark."


def _items(shares: Sequence[Share], ounces: bool, truth: Truth, at: str) -> str:
    """What was served, where that is learned first, or what is left of it, or both."""

    def amount(value: float) -> str:
        unit = "ounce" if ounces else "milliliter"
        return f"{value:g} {unit}{'' if value == 1 else 's'}"

    if at == truth.served_at:
        served = [f"{share.of}, {amount(share.served)}" for share in shares if share.kind == "drink"]
        return f"When full they held: {'; '.join(served)}."
    both = truth.served_at is None
    parts = []
    for share in shares:
        if share.kind == "dish":
            parts.append(f"{share.of}: {_PARTS.get(share.left, f'{100 * share.left:g} percent are left')}")
        elif share.kind == "drink" and both:
            parts.append(f"{share.of}, {amount(share.served)}, of which {share.left:g} are left")
        else:
            parts.append(f"{share.of}, {amount(share.left)}")
    left = {"drink"} == {share.kind for share in shares} and not both
    return f"{'Left over' if left else 'There are'}: {'; '.join(parts)}."

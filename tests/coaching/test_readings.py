"""The value that a student records aloud."""

from __future__ import annotations

import pytest

from tests.narrated import Narrated, procedure
from voicecoach.coaching.readings import recorded
from voicecoach.events import Read
from voicecoach.procedure.model import Reading


def reading(name: str, step: str) -> Reading:
    found = procedure(name).step(step).reading
    assert found is not None
    return found


PRESSURE = reading("blood-pressure", "record")
URINE = reading("drainage-bag", "record")
PULSE = reading("pulse-breaths", "record-pulse")
BREATHS = reading("pulse-breaths", "record-breaths")


@pytest.mark.parametrize(
    ("wanted", "said", "values", "unit"),
    [
        (PRESSURE, "i write down one twenty over eighty", (120.0, 80.0), ""),
        (PRESSURE, "so that's one eighteen on seventy six mister hadley", (118.0, 76.0), ""),
        (PRESSURE, "first a hundred over seventy no one hundred and two over seventy", (102.0, 70.0), ""),
        (URINE, "i record three hundred and fifty milliliters", (350.0,), "mL"),
        (URINE, "two seventy five cc goes on the sheet", (275.0,), "mL"),
        (URINE, "at ten i write down four hundred mils", (400.0,), "mL"),
        (URINE, "four hundred mils at ten", (400.0,), "mL"),
        (PULSE, "seventy two beats per minute", (72.0,), "beats/min"),
        (PULSE, "i am writing seventy two", (72.0,), ""),
        (BREATHS, "her pulse was seventy two beats and i write eighteen breaths", (18.0,), "breaths/min"),
        (BREATHS, "respirations are sixteen", (16.0,), ""),
    ],
)
def test_the_value_is_found(wanted: Reading, said: str, values: tuple[float, ...], unit: str) -> None:
    assert recorded(5.0, "step", wanted, said) == Read(5.0, "step", values, unit, said)


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        (PRESSURE, "i write the numbers down"),
        (PRESSURE, "the top number is one twenty"),
        (URINE, "one twenty over eighty"),
        (URINE, "that is eight ounces"),
        (PULSE, "sixteen breaths"),
        (BREATHS, "seventy two beats"),
    ],
)
def test_a_number_of_another_shape_or_unit_is_not_taken(wanted: Reading, said: str) -> None:
    assert recorded(5.0, "step", wanted, said) is None


def reads(attempt: Narrated) -> list[tuple[str, tuple[float, ...]]]:
    return [(event.step, event.values) for event in attempt.events if isinstance(event, Read)]


def measured() -> Narrated:
    """An attempt at blood pressure just before it is recorded."""
    attempt = Narrated("blood-pressure", "rehearse")
    for step in attempt.procedure.steps:
        if step.id == "record":
            break
        attempt.say(step.say[3])
    return attempt


def test_a_value_said_with_the_step_is_read() -> None:
    attempt = measured()
    attempt.say("i'm writing down one twenty eight over seventy six")
    assert reads(attempt)[-1:] == [("record", (128.0, 76.0))]


def test_a_value_said_in_the_next_breath_is_read() -> None:
    attempt = measured()
    attempt.say("i write the blood pressure down on the sheet")
    assert reads(attempt) == []
    attempt.say("one thirty over eighty four")
    assert reads(attempt) == [("record", (130.0, 84.0))]


def test_a_value_said_long_after_the_step_is_not_read() -> None:
    attempt = measured()
    attempt.say("i write the blood pressure down on the sheet")
    attempt.say("what a lovely sunny day it is")
    attempt.say("one thirty over eighty four")
    assert reads(attempt) == []

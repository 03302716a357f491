"""What is told of a case: as the student finds it, never as what has to be recorded."""

from __future__ import annotations

import re

import pytest

from tests.narrated import procedure
from voicecoach.coaching.telling import SOUNDS, found, introduction, lasting, simulated
from voicecoach.procedure.case import Case, Share, draw
from voicecoach.procedure.library import shipped
from voicecoach.procedure.model import Procedure, Reading, Step

CASES = range(1, 40)


def readings(of: Procedure) -> list[tuple[Reading, Step]]:
    return [(step.reading, step) for step in of.steps if step.reading and step.reading.truth]


def told(name: str, number: int) -> list[tuple[Step, Case, str]]:
    """All that is told of the readings of a case, in words or for where there is no sound."""
    of = procedure(name)
    case = draw(of, number)
    out = []
    for reading, step in readings(of):
        assert reading.truth is not None
        for at in {reading.truth.at, reading.truth.served_at or reading.truth.at}:
            out.append((step, case, found(reading, step, case, at)))
        sounds = simulated(0.0, reading, step, case)
        assert (sounds is not None) == (reading.truth.shown in SOUNDS)
        out += [(step, case, sounds.text)] if sounds else []
    return out


@pytest.mark.parametrize("name", shipped())
def test_something_is_told_of_every_reading_of_every_case(name: str) -> None:
    for number in CASES:
        for step, case, text in told(name, number):
            shown = step.reading and step.reading.truth and step.reading.truth.shown
            assert text or shown in SOUNDS, (step.id, case)


@pytest.mark.parametrize("name", ["drainage-bag", "fluid-intake", "meal-intake", "fluid-balance"])
def test_what_has_to_be_worked_out_is_not_told(name: str) -> None:
    for number in CASES:
        for step, case, text in told(name, number):
            assert step.reading is not None
            (value,) = case.values[step.id]
            between = "between" in text or step.reading.truth.shown == "items"  # type: ignore[union-attr]
            parts = [share.left for share in case.shares.get(step.id, ())]
            parts += [share.served for share in case.shares.get(step.id, ())]
            if between and value not in parts:
                assert f"{value:g}" not in re.findall(r"[\d.]*\d", text), (step.id, case, text)


def test_a_level_lies_between_the_marks_on_either_side_of_it() -> None:
    of = procedure("drainage-bag")
    ((reading, step),) = readings(of)
    for value in range(100, 901, 5):
        case = Case(1, "", "", "", values={step.id: (float(value),)})
        marks = [float(mark) for mark in re.findall(r"\d+", found(reading, step, case, "level"))]
        assert marks == ([value] if value % 25 == 0 else [value // 25 * 25, value // 25 * 25 + 25])


def test_nothing_is_told_where_there_is_no_value() -> None:
    of = procedure("drainage-bag")
    ((reading, step),) = readings(of)
    assert found(reading, step, Case(1, "Mrs. Bell", "101", ""), "level") == ""
    assert introduction(Case(1, "", "", "")) == ""


def test_the_time_that_a_sound_takes_is_that_of_the_needle_or_a_minute() -> None:
    of = procedure("blood-pressure")
    ((reading, step),) = readings(of)
    case = Case(1, "", "", "", values={step.id: (120.0, 80.0)})
    sounds = simulated(0.0, reading, step, case)
    assert sounds is not None
    # 2 mmHg a second (ACC/AHA 2017), over 40 between the sounds and what comes before and after.
    assert lasting(sounds) == (40 + 40) / 2


def test_a_drink_of_one_ounce_is_one() -> None:
    of = procedure("fluid-intake")
    ((reading, step),) = readings(of)
    shares = (Share("tea", "drink", 6.0, 1.0),)
    case = Case(1, "", "", "", ounces=True, values={step.id: (150.0,)}, shares={step.id: shares})
    assert found(reading, step, case, "level") == "Left over: tea, 1 ounce."

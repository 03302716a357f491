"""Recorded values against the true ones of cases, with the arithmetic checked by hand and by pint."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from pint import UnitRegistry

from tests.procedure.examples import SHIPPED, plain_step, reproducible, shipped
from voicecoach.events import Read
from voicecoach.procedure.case import Case, Share, draw
from voicecoach.procedure.model import Procedure, Step
from voicecoach.readings.judging import Judgement, judged

REGISTRY: UnitRegistry[float] = UnitRegistry()
NO_CASE = Case(1, "", "112", "")


def step(unit: str, **reading: Any) -> Step:
    """A step that records a reading."""
    plain = {"quantity": "something", "unit": unit, "within": 0} | reading
    return Step.model_validate(plain_step("record", reading=plain))


def case(*values: float, shares: tuple[Share, ...] = (), ounces: bool = False) -> Case:
    """A case in which the step `record` has these true values."""
    return replace(
        NO_CASE, values={"record": values}, shares={"record": shares} if shares else {}, ounces=ounces
    )


def judge(step: Step, case: Case, *values: float, unit: str | None = None) -> Judgement:
    """The judgement of these values, in the reading's unit unless another is given."""
    assert step.reading is not None
    said = step.reading.unit if unit is None else unit
    judgement = judged(step, Read(5.0, "record", values, said, ""), case)
    assert judgement is not None
    return judgement


URINE = step("mL", scale=25, between_marks="up", within=25)
PRESSURE = step("mmHg", pair=True, scale=2, within=8)
PULSE = step("beats/min", within=4)
WEIGHT = step("lb", also=["kg"], within=2)
TEMPERATURE = step("degF", also=["degC"], within=0.2)
INTAKE = step("mL", within=30)
BALANCE = step("mL", quantity="fluid balance", within=30)
MEAL = step("%", within=10)

MILK = Share("milk", "drink", 240, 60)
JUICE = Share("juice", "drink", 120, 30)
IN_OUNCES = (Share("milk", "drink", 8, 2), Share("juice", "drink", 4, 1))


def test_a_level_between_two_marks_is_that_of_the_mark_above() -> None:
    """The nearest mark above, of 25 milliliters: common practice, no source."""
    right = judge(URINE, case(110), 125)
    assert (right.verdict, right.expected) == ("right", (125,))
    assert right.why == "You recorded 125 mL; the level lay between 100 and 125, so 125."
    below = judge(URINE, case(110), 100)
    assert (below.verdict, below.expected) == ("unrounded", (125,))
    assert below.why == "You recorded 100 mL; the level lay between 100 and 125, so 125."
    assert below.spoken == "The level lay between 100 and 125, so 125."


def test_a_level_on_a_mark_is_that_mark() -> None:
    assert judge(URINE, case(125), 125).verdict == "right"
    assert judge(URINE, case(125), 125).why == "You recorded 125 mL; the level lay on 125."
    assert judge(URINE, case(125), 150).verdict == "unrounded"


@pytest.mark.parametrize(
    ("recorded", "verdict"),
    [
        (84, "wrong"),
        (85, "unrounded"),
        (110, "unrounded"),
        (125, "right"),
        (150, "unrounded"),
        (151, "wrong"),
    ],
)
def test_how_far_from_the_level_or_its_mark_it_may_be(recorded: float, verdict: str) -> None:
    assert judge(URINE, case(110), recorded).verdict == verdict


SCALES = st.sampled_from([0.1, 0.2, 1, 2, 5, 10, 25, 50, 100])


@given(SCALES, st.integers(0, 40), st.integers(0, 9), st.floats(0, 2))
@reproducible
def test_at_every_level_the_mark_above_passes_and_the_nearest_wrong_marks_do_not(
    scale: float, mark: int, tenths: int, steps: float
) -> None:
    recording = step("mL", scale=scale, between_marks="up", within=steps * scale)
    level = scale * (mark + tenths / 10)
    above = scale * (mark + (1 if tenths else 0))
    assert judge(recording, case(level), above).verdict == "right"
    assert judge(recording, case(level), above).expected[0] == pytest.approx(above)
    assert judge(recording, case(level), above + scale).verdict != "right"
    assert judge(recording, case(level), above - scale).verdict != "right"
    assert judge(recording, case(level), above + 4 * scale).verdict == "wrong"


@given(SCALES, st.integers(0, 400), st.integers(-20, 20), st.integers(0, 5), st.booleans())
@reproducible
def test_without_that_rule_what_is_near_and_on_a_mark_passes(
    scale: float, true: int, off: int, steps: int, on_a_mark: bool
) -> None:
    recording = step("mL", scale=scale, within=steps * scale)
    recorded = scale * (true + off + (0 if on_a_mark else 0.5))
    near = abs(off + (0 if on_a_mark else 0.5)) <= steps
    expected = ("right" if on_a_mark else "unrounded") if near else "wrong"
    assert judge(recording, case(scale * true), recorded).verdict == expected


def test_both_numbers_of_a_pair_count() -> None:
    """Within 8 mmHg: common practice, no source."""
    assert judge(PRESSURE, case(118, 76), 118, 76).verdict == "right"
    assert judge(PRESSURE, case(118, 76), 126, 68).verdict == "right"
    assert judge(PRESSURE, case(118, 76), 128, 76).verdict == "wrong"
    assert judge(PRESSURE, case(118, 76), 118, 66).verdict == "wrong"
    assert judge(PRESSURE, case(118, 76), 119, 76).verdict == "unrounded"
    assert judge(PRESSURE, case(118, 76), 119, 99).verdict == "wrong"


def test_what_is_not_near_is_told_with_how_far_off_it_is() -> None:
    wrong = judge(PULSE, case(76), 70)
    assert wrong.why == "You recorded 70 beats/min; it was 76. That is 6 beats/min off, and up to 4 may be."
    assert wrong.spoken == "It was 76 beats a minute."
    assert judge(PULSE, case(76), 72).why == "You recorded 72 beats/min; it was 76. 4 off is near enough."
    assert judge(PULSE, case(76), 76).why == "You recorded 76 beats/min; it was 76."
    assert judge(PRESSURE, case(118, 76), 119, 76).why == (
        "You recorded 119 over 76 mmHg; it was 118 over 76. It is recorded in steps of 2."
    )


def test_pounds_may_be_recorded_in_kilograms() -> None:
    """150 lb = 68.0 kg by 1 lb = 0.453 592 37 kg, NIST SP 811 (2008), appendix B."""
    right = judge(WEIGHT, case(150), 68, unit="kg")
    assert (right.verdict, right.expected) == ("right", (150,))
    assert right.why == "You recorded 68 kg; it was 150 lb, and 150 lb is 68.0 kg."
    assert judge(WEIGHT, case(150), 70, unit="kg").verdict == "wrong"
    assert judge(WEIGHT, case(150), 150, unit="kg").verdict == "wrong"


def test_fahrenheit_may_be_recorded_in_celsius() -> None:
    """98.6 F = 37.0 C and 100.4 F = 38.0 C by C = (F - 32) / 1.8, NIST SP 811 (2008), appendix B."""
    assert judge(TEMPERATURE, case(98.6), 37.0, unit="degC").verdict == "right"
    assert judge(TEMPERATURE, case(100.4), 38.0, unit="degC").verdict == "right"
    assert "100.4 F is 38.0 C" in judge(TEMPERATURE, case(100.4), 38.0, unit="degC").why
    assert judge(TEMPERATURE, case(98.6), 37.2, unit="degC").verdict == "wrong"
    assert judge(TEMPERATURE, case(98.6), 98.6, unit="degC").verdict == "wrong"


CONVERTED = st.sampled_from(
    [(WEIGHT, "pound", "kg", "kilogram", 90, 400), (TEMPERATURE, "degF", "degC", "degC", 94, 106)]
)


@given(CONVERTED, st.floats(0, 1))
@reproducible
def test_a_value_turned_into_another_unit_and_rounded_to_a_tenth_is_right(
    kind: tuple[Step, str, str, str, float, float], share: float
) -> None:
    recording, own, unit, name, least, most = kind
    true = round(least + share * (most - least), 1)
    exact = float(REGISTRY.Quantity(true, own).to(name).magnitude)
    tight = recording.model_copy(update={"reading": recording.reading.model_copy(update={"within": 0.0})})  # type: ignore[union-attr]
    for strict in (recording, tight):
        assert judge(strict, case(true), round(exact, 1), unit=unit).verdict == "right"
        assert judge(strict, case(true), round(exact, 1) + 3, unit=unit).verdict == "wrong"


def test_what_was_drunk_is_shown_as_a_sum() -> None:
    why = judge(INTAKE, case(270, shares=(MILK, JUICE)), 270).why
    assert why == "You recorded 270 mL; 240 - 60 = 180, 120 - 30 = 90; 180 + 90 = 270 mL."
    assert judge(INTAKE, case(180, shares=(MILK,)), 180).why == "You recorded 180 mL; 240 - 60 = 180 mL."
    assert judge(INTAKE, case(270, shares=(MILK, JUICE)), 310).why == (
        "You recorded 310 mL; 240 - 60 = 180, 120 - 30 = 90; 180 + 90 = 270 mL."
        " That is 40 mL off, and up to 30 may be."
    )


def test_ounces_are_turned_into_milliliters_by_the_thirty_of_the_trade() -> None:
    """21 CFR 101.9(b)(5)(viii) for labels; in charting thirty is common practice, no source."""
    judgement = judge(INTAKE, case(270, shares=IN_OUNCES, ounces=True), 270)
    assert judgement.verdict == "right"
    assert judgement.why == "You recorded 270 mL; 8 - 2 = 6, 4 - 1 = 3; 6 + 3 = 9 oz, 9 x 30 = 270 mL."


@given(st.lists(st.tuples(st.integers(1, 20), st.integers(0, 20)), min_size=1, max_size=4))
@reproducible
def test_the_exact_ounce_is_right_too(cups: list[tuple[int, int]]) -> None:
    """1 fl oz = 29.573 53 mL, NIST Handbook 44, appendix C; here by pint, in one and cup by cup."""
    shares = tuple(Share("tea", "drink", served, min(left, served)) for served, left in cups)
    drunk = [share.served - share.left for share in shares]
    exact = [float(REGISTRY.Quantity(ounces, "US_fluid_ounce").to("mL").magnitude) for ounces in drunk]
    strict = step("mL", within=0)
    true = case(30 * sum(drunk), shares=shares, ounces=True)
    for recorded in (round(sum(exact)), round(sum(exact), 1), sum(map(round, exact))):
        assert judge(strict, true, recorded).verdict == "right"
    assert judge(strict, true, 30 * sum(drunk)).verdict == "right"
    assert judge(strict, true, 30 * sum(drunk) + 3).verdict == "wrong"


def test_a_total_by_the_exact_ounce_that_is_off_by_more_than_may_be_says_why_it_is_right() -> None:
    drunk = (Share("tea", "drink", 100, 0),)
    judgement = judge(INTAKE, case(3000, shares=drunk, ounces=True), 2957)
    assert judgement.verdict == "right"
    assert judgement.why.endswith("By the exact ounce of 29.57 mL it is right.")


def test_milliliters_that_no_cup_in_ounces_held_have_no_exact_ounce() -> None:
    assert judge(step("mL", within=0), case(270, shares=(MILK, JUICE)), 266).verdict == "wrong"


def test_a_reading_may_be_in_ounces_too_by_either_ounce() -> None:
    recording = step("mL", also=["oz"], within=0)
    assert judge(recording, case(270), 9, unit="oz").verdict == "right"
    assert judge(recording, case(266.2), 9, unit="oz").verdict == "right"
    assert judge(recording, case(270), 10, unit="oz").verdict == "wrong"
    assert "270 mL is 9.0 oz" in judge(recording, case(270), 9, unit="oz").why


def test_a_meal_is_the_share_of_it_that_was_eaten_dish_by_dish() -> None:
    """Eaten over served: common practice, no source."""
    dishes = (
        Share("fish", "dish", 0.4, 0.25),
        Share("rice", "dish", 0.4, 0.5),
        Share("cake", "dish", 0.2, 1),
    )
    judgement = judge(MEAL, case(50, shares=dishes), 55)
    assert judgement.verdict == "right"
    assert judgement.why == (
        "You recorded 55 %; fish 40 x 0.75 = 30, rice 40 x 0.5 = 20, cake 20 x 0 = 0; 30 + 20 + 0 = 50 %."
        " 5 off is near enough."
    )
    assert judge(MEAL, case(50, shares=dishes), 61).verdict == "wrong"


def test_a_balance_is_what_went_in_less_what_came_out() -> None:
    outputs = (Share("urine", "output", 450, 200), Share("vomit", "output", 150, 100))
    judgement = judge(BALANCE, case(-30, shares=(MILK, JUICE, *outputs)), -30)
    assert judgement.verdict == "right"
    assert judgement.why == (
        "You recorded -30 mL; in 240 - 60 = 180, 120 - 30 = 90; 180 + 90 = 270; out 200 + 100 = 300; "
        "270 - 300 = -30 mL."
    )
    assert judge(BALANCE, case(-130, shares=(MILK, JUICE, *outputs)), 130).verdict == "wrong"
    assert judge(BALANCE, case(-130, shares=(MILK, *outputs)), 130).spoken == "It was minus 130 milliliters."


EQUATION = re.compile(r"[-0-9.]+(?: [-+x] [-0-9.]+)+ = -?[0-9.]+")


@pytest.mark.parametrize("id", SHIPPED)
@pytest.mark.parametrize("number", range(25))
def test_every_case_of_every_procedure_takes_its_own_values_and_shows_sums_that_are_right(
    id: str, number: int
) -> None:
    drawn = draw(shipped(id), number)
    for recording in _recording(shipped(id)):
        assert recording.reading is not None
        truth = drawn.values[recording.id]
        read = Read(5.0, recording.id, truth, recording.reading.unit, "")
        judgement = judged(recording, read, drawn)
        assert judgement is not None
        taken = judged(recording, replace(read, values=judgement.expected), drawn)
        assert taken is not None
        assert taken.verdict == "right"
        far = tuple(value + 3 * recording.reading.within + 50 for value in truth)
        missed = judged(recording, replace(read, values=far), drawn)
        assert missed is not None
        assert missed.verdict == "wrong"
        for equation in EQUATION.findall(missed.why):
            sum_, result = equation.rsplit(" = ", 1)
            assert math.isclose(worked_out(sum_), float(result), abs_tol=0.02)


def worked_out(text: str) -> float:
    """What a row of numbers comes to, each sign between two of them applied in turn."""
    first, *rest = text.split()
    value = float(first)
    for sign, number in zip(rest[::2], rest[1::2], strict=True):
        other = float(number)
        value = value * other if sign == "x" else value + (other if sign == "+" else -other)
    return value


def _recording(procedure: Procedure) -> list[Step]:
    return [step for step in procedure.steps if step.reading and step.reading.truth]


def test_a_value_without_the_unit_that_it_needs_is_wrong() -> None:
    for recording in (URINE, WEIGHT, TEMPERATURE, INTAKE):
        judgement = judge(recording, case(100), 100, unit="")
        assert (judgement.verdict, judgement.why) == ("wrong", "You recorded 100; no unit was said.")
        assert judgement.spoken == "No unit was said."


def test_a_rate_a_pressure_and_a_share_need_no_unit() -> None:
    assert judge(PULSE, case(76), 76, unit="").verdict == "right"
    assert judge(PRESSURE, case(118, 76), 118, 76, unit="").verdict == "right"
    assert judge(MEAL, case(50), 50, unit="").verdict == "right"


def test_degrees_without_a_scale_are_wrong() -> None:
    judgement = judge(TEMPERATURE, case(98.6), 98.6, unit="degrees")
    assert judgement.verdict == "wrong"
    assert judgement.spoken == "Neither Fahrenheit nor Celsius was said."


@given(
    st.sampled_from([URINE, PULSE, WEIGHT, TEMPERATURE, INTAKE, MEAL]),
    st.sampled_from(
        ["mL", "L", "oz", "cup", "beats/min", "breaths/min", "lb", "kg", "degF", "degC", "%", "in"]
    ),
    st.integers(1, 500),
)
@reproducible
def test_no_value_is_right_in_a_unit_that_it_is_not_recorded_in(step: Step, unit: str, true: int) -> None:
    assert step.reading is not None
    assume(unit not in (step.reading.unit, *step.reading.also))
    judgement = judge(step, case(true), true, unit=unit)
    assert judgement.verdict == "wrong"
    assert "it is recorded in" in judgement.why


def test_one_number_is_no_pair_and_a_pair_no_number() -> None:
    assert judge(PRESSURE, case(118, 76), 118).verdict == "wrong"
    assert judge(PULSE, case(76), 76, 40).verdict == "wrong"


def test_what_the_case_has_no_true_value_of_is_not_judged() -> None:
    read = Read(5.0, "record", (100.0,), "mL", "")
    assert judged(URINE, read, NO_CASE) is None
    assert judged(Step.model_validate(plain_step("record")), read, case(100)) is None


def test_what_is_right_is_said_in_short() -> None:
    assert judge(URINE, case(110), 125).spoken == "Right, 125 milliliters."
    assert judge(PRESSURE, case(118, 76), 118, 76).spoken == "Right, 118 over 76 millimeters of mercury."
    assert judge(PRESSURE, case(118, 76), 119, 76).spoken == "Near enough, but record it in steps of 2."

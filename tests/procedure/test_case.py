"""Cases: drawn again the same, spread over all that they may be, and told in the procedure."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable
from fractions import Fraction

import pytest
from scipy.stats import chisquare

from tests.procedure.examples import SHIPPED, plain_procedure, plain_step, procedure, shipped
from voicecoach.procedure.case import Case, Share, draw, fitted, is_drawn, multiples, read, total, written
from voicecoach.procedure.model import Procedure, Truth
from voicecoach.procedure.order import needs

NUMBERS = range(1, 401)
"""Numbers of the cases that are looked at of each procedure."""
WITH_VALUES = tuple(id for id in SHIPPED if any(s.reading and s.reading.truth for s in shipped(id).steps))
CHANCE = 1e-4
"""How unlikely a spread may be that is still taken for chance; the numbers are always the same ones."""


def cases(id: str) -> list[Case]:
    return [draw(shipped(id), number) for number in NUMBERS]


def truth(id: str, step: str) -> Truth:
    reading = shipped(id).step(step).reading
    assert reading is not None
    assert reading.truth is not None
    return reading.truth


def is_even(drawn: Iterable[object], possible: int) -> bool:
    """Whether all that is possible comes up, about as often, by Pearson's chi-squared test of SciPy."""
    counts = Counter(drawn)
    if possible == 1 or len(counts) != possible:
        return len(counts) == possible
    return float(chisquare(list(counts.values())).pvalue) > CHANCE


def measured(of: str, least: list[float], most: list[float], grain: float = 1) -> Procedure:
    """A procedure with one reading."""
    found = {"at": "look", "shown": "level", "least": least, "most": most, "grain": grain}
    reading = {"quantity": of, "unit": "mL", "within": 1, "pair": len(least) == 2, "truth": found}
    return procedure(plain_step("look"), plain_step("record", reading=reading))


@pytest.mark.parametrize("id", SHIPPED)
def test_the_same_number_draws_the_same_case(id: str) -> None:
    again = Procedure.model_validate(json.loads(json.dumps(shipped(id).plain())))
    assert [draw(again, number) for number in range(20)] == [
        draw(shipped(id), number) for number in range(20)
    ]


def test_another_number_or_another_procedure_draws_another_case() -> None:
    assert len({(case.resident, case.weak, case.room) for case in cases("dress-weak-arm")}) > 100
    rooms = [[case.room for case in cases(id)] for id in ("hand-rub", "fluid-intake")]
    assert rooms[0] != rooms[1]


@pytest.mark.parametrize("id", SHIPPED)
def test_every_resident_every_side_and_every_room_comes_up_as_often(id: str) -> None:
    made = shipped(id)
    assert is_drawn(made)
    assert is_even((case.resident for case in cases(id)), len(made.residents))
    assert {case.resident for case in cases(id)} == set(made.residents)
    assert is_even((case.weak for case in cases(id)), len(made.weak) or 1)
    assert {(case.weak, case.strong) for case in cases(id)} <= {
        ("left", "right"),
        ("right", "left"),
        ("", ""),
    }
    assert is_even((case.room for case in cases(id)), 39)


@pytest.mark.parametrize("id", SHIPPED)
def test_plain_and_read_are_each_others_reverse_through_json(id: str) -> None:
    for case in (*cases(id)[:50], written(shipped(id))):
        assert read(json.loads(json.dumps(case.plain()))) == case


@pytest.mark.parametrize("id", SHIPPED)
def test_the_scene_tells_the_case(id: str) -> None:
    made = shipped(id)
    for case in (*cases(id)[:50], written(made)):
        scene = fitted(made, case).scene
        assert not set("{}") & set(scene)
        assert case.resident in scene
        sides = (f"{case.weak} side is weak", f"{case.weak} arm is weak")
        assert any(side in scene for side in sides) is bool(made.weak)


def test_every_place_of_a_scene_is_filled() -> None:
    scene = "{resident} in room {room}: {weak} weak, {strong} strong, {weak} again."
    made = Procedure.model_validate(
        plain_procedure(plain_step("a"), scene=scene, residents=["Mrs. Lane"], weak=["left"])
    )
    case = Case(7, "Mrs. Lane", "112", "left")
    assert fitted(made, case).scene == "Mrs. Lane in room 112: left weak, right strong, left again."
    assert "in room :" not in fitted(made, written(made)).scene


@pytest.mark.parametrize("id", SHIPPED)
def test_without_a_case_it_is_the_one_that_the_phrases_name(id: str) -> None:
    made = shipped(id)
    case = written(made)
    assert (case.number, case.resident, case.values, case.shares) == (0, made.residents[0], {}, {})
    assert case.weak == (made.weak[0] if made.weak else "")


def test_a_procedure_in_which_nothing_differs_has_a_case_nevertheless() -> None:
    made = procedure(plain_step("a"))
    assert not is_drawn(made)
    assert (draw(made, 3).resident, draw(made, 3).weak, draw(made, 3).ounces) == ("", "", False)
    assert fitted(made, draw(made, 3)) == made


# Adults at rest: pulse 60 to 100 a minute, breaths 12 to 18 a minute, blood pressure 90/60 to 120/80 mmHg.
# NLM, MedlinePlus, Vital signs (reviewed 2023). Verified in the source's text.
PUBLISHED = {
    ("pulse-breaths", "record-pulse"): ((60, 100),),
    ("pulse-breaths", "record-breaths"): ((12, 18),),
    ("blood-pressure", "record"): ((90, 120), (60, 80)),
}


@pytest.mark.parametrize(("id", "step"), PUBLISHED)
def test_vital_signs_lie_within_the_published_range_of_adults_at_rest(id: str, step: str) -> None:
    for case in cases(id):
        for value, (least, most) in zip(case.values[step], PUBLISHED[id, step], strict=True):
            assert least <= value <= most


# Pressure is recorded to the nearest 2 mmHg: VA team, Federal Practitioner, 2012. Restated. That a pulse
# pressure is 20 mmHg at least: common practice, no source.
def test_a_blood_pressure_is_even_and_its_two_numbers_lie_apart() -> None:
    for case in cases("blood-pressure"):
        systolic, diastolic = case.values["record"]
        assert systolic % 2 == diastolic % 2 == 0
        assert systolic - diastolic >= 20


@pytest.mark.parametrize("id", WITH_VALUES)
def test_a_value_may_be_any_multiple_of_its_grain_up_to_both_ends(id: str) -> None:
    for step in shipped(id).steps:
        if step.reading is None or step.reading.truth is None or step.reading.truth.items:
            continue
        told = truth(id, step.id)
        drawn = [draw(shipped(id), number).values[step.id] for number in range(4000)]
        for place, (least, most) in enumerate(zip(told.least, told.most, strict=True)):
            grains = round((most - least) / told.grain) + 1
            values = [value[place] for value in drawn]
            assert (min(values), max(values)) == (least, most)
            assert is_even(values, grains)


@pytest.mark.parametrize(
    ("least", "most", "grain", "expected"),
    [
        # In binary neither end is a multiple of a tenth.
        (97.8, 99.1, 0.1, [97.8 + tenth / 10 for tenth in range(14)]),
        (36.5, 37.3, 0.1, [36.5 + tenth / 10 for tenth in range(9)]),
        (101, 119, 5, [105, 110, 115]),
        (0, 1, 0.25, [0, 0.25, 0.5, 0.75, 1]),
        (7, 7, 1, [7]),
    ],
)
def test_multiples_between_two_bounds(least: float, most: float, grain: float, expected: list[float]) -> None:
    made = measured("tea", [least], [most], grain)
    drawn = {draw(made, number).values["record"][0] for number in range(400)}
    assert sorted(drawn) == pytest.approx(expected)
    # By exact arithmetic: what is drawn is the decimal itself.
    assert all(Fraction(str(value)) % Fraction(str(grain)) == 0 for value in drawn)
    assert len(multiples(least, most, grain)) == len(expected)


def test_bounds_with_no_multiple_between_them_draw_nothing() -> None:
    with pytest.raises(ValueError, match="no multiple of 5 lies from 101 to 104"):
        draw(measured("tea", [101], [104], 5), 1)


# Items.


def test_cups_hold_what_they_hold_and_what_is_left_is_as_far_as_it_may_be() -> None:
    items = truth("fluid-intake", "record").items
    left: dict[tuple[bool, str], set[float]] = {}
    for case in cases("fluid-intake"):
        for item, share in zip(items, case.shares["record"], strict=True):
            unit = 30 if case.ounces else 1
            assert (share.of, share.kind, share.served * unit) == (item.of, "drink", item.holds)
            assert item.left[0] <= share.left * unit <= item.left[1] < item.holds
            left.setdefault((case.ounces, item.of), set()).add(share.left)
    assert left[False, "water"] == set(range(60, 190, 10))
    assert left[True, "water"] == {2, 3, 4, 5, 6}, "whole ounces"
    assert left[True, "juice"] == {1, 2, 3}


def test_an_intake_is_what_was_served_less_what_is_left() -> None:
    for case in cases("fluid-intake"):
        served = {"water": 240, "juice": 120, "coffee": 180}
        to_the_ounce = 30 if case.ounces else 1
        drunk = sum(served[share.of] - share.left * to_the_ounce for share in case.shares["record"])
        assert case.values["record"] == (drunk,)
        assert 540 - 390 <= drunk <= 540 - 120


def test_ounces_come_up_in_about_half_of_the_cases_and_only_where_there_are_cups() -> None:
    assert is_even((case.ounces for case in cases("fluid-intake")), 2)
    for id in set(SHIPPED) - {"fluid-intake"}:
        assert not any(case.ounces for case in cases(id))


def test_ounces_are_converted_exactly_in_the_cases_that_have_them() -> None:
    made = shipped("fluid-intake")
    for case in cases("fluid-intake"):
        convert = fitted(made, case).step("convert")
        assert (convert.when is None) is case.ounces
        # the cleaning of the hands comes last, after all that is needed
        assert ("convert" in needs(fitted(made, case))["clean-hands-end"]) is case.ounces
    assert fitted(made, written(made)) == made.model_copy(update={"scene": fitted(made, written(made)).scene})


# Thirty milliliters to the ounce in charting: common practice, no source. The exact ounce, 29.5735 mL
# (16 CFR 500.19(a), FTC; verified), differs by 1.4 percent.
@pytest.mark.parametrize(
    ("shares", "unit", "ounces", "expected"),
    [
        ((Share("tea", "drink", 240, 60),), "mL", False, 180),
        ((Share("tea", "drink", 8, 2),), "mL", True, 180),
        ((Share("tea", "drink", 240, 60), Share("soup", "drink", 150, 150)), "mL", False, 180),
        ((Share("tea", "drink", 500, 0), Share("urine", "output", 900, 350)), "mL", False, 150),
        ((Share("tea", "drink", 200, 0), Share("urine", "output", 900, 350)), "mL", False, -150),
        ((Share("fish", "dish", 0.5, 0.5), Share("rice", "dish", 0.5, 0)), "%", False, 75),
        ((Share("fish", "dish", 2, 0.25), Share("rice", "dish", 1, 1)), "%", False, 50),
        ((), "mL", False, 0),
    ],
)
def test_what_items_come_to(shares: tuple[Share, ...], unit: str, ounces: bool, expected: float) -> None:
    assert total(shares, unit, ounces) == pytest.approx(expected)


def test_an_ounce_is_the_trades_within_two_percent_of_the_exact_one() -> None:
    (share,) = (Share("tea", "drink", 8, 0),)
    assert total((share,), "mL", ounces=True) == pytest.approx(8 * 29.5735, rel=0.02)

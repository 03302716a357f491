"""The benchmark of readings: what counts as right, and what is spoken."""

from __future__ import annotations

import pytest

from tests.benchmarks.measuring import TEXT
from tests.benchmarks.readings import FILES, PROCEDURES, Said, as_narrations, check, figures, read
from tests.benchmarks.said_by_people import figures as people_figures
from voicecoach.procedure.library import shipped
from voicecoach.procedure.model import Reading

WEIGHT = Reading.model_validate(
    {"quantity": "weight", "unit": "lb", "also": ["kg"], "within": 2, "sense": [50, 500]}
)


@pytest.mark.parametrize(
    ("heard", "right", "wrong_unit", "wrong_value"),
    [
        ("she weighs one fifty two pounds", True, False, False),
        ("she weighs one fifty two kilos", False, True, False),
        ("she weighs one fifty pounds", False, False, True),
        ("she weighs one fifty two", False, False, False),
        ("she waves", False, False, False),
    ],
)
def test_what_was_heard_is_compared_with_what_was_said(
    heard: str, right: bool, wrong_unit: bool, wrong_value: bool
) -> None:
    said = Said("weight", "she weighs one fifty two pounds", (152.0,), "lb")
    checked = check(WEIGHT, said, "joe", heard)
    assert (checked.right, checked.wrong_unit, checked.wrong_value) == (right, wrong_unit, wrong_value)


def test_nothing_is_right_where_nothing_is_recorded() -> None:
    said = Said("weight", "she steps on with both feet", None, "")
    assert check(WEIGHT, said, TEXT, said.say).right
    assert check(WEIGHT, said, "joe", "she weighs eighty pounds").wrong_value


def test_the_baseline_takes_the_last_number() -> None:
    pytest.importorskip("number_parser")
    said = Said("weight", "one hundred fifty two pounds", (152.0,), "lb")
    assert check(WEIGHT, said, TEXT, said.say).baseline
    assert not check(WEIGHT, said, TEXT, "one hundred fifty two pounds at nine").baseline
    pair = Reading(quantity="blood pressure", unit="mmHg", pair=True, within=8)
    over = Said("pressure", "one hundred eighteen over seventy six", (118.0, 76.0), "")
    assert check(pair, over, TEXT, over.say).baseline


def test_what_is_only_ever_typed_is_not_spoken() -> None:
    said = [
        Said("pulse", "pulse is eighty", (80.0,), ""),
        Said("breaths", "sixteen breaths", (16.0,), "breaths/min"),
        Said("pulse", "pulse 80", (80.0,), ""),
        Said("weight", "Wt one fifty", (150.0,), ""),
    ]
    ((narration, ones),) = as_narrations(said)
    assert narration.procedure == "pulse-breaths"
    assert [clause.say for clause in narration.clauses] == ["pulse is eighty", "sixteen breaths"]
    assert ones == said[:2]


def test_shares_are_counted_by_reading() -> None:
    said = Said("weight", "one fifty two pounds", (152.0,), "lb")
    checked = [
        check(WEIGHT, said, TEXT, heard) for heard in (said.say, said.say, "one fifty two kilos", "um")
    ]
    result = figures(checked)
    assert result["said"] == 4
    assert result["right"] == result["by_reading"]["weight"]["right"] == 0.5
    # Wilson's interval of 2 in 4, from his formula by hand (Wilson, 1927)
    assert (result["right_low"], result["right_high"]) == pytest.approx((0.150, 0.850), abs=0.001)
    assert result["wrong_unit"] == 1


@pytest.mark.parametrize("name", FILES)
def test_each_reading_has_a_procedure(name: str) -> None:
    readings, said = read(FILES[name])
    assert {one.of for one in said} <= set(readings) <= set(PROCEDURES)
    assert set(PROCEDURES.values()) <= set(shipped())


def test_readings_are_understood_as_text() -> None:
    readings, said = read(FILES["tuned"])
    result = figures([check(readings[one.of], one, TEXT, one.say) for one in said])
    assert result["right"] >= 0.98
    assert result["wrong_unit"] == 0


def test_of_people_only_words_of_numbers_count() -> None:
    result = people_figures(["ten of clubs", "two nine"], ["a ton of close", "two nine"])
    assert result["number_words"] == 3
    assert result["number_words_right"] == pytest.approx(2 / 3)
    assert result["right"] == 0.5

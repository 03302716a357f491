"""The value that a student records aloud: what is heard of it, whether it can be taken, what is asked."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from tests.narrated import Narrated
from tests.procedure.examples import SHIPPED, reproducible, shipped
from tests.readings.known_readings import (
    ALL,
    BALANCE,
    BREATHS,
    INTAKE,
    MEAL,
    PRESSURE,
    PULSE,
    TEMPERATURE,
    URINE,
    WEIGHT,
)
from voicecoach.events import Read
from voicecoach.following.normal import NUMBER_WORDS
from voicecoach.following.numbers import Amount, amounts
from voicecoach.following.unit_words import unit_at
from voicecoach.procedure.model import Reading
from voicecoach.readings.taking import completed, doubt, found, question, recorded
from voicecoach.readings.units import needed


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
def test_a_value_is_recorded(wanted: Reading, said: str, values: tuple[float, ...], unit: str) -> None:
    assert recorded(5.0, "step", wanted, said) == Read(5.0, "step", values, unit, said)


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        (PRESSURE, "i write the numbers down"),
        (PRESSURE, "the top number is one twenty"),
        (URINE, "one twenty over eighty"),
        (URINE, "that is eight ounces"),
        (URINE, "i record three hundred and fifty"),
        (PULSE, "sixteen breaths"),
        (PULSE, "seven hundred sixty beats"),
        (BREATHS, "seventy two beats"),
        (TEMPERATURE, "ninety eight point six degrees"),
    ],
)
def test_a_number_of_another_shape_or_unit_is_not_recorded(wanted: Reading, said: str) -> None:
    assert recorded(5.0, "step", wanted, said) is None


def spelled(number: int) -> str:
    """A number as num2words writes it out, in the form that recognizers print."""
    return str(num2words(number)).replace("-", " ").replace(",", "")


FOREIGN = {
    "mL": "milliliters", "L": "liters", "oz": "ounces", "cup": "cups", "beats/min": "beats",
    "breaths/min": "breaths", "mmHg": "millimeters of mercury", "lb": "pounds", "kg": "kilograms",
    "degF": "degrees fahrenheit", "degC": "celsius", "degrees": "degrees",
    "in": "inches", "%": "percent", "pt": "pints", "g": "grams",
}  # fmt: skip
VOCABULARY = sorted(
    {
        word
        for id in SHIPPED
        for word in (
            *shipped(id).words,
            "sorry",
            "no",
            "mean",
            "make",
            "that's",
            "so",
            "record",
            "total",
            "comes",
        )
        if not unit_at([word])[0] and not amounts(word) and word not in NUMBER_WORDS
    }
    - {
        "a",
        "point",
        "half",
        "quarter",
        "and",
        "fluid",
        "heart",
        "cubic",
        "per",
        "minus",
        "negative",
        "degree",
    }
)
"""Words of all procedures but those that make numbers or units."""
AROUND = st.lists(st.sampled_from(VOCABULARY), max_size=6).map(" ".join)


@given(st.sampled_from(ALL), st.sampled_from(list(FOREIGN)), st.integers(1, 400), AROUND, AROUND)
@reproducible
def test_no_value_in_another_unit_is_ever_accepted_whatever_is_said_around_it(
    wanted: Reading, unit: str, number: int, before: str, after: str
) -> None:
    if unit in (wanted.unit, *wanted.also):
        return
    value = f"{spelled(number)} over {spelled(number - 1)}" if wanted.pair else spelled(number)
    assert recorded(5.0, "step", wanted, f"{before} {value} {FOREIGN[unit]} {after}") is None


JOINED = ("and", "that's", "so", "no", "sorry", "i mean", "or", "is", "which is", "then")


@given(st.data())
@reproducible
def test_beside_a_value_in_another_unit_only_the_own_one_is_accepted(data: st.DataObject) -> None:
    wanted = data.draw(st.sampled_from([wanted for wanted in ALL if not wanted.pair]))
    foreign = data.draw(st.sampled_from(sorted(set(FOREIGN) - {wanted.unit, *wanted.also})))
    one, other = (f"{data.draw(st.integers(100, 180))} {FOREIGN[foreign]}", f"{95} {FOREIGN[wanted.unit]}")
    order = data.draw(st.permutations([one, other]))
    read = recorded(5.0, "step", wanted, f" {data.draw(st.sampled_from(JOINED))} ".join(order))
    assert read is None or (read.values, read.unit) == ((95.0,), wanted.unit)


@pytest.mark.parametrize(
    ("wanted", "amount", "why"),
    [
        (URINE, Amount((350.0,), "mL"), ""),
        (URINE, Amount((350.0,), ""), "unit"),
        (URINE, Amount((12.0,), "oz"), "other unit"),
        (URINE, Amount((0.35,), "L"), "other unit"),
        (URINE, Amount((98.0,), "degrees"), "other unit"),
        (URINE, Amount((9000.0,), "mL"), "sense"),
        (PULSE, Amount((76.0,), ""), ""),
        (PULSE, Amount((760.0,), "beats/min"), "sense"),
        (PULSE, Amount((76.0,), "breaths/min"), "other unit"),
        (WEIGHT, Amount((68.0,), "kg"), ""),
        (WEIGHT, Amount((150.0,), ""), "unit"),
        (WEIGHT, Amount((1500.0,), "lb"), "sense"),
        (TEMPERATURE, Amount((98.6,), "degrees"), "unit"),
        (TEMPERATURE, Amount((37.0,), "degC"), ""),
        (TEMPERATURE, Amount((37.0,), "degF"), "sense"),
        (PRESSURE, Amount((118.0, 76.0), ""), ""),
        (PRESSURE, Amount((76.0, 118.0), ""), "sense"),
        (PRESSURE, Amount((80.0, 80.0), "mmHg"), "sense"),
        (MEAL, Amount((50.0,), ""), ""),
        (MEAL, Amount((120.0,), "%"), "sense"),
        (BALANCE, Amount((-150.0,), "mL"), ""),
        (INTAKE, Amount((-150.0,), "mL"), "sense"),
    ],
)
def test_what_cannot_be_taken_as_it_was_said(wanted: Reading, amount: Amount, why: str) -> None:
    """What makes no sense: common practice, no source."""
    assert doubt(wanted, amount) == why


def test_a_reading_may_have_bounds_of_its_own_in_each_of_its_units() -> None:
    """150 kg = 330.7 lb and 160 kg = 352.7 lb by 1 kg = 2.20462 lb, 16 CFR 500.19(a)."""
    child = WEIGHT.model_copy(update={"sense": (10.0, 340.0)})
    assert doubt(child, Amount((30.0,), "lb")) == ""
    assert doubt(child, Amount((341.0,), "lb")) == "sense"
    assert doubt(child, Amount((150.0,), "kg")) == ""
    assert doubt(child, Amount((160.0,), "kg")) == "sense"


@pytest.mark.parametrize("id", SHIPPED)
def test_every_value_that_a_shipped_procedure_may_be_true_of_makes_sense(id: str) -> None:
    for step in shipped(id).steps:
        if step.reading and step.reading.truth and step.reading.truth.least:
            for values in (step.reading.truth.least, step.reading.truth.most):
                assert doubt(step.reading, Amount(values, step.reading.unit)) == ""


@pytest.mark.parametrize(
    ("wanted", "amount", "answer", "completed_"),
    [
        (URINE, Amount((350.0,), ""), "milliliters", Amount((350.0,), "mL")),
        (URINE, Amount((350.0,), ""), "oh sorry c c", Amount((350.0,), "mL")),
        (URINE, Amount((350.0,), ""), "ounces no milliliters", Amount((350.0,), "mL")),
        (URINE, Amount((350.0,), ""), "three hundred seventy five milliliters", Amount((375.0,), "mL")),
        (URINE, Amount((350.0,), ""), "ounces", Amount((350.0,), "oz")),
        (URINE, Amount((350.0,), ""), "i take my gloves off", None),
        (URINE, Amount((12.0,), "oz"), "milliliters", None),
        (URINE, Amount((12.0,), "oz"), "three sixty", Amount((360.0,), "mL")),
        (URINE, Amount((12.0,), "oz"), "three sixty milliliters", Amount((360.0,), "mL")),
        (TEMPERATURE, Amount((98.6,), "degrees"), "fahrenheit", Amount((98.6,), "degF")),
        (TEMPERATURE, Amount((98.6,), ""), "degrees celsius", Amount((98.6,), "degC")),
        (TEMPERATURE, Amount((98.6,), ""), "degrees", Amount((98.6,), "degrees")),
        (PULSE, Amount((760.0,), "beats/min"), "seventy six", Amount((76.0,), "beats/min")),
        (PULSE, Amount((760.0,), ""), "sorry seventy six", Amount((76.0,), "")),
        (WEIGHT, Amount((1500.0,), "g"), "one fifty", Amount((150.0,), "")),
        (PRESSURE, Amount((76.0, 118.0), ""), "one eighteen over seventy six", Amount((118.0, 76.0), "")),
    ],
)
def test_an_answer_completes_the_value(
    wanted: Reading, amount: Amount, answer: str, completed_: Amount | None
) -> None:
    assert completed(wanted, amount, answer) == completed_


@pytest.mark.parametrize(
    ("wanted", "amount", "words"),
    [
        (URINE, Amount((100.0,), ""), "One hundred what?"),
        (URINE, Amount((350.0,), ""), "Three hundred fifty what?"),
        (TEMPERATURE, Amount((98.6,), ""), "98.6 what?"),
        (TEMPERATURE, Amount((98.6,), "degrees"), "98.6 degrees Fahrenheit, or Celsius?"),
        (URINE, Amount((12.0,), "oz"), "In milliliters, please."),
        (WEIGHT, Amount((64.0,), "in"), "In pounds or kilograms, please."),
        (PULSE, Amount((760.0,), "beats/min"), "760 beats a minute? Say it again."),
        (PULSE, Amount((760.0,), ""), "760? Say it again."),
        (PRESSURE, Amount((76.0, 118.0), ""), "76 over 118? Say it again."),
    ],
)
def test_what_the_coach_asks(wanted: Reading, amount: Amount, words: str) -> None:
    assert question(wanted, amount, doubt(wanted, amount)) == words


@given(st.sampled_from(ALL), st.sampled_from(["", *FOREIGN]), st.integers(1, 5000))
@reproducible
def test_every_value_is_taken_or_asked_about_in_few_words(wanted: Reading, unit: str, number: int) -> None:
    amount = Amount((float(number + 1), float(number)) if wanted.pair else (float(number),), unit)
    why = doubt(wanted, amount)
    if why:
        assert len(question(wanted, amount, why).split()) <= 10
    else:
        assert unit in (wanted.unit, *wanted.also) or (unit == "" and not needed(wanted.unit))


@given(st.text(max_size=60), st.sampled_from(ALL))
@reproducible
def test_any_text_at_all_is_read_without_a_fault(text: str, wanted: Reading) -> None:
    amount = found(wanted, text)
    assert amount is None or len(amount.values) == 1 + wanted.pair


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

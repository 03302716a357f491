"""Numbers and units in words, against a table and against the library num2words."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from num2words import num2words

from voicecoach.following.numbers import Amount, amounts

reproducible = settings(derandomize=True, deadline=None, database=None, max_examples=200)


def spelled(number: int) -> str:
    """A number as num2words writes it out, in the form that recognizers print: `one hundred and five`."""
    return str(num2words(number)).replace("-", " ").replace(",", "")


def styles(number: int) -> list[str]:
    """The ways in which people say a whole number from 0 to 1999."""
    full = spelled(number)
    said = [full, full.replace(" and ", " "), str(number)]
    if full.startswith(("one hundred", "one thousand")):
        said += ["a" + full.removeprefix("one"), "a" + full.removeprefix("one").replace(" and ", " ")]
    high, low = divmod(number, 100)
    # `eleven twelve` is somebody counting and not 1112.
    if 1 <= high <= 19 and low and low != high + 1:
        said.append(f"{spelled(high)} {'oh ' if low < 10 else ''}{spelled(low)}")
    if 11 <= high <= 19:
        said.append(f"{spelled(high)} hundred" + (f" and {spelled(low)}" if low else ""))
    return said


SPOKEN = st.integers(0, 1999).flatmap(
    lambda number: st.tuples(st.just(number), st.sampled_from(styles(number)))
)
"""A number and one way to say it."""


@given(SPOKEN)
@reproducible
def test_a_whole_number_is_read_in_every_way_of_saying_it(spoken: tuple[int, str]) -> None:
    number, text = spoken
    assert amounts(text) == [Amount((float(number),), "")]


@pytest.mark.parametrize("number", [*range(131), 199, 200, 201, 350, 999, 1000, 1001, 1099, 1100, 1500, 1999])
def test_the_numbers_of_readings_are_read_in_every_way_of_saying_them(number: int) -> None:
    assert {text: amounts(text) for text in styles(number)} == {
        text: [Amount((float(number),), "")] for text in styles(number)
    }


@given(SPOKEN, st.sampled_from(["over", "on", "by", "slash"]), SPOKEN)
@reproducible
def test_two_numbers_with_over_between_them_are_a_pair(
    upper: tuple[int, str], between: str, lower: tuple[int, str]
) -> None:
    assert amounts(f"{upper[1]} {between} {lower[1]}") == [Amount((float(upper[0]), float(lower[0])), "")]


@given(SPOKEN, SPOKEN)
@reproducible
def test_words_between_keep_numbers_apart(one: tuple[int, str], other: tuple[int, str]) -> None:
    found = amounts(f"it says {one[1]} here but {other[1]} there")
    assert [amount.values for amount in found] == [(float(one[0]),), (float(other[0]),)]


@pytest.mark.parametrize(
    ("said", "values"),
    [
        ("one twenty five", (125.0,)),
        ("a hundred and twenty five", (125.0,)),
        ("one hundred twenty five", (125.0,)),
        ("hundred and twenty five", (125.0,)),
        ("three fifty", (350.0,)),
        ("one oh six", (106.0,)),
        ("one o six", (106.0,)),
        ("zero", (0.0,)),
        ("two point five", (2.5,)),
        ("ninety eight point six", (98.6,)),
        ("a hundred and one point four", (101.4,)),
        ("one oh one point two five", (101.25,)),
        ("98.6", (98.6,)),
        ("350", (350.0,)),
        ("a thousand", (1000.0,)),
        ("one twenty over eighty", (120.0, 80.0)),
        ("One-twenty over eighty!", (120.0, 80.0)),
        ("one hundred and eighteen over seventy six", (118.0, 76.0)),
        ("a hundred over sixty five", (100.0, 65.0)),
        ("one oh eight over fifty eight", (108.0, 58.0)),
        ("120 over 80", (120.0, 80.0)),
    ],
)
def test_a_number_alone(said: str, values: tuple[float, ...]) -> None:
    assert amounts(said) == [Amount(values, "")]


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("so that's three hundred and fifty milliliters in the jug", Amount((350.0,), "mL")),
        ("i read two seventy five mils", Amount((275.0,), "mL")),
        ("four hundred cc of urine", Amount((400.0,), "mL")),
        ("she drank eight ounces of it", Amount((8.0,), "oz")),
        ("seventy two beats per minute", Amount((72.0,), "beats/min")),
        ("i counted sixteen breaths in one go", Amount((16.0,), "breaths/min")),
        ("eighteen respirations", Amount((18.0,), "breaths/min")),
        ("he weighs one sixty two pounds today", Amount((162.0,), "lb")),
        ("sixty kilos", Amount((60.0,), "kg")),
        ("one point five liters", Amount((1.5,), "L")),
        ("ninety eight point six degrees", Amount((98.6,), "degrees")),
        ("ninety five percent", Amount((95.0,), "%")),
        ("i'm writing one twenty four over seventy eight on the sheet", Amount((124.0, 78.0), "")),
    ],
)
def test_a_number_with_its_unit_in_a_sentence(said: str, expected: Amount) -> None:
    assert amounts(said)[0] == expected


@pytest.mark.parametrize(
    "said", ["", "over and over", "no number in here", "on the other hand", "oh dear", "point"]
)
def test_no_number(said: str) -> None:
    assert amounts(said) == []


@pytest.mark.parametrize(
    ("said", "numbers"),
    [
        ("one two three stand", [1, 2, 3]),
        ("eleven twelve thirteen", [11, 12, 13]),
        ("twenty one twenty two twenty three", [21, 22, 23]),
        ("twenty eight twenty nine thirty", [28, 29, 30]),
    ],
)
def test_counting_aloud_makes_no_large_number(said: str, numbers: list[int]) -> None:
    assert [amount.values for amount in amounts(said)] == [(float(number),) for number in numbers]


def test_what_begins_with_a_point_is_never_read_ten_times_too_large() -> None:
    assert all(amount.values == (0.5,) for amount in amounts("point five of a liter"))


def test_the_unit_of_another_number_is_not_taken() -> None:
    assert amounts("pulse is ninety two breaths are sixteen") == [Amount((92.0,), ""), Amount((16.0,), "")]

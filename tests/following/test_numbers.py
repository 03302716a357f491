"""Numbers and units in words, against a table and against the library num2words."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from num2words import num2words

from voicecoach.following.numbers import Amount, amounts, in_words

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
        # Respirations name what is counted, as `pulse` does, and no unit.
        ("eighteen respirations", Amount((18.0,), "")),
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
    "said",
    [
        "",
        "over and over",
        "no number in here",
        "on the other hand",
        "oh dear",
        "point",
        "half past",
        "the bag is half full",
        "a third step",
        "a quarter to",
        "at 6:30",
    ],
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


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("one two five", 125),
        ("one two oh", 120),
        ("nine eight point six", 98.6),
        ("1 2 5", 125),
        ("seven six", 76),
        ("one two five zero", 1250),
        ("three five zero", 350),
    ],
)
def test_a_number_may_be_said_digit_by_digit(said: str, expected: float) -> None:
    assert [amount.values for amount in amounts(said)] == [(expected,)]


@given(st.integers(100, 999))
@reproducible
def test_every_number_said_digit_by_digit_is_read_unless_it_is_counting(number: int) -> None:
    digits = [int(digit) for digit in str(number)]
    steps = {later - earlier for earlier, later in itertools.pairwise(digits)}
    counting = (steps == {1} or steps == {-1}) and 0 not in digits
    expected = [(float(digit),) for digit in digits] if counting else [(float(number),)]
    assert [amount.values for amount in amounts(" ".join(map(spelled, digits)))] == expected


@pytest.mark.parametrize(
    "said",
    ["one two three four", "three two one", "one two three four five six", "two three four go", "five six"],
)
def test_who_counts_says_no_number_digit_by_digit(said: str) -> None:
    assert all(amount.values[0] < 10 for amount in amounts(said))


def test_small_numbers_of_large_cups_stay_apart() -> None:
    assert amounts("one four ounce glass") == [Amount((1.0,), ""), Amount((4.0,), "oz")]
    assert amounts("two eight ounce cups") == [Amount((2.0,), ""), Amount((8.0,), "oz")]


@given(st.integers(0, 1200), st.integers(0, 9))
@reproducible
def test_tenths_are_read_as_num2words_says_them(whole: int, tenths: int) -> None:
    said = spelled_float(whole + tenths / 10)
    assert amounts(said) == [Amount((whole + tenths / 10,), "")]
    assert amounts(said.replace("zero", "oh") if whole else said) == amounts(said)


def spelled_float(number: float) -> str:
    return str(num2words(number)).replace("-", " ").replace(",", "").replace(" and ", " ")


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("one fifty two and a half pounds", Amount((152.5,), "lb")),
        ("one hundred and sixty one and a quarter pounds", Amount((161.25,), "lb")),
        ("one fifty and three quarters", Amount((150.75,), "")),
        ("ninety eight and six tenths", Amount((98.6,), "")),
        ("a hundred and three tenths", Amount((100.3,), "")),
        ("two and a half cups", Amount((2.5,), "cup")),
        ("half a cup", Amount((0.5,), "cup")),
        ("a half liter", Amount((0.5,), "L")),
        ("half of the meal", Amount((0.5,), "")),
        ("three quarters of a liter", Amount((0.75,), "L")),
        ("a quarter of a cup", Amount((0.25,), "cup")),
        ("152 1/2 lbs", Amount((152.5,), "lb")),
        ("3/4 of the tray", Amount((0.75,), "")),
        ("one point oh two", Amount((1.02,), "")),
        ("a hundred point four", Amount((100.4,), "")),
        ("two point twenty five liters", Amount((2.25,), "L")),
        ("98 point 6", Amount((98.6,), "")),
        ("ninety seven point um nine", Amount((97.9,), "")),
    ],
)
def test_parts_and_decimals(said: str, expected: Amount) -> None:
    assert amounts(said) == [expected]


SPELLINGS = {
    "mL": "milliliters, milliliter, millilitres, ml, mL, mls, cc, ccs, mils, c c, m l, cubic centimeters",
    "L": "liters, litres, L",
    "oz": "ounces, ounce, oz, fluid ounces, fl oz, fluid ounce",
    "cup": "cups",
    "beats/min": "beats, bpm, beats per minute, beats a minute, beats/min, b p m, heart beats",
    "breaths/min": "breaths, breaths per minute, breaths each minute, breaths/min",
    "mmHg": "mmHg, mm Hg, millimeters of mercury, millimetres of mercury, millimeters mercury",
    "lb": "pounds, pound, lbs, lb",
    "kg": "kilograms, kilos, kilo, kg, kgs",
    "degF": "F, degrees fahrenheit, fahrenheit, degrees F, °F",
    "degC": "C, degrees celsius, celsius, centigrade, °C",
    "degrees": "degrees, °",
    "%": "percent, %, per cent",
    "in": "inches",
}


@pytest.mark.parametrize(
    ("unit", "said"), [(unit, said) for unit in SPELLINGS for said in SPELLINGS[unit].split(", ")]
)
def test_a_unit_in_every_spelling(unit: str, said: str) -> None:
    assert amounts(f"it is sixteen {said}") == [Amount((16.0,), unit)]


def test_a_unit_may_stick_to_its_number_in_writing() -> None:
    assert amounts("350ml") == [Amount((350.0,), "mL")]
    assert amounts("98.6F") == [Amount((98.6,), "degF")]
    assert amounts("75%") == [Amount((75.0,), "%")]


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("118/76", Amount((118.0, 76.0), "")),
        ("118 / 76 mmHg", Amount((118.0, 76.0), "mmHg")),
        ("one one eight over seven six", Amount((118.0, 76.0), "")),
        ("one thirty millimeters of mercury over eighty", Amount((130.0, 80.0), "mmHg")),
        ("a hundred and four over about sixty eight", Amount((104.0, 68.0), "")),
        ("one eighteen on top of seventy six", Amount((118.0, 76.0), "")),
    ],
)
def test_a_pair_in_other_words(said: str, expected: Amount) -> None:
    assert amounts(said) == [expected]


@pytest.mark.parametrize(
    ("said", "numbers"),
    [
        ("between one hundred and one twenty five", [100, 125]),
        ("eight times thirty two hundred forty", [8, 30, 240]),
        ("thirty nine times two seventy eight", [39, 2, 78]),
        ("two hundred minus fifty one fifty", [200, 50, 150]),
        ("one fifty and one eighty three hundred thirty", [150, 180, 330]),
        ("ten twenty thirty", [10, 20, 30]),
        ("1,200 and 950", [1200, 950]),
        ("from 12-16", [12, 16]),
        ("240 - 60 = 180", [240, 60, 180]),
        ("minus one fifty", [-150]),
        ("negative two hundred", [-200]),
        ("-150", [-150]),
        ("two forty minus sixty", [240, 60]),
    ],
)
def test_several_numbers_and_signs(said: str, numbers: list[float]) -> None:
    assert [amount.values for amount in amounts(said)] == [(float(number),) for number in numbers]


@given(st.integers(0, 999))
@reproducible
def test_a_number_in_words_is_as_num2words_says_it_and_is_read_again(number: int) -> None:
    assert in_words(number) == spelled(number).replace(" and ", " ")
    assert amounts(in_words(number)) == [Amount((float(number),), "")]


WORDS = (
    "one two twenty a hundred thousand and point oh half quarter over on minus negative m l c c percent "
    "degrees no ninety six p times by in of the"
).split()


@given(st.lists(st.sampled_from(WORDS), max_size=7).map(" ".join))
@settings(derandomize=True, deadline=None, database=None, max_examples=2000)
def test_no_words_in_any_order_break_it(text: str) -> None:
    for amount in amounts(text):
        assert len(amount.values) in (1, 2)


@pytest.mark.parametrize("text", ["forty five and", "one hundred and", "hundred and", "eight ounces and"])
def test_a_number_after_which_more_was_to_come_is_a_number(text: str) -> None:
    assert len(amounts(text)) == 1

"""Words that recognizers write for the words of a number; what they write is common practice, no source."""

from __future__ import annotations

import pytest

from tests.readings.known_readings import BREATHS, MEAL, PRESSURE, PULSE, TEMPERATURE, URINE, WEIGHT
from voicecoach.following.numbers import Amount
from voicecoach.procedure.model import Reading
from voicecoach.readings.misheard import as_spoken
from voicecoach.readings.taking import completed, found, recorded


@pytest.mark.parametrize(
    ("heard", "spoken"),
    [
        ("one forty for over eighty too", "one forty four over eighty two"),
        ("one oh ate over sixty", "one oh eight over sixty"),
        ("one owe two over sixty", "one oh two over sixty"),
        ("seventy for beats a minute", "seventy four beats a minute"),
        ("ninety seven point i'm nine", "ninety seven point nine"),
        ("ninety eight pointed six", "ninety eight point six"),
        ("ninety nine point to degrees", "ninety nine point two degrees"),
        ("seventy two beets", "seventy two beats"),
        ("three hundred fifty emil", "three hundred fifty ml"),
    ],
)
def test_a_number_is_put_right(heard: str, spoken: str) -> None:
    assert as_spoken(heard.split()) == spoken.split()


@pytest.mark.parametrize(
    "said",
    [
        "eighty for the pulse",
        "sixty to a hundred is normal",
        "up to the ninety to hundred mark",
        "she ate fifty percent",
        "three fifty for emil",
        "he won at bingo",
        "i point at a cup",
    ],
)
def test_what_makes_sense_as_it_is_stays(said: str) -> None:
    assert as_spoken(said.split()) == said.split()


@pytest.mark.parametrize(
    ("wanted", "said", "values", "unit"),
    [
        (PRESSURE, "one oh four of fifty eight", (104.0, 58.0), ""),
        (PRESSURE, "one eighteen or seventy six i write it down", (118.0, 76.0), ""),
        (PRESSURE, "one thirty or one twenty over eighty", (120.0, 80.0), ""),
        (TEMPERATURE, "ninety eight point for", (98.4,), ""),
        (BREATHS, "twenty to breaths", (22.0,), "breaths/min"),
        (PULSE, "i count ninety too", (92.0,), ""),
        (URINE, "four hundred mel in the graduate", (400.0,), "mL"),
        (URINE, "three fifty for emil", (350.0,), ""),
        (WEIGHT, "one sixty ate pounds", (168.0,), "lb"),
        (MEAL, "she ate fifty percent", (50.0,), "%"),
    ],
)
def test_a_value_is_found_as_it_was_spoken(
    wanted: Reading, said: str, values: tuple[float, ...], unit: str
) -> None:
    assert found(wanted, said) == Amount(values, unit)


@pytest.mark.parametrize("said", ["i pump it to one eighty or ninety", "his usual is one forty of ninety"])
def test_two_numbers_that_no_word_joins_are_no_pressure(said: str) -> None:
    assert recorded(0.0, "step", PRESSURE, said) is None


def test_an_answer_is_put_right_too() -> None:
    assert completed(PULSE, Amount((760.0,), ""), "seventy ate beets") == Amount((78.0,), "beats/min")

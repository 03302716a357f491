"""What is expected of numbers, counting, times, sides and names."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np
import pytest
from num2words import num2words

from tests.hearing.synthetic_voice import spoken
from tests.procedure.examples import plain_step, procedure
from voicecoach import sources
from voicecoach.hearing import said_numbers
from voicecoach.hearing.language_model import estimate, fragments, numbered, vocabulary
from voicecoach.hearing.ngrams import BEGIN, END, Ngrams
from voicecoach.hearing.number_words import NUMBER, alone, classed, usual, ways
from voicecoach.hearing.recognizer import Recognizer
from voicecoach.procedure.library import find
from voicecoach.sound import RATE

PULSE = {"quantity": "pulse rate", "unit": "beats/min", "within": 4}
PRESSURE = {"quantity": "blood pressure", "unit": "mmHg", "pair": True, "within": 8}


def test_whole_numbers_are_said_as_num2words_says_them_too() -> None:
    """num2words 0.5 is an independent library; its hyphens and commas are not spoken."""
    for number in range(10_000):
        said = num2words(number).replace("-", " ").replace(",", "")
        assert said in ways(number)
        assert usual(number) == said.replace(" and ", " ")


@pytest.mark.parametrize(
    ("number", "said"),
    [
        (72, {"seventy two", "seven two"}),
        (106, {"one oh six", "a hundred and six", "one hundred six", "one zero six"}),
        (120, {"one twenty", "a hundred and twenty", "one hundred twenty"}),
        (1250, {"twelve fifty", "twelve hundred fifty", "one thousand two hundred and fifty"}),
    ],
)
def test_numbers_are_said_as_students_say_them(number: int, said: set[str]) -> None:
    assert said <= set(ways(number))


@pytest.mark.parametrize(
    ("phrase", "words"),
    [
        ("i write one twenty over eighty", ("i", "write", NUMBER, "over", NUMBER)),
        ("a hundred and four beats", (NUMBER, "beats")),
        ("ninety eight point six and dry", (NUMBER, "and", "dry")),
        ("one oh six and no more", (NUMBER, "and", "no", "more")),
        ("two fingers on one wrist", ("two", "fingers", "on", "one", "wrist")),
        ("oh a number", ("oh", "a", "number")),
    ],
)
def test_numbers_are_found_in_phrases(phrase: str, words: tuple[str, ...]) -> None:
    assert classed(phrase) == words
    assert not alone(phrase)


def test_a_digit_is_a_number_where_it_is_all_that_is_said() -> None:
    assert alone("seven")
    assert alone("one thousand one")


def model_of(*phrases: str, reading: dict[str, object]) -> Ngrams:
    """What is said within and beside numbers, in a procedure with these phrases and this reading."""
    made = procedure(plain_step("record", say=list(phrases), reading=reading))
    said = (*made.phrases, *said_numbers.phrases(made))
    numbers = [phrase for phrase in said if alone(phrase)]
    others = [phrase for phrase in said if not alone(phrase)]
    weights = numbered(others, numbers)
    words = vocabulary(weights) | vocabulary(fragments(others, numbers))
    return estimate(weights, (*sorted(words), BEGIN, END))


def chance(model: Ngrams, said: Sequence[str]) -> float:
    """The probability of words after the first two."""
    ids = [np.array([model.words.index(word)]) for word in said]
    return float(10 ** sum(model.after_two(*ids[place : place + 3])[0] for place in range(len(ids) - 2)))


def test_no_value_is_likelier_for_being_in_the_phrases() -> None:
    model = model_of("the pulse is seventy two", "her pulse was seventy two today", reading=PULSE)
    # All with three words of numbers at most before what follows, none of them round.
    said = [number for number in range(31, 100) if number % 10]
    chances = [chance(model, (BEGIN, "that's", *usual(number).split(), END)) for number in said]
    assert max(chances) < 1.5 * min(chances)
    assert chances[said.index(72)] < 1.2 * float(np.median(chances))


def test_no_pressure_is_likelier_than_the_others() -> None:
    model = model_of("i write one twenty eight over seventy six", reading=PRESSURE)
    chances = {
        (high, low): chance(model, (BEGIN, "write", "one", *usual(high).split(), "over", *usual(low).split()))
        for high in (21, 28, 34, 47, 56)
        for low in (52, 63, 76, 84, 97)
    }
    assert max(chances.values()) < 3 * min(chances.values())
    assert chances[28, 76] < 1.3 * float(np.median(list(chances.values())))


def test_a_count_is_as_likely_with_a_number_left_out_or_said_twice() -> None:
    counting = procedure(plain_step("count", count={"of": "beats", "for": "60 s"}))
    said = said_numbers.phrases(counting)
    numbers = [phrase for phrase in said if alone(phrase)]
    weights = numbered([phrase for phrase in said if not alone(phrase)], numbers)
    model = estimate(weights, (*sorted(vocabulary(weights)), BEGIN, END))
    right, left_out, twice = (
        chance(model, said.split()) for said in ("four five six", "four five seven", "four five five")
    )
    assert left_out == pytest.approx(right, rel=0.3)
    assert twice == pytest.approx(right, rel=0.3)


def test_all_numbers_of_a_reading_come_about_equally_often() -> None:
    said = said_numbers.phrases(procedure(plain_step("record", reading=PULSE)))
    counts = Counter(said)
    often = {number: sum(counts[way] for way in ways(number)) for number in range(40, 181)}
    assert min(often.values()) > 0
    assert max(often.values()) <= 1.5 * min(often.values())


def test_likely_rates_of_breathing_come_more_often_than_what_sounds_like_them() -> None:
    breaths = {"quantity": "breathing rate", "unit": "breaths/min", "within": 2}
    counts = Counter(said_numbers.phrases(procedure(plain_step("record", reading=breaths))))
    assert counts["sixteen"] >= 3 * counts["sixty"] > 0


def test_marks_of_the_scale_come_more_often_than_what_lies_between() -> None:
    """A level is read at a mark: `three fifty` where it sounds like `three fifteen`."""
    marked = {"quantity": "urine output", "unit": "mL", "scale": 25, "within": 25}
    counts = Counter(said_numbers.phrases(procedure(plain_step("record", reading=marked))))
    assert counts["three fifty"] >= 3 * counts["three fifteen"] > 0


def test_what_a_class_writes_is_said_without_figures_and_marks() -> None:
    odd = {"quantity": "Drain output (24 h)", "unit": "mL", "within": 5, "sense": [-90_000, -1]}
    said = said_numbers.phrases(procedure(plain_step("record", reading=odd), residents=["Mr. O'Hara-Lee 2"]))
    assert all(word.replace("'", "").isalpha() for phrase in said for word in phrase.split())
    assert {"nine thousand nine hundred ninety five", "mister o'hara lee"} <= set(said)


def test_both_sides_come_equally_often_where_either_may_be_weak() -> None:
    step = plain_step("sleeve", say=["her weak left arm goes first", "left then right"])
    either = procedure(step, weak=["left", "right"])
    words = Counter(" ".join((*either.phrases, *said_numbers.phrases(either))).split())
    assert words["left"] == words["right"] > 0
    assert said_numbers.phrases(procedure(step)) == ()


def test_all_residents_are_named_as_the_first_one_is() -> None:
    residents = ["Mrs. Pruitt", "Mr. Gilmore", "Ms. Waldron"]
    made = procedure(plain_step("greet", say=["good morning missus pruitt"]), residents=residents)
    said = said_numbers.phrases(made)
    assert {"missus pruitt", "mister gilmore", "miss waldron"} <= set(said)
    assert {"good morning missus gilmore", "good morning missus waldron"} <= set(said)


@pytest.fixture(scope="module")
def pulse() -> Recognizer:
    """The recognizer as an attempt has it, after the greeting."""
    recognizer = sources.recognizer("sphinx", None, find("pulse-breaths"))
    recognizer.begin(0.0)
    recognizer.feed(spoken("good morning missus pruitt i'm going to take your pulse"))
    recognizer.end(3.0)
    return recognizer


@pytest.mark.parametrize(
    "said",
    [
        "one two three four five six seven",
        "one two three five six seven eight",
        "eleven twelve thirteen thirteen fourteen",
        "one mississippi two mississippi three mississippi",
        "one one thousand two one thousand three one thousand",
        "that's one oh six beats",
        "i write down ninety four",
        "i counted for fifteen seconds",
    ],
)
def test_a_synthetic_voice_is_heard_as_it_says(pulse: Recognizer, said: str) -> None:
    sound = spoken(said)
    pulse.begin(0.0)
    pulse.feed(sound)
    assert pulse.end(len(sound) / RATE).text == said

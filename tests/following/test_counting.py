"""Counting aloud, in the ways that people count seconds, and what a recognizer makes of it."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from num2words import num2words

from tests.narrated import words
from voicecoach.events import Word
from voicecoach.following.counting import (
    NO_COUNT,
    Count,
    Number,
    count,
    counted,
    goes_between,
    goes_on_counting,
)

reproducible = settings(derandomize=True, deadline=None, database=None, max_examples=100)
STYLES = ("{}", "one thousand {}", "{} one thousand", "{} mississippi", "and {}", "{} seconds", "{} potato")
"""Ways to count seconds aloud: common practice, no source."""


def spelled(number: int) -> str:
    return str(num2words(number)).replace("-", " ")


def aloud(numbers: list[int], style: str, every: float = 1.0) -> list[Word]:
    """Numbers said one each second, so many seconds apart."""
    said: list[Word] = []
    for place, number in enumerate(numbers):
        said += words(style.format(spelled(number)), place * every)
    return said


@given(st.integers(3, 60), st.sampled_from(STYLES))
@reproducible
def test_every_way_of_counting_is_understood(reached: int, style: str) -> None:
    said = aloud(list(range(1, reached + 1)), style, every=2.0)
    found = count(counted(said))
    assert (found.reached, found.slips) == (reached, ())
    assert found.start == pytest.approx(next(word.start for word in said if word.text == "one"), abs=0.7)
    assert found.end <= said[-1].end


@given(st.integers(5, 40), st.data())
@reproducible
def test_a_number_that_is_left_out_is_noticed(reached: int, data: st.DataObject) -> None:
    gone = data.draw(st.integers(2, reached - 2))
    said = aloud([number for number in range(1, reached + 1) if number != gone], "{}")
    assert count(counted(said)).slips == (f"{gone} left out",)


@given(st.integers(5, 40), st.data())
@reproducible
def test_a_number_that_is_said_twice_is_noticed(reached: int, data: st.DataObject) -> None:
    again = data.draw(st.integers(2, reached - 1))
    numbers = sorted([*range(1, reached + 1), again])
    assert count(counted(aloud(numbers, "{}"))).slips == (f"{again} twice",)


def test_a_number_that_there_was_time_to_say_was_only_not_heard() -> None:
    said = aloud(list(range(1, 13)), "{}")
    assert count(counted([word for word in said if word.text != "seven"])) == Count(12, 0.0, 11.3, ())


def test_numbers_that_were_misheard_are_passed_over() -> None:
    heard = [1, 2, 9, 4, 5, 6, 60, 8, 9]
    numbers = [Number(value, place, place + 0.4) for place, value in enumerate(heard)]
    assert count(numbers) == Count(9, 0, 8.4, ())


def test_a_word_in_place_of_a_number_is_that_number_misheard() -> None:
    assert [number.value for number in counted(words("one to three four"))] == [1, 3, 4]
    said = words("one two three for five six")
    found = count(counted(said), said)
    assert (found.reached, found.slips) == (6, ())
    # Nothing is in the place of four here.
    said = words("one two three five six")
    assert count(counted(said), said).slips == ("4 left out",)
    # Twice in a row where the one before it is missing is that one, misheard.
    said = words("one two three five five six")
    assert count(counted(said), said).slips == ()


def test_a_number_alone_is_a_result_and_one_that_another_follows_is_counted() -> None:
    alone = [Number(76, 60.0, 60.5, True)]
    assert not goes_on_counting(alone, 60.0, 60.5)
    assert goes_on_counting([*alone, Number(77, 61.0, 61.5, True)], 60.0, 60.5)
    assert goes_on_counting([Number(1, 5.0, 5.3, True)], 5.0, 5.3)
    assert not goes_on_counting(alone, 70.0, 71.0)


def test_a_short_word_between_two_numbers_stands_for_the_one_between() -> None:
    numbers = [Number(4, 4.0, 4.3, True), Number(6, 6.0, 6.3, True)]
    assert goes_between(numbers, 5.0, 5.3)
    assert not goes_between(numbers, 7.0, 7.3)
    assert not goes_between([numbers[0], Number(40, 6.0, 6.3, True)], 5.0, 5.3)


@pytest.mark.parametrize(
    "said",
    [
        "that's seventy six for the minute",
        "i write one twenty over eighty",
        "i rub both hands and two wrists",
        "rinse",
        "",
    ],
)
def test_what_is_about_something_else_is_no_counting(said: str) -> None:
    assert counted(words(said)) == ()


def test_two_numbers_make_no_count() -> None:
    assert count(counted(words("seventy six seventy seven"))) == NO_COUNT


def after(numbers: list[int], seconds: float) -> list[Word]:
    return [Word(word.text, word.start + seconds, word.end + seconds) for word in aloud(numbers, "{}")]


def test_who_counts_silently_for_a_while_goes_on_aloud() -> None:
    numbers = (*counted(aloud([1, 2, 3], "{}")), *counted(after([18, 19, 20], 18.0)))
    assert count(numbers) == Count(20, 0.0, 20.3, ())


def test_a_number_alone_after_a_silence_is_what_was_counted() -> None:
    numbers = (*counted(aloud([1, 2, 3], "{}")), *counted(after([74], 60.0)))
    assert count(numbers).reached == 3


def test_counting_down_and_by_fives_is_counting() -> None:
    assert count(counted(aloud(list(range(20, 0, -1)), "{}"))).reached == 20
    fives = [counted(after([5 * place], 5.0 * place)) for place in range(1, 5)]
    assert count([number for numbers in fives for number in numbers]) == Count(20, 5.0, 20.3, ())

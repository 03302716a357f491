"""What is said about time: durations against plain arithmetic, and marks as students say them."""

from __future__ import annotations

import pytest
from num2words import num2words

from tests.narrated import words
from voicecoach.following.said_times import overs, said_seconds, starts, tells_afterwards


@pytest.mark.parametrize("number", [5, 10, 15, 20, 21, 30, 40, 45, 60, 90])
def test_seconds_are_understood(number: int) -> None:
    spelled = str(num2words(number)).replace("-", " ")
    assert said_seconds(f"i rub them for about {spelled} good seconds") == number
    assert said_seconds(f"that's {number} seconds") == number


@pytest.mark.parametrize(
    ("said", "seconds"),
    [
        ("for a full minute", 60),
        ("the whole minute", 60),
        ("for one minute", 60),
        ("two minutes", 120),
        ("half a minute", 30),
        ("a minute and a half", 90),
        ("not ten seconds but twenty seconds", 20),
        ("minute's up nineteen", 60),
        ("now i rub twenty second", 20),
        ("the second hand", 0),
        ("one second please", 0),
        ("seventy six beats a minute", 0),
        ("sixteen breaths per minute", 0),
        ("i scrub for a while", 0),
        ("the second glove", 0),
        ("with a second hand", 0),
        ("wait a minute", 0),
        ("just a minute missus lund", 0),
    ],
)
def test_what_is_a_duration_and_what_is_not(said: str, seconds: float) -> None:
    assert said_seconds(said) == seconds


@pytest.mark.parametrize(
    "said",
    [
        "okay starting now",
        "second hand's on the twelve go",
        "i'm counting from here",
        "ready and go",
        "now the second hand is on the twelve",
        "start",
    ],
)
def test_a_start_mark_is_where_its_words_end(said: str) -> None:
    assert list(starts(words(said, 10.0))) == [pytest.approx(words(said, 10.0)[-1].end)]


@pytest.mark.parametrize(
    "said",
    ["now i start rubbing my hands", "i put the start button", "now i go to the sink", "from the wrist"],
)
def test_what_only_sounds_like_a_start_mark(said: str) -> None:
    assert not list(starts(words(said)))


@pytest.mark.parametrize(
    ("said", "first"),
    [
        ("time", "time"),
        ("and time i got seventy six", "and"),
        ("okay that's a minute", "that's"),
        ("that's twenty seconds now i rinse", "that's"),
        ("the minute's up", "minute's"),
        ("the required twenty seconds have elapsed", "seconds"),
        ("my hands are dry", "hands"),
        ("i'm done rubbing", "done"),
        ("stop", "stop"),
    ],
)
def test_an_end_mark_is_where_its_words_begin(said: str, first: str) -> None:
    heard = words(said, 5.0)
    assert list(overs(heard)) == [next(word.start for word in heard if word.text == first)]


@pytest.mark.parametrize(
    "said",
    [
        "i keep rubbing until my hands are dry",
        "i stop when the minute is over",
        "they're not dry yet",
        "this time i use soap",
        "for twenty seconds",
    ],
)
def test_what_only_sounds_like_an_end_mark(said: str) -> None:
    assert not list(overs(words(said)))


def test_what_is_told_afterwards_is_told_apart_from_what_begins() -> None:
    assert tells_afterwards("i've rubbed them for twenty seconds")
    assert tells_afterwards("i counted for a full minute")
    assert tells_afterwards("that was a minute")
    assert not tells_afterwards("i'm counting for a full minute")
    assert not tells_afterwards("i've started to count")
    assert not tells_afterwards("i rub up a lather")

"""What the core knows of a live attempt: devices that vanish, and which silence means that it was all."""

from __future__ import annotations

import pytest

from tests.narrated import Narrated
from tests.test_attempt import WASHED, steps
from voicecoach import replay
from voicecoach.attempt import LONG, SHORT, USUAL
from voicecoach.events import Cued, Elapsed, Found, Lost, Paused, Resumed, Voiced
from voicecoach.records import journal


@pytest.mark.parametrize("mode", ["practise", "rehearse", "selftest"])
def test_where_no_sound_comes_in_it_waits_says_so_and_goes_on(mode: str) -> None:
    attempt = Narrated("wash-hands", mode)
    attempt.say(WASHED["water-on"])
    out = attempt.give(Lost(attempt.now, "The microphone is gone."))
    assert [type(event) for event in out] == [Paused, Cued]
    assert isinstance(out[1], Cued)
    assert (out[1].kind, out[1].text) == ("device", "The microphone is gone. I wait.")
    attempt.give(Voiced(attempt.now, out[1].cue, attempt.now))
    assert attempt.attempt.wakes_at is None
    out = attempt.give(Found(attempt.now))
    assert [type(event) for event in out] == [Resumed, Cued]
    assert steps(attempt.say(WASHED["wet"])) == ["wet"]
    assert tuple(replay.replay(tuple(attempt.events))) == tuple(map(journal.encode, attempt.events))


def test_a_student_who_paused_is_waited_for_when_sound_comes_in_again() -> None:
    attempt = Narrated("wash-hands", "practise")
    attempt.say("coach pause please")
    assert [type(event) for event in attempt.give(Lost(attempt.now, "Gone."))] == [Cued]
    assert attempt.give(Found(attempt.now)) == ()
    assert attempt.attempt.wakes_at is None


PLAIN = (
    "i wet both hands and my wrists",
    "i dry my hands with a clean paper towel",
    "i turn the water off with a clean dry paper towel",
    "coach what is next",
    "coach say that again please",
    "coach give me a hint",
)
NOT_YET = ("well", "good morning missus marlow", "coach", "coach can you", "what a long day")
BROKEN_OFF = ("i turn the water off with a", "and now i", "i rinse the soap off under the", "now i dry my")


@pytest.mark.parametrize(
    ("said", "silence"),
    [
        (said, silence)
        for silence, all_said in ((SHORT, PLAIN), (USUAL, NOT_YET), (LONG, BROKEN_OFF))
        for said in all_said
    ],
)
def test_how_long_a_silence_means_that_it_was_all(said: str, silence: float) -> None:
    attempt = Narrated("wash-hands", "rehearse")
    assert attempt.attempt.patience(said) == silence
    # It is only asked: nothing follows from it.
    assert attempt.attempt.take(Elapsed(1.0)) == ()


def test_most_phrases_of_a_procedure_are_plain() -> None:
    attempt = Narrated("gait-belt-walk", "rehearse")
    phrases = [phrase for step in attempt.procedure.steps for phrase in step.say][::5]
    plain = [phrase for phrase in phrases if attempt.attempt.patience(phrase) == SHORT]
    assert len(plain) >= 0.85 * len(phrases)

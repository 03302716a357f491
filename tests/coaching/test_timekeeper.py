"""The coach keeps the time aloud when it is asked to, in whole attempts."""

from __future__ import annotations

import pytest

from tests.narrated import Narrated, kinds
from voicecoach.events import Asked, Cued, Elapsed, Event, Outgoing, Timed, Voiced

LENGTH = 1.5
"""Seconds that a cue takes to be said."""


def said(events: tuple[Outgoing, ...] | list[Event]) -> list[str]:
    return [event.text for event in events if isinstance(event, Cued)]


def voice(attempt: Narrated, out: tuple[Outgoing, ...]) -> None:
    """The cues are said."""
    for cue in out:
        if isinstance(cue, Cued):
            attempt.give(Voiced(attempt.now + LENGTH, cue.cue, attempt.now))


def wait(attempt: Narrated) -> tuple[float, tuple[Outgoing, ...]]:
    """Nobody speaks until the core asks to be told; gives how long, and what comes of it."""
    before, wakes_at = attempt.now, attempt.attempt.wakes_at
    assert wakes_at is not None
    out = attempt.give(Elapsed(wakes_at))
    voice(attempt, out)
    return round(wakes_at - before, 3), out


def lathering(mode: str = "practise") -> Narrated:
    attempt = Narrated("wash-hands", mode, times="clock")
    voice(attempt, tuple(event for event in attempt.events if isinstance(event, Cued)))
    for text in ("i turn on the water", "i wet both hands and wrists", "soap on my hands"):
        attempt.say(text)
    return attempt


@pytest.mark.parametrize("mode", ["practise", "rehearse"])
def test_it_tells_the_half_and_the_end_and_the_step_has_lasted(mode: str) -> None:
    attempt = lathering(mode)
    attempt.say("now i rub up a good lather all over my hands")
    out = attempt.say("coach time me")
    assert [event.request for event in out if isinstance(event, Asked)] == ["time"]
    assert said(out) == ["20 seconds, from now."]
    voice(attempt, out)
    seconds, out = wait(attempt)
    assert (seconds, said(out)) == (10.0, ["10 more."])
    seconds, out = wait(attempt)
    assert (seconds + LENGTH, said(out)) == (10.0, ["Time."])
    (timed,) = kinds(out, Timed)
    assert isinstance(timed, Timed)
    assert (timed.step, round(timed.end - timed.start, 3)) == ("lather", 20.0)
    out = attempt.say("now i rinse off all the soap")
    assert not [event for event in out if isinstance(event, Cued) and event.kind == "time"]


def test_nothing_is_said_in_between_while_something_is_counted() -> None:
    attempt = Narrated("pulse-breaths", "practise", times="clock")
    attempt.say("i clean my hands with sanitizer")
    attempt.say("i find the pulse at the wrist with my fingertips")
    out = attempt.say("coach time me for a full minute please")
    assert said(out)[-1] == "One minute, from now."
    voice(attempt, out)
    seconds, out = wait(attempt)
    assert (seconds, said(out)) == (60.0, ["Time."])


def test_the_student_may_say_how_long() -> None:
    attempt = lathering()
    out = attempt.say("coach time me for thirty seconds")
    assert said(out) == ["30 seconds, from now."]


def test_whoever_goes_on_before_the_time_is_up_is_told_so_and_the_clock_is_stopped() -> None:
    attempt = lathering()
    attempt.say("now i rub up a good lather all over my hands")
    voice(attempt, attempt.say("coach time me"))
    out = attempt.say("now i rinse off all the soap", after=3.0)
    assert any("It takes 20 seconds." in text for text in said(out))
    assert "Time." not in said(attempt.events)
    voice(attempt, out)
    _, out = wait(attempt)
    assert "Time." not in said(out)


def test_where_nothing_is_timed_it_says_so() -> None:
    attempt = Narrated("fluid-intake", "practise")
    assert said(attempt.say("coach time me")) == ["Nothing here has to last."]


def test_in_a_selftest_it_stays_silent() -> None:
    attempt = lathering("selftest")
    attempt.say("now i rub up a good lather all over my hands")
    assert said(attempt.say("coach time me")) == []
    assert attempt.attempt.wakes_at is None

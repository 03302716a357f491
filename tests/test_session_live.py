"""The loop with devices: talking over cues, cues that wait, and microphones and loudspeakers that vanish."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from tests.scripted_session import Core, Loud, Unplugged, heard, run
from voicecoach.ear import Moment
from voicecoach.events import (
    Cued,
    Ended,
    Followed,
    Found,
    Heard,
    Incoming,
    Lost,
    Outgoing,
    Paused,
    Simulated,
    Voiced,
    Withdrawn,
)

__all__ = ["run"]


def test_a_lost_loudspeaker_leaves_the_words_on_the_screen_until_it_is_back(run: Any) -> None:
    def script(core: Core, event: Incoming) -> tuple[Outgoing, ...]:
        return (cue(event.at, event.utterance),) if isinstance(event, Heard) else ()

    moments = [Moment(float(at), heard=heard(at, at - 0.5, at)) for at in range(1, 5)]
    outcome, screen = run(moments, script, Unplugged())
    # Said once, however many cues it keeps silent.
    assert screen.notices == ["The loudspeaker is gone. The coach's words are shown instead."]
    voiced = [event for event in outcome.events if isinstance(event, Voiced)]
    assert voiced == [Voiced(1.0, 1, 1.0), Voiced(2.0, 2, 2.0), Voiced(4.0, 3, 3.0)]


def cue(at: float, number: int, kind: str = "missed", about: tuple[str, ...] = ("wet",)) -> Cued:
    return Cued(at, number, kind, about, 1, "one two three")


def answering(core: Core, event: Incoming) -> tuple[Outgoing, ...]:
    """A cue for each utterance."""
    return (cue(event.at, event.utterance),) if isinstance(event, Heard) else ()


def test_a_student_who_talks_over_a_cue_is_let_talk(run: Any) -> None:
    mouth = Loud()

    def moments() -> Iterator[Moment]:
        yield Moment(2.0, heard=heard(1, 1.0, 2.0))
        yield Moment(2.5)
        assert mouth.sounds
        yield Moment(3.0, speaking=True)
        assert not mouth.sounds
        yield Moment(4.0, heard=heard(2, 3.0, 4.0))
        yield Moment(5.0)
        mouth.sounds = False
        yield Moment(8.0)

    outcome, _ = run(moments(), answering, mouth)
    assert [event for event in outcome.events if isinstance(event, Voiced)] == [
        Voiced(3.0, 1, 2.0, cut=True),
        Voiced(7.0, 2, 4.0),
    ]


def test_no_cue_begins_while_somebody_speaks(run: Any) -> None:
    def script(core: Core, event: Incoming) -> tuple[Outgoing, ...]:
        return (cue(event.at, 1), cue(event.at, 2)) if isinstance(event, Heard) else ()

    mouth = Loud()

    def moments() -> Iterator[Moment]:
        yield Moment(2.0, heard=heard(1, 1.0, 2.0))
        yield Moment(2.1, speaking=True)
        yield Moment(4.0, speaking=True)
        assert [at for at, _ in mouth.said] == [2.0]
        yield Moment(5.0)
        assert [at for at, _ in mouth.said] == [2.0, 5.0]

    run(moments(), script, mouth)


def test_a_cue_that_is_needed_no_longer_is_not_said(run: Any) -> None:
    def script(core: Core, event: Incoming) -> tuple[Outgoing, ...]:
        if not isinstance(event, Heard):
            return ()
        if event.utterance == 1:
            return (cue(event.at, 1, about=("soap",)), cue(event.at, 2))
        return (Withdrawn(event.at, "wet", "it was reported"),)

    mouth = Loud()
    moments = [
        Moment(2.0, heard=heard(1, 1.0, 2.0)),
        Moment(2.2, speaking=True),
        Moment(4.0, heard=heard(2, 2.1, 4.0)),
        Moment(9.0),
    ]
    outcome, _ = run(moments, script, mouth)
    assert [at for at, _ in mouth.said] == [2.0]
    # For the core it is over all the same.
    assert {event.cue: event.cut for event in outcome.events if isinstance(event, Voiced)} == {
        1: True,
        2: True,
    }


def test_where_no_sound_comes_in_the_core_is_told_once_and_again_when_it_does(run: Any) -> None:
    def script(core: Core, event: Incoming) -> tuple[Outgoing, ...]:
        return (cue(event.at, 1, "device", ()),) if isinstance(event, Lost) else ()

    mouth = Loud()

    def moments() -> Iterator[Moment]:
        yield Moment(2.0)
        yield Moment(2.0, gap="The microphone is gone.")
        mouth.sounds = False
        yield Moment(2.0, gap="The microphone is gone.")
        yield Moment(2.0, gap="There is no microphone.")
        yield Moment(2.03)
        yield Moment(2.06)

    outcome, screen = run(moments(), script, mouth)
    assert [event for event in outcome.events if isinstance(event, Lost | Found | Voiced)] == [
        Lost(2.0, "The microphone is gone."),
        Voiced(2.0, 1, 2.0),  # though the audio clock stands still
        Found(2.03),
    ]
    assert screen.notices == ["There is no microphone."]


def test_a_step_that_was_followed_ticks_but_not_into_a_cue(run: Any) -> None:
    def script(core: Core, event: Incoming) -> tuple[Outgoing, ...]:
        if not isinstance(event, Heard):
            return ()
        followed = Followed(event.at, "wet", event.start, event.end, event.utterance, "well", 0.9)
        return (followed, cue(event.at, 1)) if event.utterance == 2 else (followed,)

    mouth = Loud()
    moments = [Moment(float(at), heard=heard(at, at - 0.5, at)) for at in (1, 2, 3)]
    run(moments, script, mouth)
    assert len(mouth.ticks) == 1


BEATS = Simulated(2.0, "pulse", "beats", (72.0,), "You feel 72 beats in one full minute.")


class Beating(Loud):
    """Can be heard, and so can what a case sounds like."""

    def __init__(self) -> None:
        super().__init__()
        self.simulated: list[tuple[str, tuple[float, ...]]] = []

    def simulate(self, what: str, values: tuple[float, ...]) -> bool:
        self.simulated.append((what, values))
        return True


def finding(then: tuple[Outgoing, ...]) -> Any:
    """A script that lets beats be heard after the first utterance, and does this after the second."""

    def script(core: Core, event: Incoming) -> tuple[Outgoing, ...]:
        if not isinstance(event, Heard):
            return ()
        return (BEATS,) if event.utterance == 1 else then

    return script


@pytest.mark.parametrize(
    "then",
    [
        (Simulated(4.0, "pulse", "", (), ""),),
        (Paused(4.0),),
        (Ended(4.0, "finished"),),
        # Nothing goes on after the end, whatever it begins with.
        (BEATS, Ended(4.0, "finished")),
    ],
)
def test_what_a_case_sounds_like_is_over_when_the_core_says_so_or_waits_or_ends(
    run: Any, then: tuple[Outgoing, ...]
) -> None:
    mouth = Beating()

    def moments() -> Iterator[Moment]:
        yield Moment(2.0, heard=heard(1, 1.0, 2.0))
        yield Moment(3.0)
        assert mouth.simulated == [("beats", (72.0,))]
        yield Moment(4.0, heard=heard(2, 3.0, 4.0))
        assert mouth.simulated[-1] == ("", ())

    _, screen = run(moments(), finding(then), mouth)
    assert mouth.simulated[-1] == ("", ())
    assert screen.notices == []


@pytest.mark.parametrize("gap", ["The microphone is gone.", ""])
def test_it_is_over_when_no_sound_comes_in_or_the_attempt_is_broken_off(run: Any, gap: str) -> None:
    mouth = Beating()

    def moments() -> Iterator[Moment]:
        yield Moment(2.0, heard=heard(1, 1.0, 2.0))
        yield Moment(3.0, gap=gap)
        assert mouth.simulated == [("beats", (72.0,)), *([("", ())] if gap else [])]

    run(moments(), finding(()), mouth)
    assert mouth.simulated[-1] == ("", ())


def test_who_talks_over_a_cue_ends_the_cue_and_not_the_beats(run: Any) -> None:
    mouth = Beating()

    def moments() -> Iterator[Moment]:
        yield Moment(2.0, heard=heard(1, 1.0, 2.0))
        yield Moment(4.0, heard=heard(2, 3.0, 4.0))
        assert mouth.sounds
        yield Moment(4.5, speaking=True)
        assert not mouth.sounds
        assert mouth.simulated == [("beats", (72.0,))]

    run(moments(), finding((cue(4.0, 1),)), mouth)


def test_beats_keep_neither_cues_nor_the_end_waiting(run: Any) -> None:
    mouth = Beating()

    def script(core: Core, event: Incoming) -> tuple[Outgoing, ...]:
        if not isinstance(event, Heard):
            return ()
        return (BEATS, cue(event.at, 1), cue(event.at, 2))

    def moments() -> Iterator[Moment]:
        yield Moment(2.0, heard=heard(1, 1.0, 2.0))
        mouth.sounds = False
        yield Moment(6.0)
        assert [at for at, _ in mouth.said] == [2.0, 5.0]

    outcome, _ = run(moments(), script, mouth)
    assert isinstance(outcome.events[-1], Ended)
    assert mouth.simulated == [("beats", (72.0,)), ("", ())]

"""The loop with devices: talking over cues, cues that wait, and microphones and loudspeakers that vanish."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tests.scripted_session import Core, Loud, Unplugged, heard, run
from voicecoach.ear import Moment
from voicecoach.events import Cued, Followed, Found, Heard, Incoming, Lost, Outgoing, Voiced, Withdrawn

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

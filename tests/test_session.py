"""The loop: what goes to the core and when, what is said, and what is kept whatever happens."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest

from voicecoach import session
from voicecoach.ear import Moment
from voicecoach.errors import Complaint
from voicecoach.events import (
    Begun,
    Cued,
    Elapsed,
    Ended,
    Event,
    Followed,
    Found,
    Heard,
    Incoming,
    Lost,
    Outgoing,
    Stopped,
    Voiced,
    Withdrawn,
    Word,
)
from voicecoach.mouth import Mouth
from voicecoach.procedure import library
from voicecoach.records import journal
from voicecoach.records.journal import Journal

PROCEDURE = library.find("hand-rub").plain()
BEGUN = Begun(0.0, "one", "2026-11-25T09:15:00+00:00", "rehearse", "typed", PROCEDURE)


class Core:
    """Stands for the core: says what the test tells it to say to an event."""

    def __init__(self, script: Callable[[Core, Incoming], tuple[Outgoing, ...]]) -> None:
        self.script = script
        self.wakes_at: float | None = None
        self.ended = False

    def take(self, event: Incoming) -> tuple[Outgoing, ...]:
        said = self.script(self, event)
        if isinstance(event, Stopped):
            said = (*said, Ended(event.at, event.why))
        self.ended = self.ended or any(isinstance(out, Ended) for out in said)
        return said


class Screen:
    """Keeps what it was given."""

    def __init__(self) -> None:
        self.shown: list[Event] = []
        self.notices: list[str] = []

    def show(self, event: Event) -> None:
        self.shown.append(event)

    def listen(self, at: float, partial: str) -> None:
        pass

    def notice(self, what: str) -> None:
        self.notices.append(what)


class Slow(Mouth):
    """Needs a second for every word, as if it could be heard."""

    def __init__(self) -> None:
        self.said: list[tuple[float, str]] = []

    def say(self, text: str, at: float) -> float:
        self.said.append((at, text))
        return float(len(text.split()))


class Loud(Slow):
    """Can be heard until it is told to stop, or the test says that it is over."""

    def __init__(self) -> None:
        super().__init__()
        self.sounds = False
        self.ticks: list[float] = []
        self.now = 0.0

    @property
    def sounding(self) -> bool:
        return self.sounds

    def say(self, text: str, at: float) -> float:
        self.sounds = True
        self.now = at
        return super().say(text, at)

    def stop(self) -> None:
        self.sounds = False

    def tick(self) -> None:
        self.ticks.append(self.now)


class Unplugged(Mouth):
    """A loudspeaker that has been unplugged, and comes back for the third cue."""

    def __init__(self) -> None:
        self.tried = 0

    def say(self, text: str, at: float) -> float:
        self.tried += 1
        if self.tried < 3:
            raise Complaint("The loudspeaker is gone.")
        return 1.0


def heard(number: int, start: float, end: float, text: str = "well") -> Heard:
    return Heard(end, number, start, end, tuple(Word(word, start, end) for word in text.split()))


def never() -> bool:
    return False


@pytest.fixture
def run(tmp_path: Path) -> Callable[..., tuple[session.Outcome, Screen]]:
    """Runs a session over moments with a core that follows a script."""

    def run(
        moments: Iterable[Moment],
        script: Callable[[Core, Incoming], tuple[Outgoing, ...]] = lambda core, event: (),
        mouth: Mouth | None = None,
        interrupted: Callable[[], bool] = never,
    ) -> tuple[session.Outcome, Screen]:
        screen = Screen()
        kept = Journal(tmp_path / "a.jsonl")
        core: Any = Core(script)

        def ending() -> Iterator[Moment]:
            yield from moments
            if isinstance(mouth, Loud):
                mouth.sounds = False

        outcome = session.Session(core, mouth or Mouth(), kept, screen).run(BEGUN, ending(), interrupted)
        return outcome, screen

    return run


def test_everything_is_journalled_in_the_order_in_which_it_happened(run: Any, tmp_path: Path) -> None:
    def script(core: Core, event: Incoming) -> tuple[Outgoing, ...]:
        # What comes in stands on the disk before the core takes it.
        assert journal.read(tmp_path / "a.jsonl")[-1] == event
        if isinstance(event, Heard):
            return (Followed(event.at, "rub", event.start, event.end, event.utterance, "well", 0.98765),)
        return ()

    outcome, screen = run([Moment(1.0), Moment(2.0, heard=heard(1, 1.0, 2.0)), Moment(3.0)], script)
    kinds = [type(event).__name__ for event in outcome.events]
    assert kinds == ["Begun", "Heard", "Followed", "Stopped", "Ended"]
    assert journal.read(tmp_path / "a.jsonl") == outcome.events == tuple(screen.shown)
    assert outcome.events[2].sure == 0.988
    assert outcome.events[3] == Stopped(3.0, "source ended")


def test_the_core_gets_times_as_the_journal_keeps_them(run: Any) -> None:
    given: list[Incoming] = []

    def script(core: Core, event: Incoming) -> tuple[Outgoing, ...]:
        given.append(event)
        return ()

    run([Moment(1.23456, heard=heard(1, 0.111111, 1.23456))], script)
    assert given[1].at == 1.235
    assert isinstance(given[1], Heard)
    assert given[1].words[0].start == 0.111


def test_the_core_is_woken_at_the_moment_it_asked_for(run: Any) -> None:
    def script(core: Core, event: Incoming) -> tuple[Outgoing, ...]:
        core.wakes_at = 4.00001 if isinstance(event, Begun) else None
        return ()

    outcome, _ = run([Moment(float(at)) for at in range(1, 8)], script)
    # Not earlier than asked, in spite of the thousandths.
    assert [event for event in outcome.events if isinstance(event, Elapsed)] == [Elapsed(4.001)]


def test_nobody_is_interrupted_who_speaks(run: Any) -> None:
    def script(core: Core, event: Incoming) -> tuple[Outgoing, ...]:
        core.wakes_at = None if isinstance(event, Elapsed) else 4.0
        return ()

    moments = [
        Moment(3.0),
        Moment(5.0, speaking=True),
        Moment(6.0, speaking=True),
        Moment(7.0, heard=heard(1, 3.5, 6.5)),
        Moment(8.0),
    ]
    outcome, _ = run(moments, script)
    assert [type(event).__name__ for event in outcome.events] == [
        "Begun", "Heard", "Elapsed", "Stopped", "Ended",
    ]  # fmt: skip
    assert outcome.events[2].at == 6.5


def test_cues_are_said_one_after_the_other_and_reported_when_they_are_over(run: Any) -> None:
    def script(core: Core, event: Incoming) -> tuple[Outgoing, ...]:
        if isinstance(event, Heard):
            return (
                Cued(event.at, 1, "missed", (), 1, "one two three"),
                Cued(event.at, 2, "order", (), 1, "one two"),
            )
        return ()

    mouth = Slow()
    moments = [Moment(2.0, heard=heard(1, 1.0, 2.0)), Moment(4.0, speaking=True), Moment(9.5)]
    outcome, _ = run(moments, script, mouth)
    assert mouth.said == [(2.0, "one two three"), (5.0, "one two")]
    assert [event for event in outcome.events if isinstance(event, Voiced)] == [
        Voiced(5.0, 1, 2.0),
        Voiced(7.0, 2, 5.0),
    ]


def test_time_never_runs_backwards_in_a_journal(run: Any) -> None:
    def script(core: Core, event: Incoming) -> tuple[Outgoing, ...]:
        core.wakes_at = 1.0 if isinstance(event, Heard) else None
        return (Cued(event.at, 1, "answer", (), 0, "a b c"),) if isinstance(event, Heard) else ()

    moments = [Moment(5.0, heard=heard(1, 3.0, 5.0)), Moment(6.0, heard=heard(2, 2.0, 4.0)), Moment(20.0)]
    outcome, _ = run(moments, script, Slow())
    times = [event.at for event in outcome.events]
    assert times == sorted(times)


def test_the_closing_words_are_said_after_the_end(run: Any) -> None:
    def script(core: Core, event: Incoming) -> tuple[Outgoing, ...]:
        if isinstance(event, Heard):
            return (
                Cued(event.at, 1, "closing", (), 0, "that was all"),
                Ended(event.at, "finished"),
                Cued(event.at, 2, "closing", (), 0, "goodbye"),
            )
        return ()

    def moments() -> Iterator[Moment]:
        yield Moment(2.0, heard=heard(1, 1.0, 2.0))
        raise AssertionError("nobody listens any more")

    mouth = Slow()
    outcome, _ = run(moments(), script, mouth)
    assert mouth.said == [(2.0, "that was all"), (5.0, "goodbye")]
    assert not any(isinstance(event, Stopped) for event in outcome.events)


def test_ctrl_c_keeps_what_there_is(run: Any, tmp_path: Path) -> None:
    presses = iter([False, False, True])
    moments = [Moment(1.0), Moment(2.0, heard=heard(1, 1.0, 2.0)), Moment(3.0, heard=heard(2, 2.5, 3.0))]
    outcome, _ = run(moments, interrupted=lambda: next(presses))
    assert outcome.interrupted
    assert outcome.events[-2:] == (Stopped(2.0, "interrupted"), Ended(2.0, "interrupted"))
    assert journal.read(tmp_path / "a.jsonl") == outcome.events


def test_a_lost_microphone_ends_the_attempt_and_loses_nothing(run: Any, tmp_path: Path) -> None:
    def moments() -> Iterator[Moment]:
        yield Moment(2.0, heard=heard(1, 1.0, 2.0))
        raise Complaint("The microphone gives no more sound.")

    outcome, _ = run(moments())
    assert outcome.lost == "The microphone gives no more sound."
    assert outcome.events[-1] == Ended(2.0, "device lost")
    assert journal.read(tmp_path / "a.jsonl") == outcome.events


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


def test_on_a_full_disk_the_attempt_goes_on_and_the_user_is_told_once(
    run: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(file: int, block: bytes) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "write", full)
    outcome, screen = run([Moment(2.0, heard=heard(1, 1.0, 2.0)), Moment(3.0)])
    assert [type(event).__name__ for event in outcome.events] == ["Begun", "Heard", "Stopped", "Ended"]
    assert len(screen.notices) == 1
    assert "the disk is full" in outcome.unkept


def test_ctrl_c_is_noted_and_the_second_one_breaks_in() -> None:
    import signal

    before = signal.getsignal(signal.SIGINT)
    with session.interruptible() as interrupted:
        assert not interrupted()
        signal.raise_signal(signal.SIGINT)
        assert interrupted()
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
    assert signal.getsignal(signal.SIGINT) is before


def test_an_attempt_begins_with_all_that_its_journal_needs() -> None:
    begun = session.begun(library.find("hand-rub"), "practise", "sphinx")
    assert begun.procedure == PROCEDURE
    assert begun.attempt.endswith("-hand-rub")
    assert (begun.at, begun.mode, begun.hear) == (0.0, "practise", "sphinx")

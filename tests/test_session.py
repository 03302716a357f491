"""The loop: what goes to the core and when, what is said, and what is kept whatever happens."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.scripted_session import PROCEDURE, Core, Slow, heard, run
from voicecoach import session
from voicecoach.ear import Moment
from voicecoach.errors import Complaint
from voicecoach.events import (
    Begun,
    Cued,
    Elapsed,
    Ended,
    Followed,
    Heard,
    Incoming,
    Outgoing,
    Simulated,
    Stopped,
    Voiced,
)
from voicecoach.procedure import library
from voicecoach.records import journal

__all__ = ["run"]


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


def test_a_time_limit_ends_the_attempt_at_that_second_of_the_audio_clock(run: Any, tmp_path: Path) -> None:
    given: list[Incoming] = []

    def script(core: Core, event: Incoming) -> tuple[Outgoing, ...]:
        given.append(event)
        return ()

    def moments() -> Iterator[Moment]:
        yield Moment(2.0, heard=heard(1, 1.0, 2.0))
        yield Moment(9.999)
        # Not heard to its end within the time.
        yield Moment(10.5, heard=heard(2, 9.0, 10.5))
        raise AssertionError("nobody listens any more")

    outcome, _ = run(moments(), script, until=10.0)
    assert outcome.events[1:] == (given[1], Stopped(10.0, "time is up"), Ended(10.0, "time is up"))
    assert (outcome.interrupted, outcome.lost) == (False, "")
    assert journal.read(tmp_path / "a.jsonl") == outcome.events


def test_what_ends_within_its_time_limit_does_not_know_of_it(run: Any) -> None:
    outcome, _ = run([Moment(2.0), Moment(9.999)], until=10.0)
    assert outcome.events[-1] == Ended(9.999, "source ended")


def test_a_lost_microphone_ends_the_attempt_and_loses_nothing(run: Any, tmp_path: Path) -> None:
    def moments() -> Iterator[Moment]:
        yield Moment(2.0, heard=heard(1, 1.0, 2.0))
        raise Complaint("The microphone gives no more sound.")

    outcome, _ = run(moments())
    assert outcome.lost == "The microphone gives no more sound."
    assert outcome.events[-1] == Ended(2.0, "device lost")
    assert journal.read(tmp_path / "a.jsonl") == outcome.events


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


def test_what_cannot_be_heard_of_a_case_is_shown_in_words(run: Any) -> None:
    def script(core: Core, event: Incoming) -> tuple[Outgoing, ...]:
        if not isinstance(event, Heard):
            return ()
        if event.utterance == 1:
            return (Simulated(event.at, "pulse", "beats", (72.0,), "You feel 72 beats in one full minute."),)
        return (Simulated(event.at, "pulse", "", (), ""),)

    moments = [Moment(2.0, heard=heard(1, 1.0, 2.0)), Moment(9.0, heard=heard(2, 8.0, 9.0))]
    outcome, screen = run(moments, script, Slow())
    assert screen.notices == ["You feel 72 beats in one full minute."]
    assert [event.what for event in outcome.events if isinstance(event, Simulated)] == ["beats", ""]


def test_an_attempt_begins_with_all_that_its_journal_needs() -> None:
    procedure = library.find("hand-rub")
    begun = session.begun(procedure, "practise", "sphinx")
    # Where no case is drawn, the scene names the resident of the phrases.
    assert begun.procedure == PROCEDURE | {"scene": begun.procedure["scene"]}
    assert begun.procedure["scene"] == procedure.scene.replace("{resident}", procedure.residents[0])
    assert begun.attempt.endswith("-hand-rub")
    assert (begun.at, begun.mode, begun.hear) == (0.0, "practise", "sphinx")

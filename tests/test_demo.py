"""The demo, end to end: the bundled sound, the real recognizer, the real core."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

from voicecoach import cli, demo, ear, narration
from voicecoach.coaching.debrief import debrief
from voicecoach.events import Cued, Event, Heard, Voiced, Withdrawn
from voicecoach.records import journal
from voicecoach.sound import RATE, files


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> tuple[tuple[Event, ...], Path, Path]:
    """What happened in one run of the demo, its journal, and the sound file that it wrote."""
    folder = tmp_path_factory.mktemp("demo")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(journal, "folder", lambda: folder)
        patch.setattr(sys, "argv", ["voicecoach", "demo", "--to", str(folder / "both.wav")])
        with pytest.raises(SystemExit) as left:
            cli.main()
        assert not left.value.code
    (kept,) = folder.glob("*.jsonl")
    return journal.read(kept), kept, folder / "both.wav"


def test_the_narration_is_small_and_its_script_says_what_is_in_it() -> None:
    assert narration.SOUND.stat().st_size <= 600_000
    said = [moment.heard for moment in ear.read(narration.WORDS.read_text("utf-8").splitlines())]
    starts = [heard.start for heard in said if heard]
    samples = files.read(narration.SOUND).samples
    for start in starts:
        first = round(start * RATE)
        # Silence before the written time, a voice after it.
        assert np.abs(samples[first - RATE : first]).max() < 300
        assert np.abs(samples[first : first + RATE]).max() > 3000


def test_the_coach_hears_what_was_left_out_late_and_out_of_order(
    played: tuple[tuple[Event, ...], Path, Path],
) -> None:
    events, _, _ = played
    result = debrief(events)
    assert [line.step for line in result.missed] == ["call-light"]
    assert result.missed[0].critical
    assert not result.passed
    assert result.complete
    assert [(required.step, step.step) for required, step in result.out_of_order] == [
        ("lock-wheels", "sit-edge"),
        ("shoes", "stand"),
    ]
    # One step comes only after the coach has asked; the other is remembered before it can ask.
    cues = [(event.kind, event.about) for event in events if isinstance(event, Cued) and event.about]
    assert cues == [
        ("missed", ("lock-wheels",)),
        ("thanks", ("lock-wheels",)),
        ("order", ("shoes",)),
    ]
    assert [event.about for event in events if isinstance(event, Withdrawn)] == ["lock-wheels"]


def test_student_and_coach_take_turns(played: tuple[tuple[Event, ...], Path, Path]) -> None:
    events, _, _ = played
    coach = [(event.start, event.at) for event in events if isinstance(event, Voiced)]
    student = [(event.start, event.end) for event in events if isinstance(event, Heard)]
    assert len(coach) >= 5
    assert not [(one, other) for one in coach for other in student if one[0] < other[1] and other[0] < one[1]]


def test_both_can_be_heard_in_the_sound_file(played: tuple[tuple[Event, ...], Path, Path]) -> None:
    events, _, sound = played
    both, student = files.read(sound).samples, files.read(narration.SOUND).samples
    silent_student = np.zeros_like(both)
    silent_student[: len(student)] = student
    for event in events:
        if isinstance(event, Voiced):
            span = slice(round(event.start * RATE), round(event.at * RATE))
            assert np.abs(silent_student[span]).max() < 300
            assert np.abs(both[span]).max() > 3000


def test_its_journal_replays_to_the_byte(
    played: tuple[tuple[Event, ...], Path, Path],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    _, kept, _ = played
    monkeypatch.setattr(sys, "argv", ["voicecoach", "replay", str(kept)])
    with pytest.raises(SystemExit) as left:
        cli.main()
    assert not left.value.code
    assert capsys.readouterr().out == kept.read_text("utf-8")


def test_in_real_time_blocks_come_when_they_would_be_heard(monkeypatch: pytest.MonkeyPatch) -> None:
    now = [100.0]
    slept: list[float] = []

    def sleep(seconds: float) -> None:
        slept.append(seconds)
        now[0] += seconds

    monkeypatch.setattr("voicecoach.demo.time.sleep", sleep)
    monkeypatch.setattr("voicecoach.demo.time.monotonic", lambda: now[0])
    blocks = list(demo._paced(np.zeros(RATE, np.int16), None))
    assert sum(map(len, blocks)) == RATE
    assert now[0] == pytest.approx(101.0)
    assert len(slept) == len(blocks)

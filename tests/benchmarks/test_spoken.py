"""Voices, and what is kept of what they spoke and of what was heard."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.benchmarks import plain_hearing, spoken, voices
from tests.benchmarks.following import OWN, columns_of, in_turn, one_in, spoken_tasks
from tests.benchmarks.levels import floats, level, speaking
from tests.benchmarks.measuring import Measured, Task
from tests.benchmarks.narrations import LabelledClause, Narration, read_folder, shipped
from tests.benchmarks.scoring import Outcome
from voicecoach.events import Heard, Word
from voicecoach.sound import RATE

TEXT = "i rub my palms together"
QUICK = ("heart", "slt", "diogo", "shelby")
"""Voices that speak in well under a second."""


@pytest.fixture(autouse=True)
def _kept_apart(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(voices, "KEPT", tmp_path / "spoken")
    monkeypatch.setattr(spoken, "KEPT", tmp_path / "heard")


def short(id: str = "one") -> Narration:
    """Two clauses."""
    clauses = (
        LabelledClause(0.5, TEXT, ("palms",), "done"),
        LabelledClause(1.0, "my hands are dry", ("until-dry",), "done"),
    )
    return Narration(id, "hand-rub", "free", clauses, frozenset(), frozenset(), frozenset())


@pytest.mark.parametrize("name", QUICK)
def test_a_voice_says_a_text_the_same_way_whatever_it_said_before(name: str) -> None:
    voice = voices.ALL[name]
    if not voice.here():
        pytest.skip(f"{voice.package} is not installed")
    first, rate = voice.raw(TEXT)
    voice.raw("something else")
    again, _ = voice.raw(TEXT)
    assert np.array_equal(first, again)
    assert 0.8 < len(first) / rate < 5


@pytest.mark.parametrize("name", QUICK)
def test_all_voices_are_equally_loud(name: str) -> None:
    voice = voices.ALL[name]
    if not voice.here():
        pytest.skip(f"{voice.package} is not installed")
    sound = floats(voice.speak(TEXT))
    assert level(sound, speaking(sound)) == pytest.approx(voices.LEVEL, abs=0.1)
    assert np.array_equal(floats(voice.speak(TEXT)), sound)


def test_what_was_spoken_is_not_spoken_again(monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[str] = []

    def raw(text: str) -> voices.Raw:
        told.append(text)
        return np.random.default_rng(0).normal(size=RATE) * 0.1, RATE

    voice = voices.Voice("new", "nothing", lambda: True, raw)
    first = voice.speak(TEXT)
    assert np.array_equal(voice.speak(TEXT), first)
    assert told == [TEXT]


def tone(text: str, voice: str = "joe") -> NDArray[np.int16]:
    """Stands for a voice: a buzz as long as the text."""
    return np.resize(np.array([3000, -3000], np.int16), len(text) * 400)


def test_a_performance_has_each_clause_where_it_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(spoken, "speak", tone)
    samples, spans = spoken.perform(short())
    assert spans[0][0] == pytest.approx(0.5)
    assert spans[1][0] == pytest.approx(spans[0][1] + 1.0)
    for start, end in spans:
        assert np.abs(samples[round(start * RATE) : round(end * RATE)]).min() == 3000
    assert not samples[-RATE:].any()
    assert len(samples) / RATE == pytest.approx(spans[-1][1] + 1.0)


def test_babble_is_made_of_other_procedures_in_other_voices(monkeypatch: pytest.MonkeyPatch) -> None:
    said: set[tuple[str, str]] = set()

    def noted(text: str, voice: str = "joe") -> NDArray[np.int16]:
        said.add((voice, text))
        return tone(text)

    monkeypatch.setattr(spoken, "speak", noted)
    monkeypatch.setattr(voices, "installed", lambda: ("joe", "heart", "slt", "rms", "awb", "ked"))
    spoken.perform(short(), "joe", "babble-10")
    whose = {clause.say: one.procedure for one in read_folder(OWN / "tuned") for clause in one.clauses}
    others = {(voice, text) for voice, text in said if voice != "joe"}
    assert {voice for voice, _ in others} == {"heart", "slt", "rms", "awb", "ked"}
    assert "hand-rub" not in {whose[text] for _, text in others}


class Ear:
    """Hears a word in every utterance, and counts how often it was made."""

    name = "ear"
    made = 0

    def __init__(self) -> None:
        Ear.made += 1
        self._start = 0.0

    def begin(self, at: float) -> None:
        self._start = at

    def feed(self, samples: NDArray[np.int16]) -> str:
        return ""

    def end(self, at: float) -> Heard:
        word = Word("palms", self._start, at, 0.5)
        return Heard(at, 1, self._start, at, (word,), (word,))


def test_what_was_heard_is_kept_until_something_changes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plain_hearing, "recognizer", lambda name, procedure: Ear())
    # A voice says nothing to the detector if it is no voice, so the coach's own speaks here.
    samples = voices.ALL["diogo"].speak(TEXT)
    samples = np.concatenate([np.zeros(RATE, np.int16), samples, np.zeros(RATE, np.int16)])
    before = Ear.made
    first = spoken.hear_samples(samples, "ear", shipped("hand-rub"))
    assert [heard.text for heard in first] == ["palms"]
    assert spoken.hear_samples(samples, "ear", shipped("hand-rub")) == first
    assert Ear.made == before + 1
    spoken.hear_samples(samples, "ear", shipped("wash-hands"))
    spoken.hear_samples(samples, "other", shipped("hand-rub"))
    spoken.hear_samples(samples[:-1], "ear", shipped("hand-rub"))
    assert Ear.made == before + 4
    monkeypatch.setenv(spoken.FORGET, "1")
    spoken.hear_samples(samples, "ear", shipped("hand-rub"))
    assert Ear.made == before + 5


def test_each_narration_is_in_every_voice_clean_and_in_one_voice_in_noise(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    both = [short("one"), short("two")]
    monkeypatch.setattr(voices, "installed", lambda: ("joe", "slt"))
    tasks = spoken_tasks(both, ["sphinx"], ["joe", "slt"], sound=True, conditions=["clean", "water-10"])
    clean = {(task.narration.id, task.voice) for task in tasks if task.condition == "clean"}
    assert clean == {(id, voice) for id in ("one", "two") for voice in ("joe", "slt")}
    water = [task for task in tasks if task.condition == "water-10"]
    assert [task.voice for task in water] == [in_turn(one, ["joe", "slt"]) for one in both]
    assert len(set(tasks)) == len(tasks)


def test_a_part_of_the_narrations_is_always_the_same_and_holds_the_smaller_parts() -> None:
    some = [short(str(number)) for number in range(20)]
    half, quarter = one_in(2, some), one_in(4, some)
    assert (len(half), len(quarter)) == (10, 5)
    assert set(quarter) < set(half) < set(some)
    assert one_in(2, some[::-1]) == half[::-1]
    assert one_in(1, some) == some


def test_columns_are_by_recognizer_condition_and_voice() -> None:
    narration = short()
    nothing = Outcome(narration, (), (), (), 1.0, 0.0)
    tasks = [Task(narration, "text")]
    tasks += [Task(narration, "sphinx", voice) for voice in ("joe", "slt")]
    turn = in_turn(narration, ["joe", "slt"])
    tasks.append(Task(narration, "sphinx", turn, "water-10"))
    columns = columns_of([Measured(task, nothing, {}, 0, 9) for task in tasks], sound=True, noise=True)
    assert {name: len(measured) for name, measured in columns.items()} == {
        "text": 1,
        "sphinx clean all": 2,
        "sphinx clean joe": 1,
        "sphinx clean slt": 1,
        "sphinx clean in-turn": 1,
        "sphinx water-10 in-turn": 1,
    }


def test_a_recognizer_that_is_not_installed_is_left_out_and_named(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setitem(plain_hearing.NEEDED, "whisper-plain", ("no_such_module",))
    assert not plain_hearing.can_hear("whisper-plain")
    assert "whisper-plain" in capsys.readouterr().err
    assert plain_hearing.can_hear("sphinx")
    with pytest.raises(ValueError, match="no such recognizer"):
        plain_hearing.can_hear("trumpet")

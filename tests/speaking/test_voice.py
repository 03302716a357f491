from __future__ import annotations

import importlib
import math
import os
import subprocess
import sys
import threading
from types import SimpleNamespace

import jiwer
import numpy as np
import pytest
import soxr
from pocketsphinx import Decoder

from voicecoach.errors import Complaint
from voicecoach.speaking import espeak, voice
from voicecoach.speaking.voice import Voice

CUES = (
    "Did you lock the wheels of the bed?",
    "Wash your hands for at least twenty seconds, with friction.",
    "You have not checked the name of the resident yet.",
    "What comes next?",
    "Raise the side rail before you walk away.",
    "One moment.",
)


@pytest.fixture(scope="module")
def coach() -> Voice:
    return Voice()


def dbfs(amplitude: float) -> float:
    return 20 * math.log10(amplitude / 32768)


@pytest.mark.parametrize("cue", CUES)
def test_takes_the_time_that_words_take(coach: Voice, cue: str) -> None:
    seconds = len(coach.render(cue)) / coach.rate
    assert 0.25 <= seconds / len(cue.split()) <= 0.8


@pytest.mark.parametrize("cue", CUES)
def test_level_is_even_and_leaves_room(coach: Voice, cue: str) -> None:
    samples = coach.render(cue)
    assert samples.dtype == np.int16
    assert dbfs(np.sqrt(np.mean(samples.astype(float) ** 2))) == pytest.approx(-20.7, abs=1.5)
    assert dbfs(np.abs(samples.astype(int)).max()) < -3


@pytest.mark.parametrize("cue", CUES)
def test_words_begin_at_once(coach: Voice, cue: str) -> None:
    heard = np.flatnonzero(np.abs(coach.render(cue).astype(int)) > 300)
    assert heard[0] / coach.rate < 0.1


def test_words_do_not_depend_on_what_was_said_before(coach: Voice) -> None:
    alone = {cue: coach.render(cue) for cue in CUES}
    for cue in reversed(CUES * 3):
        assert np.array_equal(coach.render(cue), alone[cue])


def test_a_hundred_in_a_row_from_two_threads_and_none_left() -> None:
    before = threading.enumerate()
    coach = Voice()
    whole = {cue: coach.render(cue).tobytes() for cue in CUES}
    wrong: list[str] = []

    def speak() -> None:
        for number in range(50):
            cue = CUES[number % len(CUES)]
            if Voice().render(cue).tobytes() != whole[cue]:
                wrong.append(cue)

    threads = [threading.Thread(target=speak) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert wrong == []
    assert threading.enumerate() == before


def test_prints_nothing(coach: Voice, capfd: pytest.CaptureFixture[str]) -> None:
    coach.render("What comes next?")
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("text", ["", "  \n", "...", "?"])
def test_no_words_no_samples(coach: Voice, text: str) -> None:
    assert len(coach.render(text)) == 0


def test_long_text(coach: Voice) -> None:
    assert len(coach.render("Say the pulse aloud. " * 100)) / coach.rate > 60


def test_prepares_cues(coach: Voice) -> None:
    ready = coach.prepare(CUES)
    assert set(ready) == set(CUES)
    assert all(np.array_equal(samples, coach.render(cue)) for cue, samples in ready.items())


def test_numbers_can_be_understood(coach: Voice) -> None:
    """By a recognizer that knows number words only: with all words it does not follow this kind of voice."""
    words = (
        "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen "
        "sixteen seventeen eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety hundred "
        "and over point"
    )
    grammar = f"#JSGF V1.0; grammar n; public <n> = ({' | '.join(words.split())})+;"
    decoder = Decoder(samprate=16000, loglevel="FATAL", lm=None)
    decoder.add_jsgf_string("numbers", grammar)
    decoder.activate_search("numbers")
    said, heard = [], []
    for sentence in (
        "one hundred and twenty over eighty",
        "seventy two",
        "one hundred and thirty eight over sixty four",
        "two hundred and fifty",
        "sixteen",
        "five four three two one zero",
    ):
        sound = soxr.resample(coach.render(sentence).astype(np.float64), coach.rate, 16000)
        decoder.start_utt()
        decoder.process_raw(np.pad(sound, 4000).astype(np.int16).tobytes(), full_utt=True)
        decoder.end_utt()
        said.append(sentence)
        heard.append(decoder.hyp().hypstr)
    assert jiwer.wer(said, heard) < 0.35


def fail(name: str) -> None:
    raise RuntimeError("This means you probably do not have eSpeak or eSpeak-ng installed!")


@pytest.mark.skipif(sys.platform != "linux", reason="the library comes with a wheel on Linux only")
def test_no_library(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(voice, "_engine", voice._engine.__wrapped__)
    monkeypatch.setattr(espeak, "load", lambda: None)
    monkeypatch.setattr(importlib, "import_module", lambda name: SimpleNamespace(init=lambda: fail(name)))
    with pytest.raises(Complaint, match="install the Python package espeakng-loader") as raised:
        Voice()
    assert "\n" not in str(raised.value)


def test_library_that_fails_while_it_speaks(coach: Voice, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(voice, "_saved", lambda *_: fail("save"))
    with pytest.raises(Complaint, match="could not speak “What comes next"):
        coach.render("What comes next?")


def test_wheel_is_not_needed_where_the_system_has_the_library(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "espeakng_loader", None)
    monkeypatch.setenv("ESPEAK_DATA_PATH", "elsewhere")
    espeak.load()
    assert os.environ["ESPEAK_DATA_PATH"] == "elsewhere"


def test_wheel_too_deep_in_the_file_system(monkeypatch: pytest.MonkeyPatch) -> None:
    deep = SimpleNamespace(get_data_path=lambda: "/x" * 100, get_library_path=lambda: "none.so")
    monkeypatch.setitem(sys.modules, "espeakng_loader", deep)
    with pytest.raises(Complaint, match="folder with a shorter name"):
        espeak.load()


def test_ends_without_a_word() -> None:
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            "from voicecoach.speaking.voice import Voice; print(len(Voice().render('Done.')))",
        ],
        capture_output=True,
        text=True,
        check=True,
    )
    assert int(done.stdout) > 0
    assert done.stderr == ""

"""The microphone check from its first question to what it found."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass, field

import jiwer
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from tests.microphone_scenes import LONG, Scene, student
from tests.sound.fake_sounddevice import FakeSounddevice
from tests.sound.sound_scenes import level, noise, running_water, silence
from voicecoach import cli, mic
from voicecoach.errors import Complaint
from voicecoach.events import Heard, Word
from voicecoach.hearing.sphinx import Sphinx
from voicecoach.mic import PHRASE, SENTENCE, Checked, Equipment, understood
from voicecoach.sound import RATE
from voicecoach.sound.devices import Device, Devices
from voicecoach.sound.levels import QUIETEST
from voicecoach.sound.microphone import BLOCK, Gap

WORDS = len(PHRASE.split())
MICROPHONES = Devices(Device("Desk", 48000, 1), ())
LOUDSPEAKERS = Devices(Device("Box", 48000, 2), ())


class Sure:
    """Stands for a recognizer: hears the sentence in everything."""

    name = "sphinx"

    def __init__(self, *_: object) -> None:
        self.fed = 0

    def begin(self, at: float) -> None:
        pass

    def feed(self, samples: NDArray[np.int16]) -> str:
        self.fed += len(samples)
        return ""

    def end(self, at: float) -> Heard:
        return Heard(at, 1, 0, at, tuple(Word(word, 0, at) for word in PHRASE.split()))


@dataclass
class Watched:
    """A screen that is looked at afterwards."""

    asked: list[str] = field(default_factory=list)
    levels: list[float] = field(default_factory=list)
    left: list[float] = field(default_factory=list)

    def ask(self, what: str) -> None:
        self.asked.append(what)

    def level(self, dbfs: float, left: float) -> None:
        self.levels.append(dbfs)
        self.left.append(left)


@pytest.fixture(scope="module")
def sphinx() -> Sphinx:
    return Sphinx((PHRASE,), {})


def check(scene: Scene, recognizer: Sure | Sphinx | None = None) -> Checked:
    return mic.run(scene, scene.loudspeaker, recognizer or Sure(), Watched())


def test_a_good_microphone(sphinx: Sphinx) -> None:
    scene, screen = Scene(), Watched()
    found = mic.run(scene, scene.loudspeaker, sphinx, screen)
    assert not scene.is_open
    assert not scene.plays
    assert found.alive
    assert found.noise.dbfs == pytest.approx(-62 - 3.2, abs=0.5)
    assert found.noise.hum is None
    assert found.speech is not None
    assert found.speech.dbfs == pytest.approx(-25, abs=1.5)
    assert found.speech.ratio == pytest.approx(found.speech.dbfs - found.noise.dbfs)
    assert found.clipping.runs == 0
    assert sum(found.understood) >= WORDS - 1
    assert found.echo is not None
    assert found.echo.delay == pytest.approx(0.05, abs=1 / RATE)
    assert found.echo.dbfs == pytest.approx(-20 - 25, abs=0.5)
    assert (found.unplayed, found.dropped) == ("", 0)


def test_asks_step_by_step_and_shows_the_level_meanwhile() -> None:
    scene, screen = Scene(), Watched()
    mic.run(scene, scene.loudspeaker, Sure(), screen)
    quiet, say, listen, wait = screen.asked
    assert "be quiet" in quiet
    assert SENTENCE in say
    assert "chirp" in listen
    assert "One moment" in wait
    assert len(screen.levels) == scene.taken / BLOCK
    assert max(screen.levels) > -25 > -55 > min(screen.levels)
    assert min(screen.left) == 0


def test_the_sentence_is_over_when_the_speech_is() -> None:
    slow = Scene()
    check(slow)
    silent = Scene(sound=noise(LONG, -62))
    check(silent)
    assert slow.taken < silent.taken - 2 * RATE


def test_a_slow_reader_is_heard_to_the_end() -> None:
    scene = Scene(sound=student(-25, "I wet my hands.") + np.roll(student(-25), 3 * RATE) + noise(LONG, -62))
    recognizer = Sure()
    check(scene, recognizer)
    assert recognizer.fed > 5 * RATE


def test_a_dead_microphone() -> None:
    found = check(Scene(sound=silence(LONG), gain=None))
    assert not found.alive
    assert found.noise.dbfs == QUIETEST
    assert found.speech is None
    assert not any(found.understood)


def test_a_microphone_that_is_silent_between_words_is_alive() -> None:
    found = check(Scene(sound=student(-25), gain=None))
    assert found.alive
    assert found.speech is not None
    assert all(found.understood)


def test_nobody_speaks() -> None:
    found = check(Scene(sound=noise(LONG, -62)))
    assert found.alive
    assert found.speech is None
    assert not any(found.understood)


def test_a_voice_that_is_cut_off() -> None:
    found = check(Scene(sound=student(-2)))
    assert found.clipping.share > 0.01
    assert found.clipping.runs > 100


def test_a_noisy_room(sphinx: Sphinx) -> None:
    found = check(Scene(sound=student(-25) + running_water(LONG, -33)), sphinx)
    assert found.speech is not None
    assert 5 < found.speech.ratio < 13
    assert sum(found.understood) < WORDS / 2


def test_a_hum() -> None:
    hum = 1.414 * level(-45) * np.sin(2 * np.pi * 60 * np.arange(LONG * RATE) / RATE)
    found = check(Scene(sound=student(-25) + noise(LONG, -62) + hum))
    assert found.noise.hum is not None
    assert found.noise.hum.hertz == 60
    assert found.noise.hum.dbfs == pytest.approx(-45, abs=0.2)


def test_a_headset() -> None:
    found = check(Scene(gain=None))
    assert (found.echo, found.unplayed) == (None, "")


def test_a_wireless_loudspeaker() -> None:
    found = check(Scene(delay=0.42))
    assert found.echo is not None
    assert found.echo.delay == pytest.approx(0.42, abs=1 / RATE)


def test_other_words_are_not_the_sentence(sphinx: Sphinx) -> None:
    other = student(-25, "The weather has been rather nice in the mountains this week.")
    found = check(Scene(sound=other + noise(LONG, -62)), sphinx)
    assert sum(found.understood) < WORDS / 3


def test_without_a_loudspeaker_nothing_is_to_be_listened_for() -> None:
    scene, screen = Scene(broken="There is no loudspeaker."), Watched()
    found = mic.run(scene, scene.loudspeaker, Sure(), screen)
    assert (found.echo, found.unplayed) == (None, "There is no loudspeaker.")
    assert not any("chirp" in asked for asked in screen.asked)


def test_blocks_that_are_lost_are_counted_but_for_those_lost_while_the_device_begins() -> None:
    class Overrun(Scene):
        def play(self, samples: NDArray[np.int16], rate: int) -> None:
            self.dropped = 5

    assert check(Overrun(dropped=2)).dropped == 3
    assert check(Scene(dropped=2)).dropped == 0


@pytest.mark.parametrize("lost", [None, Gap("The microphone is gone.")])
@pytest.mark.parametrize("after", [0, 50, 200, 385, 420])
def test_a_microphone_that_is_lost(lost: object, after: int) -> None:
    scene = Scene(lost=lost, lost_after=after)
    with pytest.raises(Complaint, match="gives no more sound"):
        check(scene)
    assert not scene.is_open


@given(st.lists(st.sampled_from("wet hands soap i my and".split()), max_size=12))
def test_words_are_counted_as_for_the_word_error(heard: list[str]) -> None:
    asked = "i wet my hands and i take soap"
    kept = understood(asked, " ".join(heard))
    assert len(kept) == 8
    assert sum(kept) == jiwer.process_words(asked, " ".join(heard)).hits


def test_each_word_is_told_apart() -> None:
    assert understood("i wet my hands", "now i wet his hands") == (True, True, False, True)
    assert understood("i wet my hands", "") == (False,) * 4


def test_the_devices_of_the_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    fake = FakeSounddevice()
    monkeypatch.setitem(sys.modules, "sounddevice", fake)
    found = mic.equipment()
    assert found.microphones.chosen.name == "default input"
    assert found.loudspeakers is not None
    assert found.loudspeakers.chosen.name == "default output"


Run = Callable[[Scene], tuple[int, str, str]]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs `voicecoach mic` in a scene: exit code, standard output, standard error."""

    def run(scene: Scene) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["voicecoach", "mic"])
        monkeypatch.setattr(cli, "Sphinx", Sure)
        monkeypatch.setattr(cli, "Microphone", lambda: scene)
        monkeypatch.setattr(cli, "Loudspeaker", scene.loudspeaker)
        with pytest.raises(SystemExit) as left:
            cli.main()
        printed = capsys.readouterr()
        return int(left.value.code or 0), printed.out, printed.err

    return run


def test_the_command_says_what_it_found(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mic, "equipment", lambda: Equipment(MICROPHONES, LOUDSPEAKERS))
    code, out, err = run(Scene())
    assert (code, err) == (0, "")
    for there in ("Desk (48000 Hz, 1 channel)", "Now say, as you would at work", "All is well"):
        assert there in out
    assert "dBFS" not in out[: out.index("One moment")], "the level that moves is for terminals"
    code, out, err = run(Scene(delay=0.42))
    assert (code, err) == (0, "")
    assert "It will do" in out
    code, out, err = run(Scene(sound=silence(LONG), gain=None))
    assert (code, err) == (1, "")
    assert "Not yet" in out


def test_the_command_without_a_microphone(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    fake = FakeSounddevice(there=False)
    monkeypatch.setitem(sys.modules, "sounddevice", fake)
    code, out, err = run(Scene())
    assert (code, out) == (2, "")
    assert err.startswith("There is no microphone; connect one")
    assert err.count("\n") == 1

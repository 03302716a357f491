"""PocketSphinx on synthetic speech."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import jiwer
import numpy as np
import pytest

from tests.hearing.synthetic_voice import spoken
from voicecoach.errors import Complaint
from voicecoach.events import Heard
from voicecoach.hearing import model_files
from voicecoach.hearing.model_files import Unread
from voicecoach.hearing.sphinx import Sphinx
from voicecoach.sound import RATE

PHRASES = (
    "i'm looking at both of my hands for any dirt",
    "i take a palmful of the rub",
    "rubbing palm to palm",
    "right palm over the back of my left hand",
    "fingers laced together",
    "rubbing each thumb in turn",
    "fingertips in the hollow of my palm",
    "i rub until my hands are dry",
    "coach say that again",
)
OTHERS = Unread(
    "two", lambda: ("i lock both brakes of the wheelchair", "i fasten the gait belt around her waist")
)
FREE = (
    "okay first i look over my hands and see no dirt at all",
    "now i'm rubbing the backs of both of my hands",
    "and i keep going until everything is dry",
)
UNRELATED = (
    "my brother bought a used truck and it broke down on the highway",
    "we went to the beach in july and the kids built a castle",
)


@pytest.fixture(scope="module")
def cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """An empty cache folder."""
    folder = tmp_path_factory.mktemp("cache")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(model_files, "user_cache_path", lambda name: folder / name)
        yield folder


@pytest.fixture(scope="module")
def sphinx(cache: Path) -> Sphinx:
    return Sphinx(PHRASES, {}, OTHERS)


def hear(sphinx: Sphinx, text: str, at: float = 0.0) -> Heard:
    sound = spoken(text)
    sphinx.begin(at)
    for place in range(0, len(sound), 480):
        sphinx.feed(sound[place : place + 480])
    return sphinx.end(at + len(sound) / RATE)


@pytest.fixture(scope="module")
def everything(sphinx: Sphinx) -> dict[str, Heard]:
    """What is heard of all that is said, each utterance once."""
    return {text: hear(sphinx, text) for text in (*PHRASES[3:6], *FREE, *UNRELATED)}


def test_phrases_and_free_wording(everything: dict[str, Heard]) -> None:
    said = [*PHRASES[3:6], *FREE]
    heard = [everything[text] for text in said]
    assert jiwer.wer(said, [one.text for one in heard]) < 0.25
    # what the procedure makes likely helps
    second = [" ".join(word.text for word in one.second) for one in heard]
    assert jiwer.wer(said, [one.text for one in heard]) < jiwer.wer(said, second)


def test_unrelated_speech_does_not_become_the_procedure(everything: dict[str, Heard]) -> None:
    procedure = {
        "hands",
        "hand",
        "palm",
        "palms",
        "palmful",
        "rub",
        "rubbing",
        "thumb",
        "fingers",
        "fingertips",
    }
    heard = [everything[text] for text in UNRELATED]
    assert jiwer.wer(list(UNRELATED), [one.text for one in heard]) < 0.4
    sure = [
        word.text for one in heard for word in one.words if word.text in procedure and word.confidence > 0.7
    ]
    assert sure == []


def test_right_words_are_surer_than_wrong_ones(everything: dict[str, Heard]) -> None:
    right: list[float] = []
    wrong: list[float] = []
    for text, heard in everything.items():
        for word in heard.words:
            (right if word.text in text.split() else wrong).append(word.confidence)
    assert np.mean(right) > np.mean(wrong) + 0.2
    assert 0 < min(right + wrong) <= max(right + wrong) <= 1


def test_times_are_on_the_audio_clock(sphinx: Sphinx) -> None:
    heard = hear(sphinx, "rubbing palm to palm", at=100.0)
    assert heard.start == 100.0
    assert heard.end == heard.at == pytest.approx(100.0 + len(spoken("rubbing palm to palm")) / RATE)
    times = [time for word in heard.words for time in (word.start, word.end)]
    # a quarter of a second of silence on either side
    assert times[0] > 100.1
    assert times[-1] < heard.end - 0.1
    assert times == pytest.approx(sorted(times))


def test_the_words_so_far(sphinx: Sphinx) -> None:
    sound = spoken("right palm over the back of my left hand")
    sphinx.begin(0.0)
    partials = [sphinx.feed(sound[place : place + 1600]) for place in range(0, len(sound), 1600)]
    heard = sphinx.end(3.0)
    assert partials[0] == ""
    assert "palm" in partials[len(partials) * 2 // 3]
    assert set(partials[-1].split()) & set(heard.text.split())
    assert not {"<s>", "<sil>", "[NOISE]"} & set(partials[-1].split())


def test_utterances_are_numbered(sphinx: Sphinx) -> None:
    first = hear(sphinx, "fingers laced together")
    second = hear(sphinx, "fingers laced together")
    assert second.utterance == first.utterance + 1


@pytest.mark.parametrize("length", [0, 100, RATE])
def test_silence(sphinx: Sphinx, length: int) -> None:
    sphinx.begin(5.0)
    sphinx.feed(np.zeros(length, np.int16))
    heard = sphinx.end(6.0)
    assert heard.words == ()
    assert heard.second == ()
    assert heard.end == 5.0 + length / RATE


def test_the_files_are_made_once(sphinx: Sphinx, cache: Path) -> None:
    before = {path: path.stat().st_mtime_ns for path in cache.rglob("*") if path.is_file()}
    Sphinx(PHRASES, {}, Unread(OTHERS.edition, lambda: pytest.fail("they need not be read")))
    assert len(before) == 2
    assert {path: path.stat().st_mtime_ns for path in cache.rglob("*") if path.is_file()} == before


def test_other_phrases_or_pronunciations_have_other_files(sphinx: Sphinx, cache: Path) -> None:
    places = {
        model_files._place(asked).language
        for asked in (json.dumps(PHRASES), json.dumps(PHRASES[1:]), json.dumps({"rub": "R AH B"}))
    }
    assert len(places) == 3


def test_a_cache_that_cannot_be_written_to(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    in_the_way = tmp_path / "file"
    in_the_way.write_text("", encoding="utf-8")
    monkeypatch.setattr(model_files, "user_cache_path", lambda name: in_the_way / name)
    place = model_files._place("anything").language
    assert place.parent.is_dir()
    assert in_the_way not in place.parents


def test_a_pronunciation_that_is_none(cache: Path) -> None:
    with pytest.raises(Complaint, match="'rub' is not made of phones"):
        Sphinx(("rub my palms",), {"rub": "R AX B"})
    assert not list(cache.rglob("tmp*"))

"""What was learned is read back as it was, and learned again where it cannot be."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from tests.narrated import utterance
from voicecoach import learned, session
from voicecoach.attempt import Attempt
from voicecoach.events import Outgoing
from voicecoach.following.evidence import sounded, turns
from voicecoach.following.likeness import Likeness, Meaning
from voicecoach.following.meaning import meanings
from voicecoach.procedure import library

SAID = (
    ("i lock both brakes", "brakes"),
    ("brakes are on", "brakes"),
    ("i put the footrests up", "footrests"),
    ("it is a nice day", ""),
    ("my brother bought a truck", ""),
)
ASKED = ("now the brakes of the chair", "up with the footrests", "what a day", "", "xyzzy")
NARRATED = ("i clean my hands with the rub", "okay", "so i rub palm to palm and then between the fingers")


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where it is kept."""
    monkeypatch.setattr(learned, "user_cache_path", lambda name: tmp_path / name)
    return tmp_path / "voicecoach" / "learned"


@pytest.fixture
def no_learning(monkeypatch: pytest.MonkeyPatch) -> Callable[[], None]:
    """From when it is called, nothing more can be learned."""

    def forbid() -> None:
        monkeypatch.setattr(Likeness, "_learn", lambda *_: pytest.fail("it was learned before"))

    return forbid


def scores(likeness: Likeness) -> bytes:
    return likeness.scores(ASKED).tobytes()


def another_process() -> Callable[..., Likeness]:
    """What nobody in this process has asked before."""
    return lambda *asked, **named: learned.likeness(*asked, **named)


@pytest.mark.parametrize(("meaning", "weight"), [(meanings, 1.0), (meanings, 0.5), (None, 1.0)])
def test_it_is_learned_once_and_the_scores_are_the_same_to_the_bit(
    no_learning: Callable[[], None], meaning: Meaning | None, weight: float
) -> None:
    fresh = Likeness(SAID, sounded, meaning, weight)
    first = learned.likeness(SAID, sounded, meaning, weight)
    no_learning()
    second = learned.likeness(SAID, sounded, meaning, weight)
    assert second.labels == first.labels == fresh.labels == ("brakes", "footrests", "")
    assert scores(second) == scores(first) == scores(fresh)


def test_an_attempt_goes_the_same_way(no_learning: Callable[[], None]) -> None:
    begun = session.begun(library.find("hand-rub"), "practise", "typed")
    heard = [utterance(number, text, 10.0 * number + 5) for number, text in enumerate(NARRATED)]

    def events(learn: Callable[..., Likeness]) -> list[Outgoing]:
        attempt = Attempt(begun, learn)
        out = list(attempt.take(begun))
        for one in heard:
            out += attempt.take(one)
        return out

    fresh = events(Likeness)
    assert events(another_process()) == fresh
    no_learning()
    assert events(another_process()) == fresh


@pytest.mark.parametrize(
    "damage",
    [
        lambda raw: b"",
        lambda raw: raw[:20],
        lambda raw: raw[:-1],
        lambda raw: raw + b"\0",
        lambda raw: raw[:500] + bytes([raw[500] ^ 1]) + raw[501:],
        lambda raw: bytes([raw[0] ^ 1]) + raw[1:],
    ],
    ids=["empty", "cut short", "one byte lost", "one byte more", "one bit", "one bit of the hash"],
)
def test_a_damaged_file_is_made_anew(folder: Path, damage: Callable[[bytes], bytes]) -> None:
    whole = scores(learned.likeness(SAID, sounded, meanings))
    (file,) = folder.iterdir()
    raw = file.read_bytes()
    file.write_bytes(damage(raw))
    assert scores(learned.likeness(SAID, sounded, meanings)) == whole
    assert file.read_bytes() == raw


def test_a_cache_that_cannot_be_written_to(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    in_the_way = tmp_path / "file"
    in_the_way.write_text("", encoding="utf-8")
    monkeypatch.setattr(learned, "user_cache_path", lambda name: in_the_way / name)
    fresh = scores(Likeness(SAID, sounded, meanings))
    assert scores(learned.likeness(SAID, sounded, meanings)) == fresh


def test_a_cache_that_can_only_be_read(
    no_learning: Callable[[], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = scores(learned.likeness(SAID, sounded, meanings))

    def refuse(*_: object) -> None:
        raise PermissionError

    monkeypatch.setattr(os, "utime", refuse)
    no_learning()
    assert scores(learned.likeness(SAID, sounded, meanings)) == whole


def test_whatever_it_depends_on_another_file_is_for_another(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def other_editions() -> Iterator[None]:
        yield
        # Another version of a library, then another one of the code or of the word vectors.
        for name, value in (("version", lambda library: "0.0"), ("_edition", lambda: b"another")):
            learned._edition.cache_clear()
            with monkeypatch.context() as patch:
                patch.setattr(learned, name, value)
                yield
        learned._edition.cache_clear()

    learned.likeness(SAID, sounded, meanings)
    learned.likeness(SAID[1:], sounded, meanings)
    learned.likeness([*SAID[:-1], (SAID[-1][0], "chat")], sounded, meanings)
    learned.likeness(SAID, turns, meanings)
    learned.likeness(SAID, sounded, None)
    learned.likeness(SAID, sounded, meanings, 0.5)
    assert len(list(folder.iterdir())) == 6
    for _ in other_editions():
        learned.likeness(SAID, sounded, meanings)
    assert len(list(folder.iterdir())) == 8


def test_no_more_is_kept_than_was_used_last(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(learned, "_KEPT", 2)
    learned.likeness(SAID, sounded, meanings)
    (used,) = folder.iterdir()
    os.utime(used, (1, 1))
    learned.likeness(SAID, turns, meanings)
    (unused,) = set(folder.iterdir()) - {used}
    os.utime(unused, (2, 2))
    learned.likeness(SAID, sounded, meanings)
    learned.likeness(SAID, sounded, None)
    assert used in set(folder.iterdir())
    assert unused not in set(folder.iterdir())
    assert len(list(folder.iterdir())) == 2


def test_it_takes_little_room(folder: Path) -> None:
    Attempt(session.begun(library.find("bed-to-wheelchair"), "rehearse", "typed"), another_process())
    kept = [file.stat().st_size for file in folder.iterdir()]
    assert len(kept) == 3
    assert sum(kept) < 12e6
    assert np.max(kept) * learned._KEPT < 150e6

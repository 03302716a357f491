"""The journal on the disk: what is written comes back, and nothing is lost."""

from __future__ import annotations

import errno
import json
import os
import stat
import tempfile
from dataclasses import fields
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicecoach.errors import Complaint
from voicecoach.events import KINDS, Begun, Ended, Event, Heard, Word
from voicecoach.records import journal
from voicecoach.records.journal import Journal, decode, encode

_TIMES = st.floats(min_value=-1e6, max_value=1e6)
_TEXTS = st.text(max_size=20)
_WORDS = st.builds(Word, _TEXTS, _TIMES, _TIMES, st.floats(0, 1))
_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | _TEXTS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(_TEXTS, inner, max_size=3),
    max_leaves=6,
)
_OF: dict[str, st.SearchStrategy[Any]] = {
    "float": _TIMES,
    "int": st.integers(0, 10**6),
    "str": _TEXTS,
    "bool": st.booleans(),
    "tuple[str, ...]": st.lists(_TEXTS, max_size=3).map(tuple),
    "tuple[float, ...]": st.lists(_TIMES, max_size=3).map(tuple),
    "tuple[Word, ...]": st.lists(_WORDS, max_size=3).map(tuple),
    "dict[str, Any]": st.dictionaries(_TEXTS, _JSON, max_size=3),
    "str | None": st.none() | _TEXTS,
    "dict[str, Any] | None": st.none() | st.dictionaries(_TEXTS, _JSON, max_size=3),
}
EVENTS: st.SearchStrategy[Event] = st.sampled_from(list(KINDS.values())).flatmap(
    lambda kind: st.builds(kind, **{field.name: _OF[str(field.type)] for field in fields(kind)})
)

BEGUN = Begun(
    0.0, "one", "2026-11-25T09:15:00+00:00", "rehearse", "typed", {"id": "x", "pass": {"share": 0.8}}
)
HEARD = Heard(2.5, 1, 0.5, 2.0, (Word("i", 0.5, 0.75, 0.5), Word("rinse", 0.75, 2.0)))


@given(EVENTS)
def test_a_line_stays_the_same_when_it_is_read_and_written_again(event: Event) -> None:
    line = encode(event)
    assert "\n" not in line
    assert encode(decode(line)) == line
    assert type(decode(line)) is type(event)


def test_a_journal_from_before_there_were_cases_is_read() -> None:
    line = json.loads(encode(BEGUN))
    del line["times"]
    assert "case" not in line
    assert decode(json.dumps(line)) == BEGUN


def test_floats_are_kept_to_the_thousandth() -> None:
    assert decode(encode(Ended(1.23456, "finished"))) == Ended(1.235, "finished")


@given(events=st.lists(EVENTS, max_size=5), cut=st.integers(1, 2000))
def test_after_a_crash_all_whole_lines_are_there(
    tmp_path_factory: pytest.TempPathFactory, events: list[Event], cut: int
) -> None:
    path = tmp_path_factory.mktemp("crash") / "a.jsonl"
    lines = [encode(event).encode() + b"\n" for event in (BEGUN, *events)]
    whole = b"".join(lines)
    left = whole[: max(len(lines[0]), len(whole) - cut)]
    path.write_bytes(left)
    read = journal.read(path)
    # A line whose end alone is lost says all it had to say.
    assert left.count(b"\n") <= len(read) <= left.count(b"\n") + 1
    assert [encode(event) for event in read] == [line.decode().rstrip("\n") for line in lines[: len(read)]]


def test_each_event_is_on_the_disk_at_once_and_only_the_owner_may_read_it(tmp_path: Path) -> None:
    path = tmp_path / "new folder" / "a.jsonl"
    written = Journal(path)
    written.write(BEGUN)
    assert journal.read(path) == (BEGUN,)
    written.write(HEARD)
    assert journal.read(path) == (BEGUN, HEARD)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    written.close()


@pytest.mark.parametrize("there", [False, True])
def test_nobody_else_may_look_into_the_folder_of_the_journals(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, there: bool
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    if there:
        (tmp_path / "voicecoach").mkdir(mode=0o755)
    Journal(journal.folder() / "a.jsonl").close()
    assert stat.S_IMODE((tmp_path / "voicecoach").stat().st_mode) == 0o700


def test_a_journal_is_never_written_over(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    path.write_text("precious")
    with pytest.raises(Complaint, match="is there already"):
        Journal(path)
    assert path.read_text() == "precious"


def test_a_place_where_no_journal_can_be_made_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(Complaint, match="--journal"):
        Journal(tmp_path / "file" / "a.jsonl")


def test_on_a_full_disk_events_wait_and_are_written_when_there_is_room(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.jsonl"
    written = Journal(path)
    written.write(BEGUN)
    really_write = os.write

    def half_then_full(file: int, block: bytes) -> int:
        really_write(file, block[: len(block) // 2])
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as full:
        full.setattr(os, "write", half_then_full)
        assert written.write(HEARD) == HEARD
        assert "the disk is full" in written.trouble
        written.write(Ended(3.0, "finished"))
        assert journal.read(path) == (BEGUN,)
    written.close()
    assert written.trouble == ""
    assert journal.read(path) == (BEGUN, HEARD, Ended(3.0, "finished"))


def test_a_disk_that_stays_full_leaves_the_whole_events_and_another_place_has_all(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.jsonl"
    (tmp_path / "other").mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "other"))
    written = Journal(path)
    written.write(BEGUN)
    really_write, full_one = os.write, path.stat().st_ino

    def one_disk_is_full(file: int, block: bytes) -> int:
        if os.fstat(file).st_ino != full_one:
            return really_write(file, block)
        really_write(file, block[:10])
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "write", one_disk_is_full)
    written.write(HEARD)
    assert path.read_text() == encode(BEGUN) + "\n"
    written.close()
    (other,) = (tmp_path / "other").iterdir()
    assert str(other) in written.trouble
    assert stat.S_IMODE(other.stat().st_mode) == 0o600
    assert journal.read(path) == (BEGUN,)
    assert journal.read(other) == (BEGUN, HEARD)


def test_where_nothing_can_be_written_that_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(file: int, block: bytes) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "write", full)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    written = Journal(tmp_path / "a.jsonl")
    written.write(BEGUN)
    written.close()
    assert "the disk is full" in written.trouble
    assert "make room" in written.trouble
    assert [path.name for path in tmp_path.iterdir()] == ["a.jsonl"]


@pytest.mark.parametrize(
    ("line", "what"),
    [
        ("{", "not JSON"),
        ("[]", "an object"),
        ('{"at": 1.0}', "name of an event"),
        ('{"event": "ended", "at": 1.0}', "'why'"),
        ('{"event": "ended", "at": 1.0, "why": "x", "more": 1}', "'more'"),
        ('{"event": "ended", "at": "1", "why": "x"}', "number"),
        ('{"event": "ended", "at": NaN, "why": "x"}', "number"),
        ('{"event": "ended", "at": 1.0, "why": 5}', "str"),
        ('{"event": "voiced", "at": 1.0, "cue": true, "start": 1.0, "cut": false}', "int"),
        ("[" * 100_000, "nested"),
    ],
)
def test_a_broken_line_in_the_middle_is_named(tmp_path: Path, line: str, what: str) -> None:
    path = tmp_path / "a.jsonl"
    path.write_text(f"{encode(BEGUN)}\n{line}\n{encode(HEARD)}\n")
    with pytest.raises(Complaint, match=f"a.jsonl:2: .*{what}"):
        journal.read(path)


@pytest.mark.parametrize("content", [b"", b"\n", b"\x89PNG\r\n", encode(HEARD).encode() + b"\n"])
def test_what_is_no_journal_is_said_to_be_none(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "a.jsonl"
    path.write_bytes(content)
    with pytest.raises(Complaint, match=r"no event|no journal"):
        journal.read(path)


def test_a_file_that_is_not_there_is_said_not_to_be(tmp_path: Path) -> None:
    with pytest.raises(Complaint, match="cannot be read"):
        journal.read(tmp_path / "none.jsonl")


def test_names_of_attempts_are_never_taken_twice(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(journal, "folder", lambda: tmp_path)
    now = datetime(2026, 11, 25, 9, 15, 0)
    names = []
    for _ in range(3):
        names.append(journal.name("gait-belt-walk", now))
        Journal(tmp_path / f"{names[-1]}.jsonl").close()
    assert names[0] == "2026-11-25-091500-gait-belt-walk"
    assert len(set(names)) == 3

"""The file of the store: damaged, of another edition, on a full disk, and in use by several programs."""

from __future__ import annotations

import os
import resource
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from tests.records.small_journals import attempt, home, put
from tests.records.test_store import names, read_anew, three
from voicecoach.errors import Complaint
from voicecoach.events import Event
from voicecoach.records import database, journal, store

__all__ = ["home"]


# A file that is no use


def _with_byte_changes(path: Path, page: int) -> None:
    with path.open("r+b") as file:
        file.seek(page * 4096)
        file.write(bytes(4096))


def test_a_store_of_which_any_page_is_lost_is_made_anew(home: Path) -> None:
    for number in range(60):
        put(attempt(f"{number:02d}", f"s{number % 7}", f"2026-11-25T09:{number:02d}:00+00:00"))
    expected = store.results()
    pages = store.file().stat().st_size // 4096
    assert pages > 10
    for page in range(pages):
        _with_byte_changes(store.file(), page)
        assert store.results() == expected
        assert next((one.student, one.attempts) for one in store.overview()) == ("s0", 9)
        _with_byte_changes(store.file(), page)
        assert store.rebuild() == ()
        assert store.results() == expected


@pytest.mark.parametrize("length", [0, 1, 99, 100, 4095, 4096, 5000, 3 * 4096])
def test_a_store_that_was_cut_off_is_made_anew(home: Path, length: int) -> None:
    three()
    expected = store.results()
    with store.file().open("r+b") as file:
        file.truncate(length)
    assert store.results() == expected


def test_what_is_no_store_at_all_is_made_one(home: Path) -> None:
    three()
    home.mkdir(exist_ok=True)
    store.file().write_bytes(b"Dear diary, this is no database. " * 500)
    assert names(store.results()) == ["c", "b", "a"]


def test_a_store_of_older_code_is_made_anew(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    three()
    home.mkdir(exist_ok=True)
    with sqlite3.connect(store.file()) as db:
        db.executescript(
            "CREATE TABLE attempts (attempt TEXT); INSERT INTO attempts VALUES ('old');"
            "CREATE TABLE other (x REFERENCES attempts); CREATE VIEW both AS SELECT * FROM attempts, other;"
        )
    db.close()
    assert names(store.results()) == ["c", "b", "a"]
    monkeypatch.setattr(store, "_edition", lambda: 7)
    assert names(store.results()) == ["c", "b", "a"]
    with sqlite3.connect(store.file()) as db:
        assert db.execute("PRAGMA user_version").fetchone() == (7,)
        kinds = db.execute("SELECT DISTINCT type FROM sqlite_master").fetchall()
    db.close()
    assert sorted(kinds) == [("index",), ("table",)]


def test_a_store_without_one_of_its_tables_is_made_anew(home: Path) -> None:
    three()
    expected = store.results()
    for table in ("journals", "attempts", "steps", "wordings", "mishaps"):
        with sqlite3.connect(store.file()) as db:
            db.execute(f"DROP TABLE {table}")
        db.close()
        assert store.results() == expected


def test_a_store_with_text_that_is_none_is_made_anew(home: Path) -> None:
    three()
    expected = store.results()
    content = store.file().read_bytes()
    for word in (b"rehearse", b"Do boil", b"2026-11-24T", b"Make tea"):
        assert word in content
        store.file().write_bytes(content.replace(word, b"\xff" + word[1:]))
        assert store.results() == expected


def test_what_the_user_must_mend_is_said_and_nothing_is_lost(home: Path) -> None:
    three()
    store.file().mkdir(parents=True)
    with pytest.raises(Complaint, match="cannot be used"):
        store.results()
    store.file().rmdir()
    assert names(store.results()) == ["c", "b", "a"]


def test_a_full_disk_is_no_damage(home: Path) -> None:
    three()
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    # Writing beyond this fails as on a full disk, in this process and until it is set back.
    resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, before[1]))
    try:
        with pytest.raises(Complaint, match="room"):
            store.results()
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
    assert names(store.results()) == ["c", "b", "a"]


# Several at once


def test_while_another_program_changes_it_one_waits_and_then_is_told(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    three()
    expected = store.results()
    monkeypatch.setattr(database, "_PATIENCE", 0.1)
    other = sqlite3.connect(store.file(), isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    # Who only reads is not held up.
    assert store.results() == expected
    put(attempt("d"))
    with pytest.raises(Complaint, match="another voicecoach"):
        store.results()
    other.execute("ROLLBACK")
    other.close()
    assert len(store.results()) == 4


def test_several_programs_at_once_find_the_same_whatever_was_there(home: Path) -> None:
    for number in range(120):
        put(attempt(f"{number:03d}", f"s{number % 7}", f"2026-11-25T09:{number % 60:02d}:00+00:00"))
    home.mkdir(exist_ok=True)
    store.file().write_bytes(b"damaged")
    code = (
        "import zlib\n"
        "from voicecoach.records import store\n"
        "found = [zlib.crc32(repr(store.results()).encode()) for _ in range(5)]\n"
        "store.rebuild()\n"
        "print(*{*found, zlib.crc32(repr(store.results()).encode())}, len(store.results()))"
    )
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    running = [
        subprocess.Popen([sys.executable, "-c", code], env=environment, stdout=subprocess.PIPE, text=True)
        for _ in range(3)
    ]
    said = {one.communicate(timeout=120)[0] for one in running}
    assert [one.returncode for one in running] == [0, 0, 0]
    assert len(said) == 1
    assert said.pop().split()[1:] == ["120"]
    assert store.results() == read_anew()


def test_what_is_deleted_while_it_is_read_does_not_come_back(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    three()
    really_read = journal.read

    def then_delete(path: Path) -> tuple[Event, ...]:
        events = really_read(path)
        if path.stem == "b":
            path.unlink()
        return events

    monkeypatch.setattr(journal, "read", then_delete)
    assert names(store.results()) == ["c", "a"]
    with sqlite3.connect(store.file()) as db:
        assert db.execute("SELECT count(*) FROM journals WHERE name = ?", (b"b.jsonl",)).fetchone() == (0,)
    db.close()

"""The store: what came of every attempt, in one file beside the journals, from which it can be made again.

Each call first brings it up to date: journals that are new or have changed are read, those that are gone are
taken out. Several programs may do so at once.
"""

from __future__ import annotations

import os
import sqlite3
import zlib
from collections.abc import Callable
from functools import cache
from importlib.resources import files
from pathlib import Path

from voicecoach.errors import Complaint
from voicecoach.records import journal as journals
from voicecoach.records import place, tables
from voicecoach.records.database import Some, changing, check, using
from voicecoach.records.place import folder as folder
from voicecoach.records.results import Result, result
from voicecoach.records.tables import Came
from voicecoach.records.tables import Kept as Kept

Watch = Callable[[int, int], object]
"""Is told, after each journal, how many have been read and how many there are to read."""

_BATCH = 50
"""Journals that are put in at once: so many are read again where that is broken off."""
_UNKNOWN = (-1, -1)
_ROOMS = ("procedure", "following", "coaching", "records")
"""Where the code is that makes results of journals."""


def file() -> Path:
    """Where the store is."""
    return folder() / "records.db"


def results(student: str | None = None, procedure: str | None = None) -> list[Result]:
    """What came of the attempts of a student at a procedure, in order of time.

    None stands for all; an empty student for the attempts of nobody in particular. A student has one
    spelling throughout, that of the first attempt. Complaint where the store or the journals cannot be used.
    """

    def work(db: sqlite3.Connection) -> list[Result]:
        _update(db, None)
        return tables.select(db, student, procedure)

    return _use(work)


def bring_up_to_date(watch: Watch | None = None) -> tuple[str, ...]:
    """Read what is new; gives a sentence about each journal that cannot be used. Complaint as `results`."""

    def work(db: sqlite3.Connection) -> tuple[str, ...]:
        _update(db, watch)
        return tuple(tables.troubles(db).values())

    return _use(work)


def rebuild(watch: Watch | None = None) -> tuple[str, ...]:
    """Read all journals again; gives and raises what `bring_up_to_date` does."""

    def work(db: sqlite3.Connection) -> tuple[str, ...]:
        check(db)
        tables.outdate(db)
        _update(db, watch)
        return tuple(tables.troubles(db).values())

    return _use(work)


def overview() -> list[Kept]:
    """What there is of each student, by code; nobody in particular last. Complaint as `results`."""

    def work(db: sqlite3.Connection) -> list[Kept]:
        _update(db, None)
        return tables.students_kept(db)

    return _use(work)


def named() -> list[tuple[str, str, str]]:
    """Of each attempt the name of its journal's file, its own name, and the `students.key` of its student."""

    def work(db: sqlite3.Connection) -> list[tuple[str, str, str]]:
        _update(db, None)
        return [(os.fsdecode(name), attempt, key) for name, attempt, key in tables.names(db)]

    return _use(work)


def unusable() -> tuple[str, ...]:
    """The names of the files of journals of which nothing came."""

    def work(db: sqlite3.Connection) -> tuple[str, ...]:
        _update(db, None)
        return tuple(map(os.fsdecode, tables.troubles(db)))

    return _use(work)


def wipe() -> None:
    """Bring the store up to date, and leave nothing in its file of what is not there any more."""

    def work(db: sqlite3.Connection) -> None:
        _update(db, None)
        with changing(db):
            tables.tidy(db)
        db.execute("VACUUM")

    _use(work)


def _use(work: Callable[[sqlite3.Connection], Some]) -> Some:
    place.made()
    return using(file(), _edition(), tables.TABLES, work)


def _update(db: sqlite3.Connection, watch: Watch | None) -> None:
    """Bring the store up to date with the journals."""
    # In this order, so that no journal is taken out that somebody else has put in meanwhile.
    known = tables.states(db)
    there = _there()
    gone = known.keys() - there.keys()
    changed = sorted(name for name, state in there.items() if known.get(name) != state)
    if gone:
        with changing(db):
            tables.take_out(db, gone)
    for first in range(0, len(changed), _BATCH):
        read = []
        for number, name in enumerate(changed[first : first + _BATCH], first + 1):
            read.append(_read(name, there[name]))
            if watch:
                watch(number, len(changed))
        with changing(db):
            for came in read:
                # What has been deleted since must not come back.
                if _path(came.name).exists():
                    tables.put(db, came)
    if gone or known.keys() & set(changed):
        with changing(db):
            tables.tidy(db)


def _there() -> dict[bytes, tuple[int, int]]:
    """The journals by name: size in bytes, and time of change in nanoseconds."""
    try:
        with os.scandir(journals.folder()) as entries:
            found = [entry for entry in entries if entry.name.endswith(".jsonl") and entry.is_file()]
            states = [(entry.name, entry.stat()) for entry in found]
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise Complaint(f"The journals in {journals.folder()} cannot be read: {error.strerror}.") from None
    return {os.fsencode(name): (state.st_size, state.st_mtime_ns) for name, state in states}


def _path(name: bytes) -> Path:
    return journals.folder() / os.fsdecode(name)


def _read(name: bytes, state: tuple[int, int]) -> Came:
    """What comes of a journal, or nothing and why; no reason is needed where it is still empty."""
    path = _path(name)
    try:
        if path.exists() and path.stat().st_size == 0:
            return Came(name, state, None)
        return Came(name, state, tables.fit(result(journals.read(path))))
    except Complaint as complaint:
        why = str(complaint)
        if isinstance(complaint.__context__, OSError):
            # It may be readable the next time, though it does not change.
            state = _UNKNOWN
    except Exception as error:
        # Whatever is in one journal, of another version or made by hand, the others must be read.
        why = f"{path} tells of no attempt that can be understood: {error}"
    return Came(name, state, None, f"{why} It is left out.".encode("utf-8", "replace").decode("utf-8"))


@cache
def _edition() -> int:
    """A number that changes with the code, since a store made by other code may hold something else."""
    edition = 0
    for room in _ROOMS:
        code = [file for file in files(f"voicecoach.{room}").iterdir() if file.name.endswith(".py")]
        for file in sorted(code, key=lambda file: file.name):
            edition = zlib.crc32(file.read_bytes(), edition)
    return edition & 0x7FFF_FFFF or 1

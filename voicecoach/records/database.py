"""An SQLite file of which all can be made again: one that is damaged, or of another edition, is no trouble.

It is closed to all but its owner. It has a rollback journal and no write-ahead log, which does not work where
home folders are on a network; so changes should be short.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import TypeVar

from voicecoach.errors import Complaint
from voicecoach.records.place import OWNER_FILE

Some = TypeVar("Some")

_PATIENCE = 20.0
"""Seconds to wait while another program changes the store."""
_NOT_DAMAGE = {
    sqlite3.SQLITE_BUSY: "another voicecoach is at work on it; try again in a moment",
    sqlite3.SQLITE_LOCKED: "another voicecoach is at work on it; try again in a moment",
    sqlite3.SQLITE_FULL: "the disk is full; make room and try again",
    sqlite3.SQLITE_READONLY: "it may not be written; check that you may write there",
    sqlite3.SQLITE_PERM: "it may not be used; check that you may write there",
    sqlite3.SQLITE_CANTOPEN: "it cannot be opened; check that you may write there",
    sqlite3.SQLITE_IOERR: "the disk fails; make sure that it is in order and has room",
    sqlite3.SQLITE_NOMEM: "there is too little memory",
}
"""What an SQLite error that is not the file's fault means for the user."""
_ERRORS = (sqlite3.Error, UnicodeDecodeError)
"""What comes of a file that is damaged, or cannot be used for now."""


def using(path: Path, edition: int, tables: str, work: Callable[[sqlite3.Connection], Some]) -> Some:
    """Do some work with the database in a file, which has these tables.

    Where the file is of another edition or damaged, it is emptied or made anew, and `work` may be done twice.
    Complaint where the file cannot be used, for example on a full disk.
    """
    try:
        try:
            with closing(_opened(path, edition, tables)) as db:
                return work(db)
        except _ERRORS as error:
            if _blameless(error):
                raise
        _remove(path)
        with closing(_opened(path, edition, tables)) as db:
            return work(db)
    except _ERRORS as error:
        raise Complaint(f"The record {path} cannot be used: {_blameless(error) or error}.") from None
    except OSError as error:
        raise Complaint(f"The record {path} cannot be used: {error.strerror}.") from None


@contextmanager
def changing(db: sqlite3.Connection) -> Iterator[None]:
    """All changes or none; nobody else changes the store meanwhile."""
    db.execute("BEGIN IMMEDIATE")
    try:
        yield
        db.execute("COMMIT")
    except BaseException:
        with suppress(sqlite3.Error):
            db.execute("ROLLBACK")
        raise


def check(db: sqlite3.Connection) -> None:
    """Look through the whole file. sqlite3.DatabaseError where it is damaged."""
    whole = db.execute("PRAGMA integrity_check(1)").fetchone() == ("ok",)
    if not whole or db.execute("PRAGMA foreign_key_check").fetchone():
        raise sqlite3.DatabaseError("damaged")


def _opened(path: Path, edition: int, tables: str) -> sqlite3.Connection:
    """The database in a file, with its tables; what is deleted from it is overwritten."""
    # An existing file is not opened by other means: to close it would free SQLite's locks in this process.
    with suppress(FileExistsError):
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, OWNER_FILE))
    if path.stat().st_mode & 0o777 != OWNER_FILE:
        path.chmod(OWNER_FILE)
    db = sqlite3.connect(path, timeout=_PATIENCE, isolation_level=None)
    try:
        db.execute("PRAGMA secure_delete = ON")
        db.execute("PRAGMA temp_store = MEMORY")
        if not _is_of(db, edition):
            with changing(db):
                # Another program may have been quicker.
                if not _is_of(db, edition):
                    _make(db, edition, tables)
        db.execute("PRAGMA foreign_keys = ON")
    except BaseException:
        db.close()
        raise
    return db


def _is_of(db: sqlite3.Connection, edition: int) -> bool:
    return bool(db.execute("PRAGMA user_version").fetchone() == (edition,))


def _make(db: sqlite3.Connection, edition: int, tables: str) -> None:
    """Put the tables of this edition, empty, in place of all that there is."""
    made = "SELECT type, name FROM sqlite_master WHERE name NOT LIKE 'sqlite!_%' ESCAPE '!'"
    for kind, name in db.execute(made).fetchall():
        if kind in ("table", "view"):
            db.execute(f'DROP {kind} "{name}"')
    for statement in tables.split(";"):
        db.execute(statement)
    db.execute(f"PRAGMA user_version = {edition}")


def _blameless(error: Exception) -> str:
    """What is wrong where that is not the file's fault, such as a full disk; empty where it is damaged."""
    code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_CORRUPT)
    if code == sqlite3.SQLITE_IOERR_SHORT_READ:
        return ""
    return _NOT_DAMAGE.get(code & 0xFF, "")


def _remove(path: Path) -> None:
    """Take a damaged file away, and what SQLite has put beside it."""
    for end in ("", "-journal", "-wal", "-shm"):
        path.with_name(path.name + end).unlink(missing_ok=True)

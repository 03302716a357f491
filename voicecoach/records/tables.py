"""The tables of the store: how results become rows, and rows results."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from voicecoach.records import students
from voicecoach.records.database import changing
from voicecoach.records.results import Result, StepResult

TABLES = """
CREATE TABLE journals (
    id INTEGER PRIMARY KEY,
    name BLOB NOT NULL UNIQUE,
    size INTEGER NOT NULL,
    changed INTEGER NOT NULL,
    trouble TEXT NOT NULL
);
CREATE TABLE attempts (
    journal INTEGER PRIMARY KEY REFERENCES journals ON DELETE CASCADE,
    attempt TEXT NOT NULL,
    student TEXT NOT NULL,
    student_key TEXT NOT NULL,
    procedure TEXT NOT NULL,
    title TEXT NOT NULL,
    mode TEXT NOT NULL,
    begun TEXT NOT NULL,
    instant REAL NOT NULL,
    seconds REAL NOT NULL,
    passed INTEGER NOT NULL,
    judged INTEGER NOT NULL,
    complete INTEGER NOT NULL,
    share REAL NOT NULL,
    heard INTEGER NOT NULL,
    mock TEXT NOT NULL
);
CREATE INDEX by_student ON attempts (student_key, instant);
CREATE INDEX by_procedure ON attempts (procedure, instant);
CREATE INDEX by_time ON attempts (instant);
CREATE TABLE wordings (
    id INTEGER PRIMARY KEY,
    step TEXT NOT NULL,
    do TEXT NOT NULL,
    critical INTEGER NOT NULL,
    UNIQUE (step, do, critical)
);
CREATE TABLE steps (
    journal INTEGER NOT NULL REFERENCES attempts ON DELETE CASCADE,
    place INTEGER NOT NULL,
    wording INTEGER NOT NULL,
    needed INTEGER NOT NULL,
    done INTEGER NOT NULL,
    in_order INTEGER NOT NULL,
    unprompted INTEGER NOT NULL,
    "right" INTEGER NOT NULL,
    seconds REAL,
    needed_seconds REAL,
    PRIMARY KEY (journal, place)
) WITHOUT ROWID;
CREATE TABLE mishaps (
    journal INTEGER NOT NULL REFERENCES attempts ON DELETE CASCADE,
    place INTEGER NOT NULL,
    mishap TEXT NOT NULL,
    PRIMARY KEY (journal, place)
) WITHOUT ROWID;
"""
"""A journal's `name` is that of its file as the system has it, `changed` the file's time of change in
nanoseconds; `instant` is in seconds since 1970; the rest is as in `Result` and `StepResult`. What a step says
is the same in many attempts and kept once, as its wording."""


@dataclass(frozen=True, slots=True)
class Kept:
    """What there is of one student."""

    student: str
    """The code; empty for the attempts of nobody in particular."""
    attempts: int
    latest: str
    """When the latest began, local date and time, ISO 8601 with offset."""


@dataclass(frozen=True, slots=True)
class Came:
    """What came of a journal."""

    name: bytes
    """The name of its file, as the system has it."""
    state: tuple[int, int]
    """Its size in bytes and its time of change in nanoseconds when it was read."""
    result: Result | None
    """`fit` to be kept; None where nothing came of it."""
    trouble: str = ""
    """Why nothing did, a sentence or two; empty where that is as it should be."""


def outdate(db: sqlite3.Connection) -> None:
    """Let all journals be read again; until then there is what there was, for other programs, too."""
    with changing(db):
        db.execute("UPDATE journals SET changed = -1")


def states(db: sqlite3.Connection) -> dict[bytes, tuple[int, int]]:
    """The journals that were read, by name: their size and time of change then."""
    return {
        name: (size, changed)
        for name, size, changed in db.execute("SELECT name, size, changed FROM journals")
    }


def fit(result: Result) -> Result:
    """A result as it is, where it can be kept.

    ValueError, OverflowError or OSError where it did not begin at a date, or has half a letter in a text.
    """
    _instant(result)
    words = (word for step in result.steps for word in (step.step, step.do))
    texts = (result.attempt, result.student, result.procedure, result.title, result.mode, result.mock)
    "".join((*texts, *result.mishaps, *words)).encode("utf-8")
    return result


def put(db: sqlite3.Connection, came: Came) -> None:
    """Keep what came of a journal, in place of what it was. Wordings may be left over; see `tidy`."""
    db.execute("DELETE FROM journals WHERE name = ?", (came.name,))
    inserted = db.execute(
        "INSERT INTO journals (name, size, changed, trouble) VALUES (?, ?, ?, ?)",
        (came.name, *came.state, came.trouble),
    )
    if (result := came.result) is None:
        return
    journal = inserted.lastrowid
    db.execute(
        f"INSERT INTO attempts VALUES ({', '.join('?' * 16)})",
        (
            journal, result.attempt, result.student, students.key(result.student), result.procedure,
            result.title, result.mode, result.begun, _instant(result),
            result.seconds, result.passed, result.judged, result.complete, result.share, result.heard,
            result.mock,
        ),
    )  # fmt: skip
    db.executemany(
        f"INSERT INTO steps VALUES ({', '.join('?' * 10)})",
        [
            (
                journal, place, _wording(db, step), step.needed, step.done, step.in_order, step.unprompted,
                step.right, step.seconds, step.needed_seconds,
            )
            for place, step in enumerate(result.steps)
        ],
    )  # fmt: skip
    db.executemany(
        "INSERT INTO mishaps VALUES (?, ?, ?)",
        [(journal, place, mishap) for place, mishap in enumerate(result.mishaps)],
    )


def take_out(db: sqlite3.Connection, names: Iterable[bytes]) -> None:
    """Take journals out, with all that came of them but the wordings."""
    db.executemany("DELETE FROM journals WHERE name = ?", [(name,) for name in names])


def tidy(db: sqlite3.Connection) -> None:
    """Take out the wordings of which there is no step any more."""
    db.execute("DELETE FROM wordings WHERE id NOT IN (SELECT wording FROM steps)")


def troubles(db: sqlite3.Connection) -> dict[bytes, str]:
    """The journals of which nothing came, by name, and why."""
    return dict(db.execute("SELECT name, trouble FROM journals WHERE trouble != '' ORDER BY name"))


def names(db: sqlite3.Connection) -> list[tuple[bytes, str, str]]:
    """Of each attempt the name of its journal, its own name, and the key of its student."""
    return db.execute(
        "SELECT name, attempt, student_key FROM attempts JOIN journals ON id = journal"
    ).fetchall()


def students_kept(db: sqlite3.Connection) -> list[Kept]:
    """What there is of each student, by code; nobody in particular last."""
    spellings = _spellings(db)
    rows = db.execute(
        "SELECT student_key, student, count(*), begun, max(instant) FROM attempts "
        "GROUP BY student_key ORDER BY student_key = '', student_key"
    )
    return [Kept(spellings.get(key, student), count, begun) for key, student, count, begun, _ in rows]


def select(db: sqlite3.Connection, student: str | None, procedure: str | None) -> list[Result]:
    """What came of the attempts of a student at a procedure, None for any, in order of time.

    A student whose code is spelled in several ways has the first of them throughout.
    """
    wanted = {"student_key": student and students.key(student), "procedure": procedure}
    given = {column: value for column, value in wanted.items() if value is not None}
    where = " AND ".join(["TRUE", *(f"attempts.{column} = :{column}" for column in given)])
    db.execute("BEGIN")
    attempts = db.execute(
        f"SELECT attempts.* FROM attempts JOIN journals ON id = journal WHERE {where} ORDER BY instant, name",
        given,
    ).fetchall()
    steps = _steps(db, where, given)
    mishaps: dict[int, list[str]] = {}
    for journal, mishap in db.execute(
        f"SELECT journal, mishap FROM attempts JOIN mishaps USING (journal) WHERE {where} ORDER BY place",
        given,
    ):
        mishaps.setdefault(journal, []).append(mishap)
    spellings = _spellings(db)
    db.execute("COMMIT")
    return [
        Result(
            attempt, spellings.get(key, student), procedure, title, mode, begun, seconds, bool(passed),
            bool(judged), bool(complete), share, tuple(steps.get(journal, ())),
            tuple(mishaps.get(journal, ())), heard, mock,
        )
        for (
            journal, attempt, student, key, procedure, title, mode, begun, _, seconds, passed, judged,
            complete, share, heard, mock,
        ) in attempts
    ]  # fmt: skip


def _steps(db: sqlite3.Connection, where: str, given: dict[str, str]) -> dict[int, list[StepResult]]:
    """The steps of the attempts asked for, by journal; those that are the same are one object."""
    wordings = {id: wording for id, *wording in db.execute("SELECT id, step, do, critical FROM wordings")}
    known: dict[tuple[object, ...], StepResult] = {}
    steps: dict[int, list[StepResult]] = {}
    for journal, *values in db.execute(
        'SELECT journal, wording, needed, done, in_order, unprompted, "right", steps.seconds, needed_seconds '
        f"FROM attempts CROSS JOIN steps USING (journal) WHERE {where} ORDER BY journal, place",
        given,
    ):
        row = tuple(values)
        if (step := known.get(row)) is None:
            if row[0] not in wordings:
                raise sqlite3.DatabaseError("a wording is not there")
            id, do, critical = wordings[row[0]]
            step = known[row] = StepResult(id, do, bool(critical), *map(bool, row[1:6]), *row[6:])
        steps.setdefault(journal, []).append(step)
    return steps


def _spellings(db: sqlite3.Connection) -> dict[str, str]:
    """By the key of each student whose code is spelled in several ways, how it was spelled at first."""
    return dict(
        db.execute(
            "SELECT student_key, student FROM attempts JOIN journals ON id = journal WHERE student_key IN "
            "(SELECT student_key FROM attempts GROUP BY student_key HAVING count(DISTINCT student) > 1) "
            "ORDER BY instant DESC, name DESC"
        )
    )


def _instant(result: Result) -> float:
    """When an attempt began, in seconds since 1970."""
    return datetime.fromisoformat(result.begun).timestamp()


def _wording(db: sqlite3.Connection, step: StepResult) -> int:
    """The number of the wording of a step, which is put in where it is new."""
    wording = (step.step, step.do, step.critical)
    found = db.execute(
        "SELECT id FROM wordings WHERE step = ? AND do = ? AND critical = ?", wording
    ).fetchone()
    if found is None:
        found = (db.execute("INSERT INTO wordings (step, do, critical) VALUES (?, ?, ?)", wording).lastrowid,)
    return int(found[0])

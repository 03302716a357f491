"""The commands under `voicecoach export`: the record for spreadsheets, other programs and an instructor."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.text import Text

from voicecoach.coaching.wording import CAUTION
from voicecoach.errors import Complaint
from voicecoach.records import exports, place, students, xapi
from voicecoach.records.practice_record import RULE, sheets
from voicecoach.records.results import Result
from voicecoach.records_commands import gathered
from voicecoach.showing.templates import filled

_BYTE_ORDER_MARK = "\ufeff"
"""By it the common spreadsheet programs know that a CSV file is UTF-8."""
_OWNER_FOLDER = 0o700

app = typer.Typer(rich_markup_mode=None, no_args_is_help=True)

Student = Annotated[
    str | None, typer.Option("--student", metavar="CODE", help="One student; without it, everybody.")
]
File = Annotated[
    Path | None,
    typer.Option("--to", metavar="FILE", help="Where; without it, among the records, readable by you alone."),
]
Folder = Annotated[
    Path | None,
    typer.Option(
        "--to", metavar="FOLDER", help="Where; without it, among the records, readable by you alone."
    ),
]


@app.callback()
def export() -> None:
    """Export the record: all of it, or what there is of one student."""


@app.command("csv")
def csv(student: Student = None, to: Folder = None) -> None:
    """Two tables for a spreadsheet: attempts, and their steps."""
    results = _results(student)
    folder = to or _exports()
    _make(folder)
    for name, table in (("attempts", exports.attempts_csv), ("steps", exports.steps_csv)):
        _keep(folder / _named(f"{name}.csv", student), _BYTE_ORDER_MARK + table(results))
    _say(CAUTION)


@app.command("json")
def json(student: Student = None, to: File = None) -> None:
    """Everything as JSON, and what each key of it holds."""
    _one(to, "attempts.json", student, exports.as_json(_results(student)))


@app.command("xapi")
def statements(student: Student = None, to: File = None) -> None:
    """xAPI statements, for a learning record store."""
    _one(to, "xapi.json", student, xapi.as_json(_results(student)))


@app.command("practice-record")
def practice_record(student: Student = None, to: File = None) -> None:
    """A page of what was practised, for the instructor to sign."""
    _one(to, "practice-record.html", student, page(_results(student), _today()))


def page(results: list[Result], today: date) -> str:
    """The record of practice as one HTML page, a sheet for each student; `today` is when it is made."""
    return filled(
        "practice_record.html", sheets=sheets(results), today=today, rule=RULE, caution=CAUTION, day=_day
    )


def _results(student: str | None) -> list[Result]:
    """What is to be exported. Complaint where there is nothing."""
    results = gathered(students.check(student) if student else None)
    if not results:
        whose = f" of {student}" if student else ""
        raise Complaint(
            f"There is no attempt{whose} in the record; `voicecoach records` shows what there is."
        )
    return results


def _one(to: Path | None, name: str, student: str | None, text: str) -> None:
    """Keep an export of one file, there or, where that is a folder, in it."""
    if to is None:
        _make(_exports())
    file = to or _exports()
    _keep(file / _named(name, student) if file.is_dir() else file, text)
    _say(CAUTION)


def _exports() -> Path:
    # Among the records, so that `voicecoach records forget` finds what it must take away.
    return place.made() / "exports"


def _named(name: str, student: str | None) -> str:
    return f"{student}-{name}" if student else name


def _make(folder: Path) -> None:
    try:
        folder.mkdir(mode=_OWNER_FOLDER, parents=True, exist_ok=True)
    except OSError as error:
        raise Complaint(f"The folder {folder} cannot be made: {error.strerror}.") from None


def _keep(file: Path, text: str) -> None:
    place.write(file, text)
    _say(f"Written: {file}")


def _day(day: date) -> str:
    return f"{day:%B} {day.day}, {day.year}"


def _today() -> date:
    return datetime.now().astimezone().date()


def _say(sentence: str) -> None:
    Console(highlight=False).print(Text(sentence), soft_wrap=True)

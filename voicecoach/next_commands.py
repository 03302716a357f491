"""The command `voicecoach next`: what to practise today and why, and a calendar of the next four weeks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.text import Text

from voicecoach.coaching.wording import CAUTION
from voicecoach.errors import Complaint
from voicecoach.procedure import library
from voicecoach.records import place, students
from voicecoach.records.calendar import calendar as calendar_of
from voicecoach.records.next import Due, agenda, plan
from voicecoach.records.results import Result
from voicecoach.records_commands import gathered
from voicecoach.showing.marks import harmless

DAYS = 28
"""How many days after today the calendar goes."""

_NOTHING = "Nothing is due in the next four weeks."


def what_next(
    student: Annotated[
        str | None,
        typer.Option("--student", metavar="CODE", help="Whose; without it, attempts without a code."),
    ] = None,
    calendar: Annotated[
        Path | None,
        typer.Option("--calendar", metavar="FILE", help="Write the next four weeks for a calendar (.ics)."),
    ] = None,
) -> None:
    """Say what to practise today and why, and write it down for a calendar."""
    code = students.check(student) if student else ""
    results = gathered(code)
    procedures = _procedures(results)
    now = _now()
    today = now.date()
    days = agenda(results, procedures, today, DAYS)
    for line in _lines(plan(results, procedures, today), days, code):
        _say(line)
    if calendar and not days:
        raise Complaint("No calendar is written, since there is nothing to put in.")
    if calendar:
        place.write(calendar, calendar_of(days, code, now))
        count = f"{len(days)} procedure{'' if len(days) == 1 else 's'}"
        _say(f"{count}, until {_day(days[-1][0])}: in {calendar}.")
    _say(CAUTION)


def _procedures(results: Sequence[Result]) -> dict[str, str]:
    """Ids and titles of what comes with voicecoach, and then of the student's own files."""
    shipped = {id: library.find(id).title for id in library.shipped()}
    return shipped | {result.procedure: result.title for result in results if result.procedure not in shipped}


def _lines(due: Sequence[Due], days: Sequence[tuple[date, Due]], student: str) -> Iterator[str]:
    """What is due today, or else what comes next, for people."""
    for number, one in enumerate(due, 1):
        yield f"{number}  {harmless(one.title)}"
        yield f"   {harmless(one.why)}"
        yield f"   {_command(one, student)}"
        yield ""
    if not due:
        nothing = "Nothing is due today"
        yield f"{nothing}; next is {harmless(days[0][1].title)} on {_day(days[0][0])}." if days else _NOTHING
        yield ""


def _command(due: Due, student: str) -> str:
    """What to type for it. Where the student's own files are, nothing tells."""
    whose = f" --student {student}" if student else ""
    if due.procedure in library.shipped():
        return f"voicecoach {due.mode} {due.procedure}{whose}"
    return f"voicecoach {due.mode} FILE{whose}, with your own file of {due.procedure}"


def _day(day: date) -> str:
    return f"{day:%A}, {day:%B} {day.day}"


def _now() -> datetime:
    return datetime.now().astimezone()


def _say(sentence: str) -> None:
    Console(highlight=False).print(Text(sentence), soft_wrap=True)

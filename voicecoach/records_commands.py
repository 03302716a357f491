"""The commands under `voicecoach records`: what is kept of attempts and students, and how it goes away."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Annotated

import typer
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn
from rich.table import Table
from rich.text import Text

from voicecoach.errors import Complaint
from voicecoach.records import forgetting, store, students
from voicecoach.records.forgetting import Traces
from voicecoach.records.results import Result
from voicecoach.records.store import Watch
from voicecoach.showing.marks import harmless

READING = "Reading journals ..."
ELSEWHERE = "What you kept or exported elsewhere, for example with --journal, is yours to delete."

app = typer.Typer(rich_markup_mode=None)

Student = Annotated[str, typer.Argument(metavar="STUDENT", help="The student's code, for example s07.")]


def gathered(student: str | None = None, procedure: str | None = None) -> list[Result]:
    """`store.results`, with a bar while journals are read, and a line on each that cannot be used."""
    _look(store.bring_up_to_date)
    return store.results(student, procedure)


@app.callback(invoke_without_command=True)
def overview(
    context: typer.Context,
    names: Annotated[bool, typer.Option("--names", help="Show the names of the students, too.")] = False,
) -> None:
    """Show what is kept of attempts and students, and where; rebuild the record, name or forget a student."""
    if context.invoked_subcommand is not None:
        return
    _look(store.bring_up_to_date)
    kept = store.overview()
    if kept:
        _console().print(_table(kept, students.names() if names else None))
        _say("")
    _say(f"Kept in {store.folder()}: {_sum(kept)}.")


@app.command()
def rebuild() -> None:
    """Make the record anew from the journals, which hold all that it holds."""
    _look(store.rebuild)
    _say(f"Made anew from the journals: {_sum(store.overview())}.")


@app.command()
def name(
    student: Student,
    new: Annotated[str | None, typer.Argument(metavar="NAME", help="The name to be kept.")] = None,
) -> None:
    """Show the name of a student, or keep one; it is shown nowhere unless asked for."""
    if new is not None:
        students.name(student, new)
    known = students.names().get(students.key(students.check(student)))
    _say(f"{student} is {harmless(known)}" if known else f"No name is kept of {student}.")


@app.command()
def forget(
    student: Student,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask.")] = False,
) -> None:
    """Delete every trace of a student: journals, what was made from them, and the name."""
    _look(store.bring_up_to_date)
    traces = forgetting.traces(student)
    if not (traces.journals or traces.files or traces.name):
        raise Complaint(f"Nothing is kept of a student {student}; `voicecoach records` lists all.")
    _say(f"Of {student} there is: {_listed(traces)}.")
    for path in traces.files:
        _say(f"  {harmless(str(path))}")
    if not yes and not typer.confirm("Delete all this for good?"):
        _say("Nothing is deleted.")
        return
    forgetting.forget(traces)
    _say(f"Nothing is left of {student}.")
    _say(ELSEWHERE)


def _look(read: Callable[[Watch], tuple[str, ...]]) -> None:
    """Let the store read journals, showing how far it is, and tell of those that cannot be used."""
    console = _console()
    columns = TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn()
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as progress:
        task = progress.add_task(READING, total=None, visible=False)

        def watch(done: int, total: int) -> None:
            progress.update(task, completed=done, total=total, visible=True)

        notices = read(watch)
    for notice in notices:
        print(harmless(notice), file=sys.stderr)


def _table(kept: list[store.Kept], names: dict[str, str] | None) -> Table:
    """The students, with names where these are given."""
    table = Table("student", *(["name"] if names is not None else []), "attempts", "latest", box=None)
    table.columns[-2].justify = "right"
    for one in kept:
        code = Text(harmless(one.student) or "(no code)")
        name = [] if names is None else [Text(harmless(names.get(students.key(one.student), "")))]
        table.add_row(code, *name, str(one.attempts), one.latest[:10])
    return table


def _sum(kept: list[store.Kept]) -> str:
    """How many attempts and students there are."""
    attempts = _count(sum(one.attempts for one in kept), "attempt")
    named = sum(bool(one.student) for one in kept)
    if not kept:
        return "no attempt"
    return f"{attempts} of {_count(named, 'student')}" if named else f"{attempts}, no student named"


def _listed(traces: Traces) -> str:
    """What there is of a student, in words."""
    parts = [_count(len(traces.journals), "journal")]
    if traces.files:
        parts.append(f"{_count(len(traces.files), 'file')} made from them")
    if traces.name:
        parts.append("the name")
    return " and ".join([", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts)


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _say(sentence: str) -> None:
    _console().print(Text(sentence), soft_wrap=True)


def _console() -> Console:
    return Console(highlight=False)

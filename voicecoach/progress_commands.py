"""The commands `voicecoach progress` and `voicecoach readiness`: how practice goes, and how it may end."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.text import Text

from voicecoach.errors import Complaint
from voicecoach.procedure import library
from voicecoach.procedure.model import Procedure
from voicecoach.records import place, store, students
from voicecoach.records.progress import Progress
from voicecoach.records.progress import progress as progress_of
from voicecoach.records.readiness import ITEMS
from voicecoach.records.readiness import readiness as readiness_of
from voicecoach.records.results import Result
from voicecoach.records_commands import gathered
from voicecoach.showing import progress as terminal
from voicecoach.showing import readiness as readiness_terminal

COMPUTING = "Computing ..."

_DOCTYPE = "<!doctype html>"

Student = Annotated[
    str | None,
    typer.Option("--student", metavar="CODE", help="Whose; without it, attempts without a code."),
]


def progress(
    procedure: Annotated[
        str | None, typer.Argument(metavar="PROCEDURE", help="Its id; without it, all that were tried.")
    ] = None,
    student: Student = None,
    page: Annotated[
        Path | None,
        typer.Option("--page", metavar="FILE", help="Write it as a page instead, with plots and readiness."),
    ] = None,
) -> None:
    """Show how practice goes: each procedure, or the steps of one, over all attempts."""
    code = students.check(student) if student else ""
    results = _results(code, procedure)
    found = progress_of(results)
    if page:
        _write(page, found, code, None if procedure else results)
    elif procedure:
        _console().print(terminal.detail(found[0]))
    else:
        _console().print(terminal.overview(found))


def readiness(
    student: Student = None,
    items: Annotated[int, typer.Option(min=1, help="Procedures that the test draws.")] = ITEMS,
    must_pass: Annotated[
        int | None, typer.Option(min=1, help="How many of these must be passed; without it, all.")
    ] = None,
) -> None:
    """Estimate the chance of passing a skills test today, and say which steps would raise it most."""
    code = students.check(student) if student else ""
    results = _results(code, None) if code else gathered("")
    with _console().status(COMPUTING):
        found = readiness_of(results, _pool(), items, must_pass)
    _console().print(readiness_terminal.page(found))


def _results(code: str, procedure: str | None) -> list[Result]:
    """What came of a student's attempts. Complaint where there is none."""
    results = gathered(code, procedure)
    if results:
        return results
    if procedure and not store.results(procedure=procedure):
        # Complains where there is no such procedure at all.
        library.as_shipped(procedure)
    at, of = f" at {procedure}" if procedure else "", f" of {code}" if code else " without a student's code"
    raise Complaint(f"There is no attempt{at}{of} in the record; `voicecoach records` shows what there is.")


def _write(to: Path, found: Sequence[Progress], code: str, results: Sequence[Result] | None) -> None:
    """Write the page, with the readiness where results are given. Complaint where that cannot be."""
    # Matplotlib takes half a second to load, which no other command should have to wait for.
    from voicecoach.showing.progress_html import page

    file = to / "progress.html" if to.is_dir() else to
    _check(file)
    with _console().status(COMPUTING):
        ready = None if results is None else readiness_of(results, _pool())
        place.write(file, page(found, code, ready))
    _console().print(Text(f"The page is {file}"), soft_wrap=True)


def _check(file: Path) -> None:
    """Complaint where something else than a page is there already."""
    try:
        with file.open("rb") as there:
            if there.read(len(_DOCTYPE)) != _DOCTYPE.encode("ascii"):
                raise Complaint(f"{file} is there already and holds no page; name another file with --page.")
    except FileNotFoundError:
        return
    except OSError as error:
        raise Complaint(f"{file} cannot be written: {error.strerror}; name another with --page.") from None


def _pool() -> list[Procedure]:
    """The procedures that a test may draw, with the rules in force."""
    return [library.find(id) for id in library.shipped()]


def _console() -> Console:
    return Console(highlight=False)

"""The command `voicecoach mock`: a mock test of skills drawn at random, by voice."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.table import Table
from rich.text import Text

from voicecoach import mocking, session, sources
from voicecoach.coaching import choosing, wording
from voicecoach.ear import Moment
from voicecoach.leaving import INTERRUPTED, leave
from voicecoach.live import Live
from voicecoach.mocking import Gone
from voicecoach.mouth import signals
from voicecoach.procedure import library
from voicecoach.procedure.model import Procedure
from voicecoach.records import mock as drawing
from voicecoach.records import students
from voicecoach.records.mock import MockVerdict
from voicecoach.records.results import Result, result
from voicecoach.records_commands import gathered
from voicecoach.running import READY, Wanted, run
from voicecoach.session import Outcome
from voicecoach.showing.marks import clock, harmless
from voicecoach.sources import Source
from voicecoach.utterances import Patience

NUMBERS = 9999
"""Numbers to draw from: they are short enough to be told to another student."""


class ByVoice(StrEnum):
    """How a test is heard."""

    auto = "auto"
    sphinx = "sphinx"
    vosk = "vosk"
    whisper = "whisper"


def mock(
    number: Annotated[
        int | None, typer.Option("--number", min=1, metavar="N", help="Take the test of this number again.")
    ] = None,
    skills: Annotated[
        int, typer.Option("--skills", min=1, metavar="N", help="How many are drawn.")
    ] = drawing.SIZE,
    minutes: Annotated[
        int, typer.Option("--minutes", min=1, metavar="N", help="The time for all.")
    ] = drawing.MINUTES,
    student: Annotated[
        str | None,
        typer.Option("--student", metavar="CODE", help="Whose test it is: a code such as s07, no name."),
    ] = None,
    hear: Annotated[
        ByVoice, typer.Option("--hear", help="auto takes vosk where a model is installed, as elsewhere.")
    ] = ByVoice.auto,
    model: Annotated[
        Path | None, typer.Option("--model", metavar="FOLDER", help="The folder of a Vosk model.")
    ] = None,
) -> None:
    """Take a mock test by voice: skills drawn at random, hand washing first, one verdict at the end."""
    code = students.check(student) if student else ""
    past = gathered(code)
    number, drawn = _drawn(library.shipped(), number, skills, past)
    name = drawing.name(datetime.now().astimezone().date(), number, {one.mock for one in past})
    known = {id: library.find(id) for id in drawn}
    _say(
        f"Mock test {number}: {_count(skills, 'skill')} in {wording.duration(minutes * 60)}. "
        f"The same again: {_again(number, skills, minutes, student)}"
    )
    came, outcomes, interrupted = _held(known, minutes * 60.0, hear.value, model, student, name)
    _show(came)
    if interrupted:
        raise typer.Exit(INTERRUPTED)
    for outcome in outcomes:
        leave(outcome)


def _drawn(
    pool: Sequence[str], number: int | None, size: int, past: Sequence[Result]
) -> tuple[int, tuple[str, ...]]:
    """The number and the skills of a test; a number that is asked for gives its test, whatever was last."""
    if number is not None:
        return number, drawing.draw(pool, number, size, ())
    last = next((one.mock for one in reversed(past) if one.mock), "")
    # What was drawn before is told by its number, also where the test was broken off in the middle.
    before = drawing.number_of(last)
    old = () if before is None else drawing.draw(pool, before, size, ())
    while True:
        number = random.SystemRandom().randint(1, NUMBERS)
        drawn = drawing.draw(pool, number, size, old)
        # The number alone must give the same test again.
        if drawn == drawing.draw(pool, number, size, ()):
            return number, drawn


def _held(
    known: dict[str, Procedure], limit: float, hear: str, model: Path | None, student: str | None, name: str
) -> tuple[MockVerdict, list[Outcome], bool]:
    """Hold the test: its verdict, what came of each attempt, and whether it was interrupted between two."""
    console = _console()
    choices = [choosing.choice(procedure) for procedure in known.values()]
    outcomes: list[Outcome] = []
    with ExitStack() as until:
        with console.status(READY):
            live = until.enter_context(Live())
            pronounce = dict(pair for procedure in known.values() for pair in procedure.pronounce.items())
            ears = sources.recognizer_of(hear, model, choosing.phrases(choices), pronounce)
            live.mouth.prepare(mocking.fixed(choices))
            live.mouth.signals = signals(mocking.MODE, wanted=True)
        for notice in live.notices:
            _say(f"! {notice}")

        def attempt(id: str, seconds: float) -> Gone:
            with console.status(READY):
                recognizer = sources.recognizer(hear, model, known[id])

            def listen(_: ExitStack, patience: Patience) -> Iterator[Moment]:
                return session.passed_on(live.hear(recognizer, patience), interrupted)

            source = Source(recognizer.name, live.mouth, listen, tells=True)
            wanted = Wanted(mocking.MODE, student=student, mock=name, until=seconds)
            outcomes.append(outcome := run(known[id], source, wanted, big=True))
            return Gone(result(outcome.events), not (outcome.interrupted or outcome.lost))

        interrupted = until.enter_context(session.interruptible())
        came = mocking.hold(live, ears, choices, limit, attempt, _say, interrupted)
        return came, outcomes, interrupted()


def _show(came: MockVerdict) -> None:
    """Show what became of each skill, the verdict, and how to see each page."""
    table = Table("skill", "", "time", box=None)
    table.columns[-1].justify = "right"
    for skill in came.skills:
        took = "" if skill.seconds is None else clock(skill.seconds)
        table.add_row(Text(harmless(skill.title)), Text(harmless(skill.told)), took)
    _say("")
    _console().print(table)
    _say("")
    _say(harmless(came.why))
    for skill in came.skills:
        if skill.attempt:
            _say(f"  voicecoach debrief {skill.attempt}")
    _say(wording.CAUTION)


def _again(number: int, skills: int, minutes: int, student: str | None) -> str:
    """The command that gives the same test again."""
    usual = {"skills": drawing.SIZE, "minutes": drawing.MINUTES, "student": None}
    given = {"skills": skills, "minutes": minutes, "student": student}
    options = "".join(f" --{key} {value}" for key, value in given.items() if value != usual[key])
    return f"voicecoach mock --number {number}{options}"


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _say(sentence: str) -> None:
    _console().print(Text(sentence), soft_wrap=True)


def _console() -> Console:
    return Console(highlight=False)

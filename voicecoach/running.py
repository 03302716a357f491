"""One attempt put together, gone through, and shown."""

from __future__ import annotations

import random
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

from rich.console import Console
from rich.text import Text

from voicecoach import learned, memory, session
from voicecoach.attempt import Attempt
from voicecoach.coaching.debrief import debrief
from voicecoach.coaching.telling import introduction
from voicecoach.coaching.wording import fixed_cues
from voicecoach.procedure.case import Case, draw, is_drawn
from voicecoach.procedure.model import Procedure
from voicecoach.records import journal as journals
from voicecoach.records import students
from voicecoach.records.journal import Journal
from voicecoach.session import Outcome, Session
from voicecoach.showing.debrief import page
from voicecoach.showing.lines import Lines
from voicecoach.showing.terminal import Terminal
from voicecoach.sources import Source

READY = "Getting ready to listen ..."
NO_CASE = 0
"""The number that stands for no case."""
_CASES = 9999
"""Cases to draw from: their numbers are short enough to be told to another student."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the user wants of an attempt beside the procedure and where it is heard from."""

    mode: str
    journal: Path | None = None
    """Where to keep the record; None for the usual place."""
    case: int | None = None
    """The number of the case, NO_CASE for none, or None to draw one where the coach can tell of it."""
    talk_through: bool = False
    """True where what the student says of a time counts, not the clock."""
    student: str | None = None
    """The code of the student; None where none is given."""
    mock: str | None = None
    """The mock test it is part of; its verdict alone is shown, at its end. None where it is part of none."""
    until: float | None = None
    """Seconds on the audio clock at which it is over at the latest; None where there is no limit."""


def run(procedure: Procedure, source: Source, wanted: Wanted, big: bool) -> Outcome:
    """Run an attempt, then show its debrief and where its journal is, but for a mock test.

    Complaint where a code is none.
    """
    if wanted.student is not None:
        students.check(wanted.student)
    console = Console(highlight=False)
    case = _case(procedure, source, wanted)
    times = "said" if wanted.talk_through else source.times
    begun = session.begun(procedure, wanted.mode, source.hear, times, case, wanted.student, wanted.mock)
    with ExitStack() as until:
        with console.status(READY):
            attempt = Attempt(begun, learned.likeness)
            memory.give_back()
        moments = source.listen(until, attempt.patience)
        source.mouth.prepare(fixed_cues(procedure, wanted.mode, introduction(case) if case else ""))
        kept = Journal(wanted.journal or journals.folder() / f"{begun.attempt}.jsonl")
        interrupted = until.enter_context(session.interruptible())
        screen: Terminal | Lines = Lines(console)
        if big and console.is_terminal:
            screen = until.enter_context(Terminal(console))
        for notice in source.notices:
            screen.notice(notice)
        outcome = Session(attempt, source.mouth, kept, screen).run(begun, moments, interrupted, wanted.until)
    memory.give_back()
    if wanted.mock is None:
        _show(console, outcome, case, kept.path)
    return outcome


def _show(console: Console, outcome: Outcome, case: Case | None, kept: Path) -> None:
    """Show the debrief, which case it was, and where the journal is."""
    console.print(page(debrief(outcome.events)))
    if case:
        console.print(Text(f"\nThis was case {case.number}; --case {case.number} gives it again"))
    if not outcome.unkept:
        console.print(Text(f"\nThe journal is {kept}"), soft_wrap=True)


def _case(procedure: Procedure, source: Source, wanted: Wanted) -> Case | None:
    """The case of an attempt; None where there is none."""
    if wanted.case is None and not source.tells:
        return None
    number = random.SystemRandom().randint(1, _CASES) if wanted.case is None else wanted.case
    return draw(procedure, number) if number != NO_CASE and is_drawn(procedure) else None

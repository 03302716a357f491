"""How a command ends: what is told of an attempt on standard error, and the exit codes."""

from __future__ import annotations

import sys

import typer

from voicecoach.session import Outcome
from voicecoach.showing.marks import harmless

NOT_WHOLE = 1
"""Something is not as it should be, for example a journal that could not be written."""
WRONG = 2
"""It could not be done; a sentence says why."""
INTERRUPTED = 130
"""Somebody pressed Ctrl-C."""


def tell(complaint: str) -> None:
    """A sentence, or some, on standard error."""
    for line in complaint.splitlines():
        print(harmless(line), file=sys.stderr)


def leave(outcome: Outcome) -> None:
    """Tell what went wrong around an attempt, and leave with the exit code that fits."""
    for trouble in filter(None, (outcome.lost, outcome.unkept)):
        tell(trouble)
    if outcome.interrupted:
        raise typer.Exit(INTERRUPTED)
    if outcome.lost or outcome.unkept:
        raise typer.Exit(WRONG if outcome.lost else NOT_WHOLE)

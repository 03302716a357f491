"""Labelled narrations: what a student says, and which steps a listener would take from it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from voicecoach.procedure import library
from voicecoach.procedure.model import Procedure

SECONDS_A_WORD = 0.3
"""How long a word takes where a narration is read as text."""


@cache
def shipped(id: str) -> Procedure:
    """The shipped procedure of that id, read once."""
    return library.find(id)


@dataclass(frozen=True, slots=True)
class LabelledClause:
    """What is said between two silences."""

    gap: float
    """Seconds of silence before it."""
    say: str
    steps: tuple[str, ...]
    """Steps reported, in the order said."""
    stage: str
    """done, talk, later, undone, mishap, avoiding, ask or chat."""


@dataclass(frozen=True, slots=True)
class Narration:
    """One student's narration of one procedure."""

    id: str
    procedure: str
    style: str
    clauses: tuple[LabelledClause, ...]
    omitted: frozenset[str]
    """Steps never reported."""
    order_faults: frozenset[tuple[str, str]]
    """Pairs (required, step) of which `step` was first reported before `required`."""
    mishaps: frozenset[str]

    @property
    def first_reports(self) -> dict[str, int]:
        """Step to the place of the clause that first reports it."""
        first: dict[str, int] = {}
        for place, clause in enumerate(self.clauses):
            for step in clause.steps:
                first.setdefault(step, place)
        return first


def read_folder(folder: Path) -> list[Narration]:
    """All narrations in the *.jsonl files of a folder, by name. FileNotFoundError where there are none."""
    files = sorted(folder.glob("*.jsonl"))
    if not files:
        raise FileNotFoundError(f"{folder}: no narrations (*.jsonl) here")
    return [_narration(json.loads(line)) for file in files for line in file.read_text("utf-8").splitlines()]


def _narration(data: dict[str, object]) -> Narration:
    clauses = tuple(
        LabelledClause(clause["gap"], clause["say"], tuple(clause["steps"]), clause["stage"])
        for clause in data["clauses"]  # type: ignore[attr-defined]
    )
    return Narration(
        id=str(data["id"]),
        procedure=str(data["procedure"]),
        style=str(data["style"]),
        clauses=clauses,
        omitted=frozenset(data["omitted"]),  # type: ignore[call-overload]
        order_faults=frozenset(tuple(pair) for pair in data["order_faults"]),  # type: ignore[attr-defined]
        mishaps=frozenset(data["mishaps"]),  # type: ignore[call-overload]
    )

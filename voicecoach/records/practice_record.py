"""The record of practice that an instructor signs: what a student practised when, and no finding of ours."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from voicecoach.records.results import Result

RULE = (
    "Federal rules for nurse aide training, 42 CFR 483.152(a)(4)(i), let a student do a service for a "
    "resident only after being trained in it and found proficient in it by the instructor. This record lists "
    "what was practised with voicecoach, and when. Whether a student is proficient is for the instructor to "
    "find and to write down below. A result here is that of a practice at which nobody may have been "
    "present, and its time is not by itself the supervised practical training of 42 CFR 483.152(a)(3)."
)
"""What the record is and is not, in our own words."""


@dataclass(frozen=True, slots=True)
class Session:
    """One attempt, as a line of the record."""

    day: date
    skill: str
    """The title of the procedure."""
    mode: str
    """practise, rehearse or selftest."""
    minutes: str
    outcome: str
    """passed, not passed, not judged or broken off; of practice only."""


@dataclass(frozen=True, slots=True)
class Skill:
    """A skill of which the instructor may have a finding."""

    skill: str
    times: int
    """How often it was practised."""
    minutes: str
    """How long in all."""
    latest: date
    """The day on which it was last practised."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """The record of one student."""

    student: str
    """The code; empty where none was given."""
    sessions: tuple[Session, ...]
    """In order of time."""
    skills: tuple[Skill, ...]
    """In the order in which they were first practised."""


def sheets(results: Iterable[Result]) -> tuple[Sheet, ...]:
    """The records of all students in the results, which are in order of time: by code, nobody's last."""
    by_student: dict[str, list[Result]] = {}
    for result in results:
        by_student.setdefault(result.student, []).append(result)
    ordered = sorted(by_student, key=lambda code: (not code, code.casefold(), code))
    return tuple(_sheet(code, by_student[code]) for code in ordered)


def _sheet(student: str, results: Sequence[Result]) -> Sheet:
    by_skill: dict[str, list[Result]] = {}
    for result in results:
        by_skill.setdefault(result.procedure, []).append(result)
    return Sheet(student, tuple(map(_session, results)), tuple(map(_skill, by_skill.values())))


def _session(result: Result) -> Session:
    return Session(result.day, result.title, result.mode, _minutes(result.seconds), _outcome(result))


def _skill(results: Sequence[Result]) -> Skill:
    seconds = sum(result.seconds for result in results)
    latest = max(result.day for result in results)
    return Skill(results[-1].title, len(results), _minutes(seconds), latest)


def _outcome(result: Result) -> str:
    if not result.complete:
        return "broken off"
    if not result.judged:
        return "not judged"
    return "passed" if result.passed else "not passed"


def _minutes(seconds: float) -> str:
    """Minutes with one decimal, since many attempts take a few minutes only."""
    return f"{seconds / 60:.1f}"

"""A mock test: which skills are drawn for it, and what came of them.

42 CFR 483.154(b)(2) has the skills demonstration drawn at random from a pool of tasks. How many are drawn,
the time for them, and that hand washing is always one of them: common practice, no source.
"""

from __future__ import annotations

import random
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from voicecoach.coaching import wording
from voicecoach.errors import Complaint
from voicecoach.records.results import Result

HAND_WASHING = "wash-hands"
"""The procedure that is in every draw."""
SIZE = 5
"""Skills in a test, unless another number is wanted."""
MINUTES = 30
"""Minutes for them, unless another number is wanted."""

_NAMED = 3
"""Skills that are named in a sentence; the others are counted."""
_NAME = re.compile(r"\d{4}-\d\d-\d\d-(\d{4,})(-\d+)?")


@dataclass(frozen=True, slots=True)
class Skill:
    """What became of one skill that was drawn."""

    procedure: str
    """Its id."""
    title: str
    attempt: str
    """Name of the attempt; empty where it was not begun."""
    passed: bool
    told: str
    """Passed, or why not, for people."""
    seconds: float | None
    """How long it took, on the audio clock; None where it was not begun."""


@dataclass(frozen=True, slots=True)
class MockVerdict:
    """What a mock test came to."""

    passed: bool
    """True where every skill was gone through and passed, within the time."""
    skills: tuple[Skill, ...]
    """Those that were drawn, in order."""
    why: str
    """The verdict in words, for the student."""

    @property
    def missed(self) -> tuple[Skill, ...]:
        """The skills that were not passed."""
        return tuple(skill for skill in self.skills if not skill.passed)


def draw(pool: Sequence[str], number: int, size: int, before: Collection[str]) -> tuple[str, ...]:
    """The ids of so many skills of a pool: hand washing first, the others in the order drawn.

    The same arguments give the same draw, in whatever order the pool stands. It is never the set of `before`,
    unless there is no other: a pool with only one set of this size, be it all of the pool or hand washing
    alone, is taken as it is, since it is better to be tested on it twice than not at all.

    Complaint where the pool has not so many; ValueError where hand washing is not in it.
    """
    others = sorted({*pool} - {HAND_WASHING})
    if HAND_WASHING not in pool:
        raise ValueError("hand washing is not in the pool")
    if not 1 <= size <= len(others) + 1:
        raise Complaint(f"A mock test has 1 to {len(others) + 1} skills, not {size}; give --skills a number.")
    only = size - 1 in (0, len(others))
    chance = random.Random(f"mock {number}")
    while True:
        drawn = (HAND_WASHING, *chance.sample(others, size - 1))
        if only or {*drawn} != {*before}:
            return drawn


def name(day: date, number: int, taken: Collection[str]) -> str:
    """A name for the test of that number on a day, for example 2026-11-26-0312, that is not taken yet."""
    stem = f"{day.isoformat()}-{number:04d}"
    again = 2
    named = stem
    while named in taken:
        named, again = f"{stem}-{again}", again + 1
    return named


def number_of(name: str) -> int | None:
    """The number of the test of a name; None where it is no such name."""
    found = _NAME.fullmatch(name)
    return int(found[1]) if found else None


def verdict(results: Sequence[Result], drawn: Mapping[str, str], seconds: float, limit: float) -> MockVerdict:
    """What a test came to: `drawn` are ids and titles of its skills in order, `results` what came of them.

    `seconds` were spent in its attempts, on the audio clock, and `limit` were allowed. An attempt that the
    limit cut off counts for what was done until then. Of two attempts at a skill the later counts.
    """
    by_skill = {result.procedure: result for result in results}
    # To the thousandth, as journals keep times.
    left = round(limit - seconds, 3)
    skills = tuple(_skill(id, title, by_skill.get(id), left) for id, title in drawn.items())
    passed = all(skill.passed for skill in skills) and left >= 0
    return MockVerdict(passed, skills, _why(skills, passed, left, limit))


def _skill(id: str, title: str, result: Result | None, left: float) -> Skill:
    if result is None:
        return Skill(id, title, "", False, "the time was up" if left <= 0 else "not gone through", None)
    passed = result.passed and result.complete
    return Skill(id, title, result.attempt, passed, "passed" if passed else _fault(result), result.seconds)


def _fault(result: Result) -> str:
    """Why an attempt is not passed, in a few words."""
    if not result.complete:
        return "broken off"
    if not result.judged:
        return "not judged, too little was understood"
    critical = [step for step in result.steps if step.needed and step.critical and not step.right]
    if critical:
        what = "not right" if critical[0].done else "missing"
        more = f", and {len(critical) - 1} more" if len(critical) > 1 else ""
        return f"{what}: {critical[0].do}{more}"
    needed = [step for step in result.steps if step.needed]
    return f"{sum(step.right for step in needed)} of {len(needed)} steps, {result.share:.0%} are needed"


def _why(skills: Sequence[Skill], passed: bool, left: float, limit: float) -> str:
    missed = [skill.title for skill in skills if not skill.passed]
    count = f"{len(skills) - len(missed)} of {len(skills)} skills"
    if passed:
        return f"You passed the mock test: {count}."
    if not missed:
        return f"Not passed yet: {count}, but not within {wording.duration(limit)}."
    more = f" And {len(missed) - _NAMED} more." if len(missed) > _NAMED else ""
    over = "Time is up. " if left <= 0 else ""
    return f"{over}Not passed yet: {count}. Not passed: {'; '.join(missed[:_NAMED])}.{more}"

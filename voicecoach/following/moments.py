"""What was said as the clock of timed steps sees it, and the moments at which a step may begin and end."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

_SOON = 0.5
"""Seconds from the beginning of a clause in which a mark counts as standing there."""


@dataclass(frozen=True, slots=True)
class Said:
    """A clause as the clock of timed steps sees it."""

    start: float
    end: float
    chances: Mapping[str, float]
    """The chance that it reports each step."""
    alone: Mapping[str, float]
    """The same from the words alone."""
    counting: bool
    """Whether nothing but counting is said."""
    starts: tuple[float, ...]
    """Seconds at which it says that the time begins."""
    overs: tuple[float, ...]
    """Seconds at which it begins to say that the time is over."""
    length: float
    """Seconds that it says something lasts; 0 where it does not."""
    afterwards: bool
    """Whether it tells of something that is over."""
    goes_on: bool
    """Whether it says that something goes on until then."""
    number: bool
    """Whether it holds a number that is not counted aloud."""


@dataclass(frozen=True, slots=True)
class Sought:
    """A timed step whose spell is looked for."""

    step: str
    opener: str
    """The step with which the time begins, mostly the same."""
    seconds: float
    """How long it must last."""
    counts: bool
    """Whether something is counted in it."""
    needs: frozenset[str]
    """What must be done before it begins."""
    ends: frozenset[str]
    """Steps that need it, directly or not."""
    others: frozenset[str]
    """The other timed steps."""


@dataclass(frozen=True, slots=True)
class Spell:
    """From when to when, in seconds; without an end it goes on, and without a beginning there was none."""

    start: float = math.inf
    end: float = math.inf

    @property
    def none(self) -> bool:
        """Whether the step was not done."""
        return self.start == math.inf

    @property
    def over(self) -> bool:
        """Whether it was done and is over."""
        return self.end < math.inf

    def overlaps(self, other: Spell) -> bool:
        """Whether both last at the same time."""
        return (
            not self.none
            and not other.none
            and self.start < other.end - 0.05
            and other.start < self.end - 0.05
        )


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment at which a spell may begin or end."""

    at: float
    clause: int
    """Place of the clause; one more than the last stands for the end of the attempt."""
    sign: str
    """words, count, mark or end; or over."""


def begins(said: Sequence[Said]) -> list[Moment]:
    """The moments at which something may begin."""
    moments = []
    for place, one in enumerate(said):
        if one.counting:
            moments += [] if place and said[place - 1].counting else [Moment(one.start, place, "count")]
            continue
        moments.append(Moment(one.start, place, "words"))
        moments += [Moment(mark, place, "mark") for mark in one.starts]
        if not any(one.end - mark < _SOON for mark in one.starts):
            moments.append(Moment(one.end, place, "end"))
    return moments


def ends(said: Sequence[Said], now: float, ended: bool) -> list[Moment]:
    """The moments at which something may be over."""
    moments = []
    for place, one in enumerate(said):
        if not one.counting:
            soon = any(mark - one.start < _SOON for mark in one.overs)
            moments.append(Moment(one.start, place, "over" if soon else "words"))
            moments += [Moment(mark, place, "over") for mark in one.overs if mark - one.start >= _SOON]
    return [*moments, Moment(now, len(said), "end")] if ended else moments

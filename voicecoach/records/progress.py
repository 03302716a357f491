"""Progress: what has become of each procedure and step over the attempts of one student.

Attempts that were broken off, or of which too little was understood, do not count. A share is of the
attempts in which it could happen: done of those in which the step was needed; in order, unprompted and
right of those in which it was done. What is said of the last attempts is of those without the coach's lead
alone (`fading.ALONE`), and newer ones weigh more (`fading.weights`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from statistics import median

from voicecoach.records.fading import ALONE, smoothed, weights
from voicecoach.records.intervals import Share, share, weighted
from voicecoach.records.results import Result, StepResult

CHANGED = 0.1
"""By how much the last attempts must differ from all to be called better or worse."""
ENOUGH = 4
"""Attempts alone without which nothing is said of that."""


@dataclass(frozen=True, slots=True)
class Timing:
    """How long a timed step lasted, where that is known."""

    needed: float
    """Seconds that it must last, in the latest attempt."""
    seconds: tuple[float, ...]
    """Of each attempt in which it was done, the oldest first."""

    @property
    def latest(self) -> float:
        """Seconds in the latest of these attempts."""
        return self.seconds[-1]

    @property
    def usual(self) -> float:
        """The median, seconds."""
        return median(self.seconds)


@dataclass(frozen=True, slots=True)
class StepProgress:
    """One step over the attempts that count."""

    step: str
    do: str
    """As in the latest attempt."""
    critical: bool
    history: tuple[StepResult | None, ...]
    """What became of it in each attempt, the oldest first; None where the procedure did not have it then."""
    done: Share
    in_order: Share
    unprompted: Share
    right: Share
    good: Share
    """Done, right, in order and unprompted, of the attempts in which it was needed."""
    lately: Share
    """The same in the attempts alone, newer ones weighing more."""
    timing: Timing | None
    """None where it is not timed, or was never done."""


@dataclass(frozen=True, slots=True)
class Progress:
    """One procedure over the attempts of a student."""

    procedure: str
    title: str
    """As in the latest attempt."""
    tries: tuple[Result, ...]
    """The attempts that count, the oldest first."""
    left_out: int
    """Attempts that do not count."""
    passed: Share
    """Of the attempts that count."""
    passed_alone: Share
    """Of those alone."""
    lately: Share
    """Passed, in the attempts alone, newer ones weighing more."""
    good: tuple[float, ...]
    """Share of the needed steps that were good, of each attempt that counts."""
    trend: tuple[float, ...]
    """The same of each attempt alone and those before it, newer ones weighing more."""
    steps: tuple[StepProgress, ...]
    """The steps of the latest attempt, in the usual order; none where no attempt counts."""

    @property
    def alone(self) -> tuple[Result, ...]:
        """The attempts that count in which the student did it alone."""
        return tuple(one for one in self.tries if one.mode in ALONE)

    @property
    def last(self) -> date | None:
        """The day of the latest attempt that counts."""
        return self.tries[-1].day if self.tries else None

    @property
    def change(self) -> int:
        """1 where the last attempts alone went better than all of these, -1 where worse, 0 where neither is
        sure."""
        alone = [good for one, good in zip(self.tries, self.good, strict=True) if one.mode in ALONE]
        if len(alone) < ENOUGH:
            return 0
        gained = self.trend[-1] - sum(alone) / len(alone)
        return (gained >= CHANGED) - (gained <= -CHANGED)


def progress(results: Sequence[Result]) -> tuple[Progress, ...]:
    """The progress of one student in each procedure that was tried, by title."""
    by_procedure: dict[str, list[Result]] = {}
    for one in in_time(results):
        by_procedure.setdefault(one.procedure, []).append(one)
    return tuple(sorted(map(_progress, by_procedure.values()), key=lambda one: (one.title, one.procedure)))


def in_time(results: Sequence[Result]) -> list[Result]:
    """Results in the order in which the attempts began."""
    return sorted(results, key=lambda one: (datetime.fromisoformat(one.begun).timestamp(), one.attempt))


def _progress(results: list[Result]) -> Progress:
    """The progress in one procedure, from all its attempts in order of time."""
    tries = tuple(one for one in results if one.counts)
    alone = [one.mode in ALONE for one in tries]
    passed = [one.passed for one in tries]
    passed_alone = [one.passed for one in tries if one.mode in ALONE]
    good = tuple(map(_good, tries))
    return Progress(
        procedure=results[-1].procedure,
        title=results[-1].title,
        tries=tries,
        left_out=len(results) - len(tries),
        passed=share(sum(passed), len(passed)),
        passed_alone=share(sum(passed_alone), len(passed_alone)),
        lately=weighted(passed_alone, weights(len(passed_alone))),
        good=good,
        trend=tuple(smoothed([one for one, by_oneself in zip(good, alone, strict=True) if by_oneself])),
        steps=_steps(tries, alone),
    )


def _good(one: Result) -> float:
    """Share of the needed steps that were good; 0 where none was needed."""
    needed = [step.good for step in one.steps if step.needed]
    return sum(needed) / len(needed) if needed else 0.0


def _steps(tries: tuple[Result, ...], alone: list[bool]) -> tuple[StepProgress, ...]:
    if not tries:
        return ()
    histories: dict[str, list[StepResult | None]] = {step.step: [] for step in tries[-1].steps}
    for one in tries:
        found = {step.step: step for step in one.steps}
        for id, history in histories.items():
            history.append(found.get(id))
    return tuple(_step(latest, histories[latest.step], alone) for latest in tries[-1].steps)


def _step(latest: StepResult, history: list[StepResult | None], alone: list[bool]) -> StepProgress:
    needed = [one for one in history if one is not None and one.needed]
    done = [one for one in needed if one.done]
    good = [one.good for one in needed]
    lately = [
        one.good
        for one, by_oneself in zip(history, alone, strict=True)
        if by_oneself and one is not None and one.needed
    ]
    seconds = tuple(one.seconds for one in done if one.seconds is not None)
    needed_seconds = latest.needed_seconds
    return StepProgress(
        step=latest.step,
        do=latest.do,
        critical=latest.critical,
        history=tuple(history),
        done=share(len(done), len(needed)),
        in_order=share(sum(one.in_order for one in done), len(done)),
        unprompted=share(sum(one.unprompted for one in done), len(done)),
        right=share(sum(one.right for one in done), len(done)),
        good=share(sum(good), len(good)),
        lately=weighted(lately, weights(len(lately))),
        timing=Timing(needed_seconds, seconds) if needed_seconds is not None and seconds else None,
    )

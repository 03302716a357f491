"""What came of one attempt, small enough that thousands are compared at once. A function of its journal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from voicecoach.coaching.debrief import Line, debrief
from voicecoach.events import Begun, Event, Heard


@dataclass(frozen=True, slots=True)
class StepResult:
    """What became of one step in one attempt."""

    step: str
    do: str
    critical: bool
    needed: bool
    """False where the step was only needed in other cases and was not done."""
    done: bool
    in_order: bool
    """True where nothing that needs it was done before it; also where it was not done."""
    unprompted: bool
    """True where it was done without a cue about it."""
    right: bool
    """True where it was done, for long enough, with the right value, on the right side."""
    seconds: float | None
    """How long it lasted; None where that is not known."""
    needed_seconds: float | None
    """How long it must last; None where it is not timed."""

    @property
    def good(self) -> bool:
        """Whether an evaluator would have been content: done, right, in order and by oneself."""
        return self.done and self.right and self.in_order and self.unprompted


@dataclass(frozen=True, slots=True)
class Result:
    """What came of one attempt."""

    attempt: str
    student: str
    """The student's code; empty where none was given."""
    procedure: str
    title: str
    mode: str
    begun: str
    """Local date and time, ISO 8601 with offset."""
    seconds: float
    """How long it took, on the audio clock."""
    passed: bool
    judged: bool
    """False where too little was understood to say that it is not passed."""
    complete: bool
    """False where it was broken off."""
    share: float
    """Share of the needed steps that must be right to pass, 0 to 1."""
    steps: tuple[StepResult, ...]
    """Every step, in the usual order."""
    mishaps: tuple[str, ...]
    heard: int
    """Utterances."""
    mock: str = ""
    """The mock test it was part of; empty where it was none."""

    @property
    def day(self) -> date:
        """The local day on which it began."""
        return datetime.fromisoformat(self.begun).date()

    @property
    def counts(self) -> bool:
        """Whether it tells something of what the student can do: judged and not broken off."""
        return self.judged and self.complete


def result(events: Sequence[Event]) -> Result:
    """What came of an attempt, from its whole journal or what there is of it.

    Raises ValueError where the journal does not begin with `begun`.
    """
    told = debrief(events)
    begun = events[0]
    assert isinstance(begun, Begun)  # or `debrief` had raised ValueError
    late = {required.step for required, _ in told.out_of_order}
    return Result(
        attempt=begun.attempt,
        student=begun.student or "",
        procedure=told.procedure,
        title=told.title,
        mode=told.mode,
        begun=begun.wall,
        seconds=events[-1].at,
        passed=told.passed,
        judged=told.judged,
        complete=told.complete,
        share=begun.procedure.get("pass", {}).get("share", 0.8),
        steps=tuple(_step(line, late) for line in told.lines),
        mishaps=told.mishaps,
        heard=sum(isinstance(event, Heard) for event in events),
        mock=begun.mock or "",
    )


def _step(line: Line, late: set[str]) -> StepResult:
    return StepResult(
        step=line.step,
        do=line.do,
        critical=line.critical,
        needed=line.needed,
        done=line.at is not None,
        in_order=line.step not in late,
        unprompted=not line.prompted,
        right=line.at is not None and not line.wrong,
        seconds=line.seconds,
        needed_seconds=line.needed_seconds,
    )

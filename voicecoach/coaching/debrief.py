"""The debrief: what was done, missed, late or went wrong, and the verdict. A function of a journal."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from voicecoach.coaching.wording import CAUTION, CLOSER
from voicecoach.events import Asked, Begun, Cued, Ended, Event, Followed, Heard, Read, Remarked, Unfollowed
from voicecoach.following.trust import heard_well
from voicecoach.procedure.model import Procedure, Step
from voicecoach.procedure.order import faults, needs


@dataclass(frozen=True, slots=True)
class Line:
    """What became of one step."""

    step: str
    do: str
    critical: bool
    needed: bool
    """False where the step is only needed in some cases and was not reported."""
    at: float | None
    """Seconds at which it was reported; None where it was not."""
    seconds: float | None
    """How long it lasted, until the next step was reported; None where that is not known."""
    needed_seconds: float | None
    """How long it must last; None where it is not timed."""
    prompted: bool
    """True where it was done only after a cue about it."""


@dataclass(frozen=True, slots=True)
class Debrief:
    """What an attempt came to."""

    procedure: str
    title: str
    mode: str
    lines: tuple[Line, ...]
    """Every step, in the usual order."""
    missed: tuple[Line, ...]
    """Needed steps not reported, critical ones first."""
    out_of_order: tuple[tuple[Line, Line], ...]
    """Pairs (required, step) of which `step` was reported first."""
    mishaps: tuple[str, ...]
    """What happened that must not, in the procedure's words."""
    readings: tuple[str, ...]
    """What was recorded."""
    passed: bool
    judged: bool
    """False where it is not passed, but too little was understood to say so."""
    why: str
    """The reason of the verdict, one sentence."""
    caution: str
    complete: bool
    """False where the attempt was stopped before its end."""


def debrief(events: Iterable[Event]) -> Debrief:
    """The debrief of an attempt, from its whole journal or what there is of it.

    Raises ValueError where the journal does not begin with `begun`.
    """
    events = list(events)
    if not events or not isinstance(events[0], Begun):
        raise ValueError("the journal does not begin with the beginning of an attempt")
    begun = events[0]
    procedure = Procedure.model_validate(begun.procedure)
    events = _since_restart(events)
    reports = _reports(events)
    lines = tuple(_line(step, procedure, reports, events) for step in procedure.steps)
    by_id = {line.step: line for line in lines}
    missed = tuple(sorted((line for line in lines if line.needed and line.at is None), key=_critical_first))
    when = {id: report.start for id, report in reports.items()}
    pairs = tuple((by_id[need], by_id[id]) for need, id in faults(needs(procedure), when))
    mishaps = [event.about for event in events if isinstance(event, Remarked) and event.stage == "mishap"]
    ended = next((event for event in events if isinstance(event, Ended)), None)
    passed, why = _verdict(procedure, lines, missed)
    judged = passed or heard_well(event for event in events if isinstance(event, Heard))
    return Debrief(
        procedure=procedure.id,
        title=procedure.title,
        mode=begun.mode,
        lines=lines,
        missed=missed,
        out_of_order=pairs,
        mishaps=tuple(procedure.avoided(id).do for id in dict.fromkeys(mishaps) if id),
        readings=tuple(_recorded(event) for event in events if isinstance(event, Read)),
        passed=passed,
        judged=judged,
        why=why if judged else f"Not judged: too little of what was said was understood. {CLOSER}",
        caution=CAUTION,
        complete=ended is not None and ended.why != "interrupted",
    )


def _since_restart(events: list[Event]) -> list[Event]:
    """The events after the student last started over."""
    starts = [
        place for place, event in enumerate(events) if isinstance(event, Asked) and event.request == "restart"
    ]
    return events[starts[-1] + 1 :] if starts else events


def _reports(events: list[Event]) -> dict[str, Followed]:
    """The first standing report of each step, in the order reported."""
    reports: dict[str, Followed] = {}
    for event in events:
        if isinstance(event, Followed):
            reports.setdefault(event.step, event)
        elif isinstance(event, Unfollowed):
            reports.pop(event.step, None)
    return reports


def _line(step: Step, procedure: Procedure, reports: dict[str, Followed], events: list[Event]) -> Line:
    report = reports.get(step.id)
    begins = report
    if report and step.time and step.time.from_ and step.time.from_ in reports:
        begins = reports[step.time.from_]
    seconds = None
    if report and begins:
        later = [other.start for other in reports.values() if other.start > report.start]
        speech = [event.end for event in events if isinstance(event, Heard)]
        stop = min(later, default=max(speech, default=report.end))
        seconds = round(max(0.0, stop - begins.start), 1)
    cued = [event.at for event in events if isinstance(event, Cued) and step.id in event.about]
    return Line(
        step=step.id,
        do=step.do,
        critical=step.critical,
        needed=step.when is None or report is not None,
        at=report.start if report else None,
        seconds=seconds,
        needed_seconds=step.time.at_least if step.time else None,
        prompted=report is not None and any(at < report.start for at in cued),
    )


def _critical_first(line: Line) -> bool:
    return not line.critical


def _verdict(procedure: Procedure, lines: tuple[Line, ...], missed: tuple[Line, ...]) -> tuple[bool, str]:
    """By the procedure's rule: every critical step, and enough of all."""
    needed = [line for line in lines if line.needed]
    done = len(needed) - len(missed)
    critical = [line for line in missed if line.critical]
    if critical:
        noun = "a critical step is" if len(critical) == 1 else f"{len(critical)} critical steps are"
        return False, f"Not passed yet: {noun} missing."
    share = done / len(needed)
    if share < procedure.pass_.share:
        count = f"{done} of {len(needed)} steps were done"
        return False, f"Not passed yet: {count}, {procedure.pass_.share:.0%} are needed."
    return True, f"Passed: every critical step and {done} of {len(needed)} steps were done."


def _recorded(event: Read) -> str:
    values = " over ".join(f"{value:g}" for value in event.values)
    return f"{values} {event.unit}".strip()

"""The debrief: what was done, missed, late or went wrong, and the verdict. A function of a journal."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from voicecoach.coaching.clock import seconds_needed
from voicecoach.coaching.not_right import Recorded, latest, not_right, recorded, wrong_names
from voicecoach.coaching.wording import CAUTION, CLOSER, NOT_JUDGED
from voicecoach.events import Asked, Begun, Cued, Ended, Event, Followed, Heard, Remarked, Timed, Unfollowed
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
    wrong: tuple[str, ...] = ()
    """What was not right though it was done: too short, a wrong value, a wrong side; a sentence each."""


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
    readings: tuple[Recorded, ...]
    """What was recorded, the latest of each reading."""
    wrong: tuple[Line, ...]
    """Steps that were done but not right, critical ones first."""
    counting: tuple[str, ...]
    """What went wrong in counting aloud."""
    wrong_names: tuple[str, ...]
    """Where somebody else than the resident was named, a sentence each."""
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
    readings = recorded(begun, procedure, events)
    wrong = not_right(begun, procedure, events, readings)
    lines = tuple(_line(step, reports, events, wrong.get(step.id, ())) for step in procedure.steps)
    by_id = {line.step: line for line in lines}
    missed = tuple(sorted((line for line in lines if line.needed and line.at is None), key=_critical_first))
    when = {id: report.start for id, report in reports.items()}
    pairs = tuple((by_id[need], by_id[id]) for need, id in faults(needs(procedure), when))
    mishaps = [event.about for event in events if isinstance(event, Remarked) and event.stage == "mishap"]
    ended = next((event for event in events if isinstance(event, Ended)), None)
    passed, why = _verdict(procedure, lines)
    judged = passed or heard_well(event for event in events if isinstance(event, Heard))
    return Debrief(
        procedure=procedure.id,
        title=procedure.title,
        mode=begun.mode,
        lines=lines,
        missed=missed,
        out_of_order=pairs,
        mishaps=tuple(procedure.avoided(id).do for id in dict.fromkeys(mishaps) if id),
        readings=readings,
        wrong=tuple(sorted((line for line in lines if line.wrong), key=_critical_first)),
        counting=tuple(slip for timed in latest(events, Timed).values() for slip in timed.slips),
        wrong_names=wrong_names(events),
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


def _line(step: Step, reports: dict[str, Followed], events: list[Event], wrong: tuple[str, ...]) -> Line:
    report = reports.get(step.id)
    seconds = None
    timed = latest(events, Timed).get(step.id)
    if report and timed:
        seconds = round(timed.end - timed.start, 1)
    elif report:
        later = [other.start for other in reports.values() if other.start > report.start]
        speech = [event.end for event in events if isinstance(event, Heard)]
        stop = min(later, default=max(speech, default=report.end))
        begins = reports.get(step.time.from_ or step.id, report) if step.time else report
        seconds = round(max(0.0, stop - begins.start), 1)
    return Line(
        step=step.id,
        do=step.do,
        critical=step.critical,
        needed=step.when is None or report is not None,
        at=report.start if report else None,
        seconds=seconds,
        needed_seconds=seconds_needed(step) or None,
        prompted=report is not None and any(_prompts(event, report) for event in events),
        wrong=wrong if report else (),
    )


def _prompts(event: Event, report: Followed) -> bool:
    """Whether a cue came before a report, and was about it."""
    kinds = ("missed", "lead", "answer")
    return (
        isinstance(event, Cued)
        and event.kind in kinds
        and report.step in event.about
        and event.at < report.start
    )


def _critical_first(line: Line) -> bool:
    return not line.critical


def _verdict(procedure: Procedure, lines: tuple[Line, ...]) -> tuple[bool, str]:
    """By the procedure's rule: every critical step done and right, and enough of all."""
    needed = [line for line in lines if line.needed]
    missing = [line for line in needed if line.critical and line.at is None]
    wrong = [line for line in needed if line.critical and line.wrong]
    if missing or wrong:
        parts = [(missing, "missing"), (wrong, "not right")]
        return False, f"Not passed yet: {' and '.join(_critical(*part) for part in parts if part[0])}."
    done = sum(line.at is not None and not line.wrong for line in needed)
    share = done / len(needed) if needed else 1.0
    if share < procedure.pass_.share:
        count = f"{done} of {len(needed)} steps were done"
        return False, f"Not passed yet: {count}, {procedure.pass_.share:.0%} are needed."
    return True, f"Passed: every critical step and {done} of {len(needed)} steps were done."


def _critical(lines: list[Line], what: str) -> str:
    return f"a critical step is {what}" if len(lines) == 1 else f"{len(lines)} critical steps are {what}"


_SPOKEN = 3
"""Things that are said aloud, as many as one can work on next; it stays below half a minute."""


def spoken(debrief: Debrief) -> str:
    """The debrief aloud, the most important things first, and how many more there are."""
    if not debrief.judged:
        return f"{NOT_JUDGED} {CLOSER}"
    parts = ["You passed." if debrief.passed else "You did not pass yet."]
    left, unsaid = _SPOKEN, 0
    for title, items in _spoken_items(debrief):
        said = items[:left]
        left -= len(said)
        if said:
            parts.append(f"{title}: {'; '.join(said)}.")
        if said and len(items) > len(said):
            parts.append(f"And {len(items) - len(said)} more.")
        unsaid += 0 if said else len(items)
    if unsaid:
        parts.append(f"{unsaid} more in the written debrief.")
    if debrief.passed and len(parts) == 1:
        parts.append("Every step was done, in order.")
    return " ".join(parts)


def _spoken_items(debrief: Debrief) -> list[tuple[str, list[str]]]:
    wrong = [f"{line.do}. {' '.join(line.wrong)}".rstrip(".") for line in debrief.wrong]
    unrounded = [value.why.rstrip(".") for value in debrief.readings if value.verdict == "unrounded"]
    return [
        ("Missing", [line.do for line in debrief.missed]),
        ("Not right", wrong),
        ("Too late", [required.do for required, _ in debrief.out_of_order]),
        ("Mishap", list(debrief.mishaps)),
        ("Not rounded", unrounded),
        ("Names", [name.rstrip(".") for name in debrief.wrong_names]),
    ]

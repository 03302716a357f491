"""What to work on after an attempt: the few things that matter most, each with why it matters."""

from __future__ import annotations

from collections.abc import Iterator

from voicecoach.coaching.debrief import Debrief, Line
from voicecoach.coaching.right_order import compared
from voicecoach.procedure.model import Procedure

AT_MOST = 3
_NAMES = "Whoever is called by the wrong name may get the care that is meant for somebody else."


def work_on(debrief: Debrief, procedure: Procedure) -> tuple[str, ...]:
    """At most three things, the most important first: what was, then why it matters.

    First critical steps left out, then what was done but not right, out of order, mishaps, other steps left
    out, wrong names, and what was done only after a reminder. Nothing where the attempt is not judged.
    """
    if not debrief.judged:
        return ()
    points: dict[str, str] = {}
    for about, point in _points(debrief, procedure):
        points.setdefault(about, point)
    return tuple(points.values())[:AT_MOST]


def _points(debrief: Debrief, procedure: Procedure) -> Iterator[tuple[str, str]]:
    """What each point is about, and the point; what is about the same step is one thing to work on."""
    do = {step.id: step.do for step in procedure.steps}

    def point(step: str, what: str) -> tuple[str, str]:
        return step, f"{do[step]}: {what} {procedure.step(step).why}"

    def missing(critical: bool) -> Iterator[Line]:
        return (line for line in debrief.missed if line.critical is critical)

    for line in missing(critical=True):
        yield point(line.step, "this critical step was missing.")
    for line in debrief.wrong:
        yield point(line.step, f"not right. {' '.join(line.wrong)}")
    for moved in compared(procedure, debrief).moved:
        when = "too late; it belongs before" if moved.late else "too early; it belongs after"
        yield point(moved.step, f"this came {when} “{do[moved.other]}”.")
    for avoid in procedure.avoid:
        if avoid.do in debrief.mishaps:
            yield avoid.do, f"{avoid.do}: this must not happen. {avoid.why}"
    for line in missing(critical=False):
        yield point(line.step, "this step was missing.")
    for name in debrief.wrong_names:
        yield "names", f"{name} {_NAMES}"
    for line in debrief.lines:
        if line.prompted:
            yield point(line.step, "done only after a reminder; next time by yourself.")

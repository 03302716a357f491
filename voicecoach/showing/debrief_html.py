"""The debrief as a page: one HTML file that needs nothing else, for a screen of any width and for paper."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from voicecoach.coaching.debrief import Debrief, Line, debrief
from voicecoach.coaching.work_on import work_on
from voicecoach.events import Begun, Event
from voicecoach.procedure import case
from voicecoach.procedure.model import Procedure
from voicecoach.showing.heard_words import utterances
from voicecoach.showing.marks import DONE, MISSED, OPEN, clock
from voicecoach.showing.order_drawing import OrderDrawing, order_drawing
from voicecoach.showing.templates import filled
from voicecoach.showing.timeline import Timeline, timeline

HEAD = "<!doctype html>"
"""With what a page begins."""

_READING_MARKS = {"right": DONE, "": DONE, "not scored": OPEN, "unrounded": OPEN, "wrong": MISSED}
_FRAME = 18
"""Rows on paper that title, verdict, headings and caution take together."""
_A_ROW, _HALF_A_ROW = 95, 45
"""Letters in a row on paper, and beside the time line."""
_RULE = 0.15
"""By how much a row of the table of steps is higher than others."""


@dataclass(frozen=True, slots=True)
class _Verdict:
    mark: str
    words: str
    style: str
    """good, bad or open."""


@dataclass(frozen=True, slots=True)
class _Step:
    """A row of the table of all steps."""

    mark: str
    word: str
    style: str
    do: str
    at: str
    took: str
    notes: tuple[str, ...]


def page(events: Sequence[Event]) -> str:
    """The page of an attempt, from its whole journal or what there is of it.

    Raises ValueError where the journal does not begin with `begun` or its procedure is none.
    """
    told = debrief(events)
    begun = events[0]
    assert isinstance(begun, Begun)  # or `debrief` had raised ValueError
    procedure = Procedure.model_validate(begun.procedure)
    order, time = order_drawing(procedure, told), timeline(events, told)
    points = work_on(told, procedure)
    return filled(
        "debrief.html",
        debrief=told,
        begun=begun,
        day=_day(begun.wall),
        length=clock(events[-1].at),
        case=case.read(begun.case) if begun.case else None,
        verdict=_verdict(told),
        work_on=points,
        order=order,
        timeline=time,
        readings=[(_READING_MARKS[reading.verdict], reading) for reading in told.readings],
        steps=[_step(line, told.judged) for line in told.lines],
        utterances=utterances(events, procedure),
        sheet_rows=_sheet_rows(told, points, order, time),
    )


def _sheet_rows(debrief: Debrief, points: Iterable[str], order: OrderDrawing, time: Timeline) -> int:
    """How many rows all but the words heard has on paper, as a guess, so that it fits on one sheet."""
    beside = len(order.rows) + sum(_wrapped(fault, _HALF_A_ROW) for fault in order.faults)
    steps = [f"{line.do} {' '.join(line.wrong)}" for line in debrief.lines]
    listed = [*debrief.mishaps, *debrief.counting, *debrief.wrong_names]
    listed += [f"{reading.text} {reading.why}" for reading in debrief.readings]
    rows = [_wrapped(text, _A_ROW) for text in (*points, *listed, *steps)]
    return math.ceil(_FRAME + max(beside, time.rows) + sum(rows) + _RULE * len(steps))


def _wrapped(text: str, row: int) -> int:
    return math.ceil(len(text) / row)


def _day(wall: str) -> str:
    """The beginning of an attempt for people; as it stands in the journal where that is no time."""
    try:
        begun = datetime.fromisoformat(wall)
    except ValueError:
        return wall
    return f"{begun:%B} {begun.day}, {begun.year}, {begun:%H:%M}"


def _verdict(debrief: Debrief) -> _Verdict:
    if debrief.passed:
        return _Verdict(DONE, "Passed", "good")
    return _Verdict(MISSED, "Not passed", "bad") if debrief.judged else _Verdict(OPEN, "Not judged", "open")


def _step(line: Line, judged: bool) -> _Step:
    if line.at is not None:
        mark, word, style = (MISSED, "not right", "bad") if line.wrong else (DONE, "done", "good")
    elif line.needed:
        mark, word, style = (MISSED, "missing", "bad") if judged else (OPEN, "not heard", "open")
    else:
        mark, word, style = OPEN, "not needed", "open"
    notes = [*(["critical"] if line.critical else []), *(["after a reminder"] if line.prompted else [])]
    at = clock(line.at) if line.at is not None else ""
    return _Step(mark, word, style, line.do, at, _took(line), (*notes, *line.wrong))


def _took(line: Line) -> str:
    """How long a step lasted, and how long it must where that is known."""
    if line.at is None or line.seconds is None:
        return ""
    needed = "" if line.needed_seconds is None else f" of {line.needed_seconds:.0f} s"
    return f"{line.seconds:.0f} s{needed}"

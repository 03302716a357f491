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
from voicecoach.showing.timeline import SCREENS, Room, Timeline, timeline

HEAD = "<!doctype html>"
"""With what a page begins."""

_READING_MARKS = {"right": DONE, "": DONE, "not scored": OPEN, "unrounded": OPEN, "wrong": MISSED}
_FRAME = 18
"""Rows on paper that title, verdict, headings and caution take together."""
_A_ROW = 95
"""Letters in a row on paper."""
_BESIDE = (76, 68, 60, 52, 44)
"""Letters in a row beside the time line, by how small the print is."""
_SMALLEST, _LARGEST = 5.5, 8.5
"""The print in points, as in debrief.css."""
_HIGH, _HALF_WIDE = 600.0, 275.0
"""Points for all rows, without the space between them, and for the width of the time line (A4)."""
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
    order, points = order_drawing(procedure, told), work_on(told, procedure)
    on_paper, sheet_rows = _on_paper(events, told, order, points)
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
        timelines=(*(timeline(events, told, room) for room in SCREENS), on_paper),
        readings=[(_READING_MARKS[reading.verdict], reading) for reading in told.readings],
        steps=[_step(line, told.judged) for line in told.lines],
        utterances=utterances(events, procedure),
        sheet_rows=sheet_rows,
    )


def _on_paper(
    events: Sequence[Event], debrief: Debrief, order: OrderDrawing, points: Sequence[str]
) -> tuple[Timeline, int]:
    """The time line on paper, and how many rows the sheet has: the more, the smaller is the print, and the
    more letters stand in a row."""
    for letters in _BESIDE:
        time = timeline(events, debrief, Room("paper", letters, clocks=True))
        rows = _sheet_rows(debrief, points, order, time, letters)
        # As in debrief.css: print of so many points, a letter 0.56 of it wide, beside lanes of 7.2 of it.
        size = 0.9375 * min(max(_SMALLEST, _HIGH / rows), _LARGEST)
        if letters * 0.56 * size <= _HALF_WIDE - 7.7 * size:
            break
    return time, rows


def _sheet_rows(
    debrief: Debrief, points: Iterable[str], order: OrderDrawing, time: Timeline, letters: int
) -> int:
    """How many rows all but the words heard has on paper, as a guess, so that it fits on one sheet.

    `letters` stand in a row of half the sheet.
    """
    beside = sum(_wrapped(f"{row.tag} {row.do}", letters) for row in order.rows)
    beside += sum(_wrapped(fault, letters) for fault in order.faults)
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

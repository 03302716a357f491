"""The order done beside the order needed, drawn: lines cross only where something was out of order.

Every row is as high as its words need, which only the browser knows. So each line is a drawing of its own,
that reaches from the middle of one row to the middle of another and is stretched to that: in the grid of the
page a row has two tracks, its upper and its lower half, which are of the same height.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from voicecoach.coaching.debrief import Debrief, Line
from voicecoach.coaching.right_order import BELONGS, DONE, KEPT, MISSING, Moved, Row, compared
from voicecoach.procedure.model import Procedure
from voicecoach.showing import svg
from voicecoach.showing.marks import DONE as TICK
from voicecoach.showing.marks import MISSED, OPEN, clock

EARLIER, LATER = "↑", "↓"
_WIDE = _HIGH = 100
"""Width and height of each drawing; both are stretched to what there is room for."""
_LEFT, _RIGHT = 8, 92
_FIRST = 2
"""The track with which the rows begin: above them are headings."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """One row beside the drawing."""

    state: str
    """kept, done, belongs or missing."""
    do: str
    at: str
    """When it was done; empty where it was not done here."""
    top: int
    """The first of its two tracks in the grid of the page, from 1."""
    mark: str
    tag: str
    """What is not as it should be, in a word or two; empty where nothing."""
    style: str
    """good, bad or open."""


@dataclass(frozen=True, slots=True)
class Joining:
    """What is drawn between both orders for a step."""

    top: int
    """The line of the grid at which it begins, from 1."""
    bottom: int
    """The line at which it ends."""
    drawing: Markup


@dataclass(frozen=True, slots=True)
class OrderDrawing:
    """Both orders, ready for a page."""

    rows: tuple[Drawn, ...]
    lines: tuple[Joining, ...]
    told: str
    """What the lines show, for those who cannot see them."""
    faults: tuple[str, ...]
    """What was out of order, a sentence each."""


def order_drawing(procedure: Procedure, debrief: Debrief) -> OrderDrawing:
    """Draw both orders of an attempt at a procedure."""
    both = compared(procedure, debrief)
    lines = {line.step: line for line in debrief.lines}
    moved = {one.step: one for one in both.moved}
    rows = tuple(
        _drawn(row, _FIRST + 2 * place, lines[row.step], moved.get(row.step), debrief.judged)
        for place, row in enumerate(both.rows)
    )
    faults = tuple(_fault(one, lines) for one in both.moved)
    return OrderDrawing(rows, _lines(both.rows, debrief.judged), _told(debrief, faults), faults)


def _told(debrief: Debrief, faults: tuple[str, ...]) -> str:
    told = [" ".join(faults) or "Nothing was out of order."]
    if debrief.missed:
        told.append(f"{'Missing' if debrief.judged else 'Not heard'}: {len(debrief.missed)}.")
    return " ".join(told)


def _fault(moved: Moved, lines: dict[str, Line]) -> str:
    when = "came too late. It belongs before" if moved.late else "came too early. It belongs after"
    return f"“{lines[moved.step].do}” {when} “{lines[moved.other].do}”."


def _drawn(row: Row, top: int, line: Line, moved: Moved | None, judged: bool) -> Drawn:
    at = clock(line.at) if line.at is not None and row.state != BELONGS else ""
    mark, tag, style = _marked(row.state, line, moved, judged)
    return Drawn(row.state, line.do, at, top, mark, tag, style)


def _marked(state: str, line: Line, moved: Moved | None, judged: bool) -> tuple[str, str, str]:
    """Mark, tag and style of a step in one of the two orders."""
    if state == MISSING and not judged:
        return OPEN, "not heard", "open"
    if state == MISSING:
        return MISSED, "critical, missing" if line.critical else "missing", "bad"
    if moved:
        if state == DONE:
            return MISSED, "too late" if moved.late else "too early", "bad"
        return EARLIER if moved.late else LATER, "belongs here", "bad"
    return (MISSED, "not right", "bad") if line.wrong else (TICK, "", "good")


def _lines(rows: Sequence[Row], judged: bool) -> tuple[Joining, ...]:
    tops = {(row.step, row.state): _FIRST + 2 * place for place, row in enumerate(rows)}
    lines = []
    for (step, state), top in tops.items():
        if state == KEPT:
            lines.append(Joining(top, top + 2, _joined("kept", _HIGH // 2, _HIGH // 2)))
        elif state == MISSING:
            dot = _drawing()
            _dot(dot, "dot-missing" if judged else "dot-open", _RIGHT, _HIGH // 2)
            lines.append(Joining(top, top + 2, svg.markup(dot)))
        elif state == DONE:
            there = tops[step, BELONGS]
            ends = (0, _HIGH) if top < there else (_HIGH, 0)
            lines.append(Joining(min(top, there) + 1, max(top, there) + 1, _joined("moved", *ends)))
    return tuple(lines)


def _drawing() -> svg.Element:
    return svg.hidden(viewBox=f"0 0 {_WIDE} {_HIGH}", preserveAspectRatio="none")


def _joined(kind: str, left: int, right: int) -> Markup:
    """A line from the order done to the order needed, with a dot at each end."""
    drawing, half = _drawing(), _WIDE // 2
    curve = f"C{half} {left} {half} {right} {_RIGHT} {right}"
    svg.add(drawing, "path", f"line-{kind}", d=f"M{_LEFT} {left}{curve}")
    _dot(drawing, f"dot-{kind}", _LEFT, left)
    _dot(drawing, f"dot-{kind}", _RIGHT, right)
    return svg.markup(drawing)


def _dot(drawing: svg.Element, kind: str, x: int, y: int) -> None:
    """A dot is the round end of a line without length, and so stays round where the drawing is stretched."""
    svg.add(drawing, "path", f"dot {kind}", d=f"M{x} {y}h0")
    if kind in ("dot-missing", "dot-open"):
        svg.add(drawing, "path", "dot dot-hole", d=f"M{x} {y}h0")

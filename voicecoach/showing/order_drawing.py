"""The order done beside the order needed, drawn: lines cross only where something was out of order."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from voicecoach.coaching.debrief import Debrief, Line
from voicecoach.coaching.right_order import BELONGS, DONE, KEPT, MISSING, Compared, Moved, Row, compared
from voicecoach.procedure.model import Procedure
from voicecoach.showing import svg
from voicecoach.showing.marks import DONE as TICK
from voicecoach.showing.marks import MISSED, OPEN, clock

EARLIER, LATER = "↑", "↓"
_WIDE, _HIGH = 100, 10
"""Width of the drawing, and height of a row; both are stretched to what there is room for."""
_LEFT, _RIGHT = 8, 92


@dataclass(frozen=True, slots=True)
class Drawn:
    """One row beside the drawing."""

    state: str
    """kept, done, belongs or missing."""
    do: str
    at: str
    """When it was done; empty where it was not done here."""
    mark: str
    tag: str
    """What is not as it should be, in a word or two; empty where nothing."""
    style: str
    """good, bad or open."""


@dataclass(frozen=True, slots=True)
class OrderDrawing:
    """Both orders, ready for a page."""

    rows: tuple[Drawn, ...]
    lines: Markup
    """The lines between both, as high as the rows together."""
    faults: tuple[str, ...]
    """What was out of order, a sentence each."""


def order_drawing(procedure: Procedure, debrief: Debrief) -> OrderDrawing:
    """Draw both orders of an attempt at a procedure."""
    both = compared(procedure, debrief)
    lines = {line.step: line for line in debrief.lines}
    moved = {one.step: one for one in both.moved}
    rows = tuple(_drawn(row, lines[row.step], moved.get(row.step), debrief.judged) for row in both.rows)
    faults = tuple(_fault(one, lines) for one in both.moved)
    return OrderDrawing(rows, _lines(both, debrief, faults), faults)


def _fault(moved: Moved, lines: dict[str, Line]) -> str:
    when = "came too late. It belongs before" if moved.late else "came too early. It belongs after"
    return f"“{lines[moved.step].do}” {when} “{lines[moved.other].do}”."


def _drawn(row: Row, line: Line, moved: Moved | None, judged: bool) -> Drawn:
    at = clock(line.at) if line.at is not None and row.state != BELONGS else ""
    if row.state == MISSING and not judged:
        return Drawn(row.state, line.do, at, OPEN, "not heard", "open")
    if row.state == MISSING:
        tag = "critical, missing" if line.critical else "missing"
        return Drawn(row.state, line.do, at, MISSED, tag, "bad")
    if moved:
        if row.state == DONE:
            return Drawn(row.state, line.do, at, MISSED, "too late" if moved.late else "too early", "bad")
        return Drawn(row.state, line.do, at, EARLIER if moved.late else LATER, "belongs here", "bad")
    if line.wrong:
        return Drawn(row.state, line.do, at, MISSED, "not right", "bad")
    return Drawn(row.state, line.do, at, TICK, "", "good")


def _lines(both: Compared, debrief: Debrief, faults: tuple[str, ...]) -> Markup:
    told = [" ".join(faults) or "Nothing was out of order."]
    if debrief.missed:
        told.append(f"{'Missing' if debrief.judged else 'Not heard'}: {len(debrief.missed)}.")
    height = max(1, len(both.rows)) * _HIGH
    drawing = svg.drawing(
        "order",
        "The order done beside the order needed",
        " ".join(told),
        viewBox=f"0 0 {_WIDE} {height}",
        preserveAspectRatio="none",
    )
    middle = {(row.step, row.state): (place + 0.5) * _HIGH for place, row in enumerate(both.rows)}
    for (step, state), y in middle.items():
        if state == KEPT:
            _joined(drawing, "kept", y, y)
        elif state == MISSING:
            _dot(drawing, "dot-missing" if debrief.judged else "dot-open", _RIGHT, y)
        elif state == DONE:
            _joined(drawing, "moved", y, middle[step, BELONGS])
    return svg.markup(drawing)


def _joined(drawing: svg.Element, kind: str, left: float, right: float) -> None:
    """A line from the order done to the order needed, with a dot at each end."""
    half = _WIDE // 2
    curve = f"C{half} {left:g} {half} {right:g} {_RIGHT} {right:g}"
    svg.add(drawing, "path", f"line-{kind}", d=f"M{_LEFT} {left:g}{curve}")
    _dot(drawing, f"dot-{kind}", _LEFT, left)
    _dot(drawing, f"dot-{kind}", _RIGHT, right)


def _dot(drawing: svg.Element, kind: str, x: float, y: float) -> None:
    """A dot is the round end of a line without length, and so stays round where the drawing is stretched."""
    svg.add(drawing, "path", f"dot {kind}", d=f"M{x} {y:g}h0")
    if kind in ("dot-missing", "dot-open"):
        svg.add(drawing, "path", "dot dot-hole", d=f"M{x} {y:g}h0")

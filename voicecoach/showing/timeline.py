"""The time line of an attempt, drawn downwards: lanes for speech, timed steps, the coach and the steps."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, pairwise
from statistics import mean
from unicodedata import east_asian_width

from markupsafe import Markup

from voicecoach.coaching.debrief import Debrief, Line
from voicecoach.coaching.not_right import latest
from voicecoach.events import Asked, Event, Heard, Timed
from voicecoach.records.captions import Said, coach
from voicecoach.showing import svg
from voicecoach.showing.marks import DONE, MISSED, clock, harmless

COACH, AGAIN = "◆", "↺"
PITCH = 16.0
"""Distance of two labels, in units of the drawing."""
_LEAST = 8 * PITCH
_TICKS = (5, 10, 15, 30, 60, 120, 300, 600, 1200, 1800, 3600)
_MOST_TICKS = 12
_SPEECH, _TIMED, _COACH, _STEPS, _WIDE = 38.0, 51.0, 64.0, 77.0, 94.0
"""Where the middle of each lane lies, from the left; at the right of the steps lines lead to the labels."""
_THICK, _THIN = 8.0, 3.0
"""How thick bars are."""


@dataclass(frozen=True, slots=True)
class Label:
    """A line of text beside the lanes."""

    y: float
    """Its middle, in units of the drawing."""
    at: float
    """Seconds."""
    mark: str
    text: str
    note: str
    """What is to be said of it besides; empty where nothing."""
    kind: str
    """step, wrong, coach or again."""
    lines: int
    """How many rows it takes."""

    @property
    def clock(self) -> str:
        """When it was, as mm:ss."""
        return clock(self.at)

    @property
    def place(self) -> float:
        """Its middle, in rows of the list beside the drawing."""
        return round(self.y / PITCH, 3)


@dataclass(frozen=True, slots=True)
class Room:
    """Where a time line is shown, and what room there is for its labels."""

    name: str
    """desk, phone or paper."""
    letters: int
    """Letters that surely stand in a row of a label: fewer than usual ones, which are narrower."""
    clocks: bool
    """Whether the time stands before each label."""


SCREENS = Room("desk", 62, clocks=True), Room("phone", 24, clocks=False)


@dataclass(frozen=True, slots=True)
class Timeline:
    """The time line, ready for a page."""

    room: str
    """Where it is shown."""
    lanes: Markup
    labels: tuple[Label, ...]
    rows: float
    """How high it is, in rows."""
    timed: bool
    """Whether a timed step is drawn."""


def timeline(events: Sequence[Event], debrief: Debrief, room: Room) -> Timeline:
    """Draw the time line of an attempt from its journal and debrief, as there is room for its words."""
    again = [event.at for event in events if isinstance(event, Asked) and event.request == "restart"]
    since = [event for event in events if event.at > again[-1]] if again else events
    timed = latest(since, Timed)
    length = max(1.0, events[-1].at)
    said = [one for one in coach(events) if one.start < length]
    labels = _labels(debrief, said, again, room)
    height = max(_LEAST, 1.12 * PITCH * (sum(label.lines for label in labels) + 1))
    scale = (height - PITCH) / length
    labels = _spread(labels, scale, height)
    speech = [event for event in events if isinstance(event, Heard)]
    drawing = svg.drawing(
        f"timeline-{room.name}",
        "Time line",
        f"{clock(length)} long. Utterances: {len(speech)}. Cues of the coach: {len(said)}.",
        viewBox=f"0 0 {_WIDE:g} {height:g}",
    )
    shown = [(line, timed[line.step]) for line in debrief.lines if line.at is not None and line.step in timed]
    _ticks(drawing, length, scale, height, (_SPEECH, *([_TIMED] if shown else []), _COACH, _STEPS))
    for heard in speech:
        bar = _bar(drawing, "speech", _SPEECH, _y(heard.start, scale), _y(heard.end, scale))
        svg.add(bar, "title", "", heard.text)
    for line, time in shown:
        _timed(drawing, line, time, scale)
    for one in said:
        _bar(drawing, "coach", _COACH, _y(one.start, scale), _y(min(one.end, length), scale), _THIN)
    for label in labels:
        _led(drawing, label, _y(label.at, scale))
    return Timeline(room.name, svg.markup(drawing), labels, height / PITCH, bool(shown))


def _y(at: float, scale: float) -> float:
    """Where a time in seconds lies in the drawing, half a row below its top."""
    return PITCH / 2 + at * scale


def _labels(debrief: Debrief, said: Sequence[Said], again: Sequence[float], room: Room) -> tuple[Label, ...]:
    """All labels in the order of time, not yet placed."""
    steps = [_step(line, line.at) for line in debrief.lines if line.at is not None]
    cues = [Label(0.0, one.start, COACH, one.text, "", "coach", 1) for one in said]
    starts = [Label(0.0, at, AGAIN, "Started over", "", "again", 1) for at in again]
    labels = sorted((*steps, *cues, *starts), key=lambda label: label.at)
    return tuple(replace(label, lines=_rows(label, room)) for label in labels)


def _step(line: Line, at: float) -> Label:
    note = ""
    if line.needed_seconds is not None and line.seconds is not None:
        note = f"{line.seconds:.0f} s of {line.needed_seconds:.0f} s"
    if line.wrong:
        return Label(0.0, at, MISSED, line.do, note or "not right", "wrong", 1)
    return Label(0.0, at, DONE, line.do, note, "step", 1)


def _rows(label: Label, room: Room) -> int:
    """How many rows a label takes at most."""
    words = f"{label.clock if room.clocks else ''} {label.mark} {label.note} {harmless(label.text)}"
    # A letter of a wide script is as wide as two; a mark that stands for one is not broken.
    wide = "".join(letter * (1 + (east_asian_width(letter) in "WF")) for letter in words)
    lines = len(textwrap.wrap(wide, room.letters, break_on_hyphens=False))
    # A browser breaks a word only where it begins a row.
    return max(1, lines + any(len(word) > room.letters for word in wide.split()))


def _spread(labels: Sequence[Label], scale: float, height: float) -> tuple[Label, ...]:
    """Each label as near to its time as the others leave room: the least squares of how far all are moved."""
    if not labels:
        return ()
    # How far each lies at least below the first, from middle to middle.
    below = list(accumulate(((a.lines + b.lines) * PITCH / 2 for a, b in pairwise(labels)), initial=0.0))
    runs: list[list[float]] = []
    for label, least in zip(labels, below, strict=True):
        # Without the room that labels need, they only must not change places: isotonic regression, by pooling
        # adjacent violators.
        runs.append([_y(label.at, scale) - least])
        while len(runs) > 1 and mean(runs[-2]) >= mean(runs[-1]):
            runs[-2:] = [runs[-2] + runs[-1]]
    free = (mean(run) for run in runs for _ in run)
    least, most = labels[0].lines * PITCH / 2, height - labels[-1].lines * PITCH / 2 - below[-1]
    places = [min(max(place, least), most) + its for place, its in zip(free, below, strict=True)]
    return tuple(replace(label, y=y) for label, y in zip(labels, places, strict=True))


def _ticks(drawing: svg.Element, length: float, scale: float, height: float, lanes: Iterable[float]) -> None:
    """The clock at the left, and a thin line across the lanes at each of its times."""
    step = next((step for step in _TICKS if length / step <= _MOST_TICKS), _TICKS[-1])
    for x in lanes:
        svg.add(drawing, "path", "lane", d=f"M{x:g} 0V{height:g}")
    for number in range(int(length // step) + 1):
        y = _y(number * step, scale)
        svg.add(drawing, "path", "tick", d=f"M30 {y:.1f}H{_STEPS + 5:g}")
        svg.add(drawing, "text", "time", clock(number * step), x=27, y=y + 3, text_anchor="end")


def _bar(
    drawing: svg.Element, kind: str, x: float, top: float, bottom: float, thick: float = _THICK
) -> svg.Element:
    """A bar in a lane, never so short that it cannot be seen."""
    high = max(2.0, bottom - top)
    return svg.add(drawing, "rect", kind, x=x - thick / 2, y=top, width=thick, height=high, rx=1.5)


def _timed(drawing: svg.Element, line: Line, time: Timed, scale: float) -> None:
    """How long a timed step lasted, and a mark at the time that it needed."""
    top, bottom = _y(time.start, scale), _y(time.end, scale)
    needed = _y(time.start + (line.needed_seconds or 0.0), scale)
    bar = _bar(drawing, "timed-wrong" if line.wrong else "timed", _TIMED, top, bottom)
    svg.add(bar, "title", "", f"{line.do}: {time.end - time.start:.0f} s of {line.needed_seconds or 0:.0f} s")
    if needed > bottom:
        _bar(drawing, "timed-lacking", _TIMED, bottom, needed)
    svg.add(drawing, "path", "timed-needed", d=f"M{_TIMED - 7:g} {needed:.1f}h14")


def _led(drawing: svg.Element, label: Label, y: float) -> None:
    """What a label is about, in its lane, and a line that leads to the label."""
    x = _STEPS if label.kind in ("step", "wrong") else _COACH
    svg.add(
        drawing, "path", f"lead lead-{label.kind}", d=f"M{x:g} {y:.1f}L{_WIDE - 8:g} {label.y:.1f}H{_WIDE:g}"
    )
    if label.kind in ("step", "wrong"):
        svg.add(drawing, "circle", f"node-{label.kind}", cx=x, cy=y, r=4)
    else:
        svg.add(drawing, "path", f"node-{label.kind}", d=f"M{x:g} {y - 5:.1f}l5 5l-5 5l-5-5z")

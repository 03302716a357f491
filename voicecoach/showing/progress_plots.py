"""The plots of progress and readiness."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import shorten
from typing import Any

from markupsafe import Markup
from matplotlib.axes import Axes

from voicecoach.records.fading import ALONE
from voicecoach.records.progress import Progress
from voicecoach.records.results import StepResult
from voicecoach.showing.figures import COLORS, figure, markup
from voicecoach.showing.marks import harmless

STEPS_OF = 12
"""Attempts in the plot of steps, the latest."""
COURSE_OF = 30
"""Attempts in the plot of the course, the latest."""
_LETTERS = 57
"""So many letters of a label have room."""


def _full(marker: str, color: str, size: float) -> dict[str, Any]:
    return {"marker": marker, "s": size, "color": COLORS[color], "linewidths": 0, "clip_on": False}


def _line(marker: str, color: str, size: float) -> dict[str, Any]:
    return {"marker": marker, "s": size, "color": COLORS[color], "linewidths": 1.3, "clip_on": False}


def _hollow(marker: str, color: str, size: float) -> dict[str, Any]:
    edge = {"facecolors": COLORS["page"], "edgecolors": COLORS[color], "linewidths": 1.0}
    return {"marker": marker, "s": size, "clip_on": False, **edge}


_STATES = {
    "good": _full("o", "good", 17),
    "cue": _hollow("o", "open", 15),
    "late": _full("^", "open", 20),
    "wrong": _line("x", "bad", 14),
    "missed": _line("_", "bad", 20),
}
_ATTEMPTS = {
    "passed": _full("o", "good", 22),
    "failed": _line("x", "bad", 18),
    "led": _hollow("s", "quiet", 15),
}


@dataclass(frozen=True, slots=True)
class Row:
    """One thing with a share and its range."""

    label: str
    value: float | None
    """0 to 1; None where nothing is known."""
    low: float
    high: float
    sure: bool = True
    """False where the range is too wide to name a share."""


def ranges(name: str, title: str, rows: Sequence[Row]) -> Markup:
    """Each thing with a line for its range and a dot for its share, under its label."""
    with figure(0.34 * len(rows) + 0.3, 0.08) as (drawing, [axes]):
        for place, row in enumerate(rows):
            label = shorten(harmless(row.label), _LETTERS, placeholder=" …")
            axes.text(0, place - 0.14, label, fontsize=8, va="bottom", ha="left")
        _ranges(axes, [(place + 0.08, row) for place, row in enumerate(rows)])
        axes.set_ylim(len(rows) - 0.5, -0.7)
        axes.set_yticks([])
        _percent(axes)
        told = "; ".join(f"{row.label}: {_told(row)}" for row in rows)
        return markup(drawing, name, title, told)


def course(name: str, one: Progress) -> Markup:
    """How the share of good steps went from attempt to attempt, and what it came to lately."""
    first, tries = max(0, len(one.tries) - COURSE_OF), len(one.tries)
    alone = [place for place, result in enumerate(one.tries) if result.mode in ALONE]
    with figure(1.5, 0.42) as (drawing, [axes]):
        trend = [pair for pair in zip(alone, one.trend, strict=True) if pair[0] >= first]
        axes.plot(
            [place + 1 for place, _ in trend],
            [value for _, value in trend],
            color=COLORS["line"],
            linewidth=1.4,
            zorder=1,
        )
        for kind, style in _ATTEMPTS.items():
            places = [place for place in range(first, tries) if _kind(one, place) == kind]
            if places:
                axes.scatter(
                    [place + 1 for place in places], [one.good[place] for place in places], zorder=2, **style
                )
        axes.set_ylim(0, 1)
        axes.set_yticks([0, 0.5, 1], ["0%", "50%", "100%"])
        axes.grid(axis="y")
        axes.set_xlim(first + 0.5, max(tries, first + 6) + 0.5)
        axes.set_xticks(sorted({first + 1, (first + 1 + tries) // 2, tries}))
        told = "; ".join(
            f"attempt {place + 1}, {one.tries[place].mode}: {one.good[place]:.0%}"
            for place in range(first, tries)
        )
        return markup(drawing, name, f"{one.title}: share of good steps in each attempt", told)


def steps(name: str, one: Progress) -> Markup:
    """What became of each step in the latest attempts, and how often it was good in all and lately."""
    first, rows = max(0, len(one.tries) - STEPS_OF), len(one.steps)
    with figure(0.2 * rows + 0.34, 0.25, (1.2, 1.0)) as (drawing, [marks, shares]):
        for state, style in _STATES.items():
            spots = [
                (attempt, place)
                for place, step in enumerate(one.steps)
                for attempt, result in enumerate(step.history[first:])
                if result is not None and result.needed and state_of(result) == state
            ]
            if spots:
                marks.scatter(*zip(*spots, strict=True), **style)
        shown = [Row(step.do, step.good.value, step.good.low, step.good.high) for step in one.steps]
        _ranges(shares, list(enumerate(shown)))
        lately = [(step.lately.value, place) for place, step in enumerate(one.steps) if step.lately.of]
        if lately:
            shares.scatter(*zip(*lately, strict=True), zorder=3, **_hollow("d", "ink", 16))
        marks.set_ylim(rows - 0.4, -0.6)
        marks.set_yticks(range(rows), [str(place + 1) for place in range(rows)])
        marks.set_xlim(-0.6, STEPS_OF - 0.4)
        letters = [result.mode[:1].upper() for result in one.tries[first:]]
        marks.set_xticks(range(len(letters)), letters)
        _percent(shares)
        told = "; ".join(
            f"{place}. {step.do}: {step.good.well:.0f} of {step.good.of:.0f}"
            for place, step in enumerate(one.steps, 1)
        )
        return markup(drawing, name, f"{one.title}: how often each step was good", told)


def state_of(result: StepResult) -> str:
    """What became of a needed step, the gravest first: missed, wrong, late, cue or good."""
    if not result.done:
        return "missed"
    if not result.right:
        return "wrong"
    if not result.in_order:
        return "late"
    return "good" if result.unprompted else "cue"


def _kind(one: Progress, place: int) -> str:
    """Whether an attempt was passed alone, failed alone, or led by the coach."""
    result = one.tries[place]
    if result.mode not in ALONE:
        return "led"
    return "passed" if result.passed else "failed"


def _ranges(axes: Axes, rows: Sequence[tuple[float, Row]]) -> None:
    """Lines for ranges and dots for shares, at these places; a dot is hollow where the share is not sure."""
    for sure, color, style in (
        (True, "good", _full("o", "good", 20)),
        (False, "line", _hollow("o", "line", 16)),
    ):
        some = [(y, row) for y, row in rows if (row.sure and row.value is not None) is sure]
        if some:
            places, lows, highs = zip(*((y, row.low, row.high) for y, row in some), strict=True)
            axes.hlines(places, lows, highs, COLORS[color], linewidth=1.5, capstyle="round", zorder=1)
        dots = [(row.value, y) for y, row in some if row.value is not None]
        if dots:
            axes.scatter(*zip(*dots, strict=True), zorder=2, **style)


def _percent(axes: Axes) -> None:
    """An axis of percent across the figure."""
    axes.set_xlim(0, 1)
    axes.set_xticks([0, 0.5, 1], ["0%", "50%", "100%"])
    axes.grid(axis="x")


def _told(row: Row) -> str:
    value = "nothing known" if row.value is None else f"{row.value:.0%}"
    return f"{value}, {row.low:.0%} to {row.high:.0%}"

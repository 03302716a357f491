"""Progress and readiness as a page: one HTML file that needs nothing else, for any screen and for paper."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from markupsafe import Markup

from voicecoach.coaching.wording import CAUTION
from voicecoach.records.intervals import Share
from voicecoach.records.progress import Progress, StepProgress
from voicecoach.records.readiness import ProcedureReadiness, Readiness
from voicecoach.showing import progress_plots as plots
from voicecoach.showing import progress_words as words
from voicecoach.showing.progress_plots import Row
from voicecoach.showing.templates import filled


@dataclass(frozen=True, slots=True)
class _Cell:
    """A figure with what stands under it."""

    name: str
    text: str
    under: str = ""


@dataclass(frozen=True, slots=True)
class _Row:
    """A procedure in a table of procedures."""

    title: str
    cells: tuple[_Cell, ...]
    id: str
    """That of its section; empty where it has none."""


@dataclass(frozen=True, slots=True)
class _Step:
    """A row of the table of steps."""

    do: str
    critical: bool
    cells: tuple[_Cell, ...]
    timing: str


@dataclass(frozen=True, slots=True)
class _Procedure:
    """All that is shown of one procedure."""

    id: str
    title: str
    attempts: str
    facts: tuple[_Cell, ...]
    course: Markup
    steps_drawn: Markup
    steps: tuple[_Step, ...]


@dataclass(frozen=True, slots=True)
class _Ready:
    """All that is shown of readiness."""

    test: str
    verdict: str
    untried: str
    drawn: Markup
    rows: tuple[_Row, ...]
    lowering: tuple[tuple[str, str], ...]


def page(found: Sequence[Progress], student: str, ready: Readiness | None = None) -> str:
    """The page of a student's progress, and of the readiness where that is given.

    `student` is the code; empty for the attempts of nobody in particular.
    """
    tries = [one for progress in found for one in progress.tries]
    days = sorted(one.day for one in tries)
    # Of procedures of which something is counted, where on the page they are.
    places = {one.procedure: f"p{number}" for number, one in enumerate(found, 1) if one.steps}
    return filled(
        "progress.html",
        student=student,
        attempts=words.count(len(tries), "attempt"),
        left_out=sum(one.left_out for one in found),
        days=_days(days[0], days[-1]) if days else "",
        ready=_ready(ready, places) if ready else None,
        overview=_overview(found) if len(found) > 1 else None,
        listed=[_Row(one.title, _facts(one), places.get(one.procedure, "")) for one in found],
        procedures=[_procedure(places[one.procedure], one) for one in found if one.procedure in places],
        notes=(*words.OF_PROGRESS, *(words.OF_READINESS if ready else ())),
        caution=CAUTION,
    )


def _ready(found: Readiness, places: Mapping[str, str]) -> _Ready:
    whole = [("The whole test", found.chance)]
    drawn = [
        Row(title, chance.value, chance.low, chance.high, chance.known)
        for title, chance in (*whole, *((one.title, one.chance) for one in found.procedures))
    ]
    return _Ready(
        test=words.test(found),
        verdict=words.verdict(found),
        untried=words.untried(found),
        drawn=plots.ranges("readiness-plot", "Chance of passing", drawn),
        rows=tuple(_Row(one.title, _chances(one), places.get(one.procedure, "")) for one in found.procedures),
        lowering=tuple(words.lowering(found)),
    )


def _chances(one: ProcedureReadiness) -> tuple[_Cell, ...]:
    return (
        _Cell("alone", words.alone(one)),
        _Cell("chance", words.chance(one.chance), words.between(one.chance.low, one.chance.high)),
        _Cell("if sure", f"+{words.points(one.gain)}"),
    )


def _overview(found: Sequence[Progress]) -> Markup:
    """How often each procedure is passed lately."""
    rows = [Row(one.title, one.lately.value, one.lately.low, one.lately.high) for one in found]
    return plots.ranges("overview-plot", "Passed lately, alone", rows)


def _facts(one: Progress) -> tuple[_Cell, ...]:
    last = f"{one.last:%b} {one.last.day}, {one.last.year}" if one.last else words.NOTHING
    return (
        _counted("passed", one.passed),
        _Cell("lately, alone", *_split(one.lately)),
        _Cell("trend", words.CHANGES[one.change] or words.NOTHING),
        _Cell("last time", last),
    )


def _procedure(id: str, one: Progress) -> _Procedure:
    return _Procedure(
        id=id,
        title=one.title,
        attempts=words.attempts(one),
        facts=_facts(one),
        course=plots.course(f"{id}-course", one),
        steps_drawn=plots.steps(f"{id}-steps", one),
        steps=tuple(map(_step, one.steps)),
    )


def _step(one: StepProgress) -> _Step:
    cells = (
        _counted("done", one.done),
        _counted("in order", one.in_order),
        _counted("no cue", one.unprompted),
        _counted("right", one.right),
        _Cell("good", *_split(one.good)),
        _Cell("lately", *_split(one.lately)),
    )
    return _Step(one.do, one.critical, cells, words.seconds(one.timing) if one.timing else "")


def _counted(name: str, share: Share) -> _Cell:
    return _Cell(name, words.times(share), words.between(share.low, share.high) if share.of else "")


def _split(share: Share) -> tuple[str, str]:
    """A share, and its range."""
    if share.value is None:
        return words.NOTHING, ""
    return words.percent(share.value), words.between(share.low, share.high)


def _days(first: date, last: date) -> str:
    """From one day to another."""
    begins, ends = (f"{day:%B} {day.day}, {day.year}" for day in (first, last))
    return begins if begins == ends else f"{begins} to {ends}"

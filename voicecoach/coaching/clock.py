"""The clock of timed steps: from when to when each lasted, by the times of the words.

A timed step begins when the student says so, at a start mark if one follows (`starting now`), or, told only
afterwards (`i've rubbed them for twenty seconds`), in the silence before. It is over when the student says
so, or begins to say a step that needs it done or that is timed itself.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass

from voicecoach.coaching.wording import HOW_LONG, duration
from voicecoach.events import Heard, Timed, Word
from voicecoach.following import said_times
from voicecoach.following.counting import Number, count, counted
from voicecoach.following.numbers import amounts
from voicecoach.procedure.model import Procedure, Step
from voicecoach.procedure.order import Needs, needs

SLACK = 0.5
"""Seconds by which a step may seem too short: the times of words are no more certain than that."""
_SILENCE = 3.0
"""Seconds of silence before a step is told of afterwards in which it may have been done."""
_COUNTED_IN = 12.0
"""The same in which something may have been counted, of which a number tells the result."""
_SHARE = 0.25
"""Share of the time that a step takes from which a silence may be that step, where nothing explains it."""
_SILENT, _AS_LONG = 3.0, 3.0
"""How likely it is then, in log odds, and how much more where the silence is as long as the step."""
_ALOUD = 5
"""How far who counts aloud must have come for it to be the time of a step."""
_LATER = 1.0
"""Seconds after a report from which what is said may tell, at the end of an attempt, that it went on."""
_AFTER = 4.0
"""Seconds from a mark that it is over in which the student may say how long it was."""


def seconds_needed(step: Step) -> float:
    """How long a step must last; 0 where it is not timed."""
    return max(step.time.at_least if step.time else 0.0, step.count.for_ if step.count else 0.0)


def lasted(timed: Timed, step: Step, times: str) -> bool | None:
    """Whether a timed step lasted; `times` is that of `Begun`.

    None where the times are made up and the student said nothing of it.
    """
    needed = seconds_needed(step)
    by_clock = timed.end - timed.start >= needed - SLACK
    if times == "clock":
        return by_clock
    enough = max(timed.said, counted_seconds(timed, step)) >= needed
    if times == "unknown":
        # Who counts a few fingers aloud says nothing of how long it lasted.
        return enough if enough or timed.said else None
    return enough or by_clock


def counted_seconds(timed: Timed, step: Step) -> int:
    """How far seconds were counted aloud; 0 where something else was."""
    return 0 if step.count else timed.counted


def too_short(timed: Timed, step: Step, times: str) -> str:
    """What the coach says of a timed step that did not last."""
    needed = seconds_needed(step)
    wanted = f"It takes {duration(needed)}."
    if times != "clock":
        return f"You said {duration(timed.said)}. {wanted}" if timed.said else HOW_LONG
    was = duration(max(1.0, timed.end - timed.start))
    if timed.said >= needed:
        return f"You said {duration(timed.said)}, but it was {was}."
    if (counted := counted_seconds(timed, step)) >= needed:
        return f"You counted to {counted} in {was}. {wanted}"
    return f"That was {was}. {wanted}"


@dataclass(frozen=True, slots=True)
class _Report:
    step: str
    start: float
    end: float
    said: str


@dataclass(frozen=True, slots=True)
class _Span:
    start: float
    end: float
    said_over: bool
    """True where the student said that it is over."""


class Clock:
    """Keeps the time of all timed steps of one attempt."""

    def __init__(self, procedure: Procedure) -> None:
        self._needed = {step.id: seconds for step in procedure.steps if (seconds := seconds_needed(step))}
        self._from = {step.id: step.time.from_ for step in procedure.steps if step.time and step.time.from_}
        self._counted = {step.id for step in procedure.steps if step.count}
        self._needs = needs(procedure)
        self._ends = _ends(self._needs, self._needed)
        self.start_over()

    def start_over(self) -> None:
        """Forget all that was said."""
        self._reports: list[_Report] = []
        self._spoken: list[float] = []
        """Seconds at which each utterance began."""
        self._words: list[Word] = []
        self._numbers: list[Number] = []
        self._starts: list[float] = []
        self._overs: list[float] = []
        self._results: list[float] = []
        """Seconds at which the student begins to say a number after a silence: what was counted in it."""
        self._kept: dict[str, _Span] = {}
        self._told: dict[str, Timed] = {}

    @property
    def times(self) -> bool:
        """Whether any step is timed."""
        return bool(self._needed)

    def heard(self, heard: Heard) -> None:
        """Somebody spoke."""
        if not heard.words:
            return
        silent = heard.start - (self._words[-1].end if self._words else 0.0)
        self._spoken.append(heard.start)
        self._words += heard.words
        counting = self._numbers and heard.start - self._numbers[-1].end <= _COUNTED_IN
        self._numbers += counted(heard.words)
        self._starts += said_times.starts(heard.words)
        self._overs += said_times.overs(heard.words)
        # A number between other words, after a silence or after counting aloud, is what was counted.
        whole = counting and not counted(heard.words)
        self._results += [heard.start] if (whole or _is_result(heard, silent)) and amounts(heard.text) else []

    def reported(self, step: str, start: float, end: float, said: str) -> None:
        """A step was reported, in words from `start` to `end` in seconds."""
        self._reports.append(_Report(step, start, end, said))

    def repeated(self, step: str, start: float, end: float, said: str) -> None:
        """It was once more; what is said of a timed step after another was begun may be about that one."""
        begun = [report.step for report in self._reports if report.step in self._needed]
        if step not in self._needed or begun[-1:] == [step]:
            self.reported(step, start, end, said)

    def retracted(self, step: str) -> None:
        """It was not."""
        self._reports = [report for report in self._reports if report.step != step]

    def keep(self, step: str, start: float, end: float) -> None:
        """The coach itself kept the time of a step."""
        self._kept[step] = _Span(start, end, said_over=True)

    def running(self) -> str:
        """The timed step that was begun last and is not over; empty where none is."""
        begun = [report.step for report in self._reports if report.step in self._needed]
        return next((step for step in reversed(begun) if not self._spans(step, None)), "")

    def waited(self, heard: Heard) -> tuple[frozenset[str], float]:
        """Timed steps that may have been done in the silence before an utterance, none of which was reported.

        And how likely that is, in log odds: the nearer the silence comes to the time they take, the more.
        """
        silent = heard.start - (self._words[-1].end if self._words else 0.0)
        steps = [step for step in self._idle() if silent >= _SHARE * self._needed[step]]
        share = min(1.0, max((silent / self._needed[step] for step in steps), default=0.0))
        return frozenset(steps), _SILENT + _AS_LONG * share

    def counts_on(self, heard: Heard) -> bool:
        """Whether an utterance goes on counting aloud, and so reports nothing."""
        numbers = counted(heard.words)
        if not numbers or not self._numbers:
            return False
        last, first = self._numbers[-1], numbers[0]
        return abs(first.value - last.value) <= 2 and first.start - last.end <= _COUNTED_IN

    def counted_aloud(self) -> frozenset[str]:
        """Timed steps that may be under way, since somebody counts aloud and none was reported."""
        began = max((report.end for report in self._reports), default=0.0)
        aloud = count(number for number in self._numbers if number.start >= began)
        return self._idle() if aloud.reached >= _ALOUD else frozenset()

    def tells(self, heard: Heard) -> bool:
        """Whether an utterance says that something is over, how long it was or what was counted."""
        over = any(heard.start <= mark <= heard.end for mark in (*self._overs, *self._results))
        return over or bool(said_times.said_seconds(heard.text))

    def _idle(self) -> frozenset[str]:
        """The timed steps that were not reported, where none is under way."""
        if self.running():
            return frozenset()
        return frozenset(self._needed) - {report.step for report in self._reports}

    def settle(self, at: float, over: bool = False) -> list[Timed]:
        """What is known now of the steps that are over, and was not known before; `over` ends all at `at`."""
        out = []
        for step in self._needed:
            spans = self._spans(step, at if over else None)
            if not spans:
                continue
            best = max(spans, key=lambda span: span.end - span.start)
            timed = self._timed(at, step, best)
            before = self._told.get(step)
            if before is None or timed.end - timed.start > before.end - before.start + 1e-3:
                self._told[step] = timed
                out.append(timed)
        return out

    def _timed(self, at: float, step: str, span: _Span) -> Timed:
        numbers = [number for number in self._numbers if span.start - 1 <= number.start <= span.end + 1]
        counting = count(numbers)
        until = span.end + (_AFTER if span.said_over else 0.0)
        about = " ".join(word.text for word in self._words if span.start - 1e-3 <= word.start < until)
        reports = [report for report in self._reports if report.step == step and report.start <= until]
        said = max(map(said_times.said_seconds, (about, *(report.said for report in reports))))
        return Timed(at, step, span.start, span.end, counting.reached, counting.slips, said)

    def _spans(self, step: str, over_at: float | None) -> list[_Span]:
        """From when to when a step lasted, once for each time that it was begun."""
        own = [report for report in self._reports if report.step == step]
        begun = own
        if step in self._from:
            begun = [report for report in self._reports if report.step == self._from[step]]
            begun = begun if own else []
        spans = [self._kept[step]] if step in self._kept else []
        for report in begun:
            last = next((one for one in own if one.start >= report.start), None)
            span = self._span(step, report, last or report, over_at)
            spans += [span] if span else []
        return spans

    def _span(self, step: str, begun: _Report, own: _Report, over_at: float | None) -> _Span | None:
        """From when to when a step lasted that was begun with one report; None while it goes on."""
        if begun is own and (before := self._before(own)) is not None:
            return _Span(before, own.start, said_over=True)
        if begun is not own and not said_times.goes_on(own.said):
            # `they're dry now`: whoever reports such a step without more to come says that it is over.
            return _Span(begun.start, own.start, said_over=True)
        least = own.end if begun is own else own.start - 1e-3
        over = min((mark for mark in self._said_over(step) if mark >= least), default=math.inf)
        left = self._left(step, own)
        end = min(over, left)
        if end == math.inf:
            if over_at is None:
                return None
            later = [start for start in self._spoken if start > own.end + _LATER]
            end = later[-1] if later else max(over_at, own.end)
        marks = [mark for mark in self._starts if begun.start <= mark < end]
        # Who starts over has the last mark count.
        return _Span(marks[-1] if marks and begun is own else begun.start, end, said_over=over <= left)

    def _said_over(self, step: str) -> list[float]:
        """When the student began to say that a step is over, in seconds."""
        results = (mark for mark in self._results if not self._goes_on(mark)) if step in self._counted else ()
        return [*self._overs, *results]

    def _goes_on(self, mark: float) -> bool:
        """Whether the number said at `mark` was no result, since the next one follows it."""
        said = [number for number in self._numbers if number.start >= mark - 1e-3][:2]
        return len(said) == 2 and said[1].value == said[0].value + 1

    def _before(self, told: _Report) -> float | None:
        """When a step began that is told of afterwards: when the words before were over; None for others."""
        marks = (mark for mark in self._said_over(told.step) if told.start - 1e-3 <= mark <= told.end)
        if not said_times.tells_afterwards(told.said) and next(marks, None) is None:
            return None
        before = max((word.end for word in self._words if word.end <= told.start), default=0.0)
        silent = told.start - before >= _SILENCE
        return before if silent or said_times.said_seconds(told.said) else None

    def _left(self, step: str, own: _Report) -> float:
        """When the student went on to what ends a step, in seconds; who says to start does not end it."""
        ending = [
            report
            for report in self._reports
            if report.step in self._ends[step]
            and report.start > own.start
            and not any(report.start <= mark <= report.end for mark in self._starts)
        ]
        if not ending:
            return math.inf
        first = min(ending, key=lambda report: report.start)
        if step in self._needs.get(first.step, ()) or first.step in self._needed:
            return first.start
        # The step between them was not understood: most likely it is what was said before this one.
        between = [start for start in self._spoken if own.end < start < first.start - 1e-3]
        return between[-1] if between else first.start


def _is_result(heard: Heard, silent: float) -> bool:
    """Whether an utterance after `silent` seconds is no part of counting aloud."""
    return silent >= _COUNTED_IN and len(counted(heard.words)) <= 1


def _ends(table: Needs, timed: Collection[str]) -> dict[str, frozenset[str]]:
    """The steps that end each timed step: all that need it, and the other timed ones."""
    ends = {}
    for step in timed:
        above = {step}
        while more := {id for id, wanted in table.items() if above & set(wanted)} - above:
            above |= more
        ends[step] = frozenset((above | set(timed)) - {step})
    return ends

"""The clock of timed steps: from when to when each lasted, by the times of the words.

All that was said is kept with its times. After each utterance it is worked out anew which spells the timed
steps lasted most likely (`following/lasting.py`); one that is over is told, and a step of which no words were
understood is known by its spell.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from voicecoach.coaching.wording import HOW_LONG, duration
from voicecoach.events import Heard, Timed, Word
from voicecoach.following import said_times
from voicecoach.following.clauses import Clause
from voicecoach.following.counting import Count, Number, count, counted, goes_between, goes_on_counting
from voicecoach.following.follower import Leaning
from voicecoach.following.lasting import Belief, believed
from voicecoach.following.moments import Said, Sought, Spell
from voicecoach.following.numbers import amounts
from voicecoach.procedure.model import Procedure, Step
from voicecoach.procedure.order import Needs, needs

SLACK = 0.5
"""Seconds by which a step may seem too short: the times of words are no more certain than that."""
_REPORTED = 0.95
"""The chance that a clause reports a step that the follower takes it to report."""
_TAKEN_BACK = 0.1
"""The chance at most that a clause reports a step that it no longer is taken to report."""
_OVER = 0.5
"""The chance that a step is over from which its time is told."""
_TOO_SHORT = 0.78
"""The chance that it was too short from which that is told before the attempt ends."""
_LEFT = 0.65
"""The same where a step was reported that needs it."""
_BEGUN = 0.8
"""The chance that a step was begun from which it is taken as reported though no words were understood."""
_RUNNING = 0.5
"""The chance that a step goes on from which it is the one under way."""
_COUNTED_IN = 12.0
"""Seconds of silence in which something may have been counted, of which a number tells the result."""
_ALOUD = 5
"""How far who counts aloud must have come for it to tell of a step where the times are made up."""
_LIKELY = 0.5
"""The chance that a clause reports a step from which it is one about it."""
_AFTER = 4.0
"""Seconds from the end of a step in which the student may say how long it was."""
_CHANGED = 0.3
"""Seconds by which a time is told anew."""


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


class Clock:
    """Keeps the time of all timed steps of one attempt."""

    def __init__(self, procedure: Procedure, times: str = "clock") -> None:
        """`times` is that of `Begun`."""
        self._timely = times == "clock"
        self._needed = {step.id: seconds for step in procedure.steps if (seconds := seconds_needed(step))}
        self._needs = needs(procedure)
        self.sought = _sought(procedure, self._needed)
        """What it looks for, for each timed step."""
        self.start_over()

    def start_over(self) -> None:
        """Forget all that was said."""
        self._said: list[Said] = []
        self._words: list[Word] = []
        self._numbers: list[Number] = []
        self._reported: list[tuple[str, float]] = []
        """The steps reported, and when."""
        self._kept: dict[str, Spell] = {}
        self._told: dict[str, Timed] = {}
        self._beliefs: dict[str, Belief] = {}

    @property
    def times(self) -> bool:
        """Whether any step is timed."""
        return bool(self._needed)

    def heard(self, heard: Heard, leanings: Sequence[Leaning] = ()) -> None:
        """Somebody spoke; `leanings` tell what each clause may report."""
        if not heard.words:
            return
        self._words += heard.words
        self._numbers += counted(heard.words)
        self._said += [_said(one) for one in leanings or (Leaning(Clause(heard.words), {}, {}),)]
        self._beliefs = {}

    def reported(self, step: str, start: float) -> None:
        """A step was reported, in words that begin at `start` seconds."""
        self._reported.append((step, start))
        self._beliefs = {}

    def retracted(self, step: str) -> None:
        """It was not."""
        self._reported = [report for report in self._reported if report[0] != step]
        self._said = [
            replace(one, chances={**one.chances, step: min(_TAKEN_BACK, one.chances.get(step, 0.0))})
            for one in self._said
        ]
        self._beliefs = {}

    def keep(self, step: str, start: float, end: float) -> None:
        """The coach itself kept the time of a step."""
        self._kept[step] = Spell(start, end)

    def running(self) -> str:
        """The timed step that is most likely under way; empty where none is."""
        running = {
            step: belief.running
            for step, belief in self._believed().items()
            if belief.running >= _RUNNING and step not in self._kept
        }
        return max(running, key=lambda step: running[step], default="")

    def counts_on(self, heard: Heard) -> bool:
        """Whether an utterance goes on counting aloud, and so reports nothing."""
        numbers = counted(heard.words)
        if not numbers or not self._numbers:
            return False
        last, first = self._numbers[-1], numbers[0]
        return abs(first.value - last.value) <= 2 and first.start - last.end <= _COUNTED_IN

    def tells(self, heard: Heard) -> bool:
        """Whether an utterance says that something is over, how long it was or what was counted."""
        ends = any(
            heard.start - 1e-3 <= belief.spell.end <= heard.end for belief in self._believed().values()
        )
        return ends or any(said_times.overs(heard.words)) or bool(said_times.said_seconds(heard.text))

    def unreported(self) -> list[tuple[str, float, float]]:
        """Timed steps that were begun most likely though no words report them; when, and how likely."""
        known = {step for step, _ in self._reported}
        beliefs = self._believed()
        found = []
        for sought in (one for one in self.sought if one.step not in known):
            step, belief = sought.step, beliefs[sought.step]
            # What is timed from another step has begun with that one, which says nothing of this one.
            begun = belief.over + (belief.running if sought.opener == step else 0.0)
            aloud = self._timely or self._count_in(belief.spell).reached >= _ALOUD
            # Time that goes by is no proof that a step was done out of order.
            turn = known.issuperset(self._needs[step]) or self._left(step, belief.spell.end)
            if begun >= _BEGUN and aloud and turn:
                found.append((step, belief.spell.start, begun))
        return found

    def settle(self, at: float, over: bool = False) -> list[Timed]:
        """What is known now of the steps that are over, and was not known before; `over` ends all at `at`."""
        out = []
        beliefs = self._believed(at if over else None)
        for step, belief in beliefs.items():
            spell = self._spell(step, belief, over)
            if spell is None:
                continue
            timed = self._timed(at, step, spell)
            before = self._told.get(step)
            if before is None or max(abs(timed.start - before.start), abs(timed.end - before.end)) > _CHANGED:
                self._told[step] = timed
                out.append(timed)
        return out

    def _spell(self, step: str, belief: Belief, over: bool) -> Spell | None:
        """From when to when a step lasted; None where that is not known, or it goes on."""
        kept = self._kept.get(step)
        short = self._needed[step] - SLACK > belief.spell.end - belief.spell.start
        sure = _LEFT if self._left(step, belief.spell.end) else _TOO_SHORT
        if belief.over < _OVER or (short and not over and belief.short < sure):
            return kept
        return max(kept or belief.spell, belief.spell, key=lambda spell: spell.end - spell.start)

    def _left(self, step: str, at: float) -> bool:
        """Whether a step was reported from then on that needs this one."""
        ends = next(sought.ends for sought in self.sought if sought.step == step)
        return any(other in ends and start >= at - 1e-3 for other, start in self._reported)

    def _believed(self, ended: float | None = None) -> dict[str, Belief]:
        """What is believed of each timed step now, or at the end of the attempt."""
        if ended is None and self._beliefs:
            return self._beliefs
        now = ended if ended is not None else (self._words[-1].end if self._words else 0.0)
        known = {step for step, _ in self._reported}
        beliefs = believed(self.clauses(), self.sought, now, ended is not None, self._timely, SLACK, known)
        if ended is None:
            self._beliefs = beliefs
        return beliefs

    def clauses(self) -> list[Said]:
        """What was said, with what was found out later: reports, and numbers that were misheard."""
        out = []
        for one in self._said:
            steps = {step for step, at in self._reported if one.start - 1e-3 <= at < one.end}
            if steps:
                others = {step: min(chance, 1 - _REPORTED) for step, chance in one.chances.items()}
                one = replace(one, chances=others | dict.fromkeys(steps, _REPORTED))
            counting = goes_on_counting(self._numbers, one.start, one.end)
            counting = counting or (not steps and goes_between(self._numbers, one.start, one.end))
            one = replace(one, counting=counting)
            out.append(one)
        return out

    def _count_in(self, spell: Spell) -> Count:
        """What was counted aloud in a spell."""
        first, last = spell.start - 1, spell.end + 1
        numbers = [number for number in self._numbers if first <= number.start <= last]
        return count(numbers, [word for word in self._words if first <= word.start <= last])

    def _timed(self, at: float, step: str, spell: Spell) -> Timed:
        counting = self._count_in(spell)
        return Timed(
            at, step, spell.start, spell.end, counting.reached, counting.slips, self._said_of(step, spell)
        )

    def _said_of(self, step: str, spell: Spell) -> float:
        """Seconds that a step is said to last; 0 where none are said."""
        others = [belief.spell for id, belief in self._believed().items() if id != step]
        before = max(
            (other.end for other in others if other.over and other.end < spell.start), default=-math.inf
        )
        after = min((other.start for other in others if other.start > spell.end - 1e-3), default=math.inf)
        until = min(spell.end + _AFTER, after)
        return max(
            (
                one.length
                for one in self.clauses()
                if (one.end > spell.start - 1e-3 and one.start < until)
                or (before < one.start < spell.start and one.chances.get(step, 0.0) >= _LIKELY)
            ),
            default=0.0,
        )


def _said(leaning: Leaning) -> Said:
    """A clause as the clock sees it."""
    words, text = leaning.clause.words, leaning.clause.text
    return Said(
        words[0].start,
        words[-1].end,
        leaning.chances,
        leaning.alone,
        False,
        tuple(said_times.starts(words)),
        tuple(said_times.overs(words)),
        said_times.said_seconds(text),
        said_times.tells_afterwards(text),
        said_times.goes_on(text),
        bool(amounts(text)),
    )


def _sought(procedure: Procedure, needed: Mapping[str, float]) -> tuple[Sought, ...]:
    """What to look for, for each timed step."""
    table = needs(procedure)
    ends = _ends(table, needed)
    out = []
    for step in (step for step in procedure.steps if step.id in needed):
        opener = step.time.from_ if step.time and step.time.from_ else step.id
        others = frozenset(needed) - {step.id}
        before = frozenset(table[opener])
        counts = step.count is not None
        out.append(Sought(step.id, opener, needed[step.id], counts, before, ends[step.id] - others, others))
    return tuple(out)


def _ends(table: Needs, timed: Collection[str]) -> dict[str, frozenset[str]]:
    """The steps that end each timed step: all that need it, directly or not."""
    ends = {}
    for step in timed:
        above = {step}
        while more := {id for id, wanted in table.items() if above & set(wanted)} - above:
            above |= more
        ends[step] = frozenset(above - {step})
    return ends

"""What to practise next: spaced repetition by FSRS, computed each time from what came of the attempts.

FSRS (Free Spaced Repetition Scheduler, version 6 as in py-fsrs) estimates from the reviews of a card how well
it is still known, and when that falls to 90 %. Here a card is a procedure of one student, and a review is an
attempt. FSRS was fitted to flashcards, so that its chances are only estimates for a procedure. Nothing is
kept: the attempts are gone through again each time. Time is counted in local days.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from fsrs import Card, Rating, Scheduler

from voicecoach.records.results import Result, StepResult

AT_MOST = 3
"""Procedures for one day; what is more waits for the next. Common practice, no source."""
FIRST = "wash-hands"
"""The procedure that is learned first: hand washing is part of nearly every other."""

_SMALL_SHARE = 10
"""One step in so many may be faulty in a good attempt, one at least."""
_DAY = timedelta(days=1)
_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_NAMED = 2
"""Critical steps that are named in a sentence; the others are counted."""

# A procedure that is not known comes again the next day, and not, as is usual for flashcards, in ten minutes.
_SCHEDULER = Scheduler(learning_steps=(_DAY,), relearning_steps=(_DAY,), enable_fuzzing=False)


@dataclass(frozen=True, slots=True)
class Due:
    """A procedure that is to be practised."""

    procedure: str
    """Its id."""
    title: str
    why: str
    """One sentence for the student."""
    mode: str
    """The mode to take: practise, rehearse or selftest."""
    since: date | None
    """The day on which it came due; None where no attempt at it counts yet."""
    known: float | None
    """Chance that the student still knows it, 0 to 1, by FSRS; None likewise."""
    failed: bool
    """True where the latest attempt that counts was not passed."""


@dataclass(frozen=True, slots=True)
class _Known:
    """How a procedure stands that was practised."""

    last: Result
    """The latest attempt that counts."""
    rating: Rating
    """Its rating."""
    card: Card
    """The card of FSRS after it."""


def rating(result: Result) -> Rating:
    """What an attempt that counts tells FSRS. This is the only place where that is decided.

    Again: it is not passed, or a critical step is missing. FSRS takes it for forgotten.

    Hard: it is passed in practise mode, where the coach leads, so that it shows little of what the student
    can do alone; or it is passed with faults or cues that are not small.

    Good: it is passed in rehearse or selftest with small faults at most. They are small where no mishap
    happened and no more than one needed step in ten, or one where there are fewer, was missing, not right,
    out of order or done only after a cue, and none of these steps is critical. A cue is a fault like another:
    else it would be better to leave a step out than to do it when reminded.

    Easy: it is passed in selftest, where the coach is silent, every needed step was good, and no mishap
    happened. In rehearse even a perfect attempt is no more than Good, since the coach would have spoken up.

    The limits are this project's own: FSRS only says that Hard, Good and Easy are kinds of success.
    """
    if not result.passed or _missed(result):
        return Rating.Again
    if result.mode == "practise" or result.mishaps:
        return Rating.Hard
    needed = [step for step in result.steps if step.needed]
    faulty = [step for step in needed if not step.good]
    if not faulty:
        return Rating.Easy if result.mode == "selftest" else Rating.Good
    small = len(faulty) <= max(1, len(needed) // _SMALL_SHARE)
    return Rating.Good if small and not any(step.critical for step in faulty) else Rating.Hard


def card(results: Sequence[Result]) -> Card | None:
    """The card of FSRS after the attempts of one student at one procedure, in order of time.

    Attempts that do not count are left out; None where none counts.
    """
    counted = [result for result in results if result.counts]
    if not counted:
        return None
    # A card without number and due date would look at the clock for both.
    card = Card(card_id=1, due=_midnight(counted[0].day))
    for result in counted:
        card, _ = _SCHEDULER.review_card(card, rating(result), _midnight(result.day))
    return card


def plan(results: Sequence[Result], procedures: Mapping[str, str], today: date) -> tuple[Due, ...]:
    """What one student is to practise today, the most pressing first, three procedures at most.

    `procedures` are the ids and titles of those that there are, in the library's order.
    """
    return _due(_known(results), results, procedures, today)[:AT_MOST]


def agenda(
    results: Sequence[Result], procedures: Mapping[str, str], today: date, days: int
) -> tuple[tuple[date, Due], ...]:
    """The days from today on, `days` more, and what one student is to practise on each, as `plan` has it.

    Each procedure stands there once, on the first day on which it is due and among the most pressing: what
    comes then depends on how that goes.
    """
    known = _known(results)
    placed: dict[str, tuple[date, Due]] = {}
    for day in (today + number * _DAY for number in range(days + 1)):
        waiting = {id: title for id, title in procedures.items() if id not in placed}
        for due in _due(known, results, waiting, day)[:AT_MOST]:
            placed[due.procedure] = (day, due)
    return tuple(placed.values())


def _known(results: Sequence[Result]) -> dict[str, _Known]:
    """How each procedure stands, by its id; only those of which an attempt counts."""
    by_procedure: dict[str, list[Result]] = {}
    for result in sorted(results, key=_instant):
        if result.counts:
            by_procedure.setdefault(result.procedure, []).append(result)
    known = {}
    for id, counted in by_procedure.items():
        if reviewed := card(counted):
            known[id] = _Known(counted[-1], rating(counted[-1]), reviewed)
    return known


def _due(
    known: Mapping[str, _Known], results: Sequence[Result], procedures: Mapping[str, str], day: date
) -> tuple[Due, ...]:
    """All that is due on a day: what was failed, the most overdue, the least known, and then what is new."""
    due, new = [], []
    tried = {result.procedure for result in results}
    for id, title in procedures.items():
        if id not in known:
            why = "Begun, but never yet finished and judged." if id in tried else "Never practised yet."
            new.append(Due(id, title, why, "practise", None, None, failed=False))
        elif known[id].card.due.date() <= day:
            due.append(_again(known[id], title, day))
    new.sort(key=lambda one: one.procedure != FIRST)
    return (*sorted(due, key=_pressing), *new)


def _pressing(due: Due) -> tuple[bool, date, float]:
    return not due.failed, due.since or date.max, due.known or 0.0


def _again(known: _Known, title: str, day: date) -> Due:
    failed = known.rating is Rating.Again
    chance = _SCHEDULER.get_card_retrievability(known.card, _midnight(day))
    return Due(
        procedure=known.last.procedure,
        title=title,
        why=_failure(known.last, day) if failed else _success(known, chance, day),
        mode=_mode(known),
        since=known.card.due.date(),
        known=chance,
        failed=failed,
    )


def _mode(known: _Known) -> str:
    """Practise after a failure, rehearse until that is good, and then selftest."""
    if known.rating is Rating.Again:
        return "practise"
    good = known.rating in (Rating.Good, Rating.Easy)
    return "selftest" if good or known.last.mode == "selftest" else "rehearse"


def _failure(last: Result, day: date) -> str:
    """What went wrong in the latest attempt, a sentence."""
    when = _when(last.day, day)
    if missed := _missed(last):
        return f"You missed {_critical(missed)} {when}: {_named(missed)}."
    if wrong := [step for step in last.steps if step.critical and step.done and not step.right]:
        return f"You got {_critical(wrong)} wrong {when}: {_named(wrong)}."
    needed = [step for step in last.steps if step.needed]
    right = sum(step.right for step in needed)
    return (
        f"Not passed {when}: {right} of {len(needed)} steps were right, {100 * last.share:.0f} % are needed."
    )


def _critical(steps: Sequence[StepResult]) -> str:
    return "a critical step" if len(steps) == 1 else f"{len(steps)} critical steps"


def _named(steps: Sequence[StepResult]) -> str:
    """The first of the steps, and how many more there are."""
    named = "; ".join(step.do.rstrip(".") for step in steps[:_NAMED])
    return named + (f"; and {len(steps) - _NAMED} more" if len(steps) > _NAMED else "")


def _success(known: _Known, chance: float, day: date) -> str:
    """When it was last passed and how well it is likely to be known, a sentence."""
    how = ""
    if known.rating is Rating.Hard:
        how = ", with the coach's help" if known.last.mode == "practise" else ", with faults or cues"
    # No estimate is certain.
    about = min(5 * round(20 * chance), 95)
    return (
        f"Last passed {_when(known.last.day, day)}{how}; estimated chance that you still know it: "
        f"about {about} %."
    )


def _when(then: date, day: date) -> str:
    """A day as somebody says it some days later."""
    ago = (day - then).days
    if ago < 2:
        return "yesterday" if ago == 1 else "today"
    return f"on {_WEEKDAYS[then.weekday()]}" if ago < len(_WEEKDAYS) else f"{ago} days ago"


def _missed(result: Result) -> list[StepResult]:
    """Critical steps that were needed and not done."""
    return [step for step in result.steps if step.critical and step.needed and not step.done]


def _instant(result: Result) -> datetime:
    """When an attempt began; without an offset it is taken for UTC."""
    begun = datetime.fromisoformat(result.begun)
    return begun if begun.tzinfo else begun.replace(tzinfo=UTC)


def _midnight(day: date) -> datetime:
    """The beginning of a day, as FSRS counts time: whole days lie between two of them."""
    return datetime.combine(day, time(), UTC)

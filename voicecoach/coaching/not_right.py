"""What was done but not right: too short a time, a wrong value, side or name. A function of a journal."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from voicecoach.coaching.clock import lasted, too_short
from voicecoach.coaching.wording import wrong_resident, wrong_side
from voicecoach.events import Begun, Event, Mistaken, Read, Timed
from voicecoach.following.numbers import Amount
from voicecoach.procedure import case
from voicecoach.procedure.model import Procedure
from voicecoach.readings import taking
from voicecoach.readings.judging import judged

_Some = TypeVar("_Some", Timed, Read)

NOT_SCORED = "not scored"


@dataclass(frozen=True, slots=True)
class Recorded:
    """What was recorded of one reading."""

    step: str
    text: str
    """What was measured, and the value with its unit."""
    verdict: str
    """right, unrounded or wrong; `not scored` for what makes no sense, empty where there is no case."""
    why: str
    """The arithmetic, in a sentence or two; empty where nothing was compared."""


def latest(events: Iterable[Event], kind: type[_Some]) -> dict[str, _Some]:
    """The latest event of a kind for each step."""
    return {event.step: event for event in events if isinstance(event, kind)}


def recorded(begun: Begun, procedure: Procedure, events: Sequence[Event]) -> tuple[Recorded, ...]:
    """The latest value of each reading, compared with the case where there is one."""
    return tuple(_recorded(begun, procedure, read) for read in latest(events, Read).values())


def not_right(
    begun: Begun, procedure: Procedure, events: Sequence[Event], values: Iterable[Recorded]
) -> Mapping[str, tuple[str, ...]]:
    """What was not right of each step, in sentences, by the id of the step; `values` are those recorded."""
    wrong: defaultdict[str, list[str]] = defaultdict(list)
    for id, timed in latest(events, Timed).items():
        if lasted(timed, procedure.step(id), begun.times) is False:
            wrong[id].append(too_short(timed, procedure.step(id), begun.times))
    for value in values:
        if value.verdict == "wrong":
            wrong[value.step].append(value.why)
    for event in events:
        if isinstance(event, Mistaken) and event.what == "side" and event.step:
            wrong[event.step].append(wrong_side(event.said, event.right))
    return {id: tuple(dict.fromkeys(sentences)) for id, sentences in wrong.items()}


def wrong_names(events: Iterable[Event]) -> tuple[str, ...]:
    """Where somebody else than the resident was named, a sentence for each."""
    named = (event for event in events if isinstance(event, Mistaken) and event.what == "resident")
    return tuple(dict.fromkeys(f"You said {event.said}. {wrong_resident(event.right)}" for event in named))


def _recorded(begun: Begun, procedure: Procedure, read: Read) -> Recorded:
    step = procedure.step(read.step)
    quantity = f"{step.reading.quantity}: " if step.reading else ""
    text = f"{quantity}{' over '.join(f'{value:g}' for value in read.values)} {read.unit}".strip()
    if step.reading and taking.doubt(step.reading, Amount(read.values, read.unit)) == "sense":
        return Recorded(read.step, text, NOT_SCORED, "This makes no sense, so that it is not scored.")
    judgement = judged(step, read, case.read(begun.case)) if begun.case else None
    if judgement is None:
        return Recorded(read.step, text, "", "")
    return Recorded(read.step, text, judgement.verdict, judgement.why)

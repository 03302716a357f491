"""The words heard in an attempt, and what each utterance was taken for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from voicecoach.events import Asked, Event, Followed, Heard, Mistaken, Read, Remarked, Unfollowed
from voicecoach.procedure.model import Procedure
from voicecoach.readings.arithmetic import number
from voicecoach.showing.marks import clock

_STAGES = {"later": "for later", "undone": "not done", "mishap": "mishap", "avoiding": "avoided"}


@dataclass(frozen=True, slots=True)
class Utterance:
    """One utterance."""

    at: str
    """When it began, as mm:ss."""
    words: str
    """Empty where the sound was about something else."""
    taken_for: tuple[str, ...]
    """The steps, remarks, readings and requests in it; empty where nothing was found in it."""


def utterances(events: Sequence[Event], procedure: Procedure) -> tuple[Utterance, ...]:
    """All utterances of an attempt in order. What has no utterance in the journal came of the one before."""
    do = {action.id: action.do for action in procedure.actions}
    heard = [event for event in events if isinstance(event, Heard)]
    found: defaultdict[int, list[str]] = defaultdict(list)
    last = 0
    for event in events:
        if isinstance(event, Heard):
            last = event.utterance
        elif taken := _taken_for(event, do):
            of = event.utterance if isinstance(event, Followed | Remarked) else last
            found[of].append(taken)
    return tuple(
        Utterance(clock(one.start), one.text, tuple(dict.fromkeys(found[one.utterance]))) for one in heard
    )


def _taken_for(event: Event, do: dict[str, str]) -> str:
    """What an event says of the words; empty where nothing."""
    match event:
        case Followed():
            return do[event.step]
        case Unfollowed():
            return f"taken back: {do[event.step]}"
        case Remarked():
            return f"{_STAGES[event.stage]}: {do[event.about]}" if event.about else _STAGES[event.stage]
        case Read():
            return f"reading: {' over '.join(map(number, event.values))} {event.unit}".rstrip()
        case Mistaken():
            return f"{event.what}: {event.said} for {event.right}"
        case Asked():
            return f"asked for: {event.request}"
        case _:
            return ""

"""What was heard, taken by the real core as one attempt in `rehearse`."""

from __future__ import annotations

import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from voicecoach.attempt import Attempt
from voicecoach.events import Begun, Cued, Elapsed, Heard, Outgoing, Stopped, Voiced
from voicecoach.procedure.model import Procedure

CUE_SECONDS = 2.5
"""How long a cue is taken to sound."""


@dataclass(frozen=True, slots=True)
class Attended:
    """One attempt."""

    events: tuple[tuple[float, Outgoing], ...]
    """What the core said, and the seconds in the sound at which it had come to that."""
    seconds: float
    """Time that following cost."""


def attend(
    name: str, procedure: Procedure, heard: Sequence[Heard], until: float, times: str = "unknown"
) -> Attended:
    """Follow what was heard; the sound ends at `until` seconds. `times` is that of `Begun`."""
    begun = Begun(0.0, name, "", "rehearse", "typed", procedure.plain(), times)
    attempt = Attempt(begun)
    events: list[tuple[float, Outgoing]] = []

    def note(out: Iterable[Outgoing], moment: float) -> None:
        for event in out:
            events.append((moment, event))
            if isinstance(event, Cued):
                attempt.take(Voiced(event.at + CUE_SECONDS, event.cue, event.at))

    note(attempt.take(begun), 0.0)
    seconds = 0.0
    for utterance in heard:
        while attempt.wakes_at is not None and attempt.wakes_at < utterance.start:
            now = attempt.wakes_at
            note(attempt.take(Elapsed(now)), now)
        began = time.perf_counter()
        out = attempt.take(utterance)
        seconds += time.perf_counter() - began
        # The words that brought it begin a little before the last of them ends.
        note(out, (utterance.words[-1].end if utterance.words else utterance.end) - 0.1)
    note(attempt.take(Stopped(until, "source ended")), until)
    return Attended(tuple(events), seconds)

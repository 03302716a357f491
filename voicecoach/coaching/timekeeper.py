"""The coach keeps the time aloud when it is asked to: `coach, time me`."""

from __future__ import annotations

from dataclasses import dataclass, replace

from voicecoach.coaching import wording
from voicecoach.coaching.clock import seconds_needed
from voicecoach.coaching.coach import Coach
from voicecoach.events import Outgoing, Voiced
from voicecoach.procedure.model import Procedure

_HALF_FROM = 10.0
"""Seconds that a step must last for the coach to tell when half of them are over."""


@dataclass(frozen=True, slots=True)
class Kept:
    """The time of one step, as the coach keeps it."""

    step: str
    seconds: float
    """How long it must last."""
    cue: int
    """Number of the cue that announces it."""
    quiet: bool
    """True where something is counted, so that nothing may be said in between."""
    start: float | None = None
    """Seconds on the audio clock at which it began; None while the coach announces it."""
    half_told: bool = False

    @property
    def next_at(self) -> float | None:
        """When the coach has to speak next; None while it announces."""
        if self.start is None:
            return None
        middle = not self.quiet and not self.half_told and self.seconds >= _HALF_FROM
        return self.start + (self.seconds / 2 if middle else self.seconds)

    @property
    def end(self) -> float:
        """When the time is up."""
        return (self.start or 0.0) + self.seconds


class Timekeeper:
    """Keeps the time of one step at a time."""

    def __init__(self, procedure: Procedure, coach: Coach) -> None:
        self._timed = {step.id: step for step in procedure.steps if seconds_needed(step)}
        self._coach = coach
        self._kept: Kept | None = None

    @property
    def busy(self) -> bool:
        """Whether it keeps a time now."""
        return self._kept is not None

    @property
    def next_at(self) -> float | None:
        """When to send Elapsed, in seconds; None where there is nothing to wait for."""
        return self._kept.next_at if self._kept else None

    def ask(self, at: float, running: str, seconds: float) -> list[Outgoing]:
        """Keep the time of the step that is `running`, else of the next one that is timed and not done.

        For `seconds` where the student said how long, else for as long as it must last.
        """
        open_ones = [id for id in self._timed if id not in self._coach.done]
        step = self._timed.get(running or next(iter(open_ones), "") or next(reversed(self._timed), ""))
        if step is None:
            return [self._coach.cue(at, "answer", (), 0, wording.NOTHING_TIMED)]
        seconds = seconds or seconds_needed(step)
        cue = self._coach.cue(at, "time", (step.id,), 0, wording.from_now(seconds))
        self._kept = Kept(step.id, seconds, cue.cue, quiet=step.count is not None)
        return [cue]

    def voiced(self, voiced: Voiced) -> None:
        """A cue has been said; the time begins when its announcement is over."""
        if self._kept and self._kept.cue == voiced.cue:
            self._kept = replace(self._kept, start=voiced.at)

    def elapsed(self, at: float) -> tuple[list[Outgoing], Kept | None]:
        """What the coach says now, and the time that is up; None where none is."""
        kept = self._kept
        if kept is None or kept.next_at is None or at < kept.next_at:
            return [], None
        if at < kept.end:
            self._kept = replace(kept, half_told=True)
            return [self._coach.cue(at, "time", (kept.step,), 0, wording.seconds_more(kept.end - at))], None
        self._kept = None
        return [self._coach.cue(at, "time", (kept.step,), 0, wording.TIME_IS_UP)], kept

    def stop(self, step: str = "") -> None:
        """Keep no time any more, or not that of this step."""
        if self._kept and step in ("", self._kept.step):
            self._kept = None

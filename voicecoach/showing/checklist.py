"""What is known of a running attempt: the steps as a checklist that fills, and what was said last."""

from __future__ import annotations

from dataclasses import dataclass

from voicecoach.events import (
    Asked,
    Begun,
    Cued,
    Ended,
    Event,
    Followed,
    Found,
    Heard,
    Lost,
    Paused,
    Resumed,
    Simulated,
    Unfollowed,
    Voiced,
    Withdrawn,
)
from voicecoach.procedure.model import Procedure
from voicecoach.showing.marks import harmless
from voicecoach.sound import simulated

THE_STEP_ITSELF = 3
"""Strength of a cue that names the step."""
FOUND = {
    "beats": "beats can be felt",
    "breaths": "breaths can be heard",
    "sounds": "the needle is falling",
}
"""That what a case sounds like goes on, never its value: the student is to find that."""


@dataclass(frozen=True, slots=True)
class Row:
    """A line of the checklist."""

    state: str
    """done, missed or open."""
    text: str
    """The step, or how many steps stand here of which the student has still to think."""
    critical: bool
    """True for a critical step that is named."""


class Checklist:
    """Follows the events of an attempt. Steps not done are named only in practise, or by the coach:
    who rehearses would otherwise read them off the screen."""

    def __init__(self) -> None:
        self.title = ""
        self.mode = ""
        self.scene = ""
        self.cautions: tuple[str, ...] = ()
        self.heard = ""
        """The last utterance."""
        self.cue = ""
        """What the coach said last: until the steps it is about are done, or if it is about none, until
        the student goes on."""
        self.coach_speaks = False
        self.paused = False
        self.deaf = False
        """True while no sound comes in."""
        self.ended = False
        self._found, self._found_until = "", 0.0
        """What a case sounds like, and seconds at which it ends by itself."""
        self._procedure: Procedure | None = None
        self._done: list[str] = []
        self._missed: set[str] = set()
        self._named: set[str] = set()
        self._about: tuple[str, ...] = ()
        self._sounding = 0

    def take(self, event: Event) -> None:
        """Something happened."""
        match event:
            case Begun():
                self._procedure = Procedure.model_validate(event.procedure)
                self.title, self.mode = harmless(self._procedure.title), event.mode
                self.scene = harmless(self._procedure.scene)
                self.cautions = tuple(map(harmless, self._procedure.cautions))
            case Heard() if event.words:
                self.heard = harmless(event.text)
                if not self._about:
                    self.cue = ""
            case Followed() if event.step not in self._done:
                self._done.append(event.step)
                self._missed.discard(event.step)
                self._forget_cue()
            case Unfollowed() if event.step in self._done:
                self._done.remove(event.step)
            case Cued():
                self._cued(event)
            case Voiced():
                self.coach_speaks = event.cue < self._sounding
            case Withdrawn():
                self._missed.discard(event.about)
            case Asked(request="restart"):
                self._done.clear()
                self._missed.clear()
            case Simulated():
                self._found = FOUND.get(event.what, "")
                if event.what:
                    self._found_until = event.at + simulated.seconds(event.what, event.values)
            case Paused() | Resumed():
                self.paused = isinstance(event, Paused)
                self._found = "" if self.paused else self._found
            case Lost() | Found():
                self.deaf = isinstance(event, Lost)
                self._found = "" if self.deaf else self._found
            case Ended():
                self.ended = True
                self._found = ""

    def rows(self) -> tuple[Row, ...]:
        """The checklist: all steps in their usual order; in a selftest those done, as they were said."""
        if self._procedure is None:
            return ()
        if self.mode == "selftest":
            steps = [self._procedure.step(id) for id in self._done]
        else:
            steps = list(self._procedure.steps)
        rows: list[Row] = []
        unnamed = 0
        for step in steps:
            state = "done" if step.id in self._done else "missed" if step.id in self._missed else "open"
            if state == "done" or self.mode == "practise" or step.id in self._named:
                unnamed = 0
                rows.append(Row(state, harmless(step.do), step.critical))
            elif state == "missed":
                unnamed = 0
                rows.append(Row(state, "something belongs here", False))
            else:
                del rows[len(rows) - min(unnamed, 1) :]
                unnamed += 1
                rows.append(
                    Row(state, "1 step is open" if unnamed == 1 else f"{unnamed} steps are open", False)
                )
        return tuple(rows)

    def found(self, at: float) -> str:
        """What the student can feel or hear of the case at so many seconds; empty where nothing."""
        return self._found if at < self._found_until else ""

    @property
    def count(self) -> tuple[int, int]:
        """How many steps are done, and how many there are."""
        return len(self._done), len(self._procedure.steps) if self._procedure else 0

    def _cued(self, cue: Cued) -> None:
        self.cue, self._about = harmless(cue.text), cue.about
        self.coach_speaks, self._sounding = True, cue.cue
        if cue.kind in ("missed", "order"):
            self._missed |= set(cue.about) - set(self._done)
        if cue.strength == THE_STEP_ITSELF:
            self._named |= set(cue.about)

    def _forget_cue(self) -> None:
        if self._about and set(self._about) <= set(self._done):
            self.cue, self._about = "", ()

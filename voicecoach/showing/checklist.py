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
    Unfollowed,
    Voiced,
    Withdrawn,
)
from voicecoach.procedure.model import Procedure
from voicecoach.showing.marks import harmless

THE_STEP_ITSELF = 3
"""Strength of a cue that names the step."""


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
            case Paused() | Resumed():
                self.paused = isinstance(event, Paused)
            case Lost() | Found():
                self.deaf = isinstance(event, Lost)
            case Ended():
                self.ended = True

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

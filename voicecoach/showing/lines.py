"""A running attempt as plain lines, for a pipe or a file, and where the terminal is typed into."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

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
    Read,
    Remarked,
    Resumed,
    Simulated,
    Unfollowed,
    Withdrawn,
)
from voicecoach.procedure.model import Procedure
from voicecoach.showing.checklist import FOUND
from voicecoach.showing.marks import DONE, MISSED, OPEN, fine_clock, harmless


class Lines:
    """Prints a line for each event that means something to a person."""

    def __init__(self, console: Console) -> None:
        self._console = console
        self._do: dict[str, str] = {}

    def show(self, event: Event) -> None:
        """Something happened."""
        if isinstance(event, Begun):
            procedure = Procedure.model_validate(event.procedure)
            self._do = {action.id: action.do for action in procedure.actions}
            self._print(f"{procedure.title} ({event.mode}, heard by {event.hear})", "bold")
            self._print(procedure.scene)
            for caution in procedure.cautions:
                self._print(f"{MISSED} {caution}")
        elif line := self._line(event):
            style = "bold" if isinstance(event, Cued) else ""
            self._print(f"{fine_clock(event.at)} {line}", style)

    def listen(self, at: float, partial: str) -> None:
        """Nothing is printed for that."""

    def notice(self, what: str) -> None:
        """A sentence that is not about the procedure."""
        self._print(f"{MISSED} {what}")

    def _line(self, event: Event) -> str:
        """The event in words; empty where there is nothing to tell."""
        match event:
            case Heard():
                return f"heard: {event.text or '(nothing about this procedure)'}"
            case Followed():
                return f"{DONE} {self._do[event.step]}"
            case Unfollowed():
                return f"{OPEN} taken back: {self._do[event.step]}"
            case Remarked(stage="mishap"):
                return f"{MISSED} mishap: {self._do.get(event.about, event.said)}"
            case Remarked():
                stage = {"later": "for later", "undone": "not done", "avoiding": "avoided"}[event.stage]
                return f"{OPEN} {stage}: {self._do.get(event.about, event.said)}"
            case Read():
                return f"{DONE} reading: {' over '.join(f'{value:g}' for value in event.values)} {event.unit}"
            case Simulated():
                return FOUND.get(event.what, "")
            case Asked():
                return f"asked for: {event.request}"
            case Cued():
                return f"coach: {event.text}"
            case Withdrawn():
                return f"{OPEN} no reminder needed: {self._do.get(event.about, event.about)}"
            case Lost():
                return f"{MISSED} {event.why}"
            case Found():
                return "sound comes in again"
            case Paused():
                return "paused"
            case Resumed():
                return "going on"
            case Ended():
                return f"ended: {event.why}"
            case _:
                return ""

    def _print(self, line: str, style: str = "") -> None:
        # In a pipe a line stays a line, however long.
        whole = not self._console.is_terminal
        self._console.print(Text(harmless(line), style), soft_wrap=whole, highlight=False)

"""The loop of an attempt: what an ear hears goes to the core, what the core says to mouth and screen.

Everything that happens is in the journal before anything follows from it.
"""

from __future__ import annotations

import math
import signal
import threading
import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Protocol, TypeVar

from voicecoach.attempt import Attempt
from voicecoach.ear import Moment
from voicecoach.errors import Complaint
from voicecoach.events import Begun, Cued, Elapsed, Event, Incoming, Stopped, Voiced
from voicecoach.mouth import Mouth, Shown
from voicecoach.procedure.model import Procedure
from voicecoach.records import journal as journals
from voicecoach.records.journal import Journal

_Some = TypeVar("_Some", bound=Event)

_LOOK = 0.05
"""Seconds between two looks at a loudspeaker that plays the last words."""


class Screen(Protocol):
    """Shows an attempt while it runs."""

    def show(self, event: Event) -> None:
        """Something happened."""

    def listen(self, at: float, partial: str) -> None:
        """The audio clock has moved to `at`; `partial` is what is being said, as far as it is known."""

    def notice(self, what: str) -> None:
        """Tell the user a sentence that is not about the procedure."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """How an attempt went, as far as it is not in the journal."""

    events: tuple[Event, ...]
    """All that happened, as it stands in the journal."""
    interrupted: bool
    """True where somebody pressed Ctrl-C."""
    lost: str
    """Why the source broke down in the middle, a sentence; empty where it did not."""
    unkept: str
    """Why the journal on the disk is not whole, a sentence; empty where it is."""


@dataclass(frozen=True, slots=True)
class _Saying:
    """A cue that is being said."""

    cue: int
    start: float
    end: float


def begun(procedure: Procedure, mode: str, hear: str) -> Begun:
    """The beginning of an attempt, now."""
    now = datetime.now().astimezone()
    return Begun(
        at=0.0,
        attempt=journals.name(procedure.id, now),
        wall=now.isoformat(timespec="seconds"),
        mode=mode,
        hear=hear,
        procedure=procedure.plain(),
    )


@contextmanager
def interruptible() -> Iterator[Callable[[], bool]]:
    """Ctrl-C is noted for the function given instead of breaking in; a second one breaks in."""
    pressed = threading.Event()

    def note(*_: object) -> None:
        if pressed.is_set():
            raise KeyboardInterrupt
        pressed.set()

    before = signal.signal(signal.SIGINT, note)
    try:
        yield pressed.is_set
    finally:
        signal.signal(signal.SIGINT, before)


class Session:
    """One attempt in the real world."""

    def __init__(self, attempt: Attempt, mouth: Mouth, journal: Journal, screen: Screen) -> None:
        self._attempt = attempt
        self._mouth = mouth
        self._journal = journal
        self._screen = screen
        self._events: list[Event] = []
        self._at = 0.0
        self._saying: _Saying | None = None
        self._unsaid: deque[Cued] = deque()

    def run(self, begun: Begun, moments: Iterable[Moment], interrupted: Callable[[], bool]) -> Outcome:
        """Go through an attempt to its end, or until the ear hears no more or `interrupted`.

        Closes the journal.
        """
        self._take(begun)
        why, lost = "source ended", ""
        try:
            for moment in moments:
                if interrupted():
                    why = "interrupted"
                    break
                self._live(moment)
                if self._attempt.ended:
                    break
            else:
                # Ctrl-C in a pipeline ends what is piped in, too.
                why = "interrupted" if interrupted() else why
        except Complaint as complaint:
            why, lost = "device lost", str(complaint)
        if not self._attempt.ended:
            self._take(Stopped(self._at, why))
        if why == "interrupted":
            self._mouth.stop()
        else:
            self._say_the_rest(interrupted)
        self._journal.close()
        return Outcome(tuple(self._events), why == "interrupted", lost, self._journal.trouble)

    def _live(self, moment: Moment) -> None:
        """Go on to a moment. What waits for silence waits while somebody speaks."""
        if moment.notice:
            self._screen.notice(moment.notice)
        self._pass_time(moment.at, silence=not moment.speaking and moment.heard is None)
        if moment.heard and not self._attempt.ended:
            self._take(moment.heard)
            self._pass_time(moment.at, silence=not moment.speaking)
        self._at = max(self._at, moment.at)
        self._screen.listen(moment.at, moment.partial)

    def _pass_time(self, to: float, silence: bool) -> None:
        """Tell the core, in order, of cues that have been said and moments it asked for, up to `to`."""
        while not self._attempt.ended:
            due: list[Incoming] = []
            if self._saying and self._saying.end <= to and not self._mouth.sounding:
                due.append(Voiced(max(self._saying.end, self._at), self._saying.cue, self._saying.start))
            wakes_at = self._attempt.wakes_at if silence else None
            if wakes_at is not None and (whole := math.ceil(wakes_at * 1000) / 1000) <= to:
                # Up to the next thousandth, since the journal keeps no more and would be too early.
                due.append(Elapsed(max(whole, self._at)))
            if not due:
                return
            self._take(min(due, key=lambda event: event.at))

    def _take(self, event: Incoming) -> None:
        """Let the core take an event, and do what follows from it."""
        if event.at < self._at:
            event = replace(event, at=self._at)
        event = self._keep(event)
        self._at = event.at
        if isinstance(event, Voiced):
            self._saying = None
        for outgoing in self._attempt.take(event):
            self._keep(outgoing)
            if isinstance(outgoing, Cued):
                self._unsaid.append(outgoing)
        if self._unsaid and self._saying is None:
            self._say(self._unsaid.popleft())

    def _keep(self, event: _Some) -> _Some:
        """Note an event in the journal, then show it; gives it as the journal has it."""
        trouble = self._journal.trouble
        event = self._journal.write(event)
        self._events.append(event)
        self._screen.show(event)
        if self._journal.trouble and not trouble:
            self._screen.notice(self._journal.trouble)
        return event

    def _say(self, cue: Cued) -> None:
        """Begin to say a cue; where that fails, the screen must do from now on."""
        try:
            seconds = self._mouth.say(cue.text, self._at)
        except Complaint as complaint:
            self._screen.notice(f"{complaint} The coach's words are shown instead.")
            self._mouth, seconds = Shown(), 0.0
        self._saying = _Saying(cue.cue, self._at, self._at + seconds)

    def _say_the_rest(self, interrupted: Callable[[], bool]) -> None:
        """Say what the coach had still to say when the attempt was over."""
        while True:
            while self._mouth.sounding and not interrupted():
                time.sleep(_LOOK)
            if interrupted() or not self._unsaid:
                break
            if self._saying:
                self._at = max(self._at, self._saying.end)
            self._say(self._unsaid.popleft())
        self._mouth.stop()

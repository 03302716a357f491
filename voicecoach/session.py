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
from voicecoach.events import (
    Begun,
    Cued,
    Elapsed,
    Ended,
    Event,
    Followed,
    Found,
    Incoming,
    Lost,
    Paused,
    Simulated,
    Stopped,
    Voiced,
    Withdrawn,
)
from voicecoach.mouth import Mouth
from voicecoach.procedure.case import Case, fitted, written
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


def begun(
    procedure: Procedure,
    mode: str,
    hear: str,
    times: str = "clock",
    case: Case | None = None,
    student: str | None = None,
    mock: str | None = None,
) -> Begun:
    """The beginning of an attempt, now; `times`, `student` and `mock` are those of the event."""
    now = datetime.now().astimezone()
    return Begun(
        at=0.0,
        attempt=journals.name(procedure.id, now),
        wall=now.isoformat(timespec="seconds"),
        mode=mode,
        hear=hear,
        procedure=fitted(procedure, case or written(procedure)).plain(),
        times=times,
        case=case.plain() if case else None,
        student=student,
        mock=mock,
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


def passed_on(moments: Iterable[Moment], pressed: Callable[[], bool]) -> Iterator[Moment]:
    """The moments; Ctrl-C that was pressed while all was made ready is passed on to the attempt, which alone
    minds it from now on.
    """
    if pressed():
        signal.raise_signal(signal.SIGINT)
    yield from moments


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
        self._gap = ""
        """Why no sound comes in; empty where it does."""
        self._speaking = False
        """True while somebody speaks."""
        self._mute = ""
        """Why the latest cue could not be heard; empty where it could."""

    def run(
        self,
        begun: Begun,
        moments: Iterable[Moment],
        interrupted: Callable[[], bool],
        until: float | None = None,
    ) -> Outcome:
        """Go through an attempt to its end, or until the ear hears no more or `interrupted`.

        With `until` it is over at that second of the audio clock at the latest: what is not heard to its end
        by then does not count. Closes the journal.
        """
        self._mouth.start_signal()
        self._take(begun)
        why, lost = "source ended", ""
        try:
            for moment in moments:
                if interrupted():
                    why = "interrupted"
                    break
                if until is not None and moment.at >= until:
                    self._at, why = max(self._at, until), "time is up"
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
        self._mind_the_gap(moment)
        begins, self._speaking = moment.speaking and not self._speaking, moment.speaking
        if begins and self._saying and self._mouth.sounding:
            # Whoever talks over a cue wants to go on.
            self._mouth.stop()
            self._take(Voiced(moment.at, self._saying.cue, self._saying.start, cut=True))
        self._pass_time(moment.at, silence=not moment.speaking and moment.heard is None)
        if moment.heard and not self._attempt.ended:
            self._take(moment.heard)
            self._pass_time(moment.at, silence=not moment.speaking)
        self._at = max(self._at, moment.at)
        self._say_next()
        self._screen.listen(moment.at, moment.partial)

    def _mind_the_gap(self, moment: Moment) -> None:
        """Tell the core when no sound comes in any more, and when it does again."""
        if moment.gap and not self._gap:
            self._take(Lost(moment.at, moment.gap))
        elif moment.gap and moment.gap != self._gap:
            self._screen.notice(moment.gap)
        elif self._gap and not moment.gap:
            self._take(Found(moment.at))
        self._gap = moment.gap

    def _pass_time(self, to: float, silence: bool) -> None:
        """Tell the core, in order, of cues that have been said and moments it asked for, up to `to`."""
        while not self._attempt.ended:
            due: list[Incoming] = []
            if self._saying and self._is_said(self._saying, to):
                due.append(
                    Voiced(max(min(self._saying.end, to), self._at), self._saying.cue, self._saying.start)
                )
            wakes_at = self._attempt.wakes_at if silence else None
            if wakes_at is not None and (whole := math.ceil(wakes_at * 1000) / 1000) <= to:
                # Up to the next thousandth, since the journal keeps no more and would be too early.
                due.append(Elapsed(max(whole, self._at)))
            if not due:
                return
            self._take(min(due, key=lambda event: event.at))

    def _is_said(self, saying: _Saying, now: float) -> bool:
        """Whether a cue is over. In a gap the audio clock stands still."""
        return not self._mouth.sounding and (saying.end <= now or self._gap != "")

    def _take(self, event: Incoming) -> None:
        """Let the core take an event, and do what follows from it."""
        if event.at < self._at:
            event = replace(event, at=self._at)
        event = self._keep(event)
        self._at = event.at
        if isinstance(event, Voiced) and self._saying and event.cue == self._saying.cue:
            self._saying = None
        outgoing = self._attempt.take(event)
        self._simulate(event)
        for one in outgoing:
            self._keep(one)
            self._simulate(one)
            if isinstance(one, Cued):
                self._unsaid.append(one)
        for one in outgoing:
            if isinstance(one, Withdrawn):
                self._leave_out(one)
        if any(isinstance(one, Followed) for one in outgoing) and not self._unsaid and not self._saying:
            self._mouth.tick()
        self._say_next()

    def _simulate(self, event: Event) -> None:
        """Let be heard what a case sounds like, and nothing in a pause; show it where it cannot be heard."""
        if isinstance(event, Simulated):
            if not self._mouth.simulate(event.what, event.values) and event.what:
                self._screen.notice(event.text)
        elif isinstance(event, Lost | Paused | Ended):
            self._mouth.simulate("", ())

    def _leave_out(self, withdrawn: Withdrawn) -> None:
        """A cue that still waits to be said is needed no longer."""
        for cue in [cue for cue in self._unsaid if cue.about == (withdrawn.about,) and cue.kind == "missed"]:
            self._unsaid.remove(cue)
            self._take(Voiced(self._at, cue.cue, self._at, cut=True))

    def _keep(self, event: _Some) -> _Some:
        """Note an event in the journal, then show it; gives it as the journal has it."""
        trouble = self._journal.trouble
        event = self._journal.write(event)
        self._events.append(event)
        self._screen.show(event)
        if self._journal.trouble and not trouble:
            self._screen.notice(self._journal.trouble)
        return event

    def _say_next(self) -> None:
        """Begin to say the next cue that waits, unless somebody speaks."""
        if self._unsaid and not self._saying and not self._speaking and not self._mouth.sounding:
            self._say(self._unsaid.popleft())

    def _say(self, cue: Cued) -> None:
        """Begin to say a cue; where that fails, the screen must do, and the next is tried again."""
        try:
            seconds = self._mouth.say(cue.text, self._at)
            self._mute = ""
        except Complaint as complaint:
            if self._mute != (why := str(complaint)):
                self._screen.notice(f"{why} The coach's words are shown instead.")
            self._mute, seconds = why, 0.0
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

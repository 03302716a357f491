"""A session whose core the test writes: what goes in, what is shown, and a mouth that can be heard."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest

from voicecoach import session
from voicecoach.ear import Moment
from voicecoach.errors import Complaint
from voicecoach.events import Begun, Ended, Event, Heard, Incoming, Outgoing, Stopped, Word
from voicecoach.mouth import Mouth
from voicecoach.procedure import library
from voicecoach.records.journal import Journal

PROCEDURE = library.find("hand-rub").plain()
BEGUN = Begun(0.0, "one", "2026-11-25T09:15:00+00:00", "rehearse", "typed", PROCEDURE)


class Core:
    """Stands for the core: says what the test tells it to say to an event."""

    def __init__(self, script: Callable[[Core, Incoming], tuple[Outgoing, ...]]) -> None:
        self.script = script
        self.wakes_at: float | None = None
        self.ended = False

    def take(self, event: Incoming) -> tuple[Outgoing, ...]:
        said = self.script(self, event)
        if isinstance(event, Stopped):
            said = (*said, Ended(event.at, event.why))
        self.ended = self.ended or any(isinstance(out, Ended) for out in said)
        return said


class Screen:
    """Keeps what it was given."""

    def __init__(self) -> None:
        self.shown: list[Event] = []
        self.notices: list[str] = []

    def show(self, event: Event) -> None:
        self.shown.append(event)

    def listen(self, at: float, partial: str) -> None:
        pass

    def notice(self, what: str) -> None:
        self.notices.append(what)


class Slow(Mouth):
    """Needs a second for every word, as if it could be heard."""

    def __init__(self) -> None:
        self.said: list[tuple[float, str]] = []

    def say(self, text: str, at: float) -> float:
        self.said.append((at, text))
        return float(len(text.split()))


class Loud(Slow):
    """Can be heard until it is told to stop, or the test says that it is over."""

    def __init__(self) -> None:
        super().__init__()
        self.sounds = False
        self.ticks: list[float] = []
        self.now = 0.0

    @property
    def sounding(self) -> bool:
        return self.sounds

    def say(self, text: str, at: float) -> float:
        self.sounds = True
        self.now = at
        return super().say(text, at)

    def stop(self) -> None:
        self.sounds = False

    def tick(self) -> None:
        self.ticks.append(self.now)


class Unplugged(Mouth):
    """A loudspeaker that has been unplugged, and comes back for the third cue."""

    def __init__(self) -> None:
        self.tried = 0

    def say(self, text: str, at: float) -> float:
        self.tried += 1
        if self.tried < 3:
            raise Complaint("The loudspeaker is gone.")
        return 1.0


def heard(number: int, start: float, end: float, text: str = "well") -> Heard:
    return Heard(end, number, start, end, tuple(Word(word, start, end) for word in text.split()))


def never() -> bool:
    return False


@pytest.fixture
def run(tmp_path: Path) -> Callable[..., tuple[session.Outcome, Screen]]:
    """Runs a session over moments with a core that follows a script."""

    def run(
        moments: Iterable[Moment],
        script: Callable[[Core, Incoming], tuple[Outgoing, ...]] = lambda core, event: (),
        mouth: Mouth | None = None,
        interrupted: Callable[[], bool] = never,
        until: float | None = None,
    ) -> tuple[session.Outcome, Screen]:
        screen = Screen()
        kept = Journal(tmp_path / "a.jsonl")
        core: Any = Core(script)

        def ending() -> Iterator[Moment]:
            yield from moments
            if isinstance(mouth, Loud):
                mouth.sounds = False

        started = session.Session(core, mouth or Mouth(), kept, screen)
        outcome = started.run(BEGUN, ending(), interrupted, until)
        return outcome, screen

    return run

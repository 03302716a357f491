"""What a student says, as a recognizer gives it, and an attempt made of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cache

from voicecoach.attempt import Attempt
from voicecoach.events import Begun, Event, Heard, Incoming, Outgoing, Stopped, Word
from voicecoach.procedure import case, library
from voicecoach.procedure.model import Procedure

SECONDS_A_WORD = 0.3
PAUSE = 1.0
"""Seconds between two utterances."""


@cache
def procedure(name: str) -> Procedure:
    """A procedure that comes with voicecoach."""
    return library.find(name)


def words(text: str, start: float = 0.0) -> tuple[Word, ...]:
    """The words of a text, said one after the other without a pause from `start` on."""
    return tuple(
        Word(word, start + place * SECONDS_A_WORD, start + (place + 1) * SECONDS_A_WORD)
        for place, word in enumerate(text.split())
    )


def utterance(number: int, text: str, start: float = 0.0) -> Heard:
    """An utterance that begins at `start` and is heard as soon as it ends."""
    said = words(text, start)
    end = said[-1].end if said else start
    return Heard(end, number, start, end, said)


class Narrated:
    """An attempt made by hand: what goes in and what comes out, in order, in `events`."""

    def __init__(self, name: str, mode: str, times: str = "unknown", drawn: case.Case | None = None) -> None:
        """What is said comes faster than anybody works, so that no time is judged but with `times`."""
        self.procedure = procedure(name)
        wall = "2026-11-25T09:15:00+00:00"
        fitted = case.fitted(self.procedure, drawn) if drawn else self.procedure
        plain = drawn.plain() if drawn else None
        begun = Begun(0.0, "test", wall, mode, "typed", fitted.plain(), times, plain)
        self.attempt = Attempt(begun)
        self.events: list[Event] = []
        self.now = 0.0
        self._utterances = 0
        self.give(begun)

    def give(self, event: Incoming) -> tuple[Outgoing, ...]:
        """Let something happen; what comes of it."""
        out = self.attempt.take(event)
        self.events += [event, *out]
        self.now = max(self.now, event.at)
        return out

    def say(self, text: str, after: float = PAUSE) -> tuple[Outgoing, ...]:
        """Say something as one utterance, so many seconds after what was said before."""
        self._utterances += 1
        return self.give(utterance(self._utterances, text, self.now + after))

    def mumble(self, text: str, sure: float) -> tuple[Outgoing, ...]:
        """Say something of which the recognizer is only so sure."""
        self._utterances += 1
        heard = utterance(self._utterances, text, self.now + PAUSE)
        return self.give(replace(heard, words=tuple(replace(word, confidence=sure) for word in heard.words)))

    def say_all(self, texts: Iterable[str]) -> list[Outgoing]:
        """Say some things, each as one utterance."""
        return [out for text in texts for out in self.say(text)]

    def stop(self) -> tuple[Outgoing, ...]:
        """The sound ends."""
        return self.give(Stopped(self.now + PAUSE, "source ended"))


def kinds(events: Iterable[Event], *wanted: type[Event]) -> list[Event]:
    """The events of some kinds."""
    return [event for event in events if isinstance(event, wanted)]

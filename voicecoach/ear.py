"""From a source to what was heard, moment by moment on the audio clock.

An ear is an iterator of moments. The audio clock is the sound taken so far, or for typed lines the
times before them; only for lines typed at a terminal it is a real clock.
"""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import TextIO

import numpy as np
from numpy.typing import NDArray

from voicecoach.errors import Complaint
from voicecoach.events import Heard
from voicecoach.hearing.recognizer import Recognizer
from voicecoach.hearing.typed import SECONDS_A_WORD, Typed, parse_line
from voicecoach.sound import RATE
from voicecoach.sound.endpointer import Cut, Endpointer, Speech, SpeechBegan

DEAF_AFTER = 0.2
"""Seconds after the coach has spoken in which its echo could still be heard."""
BETWEEN_LINES = 1.0
"""Seconds between two lines that come without times."""
_TICK = 0.1
"""Seconds after which a terminal or pipe is left for a look at the clock and at Ctrl-C."""
_BLOCK = RATE * 30 // 1000


@dataclass(frozen=True, slots=True)
class Moment:
    """What an ear knows when the audio clock has moved on."""

    at: float
    """Seconds on the audio clock."""
    heard: Heard | None = None
    """The utterance that has just ended."""
    speaking: bool = False
    """True while somebody speaks: no time to interrupt."""
    partial: str = ""
    """The words so far while somebody speaks."""
    notice: str = ""
    """Something the user should know of what came in."""


def blocks(samples: NDArray[np.int16]) -> Iterator[NDArray[np.int16]]:
    """A recording in the blocks that a microphone would give."""
    for start in range(0, len(samples), _BLOCK):
        yield samples[start : start + _BLOCK]


def hear(
    blocks: Iterable[NDArray[np.int16]],
    endpointer: Endpointer,
    recognizer: Recognizer,
    deaf: Callable[[], bool] = lambda: False,
) -> Iterator[Moment]:
    """Hear sound, mono blocks at 16 kHz; what comes in while `deaf` and 0.2 s later is left out."""
    taken = 0
    deaf_until = 0.0
    utterances = _Utterances(endpointer, recognizer)
    for block in blocks:
        taken += len(block)
        now = taken / RATE
        if deaf():
            deaf_until = now + DEAF_AFTER
        for heard in utterances.leave_out(block, now) if now < deaf_until else utterances.take(block, now):
            yield Moment(now, heard=heard)
        yield Moment(now, speaking=utterances.speaking, partial=utterances.partial)
    for heard in utterances.finish(taken / RATE):
        yield Moment(taken / RATE, heard=heard)


class _Utterances:
    """One utterance after the other, from the endpointer to the recognizer."""

    def __init__(self, endpointer: Endpointer, recognizer: Recognizer) -> None:
        self._endpointer = endpointer
        self._recognizer = recognizer
        self._left_out = 0
        """Samples by which the endpointer is behind."""
        self._fresh = False
        """True where an utterance has begun of which no sound has come."""
        self.speaking = False
        """True while an utterance is open."""
        self.partial = ""
        """Its words so far."""

    def take(self, block: NDArray[np.int16], now: float) -> list[Heard]:
        """Take a block that ends at `now`; what has been heard with it."""
        return self._follow(self._endpointer.take(block), now)

    def leave_out(self, block: NDArray[np.int16], now: float) -> list[Heard]:
        """Let a block pass unheard; an open utterance ends."""
        heard = self.finish(now) if self.speaking else []
        self._left_out += len(block)
        return heard

    def finish(self, now: float) -> list[Heard]:
        """End the utterance that is open."""
        return self._follow(self._endpointer.finish(), now)

    def _follow(self, cuts: list[Cut], now: float) -> list[Heard]:
        late = self._left_out / RATE
        heard = []
        for cut in cuts:
            if isinstance(cut, SpeechBegan):
                self.speaking = self._fresh = True
            elif isinstance(cut, Speech):
                if self._fresh:
                    self._recognizer.begin(cut.at + late)
                    self._fresh = False
                self.partial = self._recognizer.feed(cut.samples)
            elif self._fresh:
                self.speaking = self._fresh = False
            else:
                self.speaking, self.partial = False, ""
                whole = self._recognizer.end(now)
                heard.append(replace(whole, start=cut.start + late, end=cut.end + late))
        return heard


def read(lines: Iterable[str | None], clock: Callable[[], float] | None = None) -> Iterator[Moment]:
    """Read typed lines; None stands for a while in which none came.

    Without a clock the time is that before the lines, or 1 s after the line before; then a time that
    goes backwards raises Complaint. With a clock such a line is left out and said to be so.
    """
    typed = Typed()
    now = 0.0
    for line in lines:
        now = now if clock is None else clock()
        if line is None:
            yield Moment(now)
            continue
        try:
            length = SECONDS_A_WORD * len(parse_line(line)[1].split())
            heard = typed.heard(line, now + BETWEEN_LINES + length if clock is None else now)
        except Complaint as complaint:
            if clock is None:
                raise
            yield Moment(now, notice=str(complaint))
            continue
        if heard.words:
            yield Moment(max(now, heard.start) if clock is None else now)
            now = max(now, heard.end)
            yield Moment(now, heard=heard)


def arriving(file: TextIO) -> Iterator[str | None]:
    """The lines of a terminal or pipe as they come, and None again and again while none comes."""
    waiting: queue.Queue[str | None] = queue.Queue()

    def fetch() -> None:
        for line in file:
            waiting.put(line)
        waiting.put(None)

    threading.Thread(target=fetch, daemon=True).start()
    while True:
        try:
            line = waiting.get(timeout=_TICK)
        except queue.Empty:
            yield None
            continue
        if line is None:
            return
        yield line

"""From a source to what was heard, moment by moment on the audio clock.

An ear is an iterator of moments. The audio clock is the sound taken so far, or for typed lines the
times before them; only for lines typed at a terminal it is a real clock.
"""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TextIO

import numpy as np
from numpy.typing import NDArray

from voicecoach.errors import Complaint
from voicecoach.events import Heard, Word
from voicecoach.hearing.recognizer import Recognizer
from voicecoach.hearing.typed import SECONDS_A_WORD, Typed, parse_line
from voicecoach.sound import RATE
from voicecoach.sound.endpointer import Endpointer
from voicecoach.sound.microphone import Gap
from voicecoach.utterances import Patience, Utterances

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
    gap: str = ""
    """Why nothing can be heard at this moment, a sentence; empty where it can."""
    notice: str = ""
    """Something the user should know of what came in."""


def blocks(samples: NDArray[np.int16]) -> Iterator[NDArray[np.int16]]:
    """A recording in the blocks that a microphone would give."""
    for start in range(0, len(samples), _BLOCK):
        yield samples[start : start + _BLOCK]


def hear(
    blocks: Iterable[NDArray[np.int16] | Gap],
    endpointer: Endpointer,
    recognizer: Recognizer,
    patience: Patience | None = None,
    others: Callable[[Sequence[Word]], tuple[Word, ...]] = tuple,
) -> Iterator[Moment]:
    """Hear sound, mono blocks at 16 kHz.

    With `patience` an utterance is over when its words allow it, else when the endpointer says so. `others`
    takes what the coach itself has said out of the words heard.
    """
    taken = 0
    utterances = Utterances(endpointer, recognizer, patience)
    for block in blocks:
        now = taken / RATE
        if isinstance(block, Gap):
            finished = utterances.finish(now)
        else:
            taken += len(block)
            now = taken / RATE
            finished = utterances.take(block, now)
        for heard in finished:
            yield Moment(now, heard=replace(heard, words=others(heard.words)))
        if isinstance(block, Gap):
            yield Moment(now, gap=block.why)
        else:
            yield Moment(now, speaking=utterances.speaking, partial=utterances.partial)
    for heard in utterances.finish(taken / RATE):
        yield Moment(taken / RATE, heard=replace(heard, words=others(heard.words)))


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

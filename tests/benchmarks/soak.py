"""Two hours of narrations, one attempt after the other in one process, as fast as may be.

`python -m tests.benchmarks.soak [--hours 2] [--json]` drives what `voicecoach listen` drives, from blocks of
sound to the journal, with a new recognizer for each attempt, and prints:

- hours: of sound that were heard, and how often as fast as real time
- growth: of the memory held between attempts, from the tenth of the time on, by which all is warm, as a share
- most_growth: the same of the most that was ever held, within attempts, too
- lost: sentences of which no utterance was heard
- threads: that are left at the end beside the first
"""

from __future__ import annotations

import json
import math
import random
import resource
import tempfile
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from typing import Annotated

import numpy as np
import typer
from numpy.typing import NDArray

from tests.benchmarks.latency import VOICES
from tests.benchmarks.measuring import on_stderr
from tests.benchmarks.voices import speak
from voicecoach import ear, learned, memory, session, sources
from voicecoach.attempt import LONG, Attempt
from voicecoach.coaching.wording import fixed_cues
from voicecoach.events import Heard
from voicecoach.mouth import Aloud
from voicecoach.own_voice import OwnVoice
from voicecoach.procedure import library
from voicecoach.records.journal import Journal
from voicecoach.session import Session
from voicecoach.showing.lines import Lines
from voicecoach.sound import RATE
from voicecoach.sound.endpointer import Endpointer
from voicecoach.speaking.voice import Voice

PAUSE = 1.5
"""Seconds of silence after each sentence."""
WARM = 0.1
"""Share of the time after which all is warm."""


class Silent(Lines):
    """A screen that shows nothing."""

    def __init__(self) -> None:
        """Nothing is needed for that."""

    def show(self, event: object) -> None:
        """Nobody looks."""

    def notice(self, what: str) -> None:
        """But what is wrong is told."""
        on_stderr(what)


class Elsewhere:
    """Stands for a loudspeaker that no microphone hears, on the clock of the sound."""

    def __init__(self) -> None:
        self.now = 0.0
        self.stands_still = False
        """True where the clock goes on no more, so that nothing that is played would ever be over."""
        self._over_at = 0.0

    @property
    def playing(self) -> bool:
        """Until the sound is over."""
        return self.now < self._over_at and not self.stands_still

    def open(self, rate: int) -> None:
        """It is always open."""

    def play(self, samples: NDArray[np.int16], rate: int) -> None:
        """Begin to play."""
        self._over_at = self.now + len(samples) / rate

    def stop(self) -> None:
        """Cut it short."""
        self._over_at = 0.0

    def close(self) -> None:
        """It stays open."""


@dataclass(frozen=True, slots=True)
class Heeded:
    """What came of one attempt."""

    seconds: float
    """Of sound."""
    lost: int
    """Sentences of which nothing was heard."""


def narrated(name: str, voice: str, seed: int) -> list[NDArray[np.int16]]:
    """What a student says who says a phrase for each step of a procedure."""
    phrase = random.Random(seed)
    return [speak(phrase.choice(step.say), voice) for step in library.find(name).steps]


def attempt(
    name: str, sentences: list[NDArray[np.int16]], seed: int, folder: Path, speaker: Elsewhere
) -> Heeded:
    """One attempt at a procedure by a student who says those sentences."""
    procedure = library.find(name)
    begun = session.begun(procedure, "practise", "sphinx")
    core = Attempt(begun, learned.likeness)
    memory.give_back()
    own, recognizer = OwnVoice(), sources.recognizer("sphinx", None, procedure)
    mouth = Aloud(Voice(), speaker, own, lambda: speaker.now)  # type: ignore[arg-type]
    mouth.prepare(fixed_cues(procedure, "practise"))
    spans: list[tuple[float, float]] = []

    def blocks() -> Iterator[NDArray[np.int16]]:
        speaker.now, speaker.stands_still = 0.0, False
        for sentence in sentences:
            start = speaker.now
            # Whoever is spoken to lets the coach finish, and then goes on.
            for block in ear.blocks(np.concatenate((sentence, np.zeros(round(PAUSE * RATE), np.int16)))):
                speaker.now += len(block) / RATE
                yield block
            spans.append((start, start + len(sentence) / RATE))
            while speaker.playing:
                speaker.now += 0.03
                yield np.zeros(480, np.int16)
        speaker.stands_still = True

    moments = ear.hear(blocks(), Endpointer(LONG, own.beside), recognizer, core.patience, own.others)
    journal = Journal(folder / f"{seed}-{begun.attempt}.jsonl")
    outcome = Session(core, mouth, journal, Silent()).run(begun, moments, lambda: False)
    mouth.close()
    memory.give_back()
    heard = [event for event in outcome.events if isinstance(event, Heard) and event.words]
    lost = [
        (start, end) for start, end in spans if not any(one.start < end and start < one.end for one in heard)
    ]
    return Heeded(speaker.now, len(lost))


def memory_mb() -> float:
    """Memory that this process holds now."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * 4096 / 2**20


def most_mb() -> float:
    """The most memory that this process has ever held."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main(
    hours: Annotated[float, typer.Option("--hours")] = 2.0,
    as_json: Annotated[bool, typer.Option("--json", help="Print the figures as JSON.")] = False,
) -> None:
    """Listen for hours, and see what grows."""
    names = library.shipped()
    seconds, sentences_lost, began, speaker = 0.0, 0, time.monotonic(), Elsewhere()
    warm = warm_most = math.nan
    spawned = get_context("spawn")
    with tempfile.TemporaryDirectory() as folder, ProcessPoolExecutor(1, mp_context=spawned) as student:
        number = 0
        while seconds < hours * 3600:
            name, voice = names[number % len(names)], VOICES[number % len(VOICES)]
            # In a process of its own, whose memory is none of the coach's.
            sentences = student.submit(narrated, name, voice, number).result()
            heeded = attempt(name, sentences, number, Path(folder), speaker)
            seconds, sentences_lost, number = (
                seconds + heeded.seconds,
                sentences_lost + heeded.lost,
                number + 1,
            )
            if math.isnan(warm) and seconds > WARM * hours * 3600 and number >= len(names):
                warm, warm_most = memory_mb(), most_mb()
            on_stderr(f"{seconds / 60:.0f} min: {memory_mb():.0f} MB, {sentences_lost} lost")
    figures = {
        "hours": seconds / 3600,
        "times_real_time": seconds / (time.monotonic() - began),
        "attempts": number,
        "warm_mb": warm,
        "growth": memory_mb() / warm - 1,
        "most_mb": most_mb(),
        "most_growth": most_mb() / warm_most - 1,
        "lost": sentences_lost,
        "threads": threading.active_count() - 1,
    }
    print(
        json.dumps(figures, indent=1) if as_json else "\n".join(f"{k:15} {v:.4g}" for k, v in figures.items())
    )


if __name__ == "__main__":
    typer.run(main)

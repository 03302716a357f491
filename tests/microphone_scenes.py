"""A student at a microphone with a loudspeaker in the room, made of sound, for the microphone check."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
import soxr
from numpy.typing import NDArray

from tests.hearing.synthetic_voice import spoken
from tests.sound.sound_scenes import Sound, level, noise, pcm, silence
from voicecoach.errors import Complaint
from voicecoach.mic import SENTENCE
from voicecoach.sound import RATE
from voicecoach.sound.microphone import BLOCK

LONG = 30
"""Seconds of sound in a room."""
SPEAKS_AT = 4.8
"""Seconds at which the student begins, who has read what to say by then."""


def student(dbfs: float, text: str = SENTENCE) -> Sound:
    """The sentence, its speech at about `dbfs`, in its place."""
    voice = spoken(text).astype(float)
    loud = voice[np.abs(voice) > 0.02 * np.abs(voice).max()]
    voice *= level(dbfs) / np.sqrt(np.mean(loud**2))
    room = silence(LONG)
    first = round(SPEAKS_AT * RATE)
    room[first : first + len(voice)] = voice
    return room


@dataclass
class Scene:
    """A room; it is its own microphone and loudspeaker."""

    sound: Sound = field(default_factory=lambda: student(-25) + noise(LONG, -62))
    """What comes in by itself."""
    delay: float = 0.05
    """Seconds from the loudspeaker to the microphone."""
    gain: float | None = -25.0
    """Decibels by which the loudspeaker comes in fainter; None where it is not heard."""
    broken: str = ""
    """What is said where the loudspeaker cannot be opened."""
    lost: object = None
    """What the microphone gives after `lost_after` blocks."""
    lost_after: int = 10_000
    dropped: int = 0
    taken: int = 0
    is_open: bool = False
    plays: bool = False

    def __enter__(self) -> Scene:
        self.is_open = True
        return self

    def __exit__(self, *_: object) -> None:
        self.is_open = False

    def __iter__(self) -> Iterator[object]:
        for block in range(self.lost_after):
            assert self.is_open
            self.taken = (block + 1) * BLOCK
            yield pcm(self.sound[block * BLOCK : self.taken])
        yield self.lost

    def loudspeaker(self) -> Scene:
        """The loudspeaker of the room."""
        if self.broken:
            raise Complaint(self.broken)
        return self

    def play(self, samples: NDArray[np.int16], rate: int) -> None:
        """Comes in after the delay, whatever the microphone gives first."""
        self.plays = True
        if self.gain is None:
            return
        sound = soxr.resample(samples.astype(float), rate, RATE) * 10 ** (self.gain / 20)
        first = self.taken + round(self.delay * RATE)
        self.sound[first : first + len(sound)] += sound

    def close(self) -> None:
        """The loudspeaker is given back."""
        self.plays = False

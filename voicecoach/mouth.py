"""How the coach says a cue: aloud, as it would sound, or not at all. On the screen it stands in any case."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from voicecoach.sound.loudspeaker import Loudspeaker
from voicecoach.sound.mixing import Track
from voicecoach.speaking.voice import Voice


class Mouth(Protocol):
    """Says one cue after the other."""

    @property
    def sounding(self) -> bool:
        """True while it can be heard in the room."""

    def prepare(self, texts: tuple[str, ...]) -> None:
        """Make cues ready, so that saying them costs no delay."""

    def say(self, text: str, at: float) -> float:
        """Begin to say a cue, at `at` seconds on the audio clock; gives the seconds that it takes.

        Raises Complaint where it cannot be said.
        """

    def stop(self) -> None:
        """Say no more of it."""


class Shown:
    """Says nothing: the words on the screen must do."""

    sounding = False

    def prepare(self, texts: tuple[str, ...]) -> None:
        """Nothing has to be made ready."""

    def say(self, text: str, at: float) -> float:
        """It takes no time."""
        return 0.0

    def stop(self) -> None:
        """There is nothing to stop."""


class Unplayed:
    """Says it as if it could be heard, and keeps what it would have sounded like: for recordings."""

    sounding = False

    def __init__(self, voice: Voice) -> None:
        self.voice = voice
        self.said: list[Track] = []
        """What has been said, with the seconds on the audio clock at which it began."""
        self._ready: dict[str, NDArray[np.int16]] = {}

    def prepare(self, texts: tuple[str, ...]) -> None:
        """Nothing has to be made ready: a recording waits."""

    def say(self, text: str, at: float) -> float:
        """It takes as long as it would sound."""
        samples = self._ready[text] if text in self._ready else self.voice.render(text)
        self.said.append(Track(at, samples, self.voice.rate))
        return len(samples) / self.voice.rate

    def stop(self) -> None:
        """There is nothing to stop."""


class Aloud(Unplayed):
    """Says it with the loudspeaker."""

    def __init__(self, voice: Voice, loudspeaker: Loudspeaker) -> None:
        super().__init__(voice)
        self._loudspeaker = loudspeaker

    def prepare(self, texts: tuple[str, ...]) -> None:
        """Render cues beforehand."""
        self._ready |= self.voice.prepare(texts)

    @property
    def sounding(self) -> bool:  # type: ignore[override]
        """True while the loudspeaker plays."""
        return self._loudspeaker.playing

    def say(self, text: str, at: float) -> float:
        """It takes as long as it sounds, and the loudspeaker perhaps a little longer."""
        seconds = super().say(text, at)
        self._loudspeaker.play(self.said[-1].samples, self.voice.rate)
        return seconds

    def stop(self) -> None:
        """Cut it short."""
        self._loudspeaker.stop()

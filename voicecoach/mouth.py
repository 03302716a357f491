"""How the coach says a cue: aloud, as it would sound, or not at all. On the screen it stands in any case."""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import suppress

import numpy as np
import soxr
from numpy.typing import NDArray

from voicecoach.errors import Complaint
from voicecoach.own_voice import OwnVoice
from voicecoach.sound import RATE
from voicecoach.sound.loudspeaker import Loudspeaker
from voicecoach.sound.tones import start_signal, tick
from voicecoach.speaking.ahead import Ahead
from voicecoach.speaking.voice import Voice


def signals(mode: str, wanted: bool) -> frozenset[str]:
    """The signals of an attempt in a mode, if any are wanted: no tick tells of a step in a selftest."""
    if not wanted:
        return frozenset()
    return frozenset({"start"} if mode == "selftest" else {"start", "tick"})


class Mouth:
    """Says one cue after the other. This one says nothing: the words on the screen must do."""

    signals: frozenset[str] = frozenset()
    """Signals that are wanted besides: start, tick or both."""

    @property
    def sounding(self) -> bool:
        """True while it can be heard in the room."""
        return False

    def prepare(self, texts: tuple[str, ...]) -> None:
        """Make cues ready, the first of them at once, so that saying them costs no delay."""

    def say(self, text: str, at: float) -> float:
        """Begin to say a cue, at `at` seconds on the audio clock; gives the seconds that it takes.

        Raises Complaint where it cannot be said.
        """
        return 0.0

    def stop(self) -> None:
        """Say no more of it."""

    def start_signal(self) -> None:
        """Sound the signal that the attempt begins, where it is wanted."""

    def tick(self) -> None:
        """Sound a soft tick for a step that was followed, where it is wanted."""

    def open(self) -> None:
        """Take the loudspeaker, so that the first cue comes without delay."""

    def close(self) -> None:
        """Give it back."""


class Unplayed(Mouth):
    """Takes the time that it would sound: for recordings, which wait."""

    def __init__(self, voice: Voice) -> None:
        self.voice = voice

    def say(self, text: str, at: float) -> float:
        """It takes as long as it would sound."""
        return len(self.voice.render(text)) / self.voice.rate


class Aloud(Mouth):
    """Says it with the loudspeaker."""

    def __init__(
        self,
        voice: Voice,
        loudspeaker: Loudspeaker,
        own: OwnVoice | None = None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        """`own` is told what is played and when, by `clock`, for a microphone that hears it, too."""
        self.voice = voice
        self._loudspeaker = loudspeaker
        self._own = own
        self._clock = clock
        self._ready: dict[str, NDArray[np.int16]] = {}
        self._ahead: Ahead | None = None

    def prepare(self, texts: tuple[str, ...]) -> None:
        """Render the first cue now, and the others while it is said."""
        self._stop_preparing()
        self._ready |= self.voice.prepare(texts[:1])
        self._ahead = Ahead(self.voice, texts, self._ready)

    @property
    def sounding(self) -> bool:
        """True while the loudspeaker plays."""
        return self._loudspeaker.playing

    def say(self, text: str, at: float) -> float:
        """It takes as long as it sounds, and the loudspeaker perhaps a little longer."""
        samples = self._ready[text] if text in self._ready else self.voice.render(text)
        self._play(text, samples, self.voice.rate)
        return len(samples) / self.voice.rate

    def stop(self) -> None:
        """Cut it short."""
        self._loudspeaker.stop()
        if self._own:
            self._own.stops(self._clock())

    def open(self) -> None:
        """Where that fails, the first cue says so."""
        with suppress(Complaint):
            self._loudspeaker.open(self.voice.rate)

    def close(self) -> None:
        """The next cue would take it again."""
        self._stop_preparing()
        self._loudspeaker.close()

    def start_signal(self) -> None:
        """Two soft tones, where they are wanted."""
        self._signal("start", start_signal())

    def tick(self) -> None:
        """A soft tick, where it is wanted."""
        self._signal("tick", tick())

    def _stop_preparing(self) -> None:
        if self._ahead:
            self._ahead.stop()

    def _signal(self, name: str, samples: NDArray[np.int16]) -> None:
        if name in self.signals:
            # Without a loudspeaker there is no signal, and the next cue says so.
            with suppress(Complaint):
                self._play("", samples, RATE)

    def _play(self, text: str, samples: NDArray[np.int16], rate: int) -> None:
        self._loudspeaker.play(samples, rate)
        if self._own:
            self._own.says(text, soxr.resample(samples, rate, RATE), self._clock())

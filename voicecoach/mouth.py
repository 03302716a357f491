"""How the coach says a cue: aloud, as it would sound, or not at all. On the screen it stands in any case."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from contextlib import suppress

import numpy as np
import soxr
from numpy.typing import NDArray

from voicecoach.errors import Complaint
from voicecoach.own_voice import OwnVoice
from voicecoach.sound import RATE, simulated
from voicecoach.sound.loudspeaker import Loudspeaker
from voicecoach.sound.tones import start_signal, tick
from voicecoach.speaking.ahead import Ahead
from voicecoach.speaking.voice import Voice

_BREATH = 0.005
"""Seconds between two numbers that are rendered, in which a cue that is wanted at once gets its turn."""


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
        """True while a cue can be heard in the room."""
        return False

    def prepare(self, texts: tuple[str, ...]) -> None:
        """Make cues ready, the first of them at once, so that saying them costs no delay."""

    def say(self, text: str, at: float) -> float:
        """Begin to say a cue, at `at` seconds on the audio clock; gives the seconds that it takes.

        Raises Complaint where it cannot be said.
        """
        return 0.0

    def stop(self) -> None:
        """Say no more of it. What a case sounds like goes on."""

    def simulate(self, what: str, values: tuple[float, ...]) -> bool:
        """Let be heard, beneath the cues, what a case sounds like; `what` and `values` as in `Simulated`.

        It takes the place of what was heard before; where `what` is empty, nothing does. It ends by itself
        after `simulated.seconds`. False where it cannot be heard, so that it must be shown.
        """
        return False

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
        self._beginning: threading.Thread | None = None
        """Renders what a case sounds like, then begins to play it."""
        self._enough = threading.Event()
        """Set where that is no longer wanted."""

    def prepare(self, texts: tuple[str, ...]) -> None:
        """Render the first cue now, and the others while it is said."""
        self._stop_preparing()
        self._ready |= self.voice.prepare(texts[:1])
        self._ahead = Ahead(self.voice, texts, self._ready)

    @property
    def sounding(self) -> bool:
        """True while the loudspeaker plays a cue."""
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

    def simulate(self, what: str, values: tuple[float, ...]) -> bool:
        """It begins as soon as it is rendered, within a second, and nobody waits for that.

        Some 20 numbers take 0.3 s together, and all else 0.2 s. The loop waits for the first number, 0.01 s.
        """
        self._end_simulation()
        if not what:
            return True
        numbers = simulated.needle(*values) if what == "sounds" else ()
        try:
            self._loudspeaker.open(self.voice.rate)
            # The first number at once: a voice that fails is known by it.
            read = {number: self._number(number) for number in numbers[:1]}
        except Complaint:
            return False
        self._enough = threading.Event()
        self._beginning = threading.Thread(
            target=self._begin, args=(what, values, numbers, read), name="what a case sounds like"
        )
        self._beginning.start()
        return True

    def open(self) -> None:
        """Where that fails, the first cue says so."""
        with suppress(Complaint):
            self._loudspeaker.open(self.voice.rate)

    def close(self) -> None:
        """The next cue would take it again."""
        self._stop_preparing()
        self._end_simulation()
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

    def _end_simulation(self) -> None:
        self._enough.set()
        if self._beginning:
            self._beginning.join()
            self._beginning = None
            self._loudspeaker.stop_beneath()
            if self._own:
                self._own.stops_beneath(self._clock())

    def _begin(
        self,
        what: str,
        values: tuple[float, ...],
        numbers: tuple[int, ...],
        read: dict[int, NDArray[np.int16]],
    ) -> None:
        """Render the numbers that are not in `read`, and play what a case sounds like."""
        for number in numbers[len(read) :]:
            if self._enough.wait(_BREATH):
                return
            try:
                read[number] = self._number(number)
            except Complaint:
                return  # The next cue will say so.
        simulation = simulated.simulation(what, values, read)
        self._loudspeaker.play_beneath(simulation.samples, RATE, simulation.rounds)
        if self._own:
            self._own.plays_beneath(simulation, self._clock())

    def _number(self, number: int) -> NDArray[np.int16]:
        """A number as it is read, mono at 16 kHz."""
        samples = self.voice.render(simulated.in_words(number))
        at_rate: NDArray[np.int16] = soxr.resample(samples, self.voice.rate, RATE)
        return at_rate

    def _signal(self, name: str, samples: NDArray[np.int16]) -> None:
        if name in self.signals:
            # Without a loudspeaker there is no signal, and the next cue says so.
            with suppress(Complaint):
                self._play("", samples, RATE)

    def _play(self, text: str, samples: NDArray[np.int16], rate: int) -> None:
        self._loudspeaker.play(samples, rate)
        at = self._clock()
        if self._own:
            self._own.says(text, soxr.resample(samples, rate, RATE), at)

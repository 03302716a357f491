"""The loudspeaker: plays samples at once, and can be cut short.

Its stream stays open and plays silence between two sounds, since opening one takes as long as a short word.
Beneath what it plays, another sound may go on.
"""

from __future__ import annotations

import time
from collections import deque
from typing import Any

import numpy as np
import soxr
from numpy.typing import NDArray

from voicecoach.errors import Complaint
from voicecoach.sound.devices import close_stream, default_device, is_open, open_stream, portaudio

_STUCK_AFTER = 1.0
"""Seconds without a request for samples after which the device counts as lost."""
_STARTS_WITHIN = 5.0
"""Seconds after it was opened in which it does not: some sound servers take their time."""
_FADE = 0.005
"""Seconds in which a sound that is cut short fades away, so that it does not click."""
_BLOCK = 0.02
"""Seconds of sound that the device asks for at a time."""
_HURRY = 0.5
"""Share of the time that a block takes before which a device that has run dry asks for the next one where it
throws away what it is given: a sound server on a busy machine does, for a second or more."""


def available() -> bool:
    """Whether there is a loudspeaker."""
    try:
        default_device("output")
    except Complaint:
        return False
    return True


class _Track:
    """One of the sounds that are played together.

    What is wanted is put into a queue, and the device's thread alone does the rest: nobody waits for it.
    """

    def __init__(self) -> None:
        self.wanted: deque[tuple[NDArray[np.int16], int] | None] = deque()
        """What the device's thread has not seen yet: samples and how many times to play them, or None to
        cut short."""
        self._round = np.zeros(0, np.int16)
        self._place, self._end = 0, 0
        """How many samples have been played, and are to be, all rounds counted."""

    @property
    def plays(self) -> bool:
        """Whether something is still to be played."""
        return bool(self.wanted) or self._place < self._end

    def take(self, frames: int, rate: int) -> NDArray[np.int16]:
        """What comes next, at most so many samples; called by the device's thread."""
        while self.wanted:
            wanted = self.wanted.popleft()
            self._round, rounds = (_fading(self._next(round(_FADE * rate))), 1) if wanted is None else wanted
            self._place, self._end = 0, rounds * len(self._round)
        return self._next(frames)

    def clear(self) -> None:
        """Play none of it; the device's thread must have ended."""
        self.wanted.clear()
        self._place = self._end

    def _next(self, frames: int) -> NDArray[np.int16]:
        first, self._place = self._place, min(self._place + frames, self._end)
        piece: NDArray[np.int16] = self._round[np.arange(first, self._place) % max(len(self._round), 1)]
        return piece


class Loudspeaker:
    """The default loudspeaker. Plays one sound at a time, and perhaps one beneath it."""

    def __init__(self) -> None:
        """Raises Complaint where there is no loudspeaker."""
        default_device("output")
        self._stream: Any = None
        self._rate = 0
        self._track, self._beneath = _Track(), _Track()
        self._over_at = 0.0
        """Monotonic seconds at which the last sample is heard, not counting what plays beneath."""
        self._opened_at = 0.0
        self._asked_at = 0.0
        """Monotonic seconds at which the device asked for samples last."""

    @property
    def playing(self) -> bool:
        """Whether a sound has begun and is not over, not counting what plays beneath."""
        return not self._lost() and (self._track.plays or time.monotonic() < self._over_at)

    def open(self, rate: int) -> None:
        """Open the device for sounds of so many samples a second, so that the first comes without delay.

        Nothing happens where it is open. Raises Complaint where it is gone or cannot be opened.
        """
        if self._lost():
            self.close()
            self._open(rate)

    def play(self, samples: NDArray[np.int16], rate: int) -> None:
        """Begin to play mono samples, in place of what is playing, and return.

        Raises Complaint where the loudspeaker is gone or cannot be opened.
        """
        self.open(rate)
        self._track.wanted.append((self._at_its_rate(samples, rate), 1))

    def stop(self) -> None:
        """Cut short what is playing, but not what plays beneath; nothing happens where nothing is."""
        self._track.wanted.append(None)

    def play_beneath(self, samples: NDArray[np.int16], rate: int, rounds: int) -> None:
        """Begin to play mono samples so many times in a row beneath whatever else is played, and return.

        They take the place of what plays beneath. The loudspeaker has been opened, and another thread than
        the one that plays may call this. Where it has to be opened again, they are over.
        """
        self._beneath.wanted.append((self._at_its_rate(samples, rate), rounds))

    def stop_beneath(self) -> None:
        """Cut short what plays beneath; nothing happens where nothing does."""
        self._beneath.wanted.append(None)

    def close(self) -> None:
        """Give the device back; the next sound opens it again."""
        close_stream(self._stream)
        self._stream = None
        self._track.clear()
        self._beneath.clear()

    def _open(self, rate: int) -> None:
        native, _ = default_device("output")
        opening = ""
        for self._rate in dict.fromkeys((rate, native)):
            self._opened_at = self._asked_at = time.monotonic()
            try:
                self._stream = open_stream(
                    "output",
                    samplerate=self._rate,
                    channels=1,
                    dtype="int16",
                    blocksize=round(_BLOCK * self._rate),
                    latency="low",
                    callback=self._fill,
                )
                return
            except portaudio().PortAudioError as error:
                opening = str(error)
        raise Complaint(f"The loudspeaker cannot be opened ({opening}); check the sound settings.")

    def _at_its_rate(self, samples: NDArray[np.int16], rate: int) -> NDArray[np.int16]:
        """Samples at the rate of the device."""
        if rate == self._rate:
            return samples
        converted: NDArray[np.int16] = soxr.resample(samples, rate, self._rate)
        return converted

    def _lost(self) -> bool:
        """Whether it has to be opened, again or for the first time."""
        stuck_at = max(self._asked_at + _STUCK_AFTER, self._opened_at + _STARTS_WITHIN)
        stuck = time.monotonic() > stuck_at
        return self._stream is None or stuck or not is_open(self._stream)

    def _fill(self, out: Any, frames: int, times: Any, status: Any) -> None:
        """Hand out what is to be played, then silence. Called by the device's thread.

        Where the device has run dry and throws away what it is given, that is silence.
        """
        before, self._asked_at = self._asked_at, time.monotonic()
        if status.output_underflow and self._asked_at - before < _HURRY * frames / self._rate:
            out[:] = bytes(2 * frames)
            return
        piece = self._track.take(frames, self._rate)
        beneath = self._beneath.take(frames, self._rate)
        mixed = np.zeros(frames, np.int32)
        mixed[: len(piece)] += piece
        mixed[: len(beneath)] += beneath
        out[:] = np.clip(mixed, -32768, 32767).astype(np.int16).tobytes()
        if len(piece):
            delay = max(0.0, times.outputBufferDacTime - times.currentTime)
            self._over_at = self._asked_at + delay + len(piece) / self._rate


def _fading(first: NDArray[np.int16]) -> NDArray[np.int16]:
    """Samples, fading away."""
    faded: NDArray[np.int16] = np.rint(first * np.linspace(1, 0, len(first))).astype(np.int16)
    return faded

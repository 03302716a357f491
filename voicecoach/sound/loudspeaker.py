"""The loudspeaker: plays samples at once, and can be cut short.

Its stream stays open and plays silence between two sounds, since opening one takes as long as a short word.
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


def available() -> bool:
    """Whether there is a loudspeaker."""
    try:
        default_device("output")
    except Complaint:
        return False
    return True


class Loudspeaker:
    """The default loudspeaker. Plays one sound at a time."""

    def __init__(self) -> None:
        """Raises Complaint where there is no loudspeaker."""
        default_device("output")
        self._stream: Any = None
        self._rate = 0
        self._wanted: deque[NDArray[np.int16] | None] = deque()
        """What the device's thread has not seen yet: samples to play, or None to cut short."""
        self._rest = np.zeros(0, np.int16)
        """What is still to be played; the device's thread alone changes it."""
        self._over_at = 0.0
        """Monotonic seconds at which the last of them is heard."""
        self._opened_at = 0.0
        self._asked_at = 0.0
        """Monotonic seconds at which the device asked for samples last."""

    @property
    def playing(self) -> bool:
        """Whether a sound has begun and is not over."""
        if self._lost():
            return False
        return bool(self._wanted) or len(self._rest) > 0 or time.monotonic() < self._over_at

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
        self._wanted.append(samples if rate == self._rate else soxr.resample(samples, rate, self._rate))

    def stop(self) -> None:
        """Cut short what is playing; nothing happens where nothing is."""
        self._wanted.append(None)

    def close(self) -> None:
        """Give the device back; the next sound opens it again."""
        close_stream(self._stream)
        self._stream = None
        self._wanted.clear()
        self._rest = self._rest[:0]

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

    def _lost(self) -> bool:
        """Whether it has to be opened, again or for the first time."""
        stuck_at = max(self._asked_at + _STUCK_AFTER, self._opened_at + _STARTS_WITHIN)
        stuck = time.monotonic() > stuck_at
        return self._stream is None or stuck or not is_open(self._stream)

    def _fill(self, out: Any, frames: int, times: Any, _status: object) -> None:
        """Hand out what is to be played, then silence. Called by the device's thread."""
        self._asked_at = time.monotonic()
        while self._wanted:
            wanted = self._wanted.popleft()
            self._rest = _fading(self._rest, self._rate) if wanted is None else wanted
        piece, self._rest = self._rest[:frames], self._rest[frames:]
        out[:] = piece.tobytes() + bytes(2 * (frames - len(piece)))
        if len(piece):
            delay = max(0.0, times.outputBufferDacTime - times.currentTime)
            self._over_at = self._asked_at + delay + len(piece) / self._rate


def _fading(rest: NDArray[np.int16], rate: int) -> NDArray[np.int16]:
    """The first moment of samples, fading away."""
    first = rest[: round(_FADE * rate)]
    faded: NDArray[np.int16] = np.rint(first * np.linspace(1, 0, len(first))).astype(np.int16)
    return faded

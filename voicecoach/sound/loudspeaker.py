"""The loudspeaker: plays samples, and can be cut short."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import numpy as np
import soxr
from numpy.typing import NDArray

from voicecoach.errors import Complaint
from voicecoach.sound.devices import default_device, portaudio

_STUCK_AFTER = 2.0
"""Seconds past its length after which a sound counts as over, whatever the device says."""


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
        self._over_by = 0.0

    @property
    def playing(self) -> bool:
        """Whether a sound has begun and is not over."""
        if self._stream is None or time.monotonic() > self._over_by:
            return False
        try:
            return bool(self._stream.active)
        except portaudio().PortAudioError:  # The device is gone.
            return False

    def play(self, samples: NDArray[np.int16], rate: int) -> None:
        """Begin to play mono samples, in place of what is playing, and return.

        Raises Complaint where the loudspeaker is gone or cannot be opened.
        """
        self.stop()
        sounddevice = portaudio()
        native, _ = default_device("output")
        try:
            sounddevice.check_output_settings(channels=1, dtype="int16", samplerate=rate)
        except sounddevice.PortAudioError:
            samples, rate = soxr.resample(samples, rate, native), native
        try:
            self._stream = sounddevice.RawOutputStream(
                samplerate=rate,
                channels=1,
                dtype="int16",
                callback=_player(samples, sounddevice.CallbackStop),
            )
            self._stream.start()
        except sounddevice.PortAudioError as error:
            self.stop()
            raise Complaint(
                f"The loudspeaker cannot be opened ({error}); check the sound settings."
            ) from None
        self._over_by = time.monotonic() + len(samples) / rate + _STUCK_AFTER

    def stop(self) -> None:
        """Cut short what is playing; nothing happens where nothing is."""
        if self._stream is not None:
            self._stream.close(ignore_errors=True)
            self._stream = None


def _player(samples: NDArray[np.int16], done: type[Exception]) -> Callable[..., None]:
    """A callback that hands out samples piece by piece, and raises `done` with the last."""
    rest = memoryview(samples.tobytes())

    def fill(out: Any, _frames: int, _time: object, _status: object) -> None:
        nonlocal rest
        piece, rest = rest[: len(out)], rest[len(out) :]
        out[: len(piece)] = piece
        out[len(piece) :] = bytes(len(out) - len(piece))
        if not rest:
            raise done

    return fill

"""The microphone: blocks of 30 ms at 16 kHz, as they are heard."""

from __future__ import annotations

import queue
from collections.abc import Iterator
from types import TracebackType
from typing import Any

import numpy as np
import soxr
from numpy.typing import NDArray

from voicecoach.errors import Complaint
from voicecoach.sound import RATE
from voicecoach.sound.devices import default_device, portaudio

BLOCK = 3 * RATE // 100
"""Samples in a block."""

_WAITING = 1000
"""Blocks that may wait to be taken, half a minute: recognizers are slow now and then."""
_DEAF_AFTER = 3.0
"""Seconds without a block after which the microphone counts as lost."""


class Microphone:
    """The default microphone, open within a `with` block; iterate over it for its sound.

    Where so many blocks wait that no more fit, new ones are dropped, and silence takes their place so
    that a clock that counts samples stays right.
    """

    dropped: int
    """Blocks that were dropped, here or by the device."""

    def __init__(self) -> None:
        self.dropped = 0
        self._heard: queue.Queue[bytes] = queue.Queue(_WAITING)
        self._missing = 0
        self._rate, self._channels = RATE, 1
        self._stream: Any = None

    def __enter__(self) -> Microphone:
        """Open the device. Raises Complaint where there is none or it cannot be opened."""
        sounddevice = portaudio()
        rate, channels = default_device("input")
        opening = ""
        # The device's own form is the last resort: what is asked for is often converted for us.
        for self._rate, self._channels in ((RATE, 1), (rate, 1), (rate, channels)):
            try:
                self._stream = sounddevice.RawInputStream(
                    samplerate=self._rate,
                    channels=self._channels,
                    dtype="int16",
                    blocksize=self._rate * BLOCK // RATE,
                    callback=self._take,
                )
                self._stream.start()
                return self
            except sounddevice.PortAudioError as error:
                opening = str(error)
                self._close()
        raise Complaint(
            f"The microphone cannot be opened ({opening}); close other programs that use it and try again."
        )

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close the device."""
        self._close()

    def __iter__(self) -> Iterator[NDArray[np.int16]]:
        """Blocks of 480 samples, each as soon as it is there.

        Raises Complaint when the device is lost.
        """
        resampler = soxr.ResampleStream(self._rate, RATE, 1, dtype="int16") if self._rate != RATE else None
        kept = np.zeros(0, np.int16)
        while True:
            try:
                raw = self._heard.get(timeout=_DEAF_AFTER)
            except queue.Empty:
                raise Complaint(
                    "The microphone gives no more sound; check that it is connected and start again."
                ) from None
            mono = np.frombuffer(raw, np.int16).reshape(-1, self._channels).mean(axis=1).astype(np.int16)
            kept = np.concatenate((kept, mono if resampler is None else resampler.resample_chunk(mono)))
            while len(kept) >= BLOCK:
                yield kept[:BLOCK]
                kept = kept[BLOCK:]

    def _take(self, data: Any, _frames: int, _time: object, status: Any) -> None:
        """Keep a block. Called by the device's thread, which must never wait."""
        self.dropped += bool(status.input_overflow)
        block = bytes(data)
        try:
            while self._missing:
                self._heard.put_nowait(bytes(len(block)))
                self._missing -= 1
            self._heard.put_nowait(block)
        except queue.Full:
            self._missing += 1
            self.dropped += 1

    def _close(self) -> None:
        """Close the stream, whatever state it is in."""
        if self._stream is not None:
            self._stream.close(ignore_errors=True)
            self._stream = None

"""The microphone: blocks of 30 ms at 16 kHz as they are heard, and what happens to it while it is in use."""

from __future__ import annotations

import math
import queue
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from types import TracebackType
from typing import Any

import numpy as np
import soxr
from numpy.typing import NDArray

from voicecoach.errors import Complaint
from voicecoach.sound import RATE
from voicecoach.sound.devices import close_stream, default_device, look_again, open_stream, portaudio

BLOCK = 3 * RATE // 100
"""Samples in a block."""

_WAITING = 1000
"""Blocks that may wait to be taken, half a minute: recognizers are slow now and then."""
_LOST_AFTER = 2.0
"""Seconds without a block after which the microphone counts as lost."""
_TRIES_EVERY = 1.0
"""Seconds between two tries to get it back."""
_LOOKS_AFTER = 4.0
"""Seconds after which devices are looked for anew, which cuts short what the loudspeaker plays."""
_GIVES_UP_AFTER = 600.0
"""Seconds after which nobody is expected to bring it back."""
_ASLEEP = 5.0
"""Seconds between two blocks, by a clock that runs on meanwhile, from which the machine was asleep."""

GONE = "The microphone gives no more sound; check that it is connected."
ASLEEP = "The computer was asleep for a while."


@dataclass(frozen=True, slots=True)
class Gap:
    """No sound for the time being. The next block says that it is over."""

    why: str
    """A sentence for the user."""


def _clock() -> float:
    """Seconds on a clock that nobody sets, and that goes on while the machine sleeps where there is one."""
    boot = getattr(time, "CLOCK_BOOTTIME", None)
    return time.monotonic() if boot is None else time.clock_gettime(boot)


class Microphone:
    """The default microphone, open within a `with` block; iterate over it for its sound.

    Where so many blocks wait that no more fit, new ones are dropped, and silence takes their place so
    that a clock that counts samples stays right.
    """

    dropped: int
    """Blocks that were dropped, here or by the device."""

    def __init__(self, clock: Callable[[], float] = _clock) -> None:
        """`clock` gives seconds, also of the time in which the machine sleeps."""
        self.dropped = 0
        self._clock = clock
        self._heard: queue.Queue[bytes] = queue.Queue(_WAITING)
        self._missing = 0
        self._rate, self._channels = RATE, 1
        self._stream: Any = None
        self._blocks = 0
        """Blocks that the device has given, those that wait among them."""
        self._came_at = -math.inf
        """Monotonic seconds at which the latest of them came."""

    def __enter__(self) -> Microphone:
        """Open the device. Raises Complaint where there is none or it cannot be opened."""
        self._open()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close the device."""
        close_stream(self._stream)

    @property
    def now(self) -> float:
        """Seconds of sound that came since `skip`, those among them that have not been taken yet."""
        since = time.monotonic() - self._came_at
        return (self._blocks + min(1.0, since * RATE / BLOCK)) * BLOCK / RATE

    def skip(self) -> None:
        """Leave out what has come and was not taken; seconds are counted from here."""
        self._missing = 0
        while not self._heard.empty():
            self._heard.get_nowait()
        self._blocks = 0

    def __iter__(self) -> Iterator[NDArray[np.int16] | Gap]:
        """Blocks of 480 samples, each as soon as it is there; gaps, again and again, while none comes.

        Raises Complaint when the device has been lost for ten minutes.
        """
        resampler, form = None, (0, 0)
        kept = np.zeros(0, np.int16)
        latest = self._clock()
        while True:
            try:
                raw = self._heard.get(timeout=_LOST_AFTER)
            except queue.Empty:
                yield from self._until_it_is_back()
                latest = self._clock()
                continue
            # What waited was heard before, so only an empty queue tells how long nothing came.
            if self._clock() - latest > _ASLEEP and self._heard.empty():
                yield Gap(ASLEEP)
            latest = self._clock()
            if form != (self._rate, self._channels):
                form = self._rate, self._channels
                kept = np.zeros(0, np.int16)
                resampler = None
                if self._rate != RATE:
                    resampler = soxr.ResampleStream(self._rate, RATE, 1, dtype="int16")
            mono = np.frombuffer(raw, np.int16).reshape(-1, self._channels).mean(axis=1).astype(np.int16)
            kept = np.concatenate((kept, mono if resampler is None else resampler.resample_chunk(mono)))
            while len(kept) >= BLOCK:
                yield kept[:BLOCK]
                kept = kept[BLOCK:]

    def _open(self) -> None:
        rate, channels = default_device("input")
        opening = ""
        # The device's own form is the last resort: what is asked for is often converted for us.
        for self._rate, self._channels in ((RATE, 1), (rate, 1), (rate, channels)):
            try:
                self._stream = open_stream(
                    "input",
                    samplerate=self._rate,
                    channels=self._channels,
                    dtype="int16",
                    blocksize=self._rate * BLOCK // RATE,
                    latency="low",
                    callback=self._take,
                )
                return
            except portaudio().PortAudioError as error:
                opening = str(error)
        raise Complaint(
            f"The microphone cannot be opened ({opening}); close other programs that use it and try again."
        )

    def _until_it_is_back(self) -> Iterator[Gap]:
        """Try to get the device back, and say again and again that it is gone until it is not."""
        began, why = time.monotonic(), GONE
        while self._heard.empty():
            if time.monotonic() - began > _GIVES_UP_AFTER:
                raise Complaint("The microphone did not come back; connect it and start again.")
            yield Gap(why)
            close_stream(self._stream)
            try:
                if time.monotonic() - began > _LOOKS_AFTER:
                    look_again()
                self._open()
            except Complaint as complaint:
                why = str(complaint)
            deadline = time.monotonic() + _TRIES_EVERY
            while self._heard.empty() and time.monotonic() < deadline:
                time.sleep(0.02)

    def _take(self, data: Any, _frames: int, _time: object, status: Any) -> None:
        """Keep a block. Called by the device's thread, which must never wait."""
        self.dropped += bool(status.input_overflow)
        self._blocks += 1
        self._came_at = time.monotonic()
        block = bytes(data)
        try:
            while self._missing:
                self._heard.put_nowait(bytes(len(block)))
                self._missing -= 1
            self._heard.put_nowait(block)
        except queue.Full:
            self._missing += 1
            self.dropped += 1

"""A stand-in for the module `sounddevice`, whose devices the test moves by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

import numpy as np


class PortAudioError(Exception):
    """As the real one."""


class CallbackStop(Exception):  # noqa: N818  (the real name)
    """As the real one."""


@dataclass
class FakeStream:
    """A stream; `hear` and `play` are what the device would do."""

    owner: FakeSounddevice
    samplerate: int
    channels: int
    callback: Callable[..., None]
    blocksize: int = 0
    dtype: str = ""
    active: bool = False
    closed: bool = False

    def start(self) -> None:
        if self.owner.start_fails:
            raise PortAudioError(self.owner.start_fails)
        self.active = True

    def close(self, ignore_errors: bool) -> None:
        assert ignore_errors
        self.active, self.closed = False, True

    def hear(self, samples: np.ndarray, overflow: bool = False) -> None:
        data = memoryview(np.repeat(samples.astype(np.int16), self.channels).tobytes())
        self.callback(data, len(samples), None, SimpleNamespace(input_overflow=overflow))

    def play(self, frames: int) -> np.ndarray:
        out = bytearray(b"\x55" * (2 * frames))
        try:
            self.callback(memoryview(out), frames, None, SimpleNamespace())
        except CallbackStop:
            self.active = False
        return np.frombuffer(bytes(out), np.int16)


@dataclass
class FakeSounddevice:
    """The module: which forms its devices take, and what fails."""

    rates: tuple[int, ...] = (16000, 22050, 48000)
    channels: tuple[int, ...] = (1, 2)
    native: int = 48000
    there: bool = True
    start_fails: str = ""
    streams: list[FakeStream] = field(default_factory=list)
    PortAudioError: type[Exception] = PortAudioError
    CallbackStop: type[Exception] = CallbackStop

    def query_devices(self, kind: str) -> dict[str, Any]:
        if not self.there:
            raise PortAudioError("Error querying device -1")
        return {"default_samplerate": float(self.native), f"max_{kind}_channels": max(self.channels)}

    def check_output_settings(self, channels: int, dtype: str, samplerate: int) -> None:
        self._check(samplerate, channels)

    def _stream(self, samplerate: int, channels: int, **rest: Any) -> FakeStream:
        self._check(samplerate, channels)
        self.streams.append(FakeStream(self, samplerate, channels, **rest))
        return self.streams[-1]

    RawInputStream = _stream
    RawOutputStream = _stream

    def _check(self, rate: int, channels: int) -> None:
        if rate not in self.rates:
            raise PortAudioError("Invalid sample rate")
        if channels not in self.channels:
            raise PortAudioError("Invalid number of channels")

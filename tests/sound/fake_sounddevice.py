"""A stand-in for the module `sounddevice`, whose devices the test moves by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

import numpy as np


class PortAudioError(Exception):
    """As the real one."""


@dataclass(eq=False)
class FakeStream:
    """A stream; `hear` and `play` are what the device would do."""

    owner: FakeSounddevice
    samplerate: int
    channels: int
    callback: Callable[..., None]
    blocksize: int = 0
    dtype: str = ""
    latency: str = ""
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

    def play(self, frames: int, dry: bool = False) -> np.ndarray:
        out = bytearray(b"\x55" * (2 * frames))
        times = SimpleNamespace(currentTime=10.0, outputBufferDacTime=10.0 + self.owner.delay)
        self.callback(memoryview(out), frames, times, SimpleNamespace(output_underflow=dry))
        return np.frombuffer(bytes(out), np.int16)


@dataclass
class FakeSounddevice:
    """The module: which forms its devices take, and what fails."""

    rates: tuple[int, ...] = (16000, 22050, 48000)
    channels: tuple[int, ...] = (1, 2)
    native: int = 48000
    there: bool = True
    start_fails: str = ""
    devices: list[dict[str, Any]] = field(default_factory=list)
    streams: list[FakeStream] = field(default_factory=list)
    PortAudioError: type[Exception] = PortAudioError
    delay: float = 0.0
    """Seconds after which what is handed out is heard."""
    looks: int = 0
    """How many times it was started anew."""

    def query_devices(self, kind: str = "") -> Any:
        if not kind:
            return self.devices
        if not self.there:
            raise PortAudioError("Error querying device -1")
        own = {"default_samplerate": float(self.native), f"max_{kind}_channels": max(self.channels)}
        return {"name": f"default {kind}", "index": 0, "hostapi": 0, **own}

    def check_output_settings(self, channels: int, dtype: str, samplerate: int) -> None:
        self._check(samplerate, channels)

    def _stream(self, samplerate: int, channels: int, **rest: Any) -> FakeStream:
        self._check(samplerate, channels)
        self.streams.append(FakeStream(self, samplerate, channels, **rest))
        return self.streams[-1]

    def _terminate(self) -> None:
        assert all(stream.closed for stream in self.streams), "a stream is open still"

    def _initialize(self) -> None:
        self.looks += 1

    RawInputStream = _stream
    RawOutputStream = _stream

    def _check(self, rate: int, channels: int) -> None:
        if rate not in self.rates:
            raise PortAudioError("Invalid sample rate")
        if channels not in self.channels:
            raise PortAudioError("Invalid number of channels")

"""The way to the sound devices of this machine: PortAudio, loaded only when a device is wanted.

PortAudio looks for devices once, when it starts. To find one that was plugged in later it has to be
started anew, and what is open has to be closed before: so every stream is opened and closed here.
"""

from __future__ import annotations

import ctypes
import importlib
import sys
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from threading import RLock
from types import ModuleType
from typing import Any, Literal

from voicecoach.errors import Complaint

Kind = Literal["input", "output"]

_NAMES = {"input": "microphone", "output": "loudspeaker"}

_Warned = ctypes.CFUNCTYPE(
    None, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p
)
_UNHEARD = _Warned(lambda *_: None)
"""Takes a warning of ALSA's and does nothing; kept here, since ALSA goes on calling it."""

_streams: list[Any] = []
"""All that are open."""
_one_at_a_time = RLock()
"""PortAudio must not be called from two threads while it starts or stops."""


@dataclass(frozen=True, slots=True)
class Device:
    """A microphone or a loudspeaker."""

    name: str
    """As the machine calls it."""
    rate: int
    """Samples a second that it has by itself."""
    channels: int
    """How many it has at most."""


@dataclass(frozen=True, slots=True)
class Devices:
    """All devices of a kind."""

    chosen: Device
    """The default one, which is used."""
    others: tuple[Device, ...]
    """Those that could be chosen in its place."""


def portaudio() -> ModuleType:
    """The module `sounddevice`. Raises Complaint where the library beneath it cannot be used."""
    _hush()
    try:
        return importlib.import_module("sounddevice")
    except OSError:
        remedy = (
            "on Debian and Ubuntu: sudo apt install libportaudio2"
            if sys.platform == "linux"
            else "install the Python package sounddevice again"
        )
        raise Complaint(
            f"The PortAudio library, which the sound devices need, is missing; {remedy}."
        ) from None
    except Exception as error:  # It starts while it is imported, and its own errors have no name yet.
        raise Complaint(f"The sound system does not start ({error}); check the sound settings.") from None


def default_device(kind: Kind) -> tuple[int, int]:
    """Samples a second and channels of the default device.

    Raises Complaint where there is none.
    """
    chosen = _default(kind)
    return round(chosen["default_samplerate"]), chosen[f"max_{kind}_channels"]


def devices(kind: Kind) -> Devices:
    """All microphones (`input`) or loudspeakers (`output`) that can be chosen.

    Raises Complaint where there is no default one.
    """
    chosen = _default(kind)
    others = (
        _device(other, kind)
        for other in portaudio().query_devices()
        # Each system of drivers has the same devices once more, under other names.
        if other["hostapi"] == chosen["hostapi"] and other["index"] != chosen["index"]
    )
    return Devices(_device(chosen, kind), tuple(other for other in others if other.channels))


def _default(kind: Kind) -> Any:
    """The default device as PortAudio describes it. Raises Complaint where there is none."""
    sounddevice = portaudio()
    try:
        return sounddevice.query_devices(kind=kind)
    except (sounddevice.PortAudioError, ValueError):
        raise Complaint(
            f"There is no {_NAMES[kind]}; connect one or choose it in the sound settings of this machine."
        ) from None


def _device(described: Any, kind: Kind) -> Device:
    return Device(
        described["name"], round(described["default_samplerate"]), described[f"max_{kind}_channels"]
    )


@cache
def _hush() -> None:
    """Keep ALSA, which is beneath PortAudio on Linux, from writing its warnings into the screen."""
    if sys.platform == "linux":
        with suppress(OSError, AttributeError):
            ctypes.CDLL("libasound.so.2").snd_lib_error_set_handler(_UNHEARD)


def open_stream(kind: Literal["input", "output"], **form: Any) -> Any:
    """A stream of raw samples that has started; `form` is as for sounddevice.

    Raises sounddevice.PortAudioError where the device does not take that form.
    """
    sounddevice = portaudio()
    make = sounddevice.RawInputStream if kind == "input" else sounddevice.RawOutputStream
    with _one_at_a_time:
        stream = make(**form)
        try:
            stream.start()
        except sounddevice.PortAudioError:
            stream.close(ignore_errors=True)
            raise
        _streams.append(stream)
    return stream


def close_stream(stream: Any) -> None:
    """Close a stream, whatever state it is in; one that is closed stays so."""
    with _one_at_a_time:
        if stream in _streams:
            _streams.remove(stream)
            stream.close(ignore_errors=True)


def is_open(stream: Any) -> bool:
    """Whether a stream is open and its device still takes or gives sound."""
    with _one_at_a_time:
        if stream not in _streams:
            return False
        try:
            return bool(stream.active)
        except portaudio().PortAudioError:  # The device is gone.
            return False


def look_again() -> None:
    """Look for devices anew. All streams are closed: their owners find out by `is_open`."""
    sounddevice = portaudio()
    with _one_at_a_time:
        for stream in list(_streams):
            close_stream(stream)
        try:
            sounddevice._terminate()
            sounddevice._initialize()
        except sounddevice.PortAudioError as error:
            raise Complaint(f"The sound system does not start ({error}); check the sound settings.") from None

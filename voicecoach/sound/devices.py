"""The way to the sound devices of this machine: PortAudio, loaded only when a device is wanted."""

from __future__ import annotations

import importlib
import sys
from types import ModuleType
from typing import Literal

from voicecoach.errors import Complaint

_NAMES = {"input": "microphone", "output": "loudspeaker"}


def portaudio() -> ModuleType:
    """The module `sounddevice`. Raises Complaint where the library beneath it cannot be used."""
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


def default_device(kind: Literal["input", "output"]) -> tuple[int, int]:
    """Samples a second and channels of the default device.

    Raises Complaint where there is none.
    """
    sounddevice = portaudio()
    try:
        device = sounddevice.query_devices(kind=kind)
    except (sounddevice.PortAudioError, ValueError):
        raise Complaint(
            f"There is no {_NAMES[kind]}; connect one or choose it in the sound settings of this machine."
        ) from None
    return round(device["default_samplerate"]), device[f"max_{kind}_channels"]

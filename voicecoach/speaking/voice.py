"""The coach's voice: text to samples, through pyttsx3. Nothing is played here."""

from __future__ import annotations

import atexit
import importlib
import io
import sys
import tempfile
import threading
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import soundfile
from numpy.typing import NDArray

from voicecoach.errors import Complaint
from voicecoach.speaking import espeak

_LINUX = sys.platform == "linux"

_VOICE = "gmw/en-us+Henrique"
"""One of the best understood of eSpeak NG's American voices. Its pitch does not wander by itself, so
that a text gives the same samples every time."""

_SPEED = 120 if _LINUX else 150
"""Words a minute, as the library counts them: told 120, eSpeak NG speaks about 150."""

_LEVEL = 10 ** (-20 / 20)
_PEAK = 10 ** (-3.1 / 20)
_FRAME = 0.02
"""Seconds over which the level is taken."""
_PAUSE_SHARE = 0.01
"""A frame with less than this share of the loudest frame's energy is a pause."""
_LEAD = 0.02
_TAIL = 0.12
"""Seconds of silence that stay before and after the words."""

_one_at_a_time = threading.Lock()
"""There is one speech library in a process, whatever number of voices."""


@dataclass(frozen=True, slots=True)
class _Engine:
    """The speech library, ready to speak."""

    pyttsx3: Any
    """The engine of pyttsx3."""
    driver: ModuleType | None
    """The driver beneath where it is eSpeak NG's."""

    def settle(self) -> None:
        """Wait until the library has done what it was told."""
        if self.driver is not None:
            espeak.settle(self.driver)


class Voice:
    """A clear and calm voice. Threads may share it."""

    rate: int
    """Samples a second of what it renders."""

    def __init__(self) -> None:
        """Make the voice ready. Raises Complaint where there is no speech library to load."""
        _, self.rate = _spoken("Ready.")

    def render(self, text: str) -> NDArray[np.int16]:
        """Speak a text: mono samples at `rate`, speech at -20 dBFS RMS, peaks below -3 dBFS.

        A text without words gives no samples. Raises Complaint where the library fails.
        """
        if not text.strip():
            return np.zeros(0, np.int16)
        samples, rate = _spoken(text)
        return _levelled(samples, rate)

    def prepare(self, texts: Iterable[str]) -> dict[str, NDArray[np.int16]]:
        """Render texts before they are needed: each text to its samples."""
        return {text: self.render(text) for text in texts}


def _spoken(text: str) -> tuple[NDArray[np.float64], int]:
    """What the library makes of a text: samples from -1 to 1, and their rate."""
    with _one_at_a_time:
        engine = _engine()
        engine.settle()
        try:
            # eSpeak NG's driver saves to anything that can be written; others want the name of a file.
            if engine.driver is not None:
                return _saved(engine, text, io.BytesIO())
            with tempfile.TemporaryDirectory() as folder:
                return _saved(engine, text, Path(folder, "cue.wav"))
        except (OSError, RuntimeError) as error:
            raise Complaint(
                f"The voice could not speak “{text}” ({error}); show the words instead."
            ) from None


def _saved(engine: _Engine, text: str, place: io.BytesIO | Path) -> tuple[NDArray[np.float64], int]:
    """Let the engine save a text in `place`, and read that."""
    engine.pyttsx3.save_to_file(text, str(place) if isinstance(place, Path) else place)
    engine.pyttsx3.runAndWait()
    if isinstance(place, io.BytesIO):
        place.seek(0)
    samples, rate = soundfile.read(place, dtype="float64", always_2d=True)
    return samples.mean(axis=1), rate


@cache
def _engine() -> _Engine:
    """The one engine of this process. Raises Complaint where there is no library."""
    if _LINUX:
        espeak.load()
    try:
        pyttsx3 = importlib.import_module("pyttsx3").init()
    except (ImportError, OSError, RuntimeError) as error:
        raise Complaint(_no_library(error)) from None
    engine = _Engine(pyttsx3, sys.modules["pyttsx3.drivers.espeak"] if _LINUX else None)
    if engine.driver is not None:
        espeak.hush(engine.driver)
    engine.settle()
    # The first loop returns before anything is spoken; from then on a loop waits for the end.
    pyttsx3.runAndWait()
    if _LINUX:
        pyttsx3.setProperty("voice", _VOICE)
    pyttsx3.setProperty("rate", _SPEED)
    atexit.register(_engine.cache_clear)  # It cannot close itself once the modules are gone.
    return engine


def _no_library(error: Exception) -> str:
    """One sentence on a machine that cannot speak."""
    if _LINUX:
        return (
            "There is no speech library on this machine; install the Python package espeakng-loader "
            "or, on Debian and Ubuntu, sudo apt install libespeak-ng1."
        )
    return f"The speech library of this machine cannot be used ({error}); install pyttsx3 again."


def _levelled(samples: NDArray[np.float64], rate: int) -> NDArray[np.int16]:
    """Samples at the level of the voice, without the silence around the words."""
    frame = round(rate * _FRAME)
    frames = np.pad(samples, (0, -len(samples) % frame)).reshape(-1, frame)
    energy = np.mean(frames**2, axis=1)
    speech = np.flatnonzero(energy > energy.max(initial=0) * _PAUSE_SHARE)
    if not len(speech):
        return np.zeros(0, np.int16)
    first = max(speech[0] * frame - round(_LEAD * rate), 0)
    last = (speech[-1] + 1) * frame + round(_TAIL * rate)
    gain = min(_LEVEL / np.sqrt(energy[speech].mean()), _PEAK / np.abs(samples).max())
    levelled: NDArray[np.int16] = np.rint(samples[first:last] * gain * 32767).astype(np.int16)
    return levelled

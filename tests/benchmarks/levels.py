"""Levels of speech: how loud the words are, whatever silence lies around and between them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voicecoach.sound import RATE

Sound = NDArray[np.float64]
"""Samples, mono at 16 kHz, full scale at -1 and 1."""
Mask = NDArray[np.bool_]
"""Which samples are meant."""

_FRAME = RATE // 50
_PAUSE_SHARE = 0.01
"""A frame with less than this share of the loudest frame's energy is a pause."""


def speaking(sound: Sound) -> Mask:
    """Which samples are of words: those in frames of 20 ms within 20 dB of the loudest frame."""
    frames = np.pad(sound, (0, -len(sound) % _FRAME)).reshape(-1, _FRAME)
    energy = np.mean(frames**2, axis=1)
    loud = energy > energy.max(initial=0.0) * _PAUSE_SHARE
    return np.repeat(loud, _FRAME)[: len(sound)]


def level(sound: Sound, where: Mask) -> float:
    """RMS level of the samples meant, in dBFS; minus infinity where there is no sound."""
    power = float(np.mean(sound[where] ** 2)) if where.any() else 0.0
    return 10 * float(np.log10(power)) if power > 0 else float("-inf")


def at_level(sound: Sound, dbfs: float) -> Sound:
    """The sound with its words at an RMS level in dBFS; sound without words stays as it is."""
    now = level(sound, speaking(sound))
    return sound if np.isinf(now) else sound * 10 ** ((dbfs - now) / 20)


def floats(samples: NDArray[np.int16]) -> Sound:
    """Samples of 16 bits as numbers from -1 to 1."""
    return samples.astype(np.float64) / 32768


def pcm(sound: Sound) -> NDArray[np.int16]:
    """Sound as samples of 16 bits; what is beyond full scale is clipped."""
    return np.clip(np.rint(sound * 32768), -32768, 32767).astype(np.int16)

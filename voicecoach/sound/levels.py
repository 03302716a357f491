"""How loud sound is: small functions of samples. 0 dBFS is a square wave of full scale."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from voicecoach.sound import RATE

QUIETEST = -100.0
"""What digital silence counts as, in dBFS; below the least step of 16 bits."""

SILENT = -60.0
"""Peak in dBFS below which a recording holds nothing that can be heard."""

FULL = 32768.0
"""Sample steps of full scale."""

_LEAST = 10 ** (QUIETEST / 20)
_CLIPPED = 32700
"""A sample this far out has met the end of the scale."""
_NOISE_FRAME = RATE // 50
_NOISE_SHARE = 0.1
"""Even in steady talk a tenth of the time falls between sounds, and is noise alone."""


def dbfs(amplitude: float) -> float:
    """Decibels of an amplitude in sample steps, not below QUIETEST."""
    return 20 * math.log10(max(amplitude / FULL, _LEAST))


def amplitude(dbfs: float) -> float:
    """Sample steps of a level in dBFS: the reverse of `dbfs`."""
    return float(FULL * 10 ** (dbfs / 20))


def rms_dbfs(samples: NDArray[np.int16]) -> float:
    """Root mean square of int16 samples in dBFS; QUIETEST where there are none."""
    if not len(samples):
        return QUIETEST
    wide = samples.astype(np.float64)
    return dbfs(math.sqrt(float(np.dot(wide, wide)) / len(wide)))


def peak_dbfs(samples: NDArray[np.int16]) -> float:
    """Greatest distance of an int16 sample from zero in dBFS; QUIETEST where there are none."""
    return dbfs(float(np.abs(samples.astype(np.int32)).max(initial=0)))


def clipped_share(samples: NDArray[np.int16]) -> float:
    """Share of the samples, 0 to 1, that met the end of the scale."""
    return float(np.count_nonzero(_clipped(samples))) / max(len(samples), 1)


def clipped_runs(samples: NDArray[np.int16]) -> int:
    """How many times the samples met the end of the scale: those in a row count once."""
    out = _clipped(samples)
    return int(np.count_nonzero(out & ~np.concatenate(([False], out))[:-1]))


def _clipped(samples: NDArray[np.int16]) -> NDArray[np.bool_]:
    """Which samples met the end of the scale."""
    return np.abs(samples.astype(np.int32)) >= _CLIPPED


def noise_floor_dbfs(samples: NDArray[np.int16]) -> float:
    """Level in dBFS of the quietest tenth of mono sound at 16 kHz: the noise behind the speech."""
    frames = [samples[at : at + _NOISE_FRAME] for at in range(0, len(samples), _NOISE_FRAME)]
    quietest = sorted(rms_dbfs(frame) for frame in frames)
    return quietest[int(len(quietest) * _NOISE_SHARE)] if quietest else QUIETEST

"""Sounds that are no words: the chirp that measures a room, the signal to begin, the tick of a clock.

All are int16, mono at 16 kHz, and begin and end at 0, so that no loudspeaker clicks. Levels and lengths are
common practice, no source, but for those of `sweep`, which its caller gives.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voicecoach.sound import RATE
from voicecoach.sound.levels import amplitude

_SWEEP_EDGE = 0.01
"""Seconds in which a sweep comes and goes."""
_SIGNAL = (660.0, 880.0)
"""Hz of the two tones of the start signal, a fourth apart."""
_SIGNAL_TONE, _SIGNAL_GAP, _SIGNAL_EDGE = 0.15, 0.05, 0.04
"""Seconds of each tone, between the two, and in which each comes and goes."""
_SIGNAL_PEAK = -20.0
_TICK, _TICK_HERTZ = 0.03, 1000.0
_TICK_PEAK = -26.0


def sweep(seconds: float, low: float, high: float, dbfs: float) -> NDArray[np.int16]:
    """A tone that rises from `low` to `high` Hz, each octave in the same time, with an RMS of `dbfs`.

    Farina's exponential sweep (AES 108th Convention, 2000, preprint 5093). It is like no other sound and
    not like itself a moment later, so that it is found in a recording to the sample.
    """
    time = _times(seconds)
    growth = np.log(high / low)
    rising = np.sin(2 * np.pi * low * seconds / growth * np.expm1(time / seconds * growth))
    faded = rising * _edges(len(time), _SWEEP_EDGE)
    return _samples(faded * amplitude(dbfs) / np.sqrt(np.mean(faded**2)))


def start_signal() -> NDArray[np.int16]:
    """Two soft tones, the second the higher, in 0.35 s: begin."""
    first, second = (_tone(hertz, _SIGNAL_TONE, _SIGNAL_EDGE) for hertz in _SIGNAL)
    gap = np.zeros(round(_SIGNAL_GAP * RATE))
    return _samples(np.concatenate((first, gap, second)) * amplitude(_SIGNAL_PEAK))


def tick() -> NDArray[np.int16]:
    """A soft tick of 30 ms."""
    return _samples(_tone(_TICK_HERTZ, _TICK, _TICK / 2) * amplitude(_TICK_PEAK))


def _tone(hertz: float, seconds: float, edge: float) -> NDArray[np.float64]:
    """A sine with its edges, highest at 1."""
    time = _times(seconds)
    sine = np.sin(2 * np.pi * hertz * time) * _edges(len(time), edge)
    tone: NDArray[np.float64] = sine / np.abs(sine).max()
    return tone


def _times(seconds: float) -> NDArray[np.float64]:
    return np.arange(round(seconds * RATE)) / RATE


def _edges(length: int, seconds: float) -> NDArray[np.float64]:
    """Rises from 0 to 1 in so many seconds as a raised cosine, stays there, and falls back to 0."""
    edge = round(seconds * RATE)
    rise = (1 - np.cos(np.pi * np.arange(edge) / edge)) / 2
    return np.concatenate((rise, np.ones(length - 2 * edge), rise[::-1]))


def _samples(sound: NDArray[np.float64]) -> NDArray[np.int16]:
    samples: NDArray[np.int16] = np.rint(sound).astype(np.int16)
    return samples

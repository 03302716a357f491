"""Measures a microphone and its room from recordings: noise, speech, clipping, and the loudspeaker in it.

Levels are in dBFS as in `levels`: a sine of full scale is at -3.01 dBFS, not at 0 as AES17 has it. Those of
noise, speech and loudspeaker are plain, not A-weighted, in the band in which the endpointer looks for
voices, 200 to 4000 Hz; those of a hum are at its own frequencies.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import NDArray

from voicecoach.sound import RATE
from voicecoach.sound.endpointer import ABOVE_NOISE, FAINTEST, FRAME, frame_powers
from voicecoach.sound.levels import FULL, QUIETEST, clipped_runs, clipped_share
from voicecoach.sound.tones import sweep

MARGIN = 15.9
"""Decibels below the level of speech down to which sound is part of it: ITU-T P.56, method B."""
_LEAST_SPEECH = 3 * RATE // 10
"""Samples of sound that are speech and no cough; common practice, no source."""
_VOICES = (200, 4000)
"""Hz between which the endpointer looks for voices."""
_LOOKS_BACK = 2
"""Frames at the beginning that look back before it."""

_MAINS = (50, 60)
_LINES = 4
"""Harmonics of the mains that are looked at: up to here those of the two are apart."""
_LINE_WIDTH = 2.0
"""Hz on both sides of a harmonic that belong to it: the mains are not quite steady."""
_BESIDE = 12.0
"""Hz on both sides of it that it must stand out from."""
_CLEAR = 15.0
"""Decibels by which it must: noise alone has 12 once in a thousand times."""
_HUM_FAINTEST = -70.0
"""Level below which a hum disturbs nobody; common practice, no source."""

CHIRP = sweep(0.2, 500.0, 4000.0, -20.0)
"""What is played to find the loudspeaker in the microphone; as loud as the coach's voice."""
_ALIKE = 0.25
"""Correlation from which it is the chirp: noise and talk have 0.16 at most, a tiled room leaves 0.47."""
_NOTHING = 1e-7
"""Energy of as much sound as the chirp has, full scale being 1, below which it is digital silence."""


@dataclass(frozen=True, slots=True)
class Hum:
    """Mains that are heard."""

    hertz: int
    """50 or 60."""
    dbfs: float
    """Level of its first harmonics together."""


@dataclass(frozen=True, slots=True)
class Noise:
    """What is heard while nobody speaks."""

    dbfs: float
    """Level that half of the time stays below, so that a door or a cough does not count."""
    hum: Hum | None
    """None where there is none, or none that is clear."""


@dataclass(frozen=True, slots=True)
class Speech:
    """What is heard while somebody speaks."""

    dbfs: float
    """Level of the speech without the noise, pauses left out."""
    ratio: float
    """Decibels above the noise."""


@dataclass(frozen=True, slots=True)
class Clipping:
    """Sound that met the end of the scale."""

    share: float
    """Share of the samples, 0 to 1."""
    runs: int
    """How often it happened: runs of such samples."""


@dataclass(frozen=True, slots=True)
class Echo:
    """The loudspeaker as the microphone hears it."""

    delay: float
    """Seconds from the moment at which it was to play."""
    dbfs: float
    """Level of the chirp, without the noise."""


def dead(samples: NDArray[np.int16]) -> bool:
    """Whether mono sound is none at all: every sample is the same, or there are none."""
    return not len(samples) or bool((samples == samples[0]).all())


def noise(samples: NDArray[np.int16]) -> Noise:
    """Measures a room in which nobody speaks: int16, mono at 16 kHz, two seconds or more."""
    powers = _powers(samples)
    return Noise(_decibels(float(np.median(powers))) if len(powers) else QUIETEST, _hum(samples))


def speech(samples: NDArray[np.int16], noise: float) -> Speech | None:
    """Measures speech, int16, mono at 16 kHz, over noise of a level in dBFS; None where there is none.

    The level is after ITU-T P.56: that of the sound which is at most 15.9 dB below it.
    """
    powers = _powers(samples)
    spoken = powers[powers > _power(max(noise + ABOVE_NOISE, FAINTEST))]
    if len(spoken) * FRAME < _LEAST_SPEECH:
        return None
    while len(louder := spoken[spoken > spoken.mean() * _power(-MARGIN)]) < len(spoken):
        spoken = louder
    # All of it stands out from the noise, and so does its mean.
    dbfs = _decibels(float(spoken.mean()) - _power(noise))
    return Speech(dbfs, dbfs - noise)


def clipping(samples: NDArray[np.int16]) -> Clipping:
    """What of int16 sound met the end of the scale."""
    return Clipping(clipped_share(samples), clipped_runs(samples))


def echo(samples: NDArray[np.int16], noise: float) -> Echo | None:
    """Finds the chirp in mono sound at 16 kHz that begins when it was to play; None where it is not heard.

    `noise` is the level of the room in dBFS.
    """
    heard, chirp = _voices(samples), CHIRP / FULL
    places = len(heard) - len(chirp) + 1
    if places < 1:
        return None
    product = scipy.signal.correlate(heard, chirp, "valid", "fft")
    sums = np.concatenate(([0.0], np.cumsum(heard**2)))
    energy = np.maximum(sums[len(chirp) :] - sums[:places], _NOTHING)
    alike = np.abs(product) / np.sqrt(energy * float(np.dot(chirp, chirp)))
    place = int(np.argmax(alike))
    if alike[place] < _ALIKE:
        return None
    power = float(energy[place]) / len(chirp)
    # Where the noise is loud the difference says little; what is like the chirp is its sound in any case.
    own = max(power - _power(noise), power * float(alike[place]) ** 2)
    return Echo(place / RATE, _decibels(own))


def _powers(samples: NDArray[np.int16]) -> NDArray[np.float64]:
    """Powers of mono sound at 16 kHz in the band of voices, one for each frame, full scale being 1."""
    powers: NDArray[np.float64] = frame_powers(samples)[_LOOKS_BACK:].sum(axis=1) / FULL**2
    return powers


def _hum(samples: NDArray[np.int16]) -> Hum | None:
    """The mains that are heard clearly: those whose harmonics are the louder."""
    if len(samples) < RATE:
        return None
    loudest = max((Hum(mains, _lines_dbfs(samples, mains)) for mains in _MAINS), key=lambda hum: hum.dbfs)
    return loudest if loudest.dbfs > _HUM_FAINTEST else None


def _lines_dbfs(samples: NDArray[np.int16], mains: int) -> float:
    """Level of the harmonics of the mains that stand out from what is beside them."""
    taper = np.hanning(len(samples))
    spectrum = np.abs(np.fft.rfft(samples / FULL * taper)) ** 2
    hertz = np.fft.rfftfreq(len(samples), 1 / RATE)
    lines = 0.0
    for harmonic in range(1, _LINES + 1):
        away = np.abs(hertz - harmonic * mains)
        line, beside = spectrum[away <= _LINE_WIDTH], spectrum[(away > _LINE_WIDTH) & (away <= _BESIDE)]
        if line.max() > np.median(beside) * _power(_CLEAR):
            lines += float(line.sum())
    return _decibels(2 * lines / (len(samples) * float(np.sum(taper**2))))


def _voices(samples: NDArray[np.int16]) -> NDArray[np.float64]:
    """Sound of which only the band of voices is left, with full scale at 1."""
    spectrum = np.fft.rfft(samples / FULL)
    hertz = np.fft.rfftfreq(len(samples), 1 / RATE)
    spectrum[(hertz < _VOICES[0]) | (hertz >= _VOICES[1])] = 0
    return np.fft.irfft(spectrum, len(samples))


def _decibels(power: float) -> float:
    """Decibels of a power, that of full scale being 1; not below QUIETEST."""
    return 10 * math.log10(max(power, 10 ** (QUIETEST / 10)))


def _power(decibels: float) -> float:
    """The reverse of `_decibels`; also the factor of a power that is so many decibels."""
    return float(10 ** (decibels / 10))

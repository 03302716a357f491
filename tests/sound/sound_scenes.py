"""Sound made for the tests: speech with silences between, and what runs in the background."""

from __future__ import annotations

from functools import cache

import numpy as np
import soxr
from numpy.typing import NDArray

from voicecoach.sound import RATE
from voicecoach.speaking.voice import Voice

Sound = NDArray[np.float64]

SENTENCES = (
    "First I wash my hands.",
    "The bed is locked.",
    "I raise the side rail, and I put the call light within reach.",
    "Done.",
    "Now I check the water temperature at the inside of my wrist.",
)


@cache
def spoken(sentence: str) -> Sound:
    """A sentence at 16 kHz and -23 dBFS, from its first sound to its last."""
    voice = Voice()
    sound: Sound = soxr.resample(voice.render(sentence).astype(np.float64), voice.rate, RATE)
    heard = np.flatnonzero(np.abs(sound) > 200)
    sound = sound[heard[0] : heard[-1] + 1]
    return at_level(sound, -23)


def level(dbfs: float) -> float:
    """Amplitude in sample steps."""
    return float(32768 * 10 ** (dbfs / 20))


def at_level(sound: Sound, dbfs: float) -> Sound:
    """Sound with the given RMS."""
    levelled: Sound = sound * level(dbfs) / np.sqrt(np.mean(sound**2))
    return levelled


def silence(seconds: float) -> Sound:
    """Digital silence."""
    return np.zeros(round(seconds * RATE))


def noise(seconds: float, dbfs: float, seed: int = 1) -> Sound:
    """White noise."""
    return np.random.default_rng(seed).normal(size=round(seconds * RATE)) * level(dbfs)


def running_water(seconds: float, dbfs: float, seed: int = 2) -> Sound:
    """Noise of a tap: a broad band whose level wavers."""
    samples = round(seconds * RATE)
    random = np.random.default_rng(seed)
    frequency = np.fft.rfftfreq(samples, 1 / RATE)
    band = frequency / (frequency + 600) / (1 + (frequency / 5000) ** 2)
    water = np.fft.irfft(np.fft.rfft(random.normal(size=samples)) * band, samples)
    steps = np.convolve(random.normal(size=samples // 800 + 2), np.ones(4) / 4, "same")
    water *= 10 ** (np.interp(np.arange(samples) / 800, np.arange(len(steps)), steps) / 10)
    return at_level(water, dbfs)


def pcm(*parts: Sound) -> NDArray[np.int16]:
    """Parts one after the other as samples."""
    return np.clip(np.rint(np.concatenate(parts)), -32768, 32767).astype(np.int16)


def talk(gap: float = 1.0) -> tuple[Sound, list[tuple[float, float]]]:
    """The sentences with silences between, and the seconds at which each begins and ends."""
    parts = [silence(gap)]
    times = []
    for sentence in SENTENCES:
        start = sum(map(len, parts)) / RATE
        parts += [spoken(sentence), silence(gap)]
        times.append((start, start + len(parts[-2]) / RATE))
    return np.concatenate(parts), times

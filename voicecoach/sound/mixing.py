"""Several mono sounds put together into one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import soxr
from numpy.typing import NDArray

from voicecoach.sound import RATE

_FADE = 0.05
"""Seconds in which a sound becomes quieter or loud again."""


@dataclass(frozen=True, slots=True)
class Track:
    """A sound and its place in the whole."""

    at: float
    """Seconds at which it begins, not below 0."""
    samples: NDArray[np.int16]
    """Mono."""
    rate: int = RATE
    """Samples a second."""
    gain: float = 0.0
    """Decibels by which it becomes louder."""


def mix(tracks: Sequence[Track]) -> NDArray[np.int16]:
    """One mono sound at 16 kHz of all tracks, just long enough for them.

    Where they would clip together, the whole is made as quiet as needed.
    """
    sounds = [(round(track.at * RATE), _loud(track)) for track in tracks]
    whole = np.zeros(max((first + len(sound) for first, sound in sounds), default=0))
    for first, sound in sounds:
        whole[first : first + len(sound)] += sound
    loudest = float(np.abs(whole).max(initial=0))
    mixed: NDArray[np.int16] = np.rint(whole * min(1.0, 32767 / max(loudest, 1.0))).astype(np.int16)
    return mixed


def ducked(
    samples: NDArray[np.int16], spans: Iterable[tuple[float, float]], gain: float = -12.0
) -> NDArray[np.int16]:
    """Mono sound at 16 kHz with its level changed by `gain` decibels between the given seconds.

    The change comes and goes by a short fade outside of each span.
    """
    share = np.zeros(len(samples))
    seconds = np.arange(len(samples)) / RATE
    for start, end in spans:
        away = np.maximum(start - seconds, seconds - end)
        share = np.maximum(share, np.clip(1 - away / _FADE, 0, 1))
    quieter: NDArray[np.int16] = np.rint(samples * 10 ** (gain * share / 20)).astype(np.int16)
    return quieter


def _loud(track: Track) -> NDArray[np.float64]:
    """The samples of a track at 16 kHz with its gain, in a type that has room for any."""
    louder = track.samples * 10 ** (track.gain / 20)
    sound: NDArray[np.float64] = soxr.resample(louder.astype(np.float64), track.rate, RATE)
    return sound

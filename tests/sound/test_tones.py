"""Chirp, start signal and tick."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from voicecoach.sound import RATE
from voicecoach.sound.levels import peak_dbfs, rms_dbfs
from voicecoach.sound.tones import start_signal, sweep, tick

TONES = {"sweep": sweep(0.2, 500, 4000, -20), "start_signal": start_signal(), "tick": tick()}


def strongest(samples: NDArray[np.int16]) -> float:
    """Hz of the strongest tone."""
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples)), RATE))
    return float(np.argmax(spectrum))


@pytest.mark.parametrize("name", TONES)
def test_is_pcm_that_begins_and_ends_without_a_click(name: str) -> None:
    samples = TONES[name]
    assert samples.dtype == np.int16
    assert samples[0] == samples[-1] == 0
    edges = np.concatenate((samples[:16], samples[-16:])).astype(int)
    assert np.abs(edges).max() < 0.05 * np.abs(samples).max()
    # No step is steeper than those of its highest tone at its highest level.
    assert np.abs(np.diff(samples.astype(int))).max() <= 2 * np.abs(samples.astype(int)).max()


@pytest.mark.parametrize(("seconds", "dbfs"), [(0.2, -20.0), (0.5, -30.0)])
def test_sweep_has_its_length_and_level(seconds: float, dbfs: float) -> None:
    samples = sweep(seconds, 500, 4000, dbfs)
    assert len(samples) == seconds * RATE
    assert rms_dbfs(samples) == pytest.approx(dbfs, abs=0.01)


def test_sweep_takes_as_long_for_each_octave() -> None:
    samples = sweep(3.0, 500, 4000, -20)
    for octave in range(3):
        middle = round((octave + 0.5) * RATE)
        there = samples[middle - 400 : middle + 400]
        assert strongest(there) == pytest.approx(500 * 2 ** (octave + 0.5), rel=0.02)


def test_sweep_is_like_itself_at_one_place_only() -> None:
    samples = sweep(0.2, 500, 4000, -20).astype(float)
    alike = np.abs(np.correlate(samples, samples, "full")) / np.dot(samples, samples)
    middle = len(samples) - 1
    assert alike[middle] == 1
    assert np.delete(alike, range(middle - 160, middle + 161)).max() < 0.1


def test_start_signal_rises_and_is_soft() -> None:
    samples = start_signal()
    assert len(samples) == 0.35 * RATE
    assert strongest(samples[: len(samples) // 2]) == pytest.approx(660, abs=3)
    assert strongest(samples[len(samples) // 2 :]) == pytest.approx(880, abs=3)
    assert peak_dbfs(samples) == pytest.approx(-20, abs=0.05)


def test_tick_is_short_and_soft() -> None:
    samples = tick()
    assert len(samples) == 0.03 * RATE
    assert strongest(samples) == pytest.approx(1000, abs=5)
    assert peak_dbfs(samples) == pytest.approx(-26, abs=0.05)

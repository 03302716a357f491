from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.sound.sound_scenes import noise, pcm, silence, talk
from voicecoach.sound.levels import QUIETEST, clipped_share, dbfs, noise_floor_dbfs, peak_dbfs, rms_dbfs

NOTHING = np.zeros(0, np.int16)


def test_full_scale_is_0_dbfs() -> None:
    square = np.array([-32768, 32767] * 100, np.int16)
    assert rms_dbfs(square) == pytest.approx(0, abs=0.001)
    assert peak_dbfs(square) == 0
    assert clipped_share(square) == 1


def test_sine_is_3_db_below_its_peak() -> None:
    sine = pcm(np.sin(np.arange(16000) * 0.1) * 16384)
    assert peak_dbfs(sine) == pytest.approx(-6.02, abs=0.01)
    assert rms_dbfs(sine) == pytest.approx(-9.03, abs=0.01)
    assert clipped_share(sine) == 0


@pytest.mark.parametrize("samples", [NOTHING, np.zeros(1000, np.int16)])
def test_nothing_and_silence_are_quietest(samples: np.ndarray) -> None:
    assert rms_dbfs(samples) == peak_dbfs(samples) == noise_floor_dbfs(samples) == QUIETEST
    assert clipped_share(samples) == 0


def test_share_of_clipped_samples() -> None:
    assert clipped_share(np.array([0, 32767, 100, -32768], np.int16)) == 0.5


def test_noise_floor_lies_beneath_speech() -> None:
    speech, _ = talk(gap=1)
    sound = pcm(speech + noise(len(speech) / 16000, -50))
    assert noise_floor_dbfs(sound) == pytest.approx(-50, abs=1)
    assert rms_dbfs(sound) > -30


def test_noise_floor_of_less_than_a_frame() -> None:
    assert noise_floor_dbfs(np.full(10, 3277, np.int16)) == pytest.approx(-20, abs=0.01)
    assert noise_floor_dbfs(pcm(silence(1))) == QUIETEST


@given(st.floats(0, 1e6))
def test_decibels_never_fall_as_the_amplitude_rises(amplitude: float) -> None:
    assert QUIETEST <= dbfs(amplitude) <= dbfs(amplitude * 1.5)


@given(st.lists(st.integers(-32768, 32767), min_size=1, max_size=200))
def test_mean_is_never_above_the_peak(samples: list[int]) -> None:
    pcm16 = np.array(samples, np.int16)
    assert rms_dbfs(pcm16) <= peak_dbfs(pcm16) + 1e-9

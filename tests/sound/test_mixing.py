from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.sound.sound_scenes import noise, pcm
from voicecoach.sound import RATE
from voicecoach.sound.levels import rms_dbfs
from voicecoach.sound.mixing import Track, ducked, mix

ONE = pcm(noise(1, -25))


def test_each_track_is_in_its_place() -> None:
    mixed = mix([Track(0.5, ONE), Track(2.0, ONE)])
    assert len(mixed) == 3 * RATE
    assert not mixed[: RATE // 2].any()
    assert np.array_equal(mixed[RATE // 2 : RATE * 3 // 2], ONE)
    assert not mixed[RATE * 3 // 2 : 2 * RATE].any()
    assert np.array_equal(mixed[2 * RATE :], ONE)


def test_tracks_that_overlap_are_added() -> None:
    assert np.array_equal(mix([Track(0, ONE), Track(0, ONE)]), 2 * ONE)


def test_gain() -> None:
    assert rms_dbfs(mix([Track(0, ONE, gain=-10)])) == pytest.approx(rms_dbfs(ONE) - 10, abs=0.1)


def test_other_rate_is_brought_to_16_khz() -> None:
    sine = pcm(np.sin(2 * np.pi * 440 * np.arange(22050) / 22050) * 5000)
    mixed = mix([Track(1, sine, rate=22050)])
    assert len(mixed) == 2 * RATE
    assert rms_dbfs(mixed[RATE:]) == pytest.approx(rms_dbfs(sine), abs=0.1)


def test_nothing() -> None:
    assert len(mix([])) == 0
    assert len(mix([Track(1, ONE[:0])])) == RATE


@given(st.lists(st.tuples(st.floats(0, 0.5), st.floats(-20, 40)), max_size=6))
def test_never_clips(places: list[tuple[float, float]]) -> None:
    tracks = [Track(at, ONE, gain=gain) for at, gain in places]
    parts = [
        mix([replace(track, gain=-40)]).astype(float) * 10 ** ((track.gain + 40) / 20) for track in tracks
    ]
    sum_of_peaks = sum(np.abs(part).max() for part in parts)
    mixed = mix(tracks)
    assert np.abs(mixed.astype(int)).max(initial=0) <= min(32767, sum_of_peaks * 1.05)


def test_whole_that_is_too_loud_becomes_quieter_as_a_whole() -> None:
    alone = ONE / np.abs(ONE.astype(int)).max() * 32767
    assert np.allclose(mix([Track(0, ONE, gain=60)]), alone, atol=1)


def test_ducked_where_the_other_speaks_and_only_there() -> None:
    quieter = ducked(ONE, [(0.3, 0.5)], gain=-12)
    assert np.array_equal(quieter[: RATE // 4], ONE[: RATE // 4])
    assert np.array_equal(quieter[RATE * 55 // 100 :], ONE[RATE * 55 // 100 :])
    inside = slice(RATE * 3 // 10, RATE // 2)
    assert rms_dbfs(quieter[inside]) == pytest.approx(rms_dbfs(ONE[inside]) - 12, abs=0.1)


def test_fade_makes_no_step() -> None:
    flat = np.full(RATE, 10000, np.int16)
    steps = np.diff(ducked(flat, [(0.3, 0.5), (0.52, 0.6)], gain=-12).astype(int))
    assert np.abs(steps).max() < 30

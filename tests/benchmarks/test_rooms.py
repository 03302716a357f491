"""The conditions are what they say: signal-to-noise ratio, loss of a mask, reverberation."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from tests.benchmarks import rooms
from tests.benchmarks.levels import Sound, at_level, floats, level, pcm, speaking
from voicecoach.sound import RATE


def talk(seed: int, seconds: float = 6.0) -> Sound:
    """Noise in words of 0.4 s with silences between, at -23 dBFS."""
    random = np.random.default_rng(seed)
    samples = round(seconds * RATE)
    words = (np.arange(samples) // (RATE * 4 // 10)) % 3 != 0
    return at_level(random.normal(size=samples) * words, -23.0)


def others(random: np.random.Generator, count: int) -> Sequence[Sound]:
    return [talk(int(random.integers(1000)), 3.0) for _ in range(count)]


NOISY = [name for name in rooms.CONDITIONS if rooms.condition(name).ratio is not None]


@pytest.mark.parametrize("name", NOISY)
def test_the_noise_is_at_its_ratio_while_words_are_said_and_goes_on_between_them(name: str) -> None:
    clean = talk(1)
    heard = floats(pcm(rooms.heard_in(name, clean, "one", others)))
    words = speaking(clean)
    noise = heard - clean
    assert level(clean, words) - level(noise, words) == pytest.approx(rooms.condition(name).ratio, abs=0.3)
    assert level(noise, ~words) > level(noise, words) - 6


@pytest.mark.parametrize("name", ["water-10", "babble-10"])
def test_the_narration_seeds_the_noise(name: str) -> None:
    clean = talk(1)
    first, again, other = (rooms.heard_in(name, clean, id, others) for id in ("one", "one", "two"))
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)


def test_only_the_loudness_of_the_noise_differs_between_its_ratios() -> None:
    clean = talk(1)
    loud, soft = (rooms.heard_in(name, clean, "one", others) - clean for name in ("water-5", "water-20"))
    assert loud == pytest.approx(soft * 10 ** (15 / 20), abs=1e-9)


def test_water_is_a_band_that_falls_with_frequency_and_wavers() -> None:
    water = rooms.water(20 * RATE, np.random.default_rng(3))
    power = np.abs(np.fft.rfft(water)) ** 2
    hertz = np.fft.rfftfreq(len(water), 1 / RATE)

    def density(low: float, high: float) -> float:
        return 10 * float(np.log10(power[(hertz >= low) & (hertz < high)].mean()))

    assert density(500, 1000) > density(50, 100) + 8
    assert density(500, 1000) > density(2000, 4000) + 3 > density(6000, 8000) + 6
    levels = [level(part, np.ones(len(part), bool)) for part in np.split(water, 20)]
    assert 0.5 < np.std(levels) < 3


@pytest.mark.parametrize(
    ("mask", "hertz", "loss"),
    [
        ("surgical", 500, 0),
        ("surgical", 1000, 0),
        ("surgical", 2000, 3),
        ("surgical", 4000, 4),
        ("n95", 900, 0),
        ("n95", 2000, 4),
        ("n95", 3000, 6),
        ("n95", 7000, 6),
    ],
)
def test_a_mask_takes_away_what_was_measured(mask: str, hertz: float, loss: float) -> None:
    tone = np.sin(2 * np.pi * hertz * np.arange(RATE) / RATE)
    inner = slice(RATE // 4, -RATE // 4)
    through = rooms.heard_in(f"mask-{mask}", tone, "one", others)
    lost = 10 * np.log10(np.mean(tone[inner] ** 2) / np.mean(through[inner] ** 2))
    assert lost == pytest.approx(loss, abs=0.2)


def test_reverberation_is_measured_by_the_slope_of_the_decay() -> None:
    seconds = np.arange(RATE) / RATE
    decay = np.random.default_rng(5).normal(size=RATE) * 10 ** (-3 * seconds / 0.4)
    assert rooms.reverberation(decay) == pytest.approx(0.4, rel=0.05)


def test_the_tiled_room_has_the_reverberation_asked_for() -> None:
    pytest.importorskip("pyroomacoustics", reason="the response of the room is made by pyroomacoustics")
    assert rooms.reverberation(rooms.room_response(rooms.RT60)) == pytest.approx(rooms.RT60, rel=0.05)


def test_echo_keeps_the_length_and_the_loudness() -> None:
    pytest.importorskip("pyroomacoustics", reason="the response of the room is made by pyroomacoustics")
    clean = talk(1)
    heard = rooms.heard_in("echo", clean, "one", others)
    assert len(heard) == len(clean)
    assert level(heard, speaking(heard)) == pytest.approx(-23.0, abs=0.1)
    assert level(heard, ~speaking(clean)) > -60


def test_mouth_and_microphone_are_as_far_apart_as_said() -> None:
    apart = np.subtract(rooms._MOUTH, rooms._MICROPHONE)
    assert np.linalg.norm(apart) == pytest.approx(0.7, abs=0.01)


@pytest.mark.parametrize("name", ["", "water", "fog-10", "mask-scarf", "clean-5"])
def test_there_are_no_other_conditions(name: str) -> None:
    with pytest.raises(ValueError, match=r"condition|float"):
        rooms.condition(name)

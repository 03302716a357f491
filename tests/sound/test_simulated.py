"""What a case sounds like, measured: beats and breaths counted, taps held against the needle."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import soxr
from hypothesis import given, settings
from hypothesis import strategies as st
from num2words import num2words
from numpy.typing import NDArray
from scipy import signal

from voicecoach.following.numbers import amounts
from voicecoach.sound import RATE, simulated
from voicecoach.sound.levels import peak_dbfs
from voicecoach.sound.simulated import Simulation, beats, breaths, in_words, needle, sounds
from voicecoach.speaking.voice import Voice

FRAME = RATE // 100
FALL = 2.0
"""mmHg a second: ACC/AHA high blood pressure guideline, 2017, restated."""
PULSE = 72
CUE = "Stop for a moment. Think about what you have to lock before she stands up."
PAIRS = st.tuples(st.integers(45, 70), st.integers(25, 45)).map(lambda pair: (2 * pair[0], 2 * pair[1]))
"""Even systolic pressures from 90 to 140 with even diastolic ones from 50 to 90."""
SOME = settings(derandomize=True, max_examples=40, deadline=None)


@cache
def voice() -> Voice:
    return Voice()


@cache
def said(text: str) -> NDArray[np.int16]:
    samples: NDArray[np.int16] = soxr.resample(voice().render(text), voice().rate, RATE)
    return samples


def cuff(systolic: int, diastolic: int) -> Simulation:
    return sounds(
        systolic, diastolic, {number: said(in_words(number)) for number in needle(systolic, diastolic)}
    )


def tapping(systolic: int, diastolic: int) -> Simulation:
    """The same with a voice that is silent, each number as long as it takes."""
    silent = {number: np.zeros(RATE, np.int16) for number in needle(systolic, diastolic)}
    return sounds(systolic, diastolic, silent)


def whole(simulation: Simulation) -> NDArray[np.float64]:
    return np.tile(simulation.samples, simulation.rounds).astype(np.float64)


def frames(sound: NDArray[np.float64], length: int = FRAME) -> NDArray[np.float64]:
    """RMS of each frame."""
    cut = sound[: len(sound) // length * length].reshape(-1, length)
    return np.asarray(np.sqrt(np.mean(cut**2, axis=1)))


def band(sound: NDArray[np.float64], low: float, high: float) -> NDArray[np.float64]:
    filtered = signal.sosfilt(signal.butter(4, (low, high), "bandpass", fs=RATE, output="sos"), sound)
    return np.asarray(filtered)


def onsets(simulation: Simulation) -> NDArray[np.float64]:
    """Seconds at which a sound begins after silence."""
    loud = np.abs(whole(simulation)) > 0
    at = np.flatnonzero(loud)
    return np.asarray(at[np.diff(at, prepend=-RATE) > RATE // 4] / RATE)


def pressure(simulation: Simulation, at: float) -> float:
    """Where the needle stands, by the number that is read first and how fast it falls."""
    first = simulation.read[0]
    return amounts(first.text)[0].values[0] - FALL * (at - first.start)


@pytest.mark.parametrize("simulation", [beats(72), beats(131), breaths(16), cuff(118, 76), cuff(140, 50)])
def test_is_softer_than_a_cue_and_begins_and_ends_without_a_click(simulation: Simulation) -> None:
    samples = simulation.samples
    assert samples.dtype == np.int16
    assert samples[0] == samples[-1] == 0
    edges = np.concatenate((samples[:16], samples[-16:])).astype(int)
    assert np.abs(edges).max() < 0.15 * np.abs(samples.astype(int)).max()
    assert peak_dbfs(samples) < peak_dbfs(said(CUE)) - 3
    cue = frames(said(CUE).astype(float), RATE // 50).max()
    assert frames(samples.astype(float), RATE // 50).max() < 0.71 * cue


@SOME
@given(st.integers(40, 130), st.floats(0, 119))
def test_beats_are_as_many_in_any_minute_and_regular(rate: int, begins: float) -> None:
    sound = whole(beats(rate))
    assert 180 - 60 / rate < len(sound) / RATE < 180.01
    minute = frames(sound[round(begins * RATE) : round((begins + 60) * RATE)])
    found, _ = signal.find_peaks(minute, height=0.6 * minute.max(), distance=20)
    assert abs(len(found) - rate) <= 1
    assert np.abs(np.diff(found) * 0.01 - 60 / rate).max() <= 0.021


def test_a_beat_has_two_parts_low_but_not_too_low_for_small_loudspeakers() -> None:
    sound = beats(60).samples.astype(float)
    levels = np.pad(frames(sound), 1)
    found, _ = signal.find_peaks(levels, height=0.2 * levels.max(), distance=5)
    assert np.diff(found) * 0.01 == pytest.approx([0.1], abs=0.02)
    power = np.abs(np.fft.rfft(sound)) ** 2
    hertz = np.fft.rfftfreq(len(sound), 1 / RATE)
    assert power[(hertz > 150) & (hertz < 400)].sum() > 0.8 * power.sum()
    # The click, without which there would be a millionth.
    assert 0.002 < power[hertz > 1000].sum() / power.sum() < 0.05


@SOME
@given(st.integers(8, 40), st.floats(0, 119))
def test_breaths_are_as_many_in_any_minute(rate: int, begins: float) -> None:
    sound = whole(breaths(rate))
    assert 180 - 60 / rate < len(sound) / RATE < 180.01
    minute = sound[round(begins * RATE) : round((begins + 60) * RATE)]
    swelling = np.convolve(frames(minute), np.hanning(30) / 15, "same")
    found, _ = signal.find_peaks(swelling, height=0.6 * swelling.max(), distance=50)
    assert abs(len(found) - rate) <= 1


def test_in_a_breath_air_goes_in_and_then_lower_and_fainter_out() -> None:
    sound = breaths(15).samples.astype(float)
    into, out, still = np.split(sound, [round(0.425 * len(sound)), round(0.85 * len(sound))])
    assert frames(out).max() < 0.6 * frames(into).max()
    assert not still.any()
    assert frames(band(out, 300, 500)).max() > frames(band(out, 1200, 2000)).max()
    assert frames(band(into, 300, 450)).max() < frames(band(into, 1200, 2000)).max()


@SOME
@given(PAIRS)
def test_the_first_tap_is_at_systolic_and_the_last_at_diastolic_or_just_above(pair: tuple[int, int]) -> None:
    systolic, diastolic = pair
    simulation = tapping(systolic, diastolic)
    found = onsets(simulation)
    assert np.diff(found) == pytest.approx(60 / PULSE, abs=0.001)
    assert pressure(simulation, found[0]) == pytest.approx(systolic, abs=0.01)
    assert diastolic - 0.01 < pressure(simulation, found[-1]) < diastolic + FALL * 60 / PULSE + 0.01


@SOME
@given(PAIRS)
def test_who_listens_can_tell_both_pressures_to_2_mmhg(pair: tuple[int, int]) -> None:
    simulation = tapping(*pair)

    def told(at: float) -> float:
        """By the last number that began, and whether that was nearer than the middle between two."""
        word = [word for word in simulation.read if word.start <= at + 0.05][-1]
        return amounts(word.text)[0].values[0] - 2 * round(at - word.start)

    found = onsets(simulation)
    assert told(found[0]) == pair[0]
    assert told(found[-1]) - pair[1] in (0, 2)


@SOME
@given(PAIRS)
def test_the_needle_is_read_as_it_falls_and_neither_end_tells_the_pressure(pair: tuple[int, int]) -> None:
    systolic, diastolic = pair
    simulation = tapping(systolic, diastolic)
    read = [amounts(word.text)[0].values[0] for word in simulation.read]
    assert np.diff(read).tolist() == [-4.0] * (len(read) - 1)
    assert np.diff([word.start for word in simulation.read]) == pytest.approx(4 / FALL)
    begins = pressure(simulation, 0.0)
    ends = pressure(simulation, simulated.seconds("sounds", pair))
    # Inflated 20 to 30 mmHg above (ACC/AHA 2017, restated); both ends could be those of five pressures.
    assert systolic + 20 <= begins < systolic + 30
    assert diastolic - 20 < ends <= diastolic - 10
    assert begins % 10 == ends % 10 == 0
    assert read[0] > systolic + 16
    assert read[-1] <= diastolic - 4
    assert simulation.read[-1].end <= simulated.seconds("sounds", pair)


@settings(derandomize=True, max_examples=15, deadline=None)
@given(PAIRS)
def test_no_tap_is_covered_by_a_number_and_nothing_clips(pair: tuple[int, int]) -> None:
    both, taps = whole(cuff(*pair)), whole(tapping(*pair))
    assert np.abs(both).max() < 0.5 * 32768
    length = max(len(both), len(taps))
    both, taps = (np.pad(sound, (0, length - len(sound))) for sound in (both, taps))
    numbers = both - taps
    for low, high in ((150, 400), (250, 1000)):
        tap, number = band(taps, low, high), band(numbers, low, high)
        for at in onsets(tapping(*pair)):
            there = slice(round(at * RATE), round((at + 0.06) * RATE))
            assert np.sum(tap[there] ** 2) > 1.5 * np.sum(number[there] ** 2)


def test_each_number_sounds_when_the_needle_passes_it() -> None:
    simulation = cuff(118, 76)
    sound = whole(simulation)
    for word in simulation.read:
        number = said(word.text).astype(float)
        first = round(word.start * RATE)
        there = sound[max(0, first - RATE // 4) : first + len(number) + RATE // 4]
        alike = signal.correlate(there, number, "valid")
        assert np.argmax(alike) - min(first, RATE // 4) == pytest.approx(0, abs=RATE // 100)
        # Softer by 6 dB, and more beneath taps.
        assert 0.2 < alike.max() / np.sum(number**2) < 0.51
        assert pressure(simulation, word.start) == amounts(word.text)[0].values[0]


def test_how_long_it_goes_on() -> None:
    assert simulated.seconds("beats", (72,)) == simulated.seconds("breaths", (16,)) == 180
    assert len(cuff(118, 76).samples) / RATE <= simulated.seconds("sounds", (118, 76)) == (140 - 60) / FALL


def test_by_its_name() -> None:
    numbers = {number: said(in_words(number)) for number in needle(118, 76)}
    for what, values, expected in (
        ("beats", (72,), beats(72)),
        ("breaths", (16,), breaths(16)),
        ("sounds", (118, 76), cuff(118, 76)),
    ):
        made = simulated.simulation(what, values, numbers)
        assert np.array_equal(made.samples, expected.samples)
        assert (made.rounds, made.read) == (expected.rounds, expected.read)


def test_numbers_are_said_as_a_person_says_them() -> None:
    assert [in_words(number) for number in (96, 100, 104, 110, 118, 140, 200)] == [
        "ninety six", "one hundred", "one oh four", "one ten", "one eighteen", "one forty", "two hundred",
    ]  # fmt: skip
    for number in range(10, 100):
        assert in_words(number) == num2words(number).replace("-", " ")
    for number in range(10, 300):
        assert [amount.values for amount in amounts(in_words(number))] == [(number,)]

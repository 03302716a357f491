"""Measuring a microphone: sound of known levels, mixtures, delays and clipping."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.benchmarks.rooms import echoed, room_response
from tests.hearing.synthetic_voice import spoken
from tests.sound.sound_scenes import Sound, at_level, level, noise, pcm, running_water, silence
from voicecoach.sound import RATE, check
from voicecoach.sound.levels import QUIETEST

SECONDS = 3
BAND = 10 * math.log10((4000 - 200) / 8000)
"""Decibels by which white noise is fainter in the band of voices."""


def sine(hertz: float, dbfs: float, seconds: float = SECONDS) -> Sound:
    """A sine with an RMS of `dbfs`."""
    times = np.arange(round(seconds * RATE)) / RATE
    wave: Sound = math.sqrt(2) * level(dbfs) * np.sin(2 * np.pi * hertz * times + 0.3)
    return wave


def words(dbfs: float, seconds: float = SECONDS) -> Sound:
    """Bursts of a quarter of a second at a level, with as much silence between."""
    on = np.arange(round(seconds * RATE)) // (RATE // 4) % 2 == 0
    bursts: Sound = np.where(on, sine(1000, dbfs, seconds), 0.0)
    return bursts


def test_a_sine_of_full_scale_is_3_db_below_it() -> None:
    assert check.noise(pcm(sine(1000, -3.0103))).dbfs == pytest.approx(-3.01, abs=0.02)


@pytest.mark.parametrize("dbfs", [-70.0, -40.0, -12.0])
def test_noise_is_measured_where_voices_are(dbfs: float) -> None:
    assert check.noise(pcm(noise(SECONDS, dbfs))).dbfs == pytest.approx(dbfs + BAND, abs=0.3)
    assert check.noise(pcm(sine(1000, dbfs))).dbfs == pytest.approx(dbfs, abs=0.1)


def test_rumble_and_hiss_are_outside_of_that() -> None:
    assert check.noise(pcm(sine(40, -20) + sine(6000, -20))).dbfs < -55


def test_a_cough_makes_no_noisy_room() -> None:
    room = noise(SECONDS, -60)
    room[RATE : RATE + RATE // 2] = noise(0.5, -20, seed=3)
    assert check.noise(pcm(room)).dbfs == pytest.approx(-60 + BAND, abs=0.5)


@pytest.mark.parametrize("hertz", [50, 60])
@pytest.mark.parametrize("drift", [-0.1, 0.0, 0.1])
def test_hum_is_found_with_its_level(hertz: int, drift: float) -> None:
    mains = hertz + drift
    loud = sine(mains, -40) + sine(2 * mains, -46) + noise(SECONDS, -55)
    hum = check.noise(pcm(loud)).hum
    assert hum is not None
    assert hum.hertz == hertz
    assert hum.dbfs == pytest.approx(10 * math.log10(10**-4 + 10**-4.6), abs=0.2)


@pytest.mark.parametrize("seed", range(20))
def test_noise_alone_does_not_hum(seed: int) -> None:
    assert check.noise(pcm(noise(SECONDS, -30, seed))).hum is None
    assert check.noise(pcm(running_water(SECONDS, -30, seed))).hum is None


def test_a_hum_that_nobody_hears_is_none() -> None:
    assert check.noise(pcm(sine(50, -75))).hum is None
    assert check.noise(pcm(sine(55, -30))).hum is None


def test_silence_and_too_little_sound_have_no_noise() -> None:
    for quiet in (silence(SECONDS), silence(0), noise(0.009, -20)):
        assert check.noise(pcm(quiet)) == check.Noise(QUIETEST, None)


def test_dead_is_what_never_moves() -> None:
    assert check.dead(pcm(silence(1)))
    assert check.dead(np.full(RATE, -7, np.int16))
    assert check.dead(np.zeros(0, np.int16))
    assert not check.dead(np.array([0, 0, 1, 0], np.int16))


@pytest.mark.parametrize("dbfs", [-50.0, -30.0, -10.0])
def test_level_of_speech_leaves_the_pauses_out(dbfs: float) -> None:
    found = check.speech(pcm(words(dbfs)), QUIETEST)
    assert found is not None
    # The frames at both ends of a burst are half in the silence.
    assert found.dbfs == pytest.approx(dbfs, abs=0.4)
    assert found.ratio == pytest.approx(dbfs - QUIETEST, abs=0.4)


@pytest.mark.parametrize("ratio", [6, 10, 20, 30])
def test_speech_to_noise_ratio_of_a_known_mixture(ratio: float) -> None:
    behind = noise(SECONDS, -25 - ratio - BAND)
    room = check.noise(pcm(behind[::-1])).dbfs
    found = check.speech(pcm(words(-25) + behind), room)
    assert found is not None
    assert found.ratio == pytest.approx(ratio, abs=0.5)
    assert found.dbfs == pytest.approx(-25, abs=0.5)


def test_ratio_of_a_voice_in_running_water() -> None:
    voice = at_level(spoken("I wet my hands and I take soap.").astype(float), -25)
    clean = check.speech(pcm(voice), QUIETEST)
    assert clean is not None
    water = running_water(8, -45)
    room = check.noise(pcm(water[: 3 * RATE])).dbfs
    found = check.speech(pcm(voice + water[3 * RATE : 3 * RATE + len(voice)]), room)
    assert found is not None
    assert found.ratio == pytest.approx(clean.dbfs - room, abs=1.5)


def test_no_speech_in_silence_noise_a_click_or_what_is_too_faint() -> None:
    click = np.concatenate((silence(1), noise(0.1, -10), silence(1)))
    for sound, room in ((silence(3), -100), (noise(3, -40), -40 + BAND), (click, -100), (words(-65), -100)):
        assert check.speech(pcm(sound), room) is None


def test_clipping_is_counted_in_samples_and_in_runs() -> None:
    samples = np.array([32767, 32767, 0, 5, -32768, 0, 32760, 32701, 32699, 32767], np.int16)
    assert check.clipping(samples) == check.Clipping(0.6, 4)
    assert check.clipping(np.zeros(5, np.int16)) == check.Clipping(0, 0)
    assert check.clipping(np.zeros(0, np.int16)) == check.Clipping(0, 0)


def test_clipping_of_a_sine_that_is_too_loud() -> None:
    found = check.clipping(pcm(sine(100, -3.0103 + 6.0206, 1)))
    # It is above half of its peak for two thirds of the time, and so 200 times a second.
    assert found.share == pytest.approx(2 / 3, abs=0.01)
    assert found.runs == pytest.approx(200, abs=1)


def played(delay: int, gain: float, behind: Sound) -> Sound:
    """The chirp in a room, so many samples late."""
    sound = behind.copy()
    sound[delay : delay + len(check.CHIRP)] += check.CHIRP * 10 ** (gain / 20)
    return sound


@pytest.mark.parametrize("delay", [0, 1, 997, 8001])
@pytest.mark.parametrize("gain", [0.0, -20.0, -35.0])
def test_delay_is_found_to_the_sample_with_the_level(delay: int, gain: float) -> None:
    room = noise(1.5, -60)
    found = check.echo(pcm(played(delay, gain, room)), check.noise(pcm(room)).dbfs)
    assert found is not None
    assert found.delay * RATE == pytest.approx(delay)
    assert found.dbfs == pytest.approx(-20 + gain, abs=0.3)


def test_a_loudspeaker_with_its_wires_swapped_is_heard_as_well() -> None:
    found = check.echo(pcm(-played(500, -10, silence(1))), QUIETEST)
    assert found is not None
    assert found.delay * RATE == pytest.approx(500)


def test_chirp_in_loud_noise() -> None:
    room = running_water(1.5, -35)
    found = check.echo(pcm(played(4000, -20, room)), check.noise(pcm(room)).dbfs)
    assert found is not None
    assert found.delay * RATE == pytest.approx(4000, abs=1)
    assert found.dbfs == pytest.approx(-40, abs=3)


def test_chirp_in_a_tiled_room() -> None:
    sound = played(3000, -10, silence(2)) + noise(2, -60)
    response = room_response(0.6)
    found = check.echo(pcm(echoed(sound, response / np.abs(response).max())), -60)
    assert found is not None
    late = 3000 + int(np.argmax(np.abs(response)))
    assert found.delay * RATE == pytest.approx(late, abs=0.005 * RATE)


@pytest.mark.parametrize("seed", range(20))
def test_no_chirp_in_a_headset(seed: int) -> None:
    for behind in (noise(2, -50, seed), running_water(2, -30, seed)):
        assert check.echo(pcm(behind), -60) is None


def test_no_chirp_in_silence_speech_or_too_little_sound() -> None:
    assert check.echo(pcm(silence(2)), QUIETEST) is None
    assert check.echo(spoken("I wet my hands and I take soap."), QUIETEST) is None
    assert check.echo(np.zeros(10, np.int16), QUIETEST) is None

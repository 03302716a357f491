"""The coach's own voice in the microphone: never taken for the student's, and never in the student's way.

The loudspeaker is 6 dB fainter than the student at the microphone, as the issue's bar has it, dry and in a
simulated room.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pyroomacoustics
import pytest
import soxr
from numpy.typing import NDArray

from tests.benchmarks.voices import speak
from voicecoach.events import Word
from voicecoach.own_voice import OwnVoice
from voicecoach.procedure import library
from voicecoach.sound import RATE
from voicecoach.sound.endpointer import Endpointer, SpeechBegan, frame_powers
from voicecoach.speaking.voice import Voice

Sound = NDArray[np.float64]
BELOW = 6.0
"""Decibels by which the coach is fainter than the student."""
LATE = 0.1
"""Seconds from the loudspeaker's samples to the microphone's."""
STUDENT = (
    "i put the belt around her waist over the gown and buckle it",
    "now i lock both wheels of the chair",
)


@cache
def voice() -> Voice:
    return Voice()


def rendered(text: str) -> NDArray[np.int16]:
    samples: NDArray[np.int16] = soxr.resample(voice().render(text), voice().rate, RATE)
    return samples


def level(samples: Sound) -> float:
    """Level of speech in decibels, its pauses left out."""
    powers = frame_powers(np.clip(np.rint(samples), -32768, 32767).astype(np.int16)).sum(axis=1)
    loud = powers[powers > powers.max() / 1000]
    return float(10 * np.log10(loud.mean()))


@cache
def student(number: int) -> Sound:
    return speak(STUDENT[number % len(STUDENT)], "joe").astype(np.float64)


@cache
def dry() -> Sound:
    return np.ones(1)


@cache
def in_a_room() -> Sound:
    room = pyroomacoustics.ShoeBox([5, 4, 2.7], materials=pyroomacoustics.Material(0.3), max_order=8, fs=RATE)
    room.add_source([2, 2, 1])
    room.add_microphone([2.6, 1.5, 1.2])
    room.compute_rir()
    response: Sound = room.rir[0][0][:4000]
    return response


class Microphone:
    """Hears the coach and the student with a little noise, and says when speech begins."""

    def __init__(self, way: Sound, below: float = BELOW) -> None:
        self.own = OwnVoice()
        self.way = way
        self.below = below
        self.now = 0.0
        self._endpointer = Endpointer(others=self.own.beside)
        self._noise = np.random.default_rng(4)

    def hear(self, sound: Sound) -> list[float]:
        """Seconds at which speech is found to begin."""
        noisy = sound + self._noise.normal(0, 10, len(sound))
        samples = np.clip(np.rint(noisy), -32768, 32767).astype(np.int16)
        began = []
        for at in range(0, len(samples), 480):
            cuts = self._endpointer.take(samples[at : at + 480])
            self.now += len(samples[at : at + 480]) / RATE
            began += [self.now for cut in cuts if isinstance(cut, SpeechBegan)]
        return began

    def cue(self, text: str, over: Sound | None = None, after: float = 0.3) -> tuple[list[float], float]:
        """Play a cue, perhaps the student over it: when speech was found to begin, and when the cue began."""
        samples = rendered(text)
        echo = np.convolve(samples.astype(np.float64), self.way)
        echo *= 10 ** ((level(student(0)) - self.below - level(echo)) / 20)
        whole = np.zeros(len(samples) + RATE + (0 if over is None else len(over)))
        late = round(LATE * RATE)
        whole[late : late + len(echo)] += echo[: len(whole) - late]
        if over is not None:
            first = round(after * RATE)
            whole[first : first + len(over)] += over[: len(whole) - first]
        started = self.now
        self.own.says(text, samples, started)
        return self.hear(whole), started


@pytest.fixture(params=["dry", "in a room"])
def microphone(request: pytest.FixtureRequest) -> Microphone:
    made = Microphone(dry() if request.param == "dry" else in_a_room())
    made.hear(np.concatenate((np.zeros(RATE), student(0), np.zeros(RATE))))
    return made


def cues(count: int) -> list[str]:
    """Cues of all kinds from all procedures."""
    steps = [step for name in library.shipped() for step in library.find(name).steps]
    texts = [text for step in steps for text in (step.cue.nudge, step.cue.hint, step.cue.step)]
    return [texts[place] for place in np.random.default_rng(7).permutation(len(texts))[:count]]


def test_none_of_a_hundred_cues_is_taken_for_speech(microphone: Microphone) -> None:
    taken = [text for text in ("I am listening.", *cues(100)) if microphone.cue(text)[0]]
    assert taken == []


def test_a_student_is_noticed_who_talks_over_a_cue(microphone: Microphone) -> None:
    microphone.cue("I am listening.")
    noticed = []
    for number, text in enumerate(cue for cue in cues(60) if len(cue) > 30):
        began, started = microphone.cue(text, over=student(number))
        noticed.append(bool(began) and began[0] - started < 0.3 + 1.2)
        # The session would cut it short here.
        microphone.own.stops(microphone.now)
        microphone.hear(np.zeros(RATE))
    assert len(noticed) > 30
    assert np.mean(noticed) >= 0.9


def test_with_a_headset_the_student_is_noticed_at_once() -> None:
    microphone = Microphone(dry(), below=70)
    microphone.hear(np.concatenate((np.zeros(RATE), student(0), np.zeros(RATE))))
    for _ in range(3):
        assert microphone.cue("Say the name of a procedure, or ask what there is.")[0] == []
    began, started = microphone.cue("Say the name of a procedure, or ask what there is.", over=student(1))
    assert began[0] - started < 0.3 + 0.5


def test_until_the_echo_is_known_nothing_counts_during_a_cue() -> None:
    microphone = Microphone(dry())
    microphone.hear(np.zeros(RATE))
    began, started = microphone.cue("I am listening.", over=student(0))
    assert all(at > started + len(rendered("I am listening.")) / RATE for at in began)


def test_between_cues_all_sound_is_of_others() -> None:
    own = OwnVoice()
    assert own.beside(np.full(16, 1e6)) is None


def said(text: str, start: float, each: float = 0.3) -> tuple[Word, ...]:
    places = enumerate(text.split())
    return tuple(Word(word, start + each * place, start + each * (place + 1)) for place, word in places)


def test_words_of_the_coach_are_taken_out_at_the_time_at_which_it_says_them() -> None:
    own = OwnVoice()
    text = "Lock the wheels of the bed."
    samples = rendered(text)
    own.says(text, samples, 10.0)
    each = len(samples) / RATE / 6
    assert own.others(said("lock the wheels of the bed", 10.2, each)) == ()
    assert own.others(said("lock the wheels of a bed", 10.2, each)) == ()
    # Who repeats them after the coach has said them, or says something else over them, is the student.
    repeated = said("lock the wheels of the bed", 10.0 + len(samples) / RATE + 1.5)
    assert own.others(repeated) == repeated
    over = said("i wash my hands first", 10.2)
    assert own.others(over) == over
    before = said("now i stand up", 8.0)
    assert own.others((*before, *said("lock the wheels of the bed", 10.2, each))) == before


def test_where_nothing_comes_back_words_are_the_student_s() -> None:
    microphone = Microphone(dry(), below=70)
    for _ in range(3):
        microphone.cue("Say the name of a procedure, or ask what there is.")
    text = "Lock the wheels of the bed."
    microphone.own.says(text, rendered(text), microphone.now)
    words = said("lock the wheels of the bed", microphone.now + 0.1)
    assert microphone.own.others(words) == words

"""The coach's own voice in the microphone: never taken for the student's, and never in the student's way.

The loudspeaker is 6 dB fainter than the student at the microphone, as the issue's bar has it, dry and in a
simulated room.
"""

from __future__ import annotations

import tracemalloc
from collections.abc import Sequence
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
from voicecoach.sound.endpointer import Endpointer, SpeechBegan, SpeechEnded, frame_powers
from voicecoach.sound.simulated import Simulation, beats, breaths, in_words, needle, sounds
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
        self.ended: list[float] = []
        """Seconds at which speech was found to have ended."""
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
            self.ended += [cut.end for cut in cuts if isinstance(cut, SpeechEnded)]
        return began

    def beneath(
        self,
        simulation: Simulation,
        seconds: float,
        over: Sequence[tuple[float, Sound]] = (),
        cue: str = "",
        held_up: float = 0.0,
    ) -> list[float]:
        """Play what a case sounds like, as loud as it is beside cues, sounds over it, and a cue after 2 s.

        Gives the seconds since the beginning at which speech is found to begin. `held_up`: seconds by
        which the device is late from the tenth second on.
        """
        played = np.tile(simulation.samples, simulation.rounds)[: round(seconds * RATE)].astype(np.float64)
        if held_up:
            played = np.concatenate(
                (played[: 10 * RATE], np.zeros(round(held_up * RATE)), played[10 * RATE :])
            )
        loudness = np.convolve(rendered("I am listening.").astype(np.float64), self.way)
        started = self.now
        self.own.plays_beneath(simulation, started)
        if cue:
            self.own.says(cue, rendered(cue), started + 2.0)
            words = rendered(cue)[: len(played) - 2 * RATE]
            played[2 * RATE : 2 * RATE + len(words)] += words
        echo = np.convolve(played, self.way) * 10 ** ((level(student(0)) - self.below - level(loudness)) / 20)
        whole = np.zeros(round(seconds * RATE))
        late = round(LATE * RATE)
        whole[late:] += np.pad(echo, (0, len(whole)))[: len(whole) - late]
        for at, sound in over:
            first = round(at * RATE)
            whole[first : first + len(sound)] += sound[: len(whole) - first]
        return [began - started for began in self.hear(whole)]

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


@cache
def simulation(what: str, *values: int) -> Simulation:
    if what == "sounds":
        numbers = {number: rendered(in_words(number)) for number in needle(*values)}
        return sounds(values[0], values[1], numbers)
    return (beats if what == "beats" else breaths)(values[0])


SIMULATED = [
    ("beats", 45), ("beats", 72), ("beats", 130), ("breaths", 12), ("breaths", 20), ("sounds", 118, 76),
]  # fmt: skip


@pytest.mark.parametrize("known", [True, False])
@pytest.mark.parametrize("what", SIMULATED)
def test_what_a_case_sounds_like_is_not_taken_for_speech(
    microphone: Microphone, what: tuple[str, int], known: bool
) -> None:
    if known:
        microphone.cue("I am listening.")
    assert microphone.beneath(simulation(*what), 25.0) == []


TALKS = [(2.0 + 5.13 * number, number) for number in range(4)]
"""When a student talks over what a case sounds like, and which sentence."""


@pytest.mark.parametrize("what", SIMULATED)
def test_a_student_is_noticed_at_once_over_what_a_case_sounds_like(
    microphone: Microphone, what: tuple[str, int]
) -> None:
    microphone.cue("I am listening.")
    microphone.ended.clear()
    started = microphone.now
    began = microphone.beneath(simulation(*what), 24.0, [(at, student(number)) for at, number in TALKS])
    assert len(began) == len(TALKS)
    for (at, number), found, ended in zip(TALKS, began, microphone.ended, strict=True):
        assert at < found < at + 0.5
        # Nor do ticks make it longer.
        assert ended - started < at + len(student(number)) / RATE + 0.3


@pytest.mark.parametrize("what", SIMULATED)
def test_a_student_is_noticed_over_it_even_before_the_echo_is_known(
    microphone: Microphone, what: tuple[str, int]
) -> None:
    began = microphone.beneath(simulation(*what), 24.0, [(at, student(number)) for at, number in TALKS])
    for at, number in TALKS:
        assert any(at < found < at + 1.2 for found in began)
        began = [found for found in began if not at < found < at + len(student(number)) / RATE]
    assert began == []


@pytest.mark.parametrize("seconds", [0.1, 0.4])
@pytest.mark.parametrize("what", [("beats", 72), ("sounds", 118, 76)])
def test_where_a_device_is_late_it_is_followed(
    microphone: Microphone, what: tuple[str, int], seconds: float
) -> None:
    microphone.cue("I am listening.")
    talk = [(20.0, student(0)), (25.0, student(1))]
    began = microphone.beneath(simulation(*what), 34.0, talk, held_up=seconds)
    assert [at for at in began if at > 10.0 + 3.0 + 1.5] == pytest.approx([20.3, 25.3], abs=0.3)


def test_no_cue_over_it_is_taken_for_speech_and_who_talks_over_both_is_noticed(
    microphone: Microphone,
) -> None:
    microphone.cue("I am listening.")
    noticed = []
    for number, cue in enumerate(cue for cue in cues(30) if len(cue) > 30):
        what = SIMULATED[number % len(SIMULATED)]
        assert microphone.beneath(simulation(*what), 10.0, cue=cue) == []
        began = microphone.beneath(simulation(*what), 8.0, [(2.3, student(number))], cue)
        noticed.append(bool(began) and began[0] < 2.3 + 1.2)
    assert len(noticed) > 12
    assert np.mean(noticed) >= 0.9


def test_ticks_teach_nothing_of_the_room() -> None:
    microphone = Microphone(dry())
    microphone.beneath(simulation("beats", 72), 10.0, cue="I am listening.")
    microphone.own.stops_beneath(microphone.now)
    microphone.hear(np.zeros(RATE))
    # As before any cue was heard.
    began, started = microphone.cue("I am listening.", over=student(0))
    assert all(at > started + len(rendered("I am listening.")) / RATE for at in began)


def test_once_it_is_cut_short_all_sound_is_of_others() -> None:
    own = OwnVoice()
    own.plays_beneath(simulation("beats", 130), 0.0)
    loud = np.full(16, 1e6)
    assert sum(own.beside(loud) is not None for _ in range(100)) > 20
    own.stops_beneath(1.0)
    assert [own.beside(loud) for _ in range(200)][60:] == [None] * 140


def test_three_minutes_of_it_keep_nothing_more_in_memory() -> None:
    own = OwnVoice()
    own.plays_beneath(simulation("beats", 130), 0.0)
    powers = np.full(16, 1e3)
    tracemalloc.start()
    for frame in range(18_000):
        if frame == 1000:
            own.says("I am listening.", rendered("I am listening."), 10.0)
        if frame == 3000:
            before, _ = tracemalloc.get_traced_memory()
        own.beside(powers)
    after, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert after - before < 20_000


def test_the_numbers_that_it_reads_are_taken_out_at_the_time_at_which_it_reads_them() -> None:
    own = OwnVoice()
    own.plays_beneath(simulation("sounds", 118, 76), 10.0)
    # From 140 down, 2 mmHg a second.
    at = 10.0 + (140 - 116) / 2
    assert own.others(said("one sixteen", at + 0.2)) == ()
    over = said("i hear it", at + 0.9)
    assert own.others((*said("one sixteen", at + 0.2), *over)) == over
    # Another number that begins alike, and the same one once it has been read, are the student's.
    for theirs in (said("one eighteen", at + 0.2), said("one sixteen", at + 1.4), said("one", at + 0.2)):
        assert own.others(theirs) == theirs
    own.stops_beneath(at - 1)
    cut = said("one sixteen", at + 0.2)
    assert own.others(cut) == cut

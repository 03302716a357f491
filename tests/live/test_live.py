"""The coach with real devices' stand-ins: PulseAudio, whose null sink is the room.

Everything is checked from outside: what was said in the room and when, what is printed, and the journal.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import closing
from itertools import pairwise

import numpy as np
import pytest
from scipy.signal import find_peaks

from tests.benchmarks.voices import speak
from tests.live.coach import Running
from tests.live.pulse import Room
from voicecoach.procedure import library
from voicecoach.sound import RATE
from voicecoach.speaking.voice import Voice

WASHING = {step.id: step.say for step in library.find("wash-hands").steps}
CUES = {step.id: step.cue for step in library.find("wash-hands").steps}


@pytest.fixture
def coach(a_room: Room, request: pytest.FixtureRequest) -> Iterator[Running]:
    """`voicecoach` with the arguments that the test asks for, listening."""
    running = Running(a_room, *request.param)
    with closing(running):
        running.until_printed("coach: ")
        if request.param[0] != "listen":
            running.until_event("voiced", cue=1)
            time.sleep(0.5)  # Nobody answers sooner.
        yield running


def rehearsing(procedure: str, *more: str, mode: str = "rehearse") -> pytest.MarkDecorator:
    arguments = (mode, procedure, "--hear", "sphinx", *(more or ("--case", "0")))
    return pytest.mark.parametrize("coach", [arguments], indirect=True)


def say(room: Room, *texts: str, pause: float = 1.0) -> None:
    """Say some sentences, with silence after each."""
    for text in texts:
        silence = np.zeros(round(pause * RATE), np.int16)
        room.say(np.concatenate((speak(text), silence))).wait()


def place(recording: np.ndarray, text: str) -> tuple[float, float]:
    """Where the coach's words are in a recording, in seconds, and how like what the voice renders, 0 to 1."""
    import soxr

    voice = Voice()
    return where(recording, soxr.resample(voice.render(text), voice.rate, RATE))


def where(recording: np.ndarray, samples: np.ndarray) -> tuple[float, float]:
    """Where samples are in a recording, in seconds, and how like what is there, 0 to 1."""
    wanted, heard = samples.astype(np.float64), recording.astype(np.float64)
    size = 1 << (len(heard) + len(wanted) - 1).bit_length()
    product = np.fft.irfft(np.fft.rfft(heard, size) * np.conj(np.fft.rfft(wanted, size)), size)[: len(heard)]
    energy = np.concatenate(([0.0], np.cumsum(heard**2)))
    ends = np.minimum(np.arange(len(heard)) + len(wanted), len(heard))
    own = np.sum(wanted**2)
    norm = np.sqrt(np.maximum(energy[ends] - energy[:-1], own / 100) * own)
    best = int(np.argmax(product / norm))
    return best / RATE, float(product[best] / norm[best])


def ends_of_speech(recording: np.ndarray) -> list[float]:
    """Seconds at which the student stops speaking for half a second or more."""
    loud = np.flatnonzero(np.abs(recording.astype(int)) > 100)
    return [float(one / RATE) for one, other in pairwise([*loud, loud[-1] + RATE]) if other - one > RATE / 2]


@rehearsing("wash-hands", "--tick", "--case", "0")
def test_a_missed_step_is_spoken_of_and_what_was_followed_ticks(a_room: Room, coach: Running) -> None:
    with a_room.recorded() as recordings:
        time.sleep(0.5)
        say(a_room, WASHING["water-on"][0], WASHING["wet"][0], WASHING["rinse"][0], pause=2.0)
        coach.until_event("voiced", cue=2)
    assert coach.stop() == 130
    (events,) = coach.journals()
    followed = [event["step"] for event in events if event["event"] == "followed"]
    assert followed == ["water-on", "wet", "rinse"]
    (cue,) = [event for event in events if event["event"] == "cued" and event["kind"] == "missed"]
    recording = recordings[0]
    at, likeness = place(recording.coach, cue["text"])
    assert likeness > 0.9
    ends = ends_of_speech(recording.student)
    assert len(ends) == 3
    assert ends[-1] < at
    spoken = recording.coach[round(at * RATE) :][: RATE // 2].astype(float)
    assert -26 < 20 * np.log10(np.sqrt(np.mean(spoken**2)) / 32768) < -14
    # A tick for each of the first two, and none into the cue.
    before = np.abs(recording.coach[: round(at * RATE)].astype(int)) > 100
    onsets = [one for other, one in pairwise([-RATE, *np.flatnonzero(before)]) if one - other > RATE / 4]
    assert len(onsets) == 2


@rehearsing("wash-hands")
def test_who_talks_over_the_coach_is_heard_and_the_coach_stops(a_room: Room, coach: Running) -> None:
    say(a_room, "coach what is next")
    coach.until_event("voiced", cue=2)
    say(a_room, "coach what is next")
    coach.until_event("voiced", cue=3)
    with a_room.recorded() as recordings:
        time.sleep(0.3)
        say(a_room, "coach how am i doing", pause=0.1)
        coach.until_event("cued", cue=4)
        time.sleep(0.6)
        say(a_room, WASHING["water-on"][0])
        coach.until_event("followed", step="water-on")
    assert coach.stop() == 130
    (events,) = coach.journals()
    (cut,) = [event for event in events if event["event"] == "voiced" and event["cue"] == 4]
    assert cut["cut"]
    assert coach.replays()
    text = next(event["text"] for event in events if event["event"] == "cued" and event["cue"] == 4)
    assert place(recordings[0].coach, text)[1] < 0.9


@rehearsing("wash-hands")
def test_the_coach_does_not_hear_itself(a_room: Room, coach: Running) -> None:
    a_room.echo(-9.0)
    asked = 6
    for number in range(asked):
        say(a_room, "coach what is next", pause=0.1)
        coach.until_event("voiced", cue=2 + number)
    assert coach.stop() == 130
    (events,) = coach.journals()
    heard = [" ".join(word[0] for word in event["words"]) for event in events if event["event"] == "heard"]
    assert len(heard) == asked
    assert all("next" in one for one in heard)
    assert not any(event["cut"] for event in events if event["event"] == "voiced")


@rehearsing("wash-hands")
@pytest.mark.parametrize("how", ["the plug is pulled", "the sound server crashes"])
def test_when_its_devices_vanish_the_attempt_waits_and_goes_on(
    a_room: Room, coach: Running, how: str
) -> None:
    crash = how == "the sound server crashes"
    say(a_room, WASHING["water-on"][0])
    coach.until_event("followed", step="water-on")
    a_room.crash() if crash else a_room.unplug()
    coach.until_event("lost")
    coach.until_event("paused")
    time.sleep(3.0)
    a_room.start() if crash else a_room.plug_in()
    coach.until_event("found")
    coach.until_event("voiced", cue=3)
    time.sleep(1.0)
    say(a_room, WASHING["wet"][0])
    coach.until_event("followed", step="wet")
    with a_room.recorded() as recordings:
        time.sleep(0.3)
        say(a_room, "coach what is next")
        coach.until_event("voiced", cue=4)
    assert coach.stop() == 130
    (events,) = coach.journals()
    kinds = [event["event"] for event in events]
    assert kinds.index("lost") < kinds.index("paused") < kinds.index("found") < kinds.index("resumed")
    assert kinds[-1] == "ended"
    assert "I can hear you again. Go on." in coach.printed
    assert coach.replays()
    # The loudspeaker is back as well.
    text = next(event["text"] for event in events if event["event"] == "cued" and event["cue"] == 4)
    assert place(recordings[0].coach, text)[1] > 0.9


@rehearsing("wash-hands")
def test_an_unplugged_loudspeaker_is_taken_again(a_room: Room, coach: Running) -> None:
    a_room.unplug_loudspeaker()
    say(a_room, "coach what is next")
    coach.until_event("voiced", cue=2)
    a_room.plug_in_loudspeaker()
    with a_room.recorded() as recordings:
        time.sleep(0.3)
        say(a_room, "coach what is next")
        coach.until_event("voiced", cue=3)
    assert coach.stop() == 130
    (events,) = coach.journals()
    text = next(event["text"] for event in events if event["event"] == "cued" and event["cue"] == 3)
    assert place(recordings[0].coach, text)[1] > 0.9


@pytest.mark.parametrize("coach", [("listen", "--hear", "sphinx")], indirect=True)
def test_from_choosing_to_goodbye_all_goes_by_voice(a_room: Room, coach: Running) -> None:
    time.sleep(5.0)
    say(a_room, "coach rehearse hand rub")
    coach.until_printed("Say start when you are ready.")
    time.sleep(4.0)
    say(a_room, "i'm ready")
    coach.until_event("voiced", cue=1)
    time.sleep(0.5)
    say(a_room, "my hands look clean", "i pump a palmful of gel into my hand", pause=1.5)
    coach.until_event("followed", step="palmful")
    say(a_room, "coach pause")
    coach.until_event("paused")
    say(a_room, "coach go on")
    coach.until_event("resumed")
    time.sleep(1.5)
    say(a_room, "coach i have finished")
    coach.until_event("ended", why="finished")
    coach.until_printed("coach: Say, coach, again")
    time.sleep(5.0)
    say(a_room, "coach goodbye")
    assert coach.process.wait(20) == 0
    assert "NOT PASSED" in coach.printed
    assert coach.printed.rstrip().endswith("coach: Goodbye.")


@rehearsing("pulse-breaths", "--case", "7")
def test_the_pulse_that_was_found_is_felt_at_its_rate_beneath_the_talk(a_room: Room, coach: Running) -> None:
    time.sleep(3.0)
    say(a_room, "i clean my hands with sanitizer", "i find the pulse at the wrist with my fingertips")
    coach.until_event("simulated", what="beats")
    with a_room.recorded() as recordings:
        time.sleep(15.0)
        say(a_room, "and now i count the beats")
    assert coach.stop() == 130
    (events,) = coach.journals()
    (rate,) = next(event["values"] for event in events if event["event"] == "simulated")
    assert 60 <= rate <= 100  # resting adults: NLM MedlinePlus, Vital signs
    sound = recordings[0].coach[: 15 * RATE].astype(float)
    loudness = np.sqrt(np.mean(sound.reshape(-1, RATE // 100) ** 2, axis=1))
    beats, _ = find_peaks(loudness, height=loudness.max() * 0.5, distance=30)
    assert 60 / (np.median(np.diff(beats)) / 100) == pytest.approx(rate, abs=2)
    assert len(beats) == pytest.approx(15 * rate / 60, abs=2)
    # Of all that sounds only the student was heard.
    assert len([event for event in events if event["event"] == "heard" and event["words"]]) <= 4

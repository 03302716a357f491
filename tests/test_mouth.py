"""How cues are said."""

from __future__ import annotations

import threading
from collections.abc import Iterable
from threading import Event, Thread, Timer

import numpy as np
import pytest
from numpy.typing import NDArray

from voicecoach.errors import Complaint
from voicecoach.mouth import Aloud, Mouth, Unplayed
from voicecoach.own_voice import OwnVoice
from voicecoach.sound import RATE
from voicecoach.sound.simulated import Simulation, needle


class Voice:
    """Stands for the voice: a second for every letter."""

    rate = 100

    def __init__(self) -> None:
        self.rendered: list[str] = []

    def render(self, text: str) -> NDArray[np.int16]:
        self.rendered.append(text)
        return np.full(100 * len(text), 7, np.int16)

    def prepare(self, texts: Iterable[str]) -> dict[str, NDArray[np.int16]]:
        return {text: self.render(text) for text in texts}


class Loudspeaker:
    """Stands for the loudspeaker."""

    def __init__(self) -> None:
        self.playing = False
        self.played: list[tuple[int, int]] = []
        self.there = True
        self.beneath: list[tuple[int, int, int]] = []
        self.goes_on = False
        """Whether something plays beneath."""

    def open(self, rate: int) -> None:
        if not self.there:
            raise Complaint("There is no loudspeaker.")

    def play_beneath(self, samples: NDArray[np.int16], rate: int, rounds: int) -> None:
        self.beneath.append((len(samples), rate, rounds))
        self.goes_on = True

    def stop_beneath(self) -> None:
        self.goes_on = False

    def play(self, samples: NDArray[np.int16], rate: int) -> None:
        self.played.append((len(samples), rate))
        self.playing = True

    def stop(self) -> None:
        self.playing = False

    def close(self) -> None:
        self.playing = False


class Slow(Voice):
    """Takes its time for `wait` and for one number, until it is told to go on."""

    def __init__(self) -> None:
        super().__init__()
        self.waits, self.go_on = Event(), Event()

    def render(self, text: str) -> NDArray[np.int16]:
        if text in ("wait", "one thirty six"):
            self.waits.set()
            assert self.go_on.wait(10)
        return super().render(text)


class Broken(Voice):
    """Can speak one text only."""

    def render(self, text: str) -> NDArray[np.int16]:
        if self.rendered:
            raise Complaint("The voice is broken.")
        return super().render(text)


def ahead() -> list[Thread]:
    """The threads that render cues."""
    return [thread for thread in threading.enumerate() if thread.name == "cues ahead"]


class Dumb(Voice):
    """Cannot speak."""

    def render(self, text: str) -> NDArray[np.int16]:
        raise Complaint("The voice is broken.")


class Own:
    """Stands for what is known of the coach's own voice: what is noted of what a case sounds like."""

    def __init__(self) -> None:
        self.noted: list[tuple[str, float, float]] = []

    def plays_beneath(self, simulation: Simulation, at: float) -> None:
        self.noted.append(("plays", len(simulation.samples) * simulation.rounds / RATE, at))

    def stops_beneath(self, at: float) -> None:
        self.noted.append(("stops", 0.0, at))

    def says(self, text: str, samples: NDArray[np.int16], at: float) -> None:
        self.noted.append(("says", len(samples) / RATE, at))


def until_begun() -> None:
    for thread in threading.enumerate():
        if thread.name == "what a case sounds like":
            thread.join(10)
            assert not thread.is_alive()


def until_ready() -> None:
    for thread in ahead():
        thread.join(10)
        assert not thread.is_alive()


def test_cues_made_ready_are_not_rendered_again() -> None:
    voice, loudspeaker = Voice(), Loudspeaker()
    mouth = Aloud(voice, loudspeaker)  # type: ignore[arg-type]
    mouth.prepare(("well", "done"))
    assert voice.rendered[0] == "well"
    until_ready()
    assert mouth.say("well", 3.0) == 4.0
    assert mouth.say("new", 9.0) == 3.0
    mouth.close()
    assert sorted(voice.rendered) == ["done", "new", "well"]
    assert loudspeaker.played == [(400, 100), (300, 100)]


def test_nobody_waits_for_cues_that_are_not_wanted_yet() -> None:
    voice = Slow()
    mouth = Aloud(voice, Loudspeaker())  # type: ignore[arg-type]
    mouth.prepare(("well", "wait", "done"))
    assert voice.waits.wait(10)
    assert mouth.say("well", 3.0) == 4.0
    assert mouth.say("done", 9.0) == 4.0
    voice.go_on.set()
    until_ready()
    assert set(voice.rendered) == {"well", "wait", "done"}


def test_nothing_is_rendered_after_the_end() -> None:
    voice = Slow()
    mouth = Aloud(voice, Loudspeaker())  # type: ignore[arg-type]
    mouth.prepare(("well", "wait", "done"))
    assert voice.waits.wait(10)
    Timer(0.05, voice.go_on.set).start()
    mouth.close()
    assert not ahead()
    assert voice.rendered == ["well", "wait"]


def test_a_voice_that_breaks_is_complained_of_when_it_is_needed() -> None:
    mouth = Aloud(Broken(), Loudspeaker())  # type: ignore[arg-type]
    mouth.prepare(("well", "done"))
    until_ready()
    mouth.say("well", 3.0)
    with pytest.raises(Complaint, match="broken"):
        mouth.say("done", 9.0)


def test_for_a_recording_nothing_is_rendered_that_is_not_said() -> None:
    voice = Voice()
    mouth = Unplayed(voice)  # type: ignore[arg-type]
    mouth.prepare(("well", "done"))
    assert mouth.say("done", 3.0) == 4.0
    assert voice.rendered == ["done"]
    assert not mouth.sounding


def test_aloud_it_sounds_until_the_loudspeaker_is_done_or_stopped() -> None:
    loudspeaker = Loudspeaker()
    mouth = Aloud(Voice(), loudspeaker)  # type: ignore[arg-type]
    assert mouth.say("well", 3.0) == 4.0
    assert loudspeaker.played == [(400, 100)]
    assert mouth.sounding
    mouth.stop()
    assert not mouth.sounding


def test_what_is_only_shown_takes_no_time() -> None:
    mouth = Mouth()
    mouth.prepare(("well",))
    assert mouth.say("well", 3.0) == 0.0
    mouth.stop()
    assert not mouth.sounding


def test_what_a_case_sounds_like_goes_on_beneath_the_cues_until_it_is_over() -> None:
    loudspeaker = Loudspeaker()
    mouth = Aloud(Voice(), loudspeaker)  # type: ignore[arg-type]
    assert mouth.simulate("beats", (60.0,))
    until_begun()
    assert loudspeaker.beneath == [(RATE, RATE, 180)]
    assert not mouth.sounding
    mouth.say("well", 3.0)
    mouth.stop()
    assert loudspeaker.goes_on
    assert mouth.simulate("", ())
    assert not loudspeaker.goes_on
    assert mouth.simulate("", ())


def test_the_next_takes_its_place_and_at_the_end_nothing_goes_on() -> None:
    loudspeaker = Loudspeaker()
    mouth = Aloud(Voice(), loudspeaker)  # type: ignore[arg-type]
    mouth.simulate("beats", (60.0,))
    mouth.simulate("breaths", (12.0,))
    until_begun()
    assert loudspeaker.beneath[-1] == (5 * RATE, RATE, 36)
    mouth.close()
    assert not loudspeaker.goes_on


def test_nobody_waits_until_the_numbers_of_the_needle_are_rendered() -> None:
    voice, loudspeaker = Slow(), Loudspeaker()
    mouth = Aloud(voice, loudspeaker)  # type: ignore[arg-type]
    assert mouth.simulate("sounds", (118.0, 76.0))
    assert voice.waits.wait(10)
    assert voice.rendered == ["one forty"]
    assert loudspeaker.beneath == []
    mouth.say("well", 3.0)
    voice.go_on.set()
    until_begun()
    assert len(voice.rendered) == len(needle(118, 76)) + 1
    assert len(loudspeaker.beneath) == 1


def test_what_is_over_before_it_is_rendered_is_never_heard() -> None:
    voice, loudspeaker = Slow(), Loudspeaker()
    mouth = Aloud(voice, loudspeaker)  # type: ignore[arg-type]
    mouth.simulate("sounds", (118.0, 76.0))
    assert voice.waits.wait(10)
    Timer(0.05, voice.go_on.set).start()
    mouth.simulate("", ())
    until_begun()
    assert voice.rendered == ["one forty", "one thirty six"]
    assert loudspeaker.beneath == []


@pytest.mark.parametrize(("voice", "there"), [(Dumb(), True), (Voice(), False)])
def test_where_it_cannot_be_heard_it_says_so(voice: Voice, there: bool) -> None:
    loudspeaker = Loudspeaker()
    loudspeaker.there = there
    mouth = Aloud(voice, loudspeaker)  # type: ignore[arg-type]
    assert not mouth.simulate("sounds", (118.0, 76.0))
    until_begun()
    assert loudspeaker.beneath == []


def test_a_voice_that_breaks_while_numbers_are_rendered_breaks_nothing_else() -> None:
    loudspeaker = Loudspeaker()
    mouth = Aloud(Broken(), loudspeaker)  # type: ignore[arg-type]
    assert mouth.simulate("sounds", (118.0, 76.0))
    until_begun()
    assert loudspeaker.beneath == []
    assert mouth.simulate("beats", (60.0,))


@pytest.mark.parametrize("mouth", [Mouth(), Unplayed(Voice())])  # type: ignore[arg-type]
def test_what_is_not_played_cannot_be_heard(mouth: Mouth) -> None:
    assert not mouth.simulate("beats", (72.0,))
    assert not mouth.simulate("", ())


def test_the_microphone_s_side_is_told_what_plays_beneath() -> None:
    own, now = Own(), 5.0
    mouth = Aloud(Voice(), Loudspeaker(), own, lambda: now)  # type: ignore[arg-type]
    mouth.simulate("beats", (60.0,))
    until_begun()
    now = 9.0
    mouth.simulate("", ())
    assert own.noted == [("plays", 180.0, 5.0), ("stops", 0.0, 9.0)]


def test_a_real_own_voice_takes_it_from_another_thread() -> None:
    own = OwnVoice()
    mouth = Aloud(Voice(), Loudspeaker(), own, lambda: 0.0)  # type: ignore[arg-type]
    mouth.simulate("beats", (60.0,))
    until_begun()
    assert own.beside(np.zeros(16)) is not None
    mouth.simulate("", ())
    assert [own.beside(np.zeros(16)) for _ in range(200)][-1] is None

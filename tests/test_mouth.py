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

    def play(self, samples: NDArray[np.int16], rate: int) -> None:
        self.played.append((len(samples), rate))
        self.playing = True

    def stop(self) -> None:
        self.playing = False

    def close(self) -> None:
        self.playing = False


class Slow(Voice):
    """Takes its time for `wait`, until it is told to go on."""

    def __init__(self) -> None:
        super().__init__()
        self.waits, self.go_on = Event(), Event()

    def render(self, text: str) -> NDArray[np.int16]:
        if text == "wait":
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

"""How cues are said."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from voicecoach.mouth import Aloud, Shown, Unplayed


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


def test_cues_made_ready_are_not_rendered_again() -> None:
    voice = Voice()
    mouth = Aloud(voice, Loudspeaker())  # type: ignore[arg-type]
    mouth.prepare(("well", "done"))
    assert mouth.say("well", 3.0) == 4.0
    assert mouth.say("new", 9.0) == 3.0
    assert voice.rendered == ["well", "done", "new"]
    assert [(track.at, len(track.samples), track.rate) for track in mouth.said] == [
        (3.0, 400, 100),
        (9.0, 300, 100),
    ]


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
    mouth = Shown()
    mouth.prepare(("well",))
    assert mouth.say("well", 3.0) == 0.0
    mouth.stop()
    assert not mouth.sounding

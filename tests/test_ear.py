"""From sound and from lines to moments on the audio clock."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from voicecoach import ear
from voicecoach.ear import Moment
from voicecoach.errors import Complaint
from voicecoach.events import Heard, Word
from voicecoach.sound import RATE
from voicecoach.sound.endpointer import Cut, Speech, SpeechBegan, SpeechEnded
from voicecoach.sound.microphone import Gap
from voicecoach.utterances import Patience


class Gate:
    """Stands for the endpointer: speech is what is not zero, and ends after so many zero blocks."""

    def __init__(self, pause: int = 1) -> None:
        self.pause = pause
        self.silent = 0
        self.taken = 0
        self.began: float | None = None

    @property
    def silence(self) -> float:
        return 0.03 * self.silent if self.began is not None else 0.0

    def take(self, block: NDArray[np.int16]) -> list[Cut]:
        at = self.taken / RATE
        self.taken += len(block)
        cuts: list[Cut] = []
        if block.any():
            if self.began is None:
                self.began = at
                cuts.append(SpeechBegan(at))
            cuts.append(Speech(at, block))
            self.silent = 0
            return cuts
        self.silent += 1
        return self.finish() if self.silent >= self.pause else []

    def finish(self) -> list[Cut]:
        if self.began is None:
            return []
        began, self.began = self.began, None
        return [SpeechEnded(began, self.taken / RATE)]


class Counting:
    """Stands for a recognizer: hears how many samples there were."""

    name = "sphinx"

    def __init__(self) -> None:
        self.utterance = 0
        self.samples = 0
        self.began: list[float] = []

    def begin(self, at: float) -> None:
        self.began.append(at)
        self.utterance += 1
        self.samples = 0

    def feed(self, samples: NDArray[np.int16]) -> str:
        self.samples += len(samples)
        return f"{self.samples} so far"

    def end(self, at: float) -> Heard:
        start = self.began[-1]
        return Heard(at, self.utterance, start, at, (Word(f"{self.samples}", start, at),))


def sound(*pieces: tuple[float, int]) -> NDArray[np.int16]:
    """Pieces of so many seconds at a constant level."""
    return np.concatenate([np.full(round(seconds * RATE), level, np.int16) for seconds, level in pieces])


def hear(samples: NDArray[np.int16], pause: int = 1, patience: Patience | None = None) -> list[Moment]:
    gate: Any = Gate(pause)
    return list(ear.hear(ear.blocks(samples), gate, Counting(), patience))


def test_the_clock_counts_samples_and_utterances_come_when_they_end() -> None:
    moments = hear(sound((0.3, 0), (0.6, 100), (0.3, 0), (0.3, 100)))
    heard = [moment for moment in moments if moment.heard]
    assert [(round(moment.at, 3), moment.heard.text) for moment in heard if moment.heard] == [
        (0.93, "9600"),
        (1.5, "4800"),  # its end is that of the sound
    ]
    assert moments[-1].at == 1.5
    speaking = [round(moment.at, 3) for moment in moments if moment.speaking]
    assert (speaking[0], speaking[19]) == (0.33, 0.9)
    assert next(moment.partial for moment in moments if moment.speaking) == "480 so far"


def test_an_utterance_is_over_after_the_silence_that_its_words_need() -> None:
    asked: list[str] = []

    def patience(said: str) -> float:
        asked.append(said)
        return 0.36

    parts = (0.3, 100), (0.9, 0), (0.3, 100), (0.27, 0), (0.3, 100), (0.12, 0), (0.3, 100), (0.9, 0)
    moments = hear(sound(*parts), 25, patience)
    heard = [
        (round(moment.at, 2), moment.heard.utterance, moment.heard.text) for moment in moments if moment.heard
    ]
    # A silence of 0.27 s ends nothing, but what was said is heard again with what follows.
    assert heard == [(0.66, 1, "4800"), (2.85, 2, "14400")]
    assert asked == ["4800", "4800", "14400"]


def test_without_patience_it_is_over_when_the_endpointer_says_so() -> None:
    heard = [moment for moment in hear(sound((0.3, 100), (0.9, 0)), 25) if moment.heard]
    assert [round(moment.at, 2) for moment in heard] == [1.05]


def test_a_gap_ends_what_is_being_said_and_stops_the_clock() -> None:
    student = list(ear.blocks(sound((0.3, 100))))
    gap = Gap("The microphone is gone.")
    gate: Any = Gate()
    moments = list(ear.hear([*student, gap, gap, *student], gate, Counting()))
    said = [(round(moment.at, 2), moment.heard.text) for moment in moments if moment.heard]
    assert said == [(0.3, "4800"), (0.6, "4800")]
    assert [(round(moment.at, 2), moment.gap) for moment in moments if moment.gap] == [(0.3, gap.why)] * 2


def test_the_words_of_the_coach_are_taken_out() -> None:
    gate: Any = Gate()
    own = lambda words: tuple(word for word in words if word.text != "4800")  # noqa: E731
    moments = ear.hear(ear.blocks(sound((0.3, 100), (0.3, 0), (0.6, 100))), gate, Counting(), others=own)
    assert [moment.heard.text for moment in moments if moment.heard] == ["", "9600"]


def test_lines_with_times_are_said_then() -> None:
    moments = list(ear.read(["01:12.5 now I rinse", "", "01:20 and dry"]))
    heard = [moment.heard for moment in moments if moment.heard]
    assert [(h.start, round(h.at, 3), h.text) for h in heard] == [
        (72.5, 73.4, "now i rinse"),
        (80.0, 80.6, "and dry"),
    ]
    # Before a line is heard, its beginning is a moment of silence of which the core may be told.
    assert [moment.at for moment in moments if not moment.heard] == [72.5, 80.0]


def test_lines_without_times_follow_each_other_a_second_apart() -> None:
    heard = [moment.heard for moment in ear.read(["one two", "three"]) if moment.heard]
    assert [(round(h.start, 3), round(h.end, 3)) for h in heard] == [(1.0, 1.6), (2.6, 2.9)]


def test_a_time_that_goes_backwards_is_named_with_its_line() -> None:
    with pytest.raises(Complaint, match="Line 2"):
        list(ear.read(["01:00 one", "00:10 two"]))


def test_at_a_terminal_a_wrong_line_is_left_out_and_the_clock_is_real() -> None:
    seconds = iter([1.0, 2.0, 3.0, 4.0])
    moments = list(ear.read(["01:00 one", None, "00:10 two", "three"], lambda: next(seconds)))
    assert [moment.heard.text for moment in moments if moment.heard] == ["one", "three"]
    assert [moment.at for moment in moments if not moment.heard] == [1.0, 2.0, 3.0, 4.0]
    assert [moment.notice for moment in moments if moment.notice] != []


def test_lines_arrive_from_a_pipe_until_it_ends() -> None:
    lines = [line for line in ear.arriving(io.StringIO("one\ntwo\n")) if line is not None]
    assert lines == ["one\n", "two\n"]

"""From sound and from lines to moments on the audio clock."""

from __future__ import annotations

import io
from collections.abc import Iterator

import numpy as np
import pytest
from numpy.typing import NDArray

from voicecoach import ear
from voicecoach.ear import Moment
from voicecoach.errors import Complaint
from voicecoach.events import Heard, Word
from voicecoach.sound import RATE
from voicecoach.sound.endpointer import Cut, Speech, SpeechBegan, SpeechEnded


class Gate:
    """Stands for the endpointer: speech is what is not zero, and ends with the first zero block."""

    def __init__(self) -> None:
        self.taken = 0
        self.began: float | None = None

    def take(self, block: NDArray[np.int16]) -> list[Cut]:
        at = self.taken / RATE
        self.taken += len(block)
        cuts: list[Cut] = []
        if block.any():
            if self.began is None:
                self.began = at
                cuts.append(SpeechBegan(at))
            cuts.append(Speech(at, block))
            return cuts
        return self.finish()

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


def hear(samples: NDArray[np.int16], deaf: Iterator[bool] | None = None) -> list[Moment]:
    return list(
        ear.hear(
            ear.blocks(samples),
            Gate(),  # type: ignore[arg-type]
            Counting(),
            (lambda: False) if deaf is None else lambda: next(deaf),
        )
    )


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


def test_what_comes_while_the_coach_speaks_is_left_out_and_times_stay_right() -> None:
    # From 0.3 to 0.6 s the coach speaks into 1 s of student, and echoes for 0.2 s more.
    deaf = iter([10 <= n < 20 for n in range(1000)])
    moments = hear(sound((1.2, 100), (0.3, 0)), deaf)
    heard = [moment.heard for moment in moments if moment.heard]
    assert [(round(h.start, 2), round(h.end, 2), h.text) for h in heard] == [
        (0.0, 0.3, "4800"),
        (0.78, 1.23, "6720"),
    ]


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

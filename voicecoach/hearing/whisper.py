"""The recognizer that hears best of those that need no download by hand: Whisper, and PocketSphinx beside it.

Whisper hears free wording well, in noise too, but guesses at words without a sentence around them (`snug
not tight`), and knows it: then the decoder that expects the procedure is believed if it is surer. That one
also gives the words so far.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from voicecoach.events import Heard, Word
from voicecoach.hearing.model_files import NOTHING, Unread
from voicecoach.hearing.sphinx import decoded, expecting, weighed
from voicecoach.hearing.whisper_model import (
    LONGEST,
    Transcript,
    WhisperModel,
    checked_files,
    model_folder,
)
from voicecoach.sound import RATE

_UNSURE = -0.5
"""Average log probability of a token below which Whisper is unsure."""
_NO_SPEECH = 0.88
"""Probability of no speech from which nothing was said: 0.9 and more in noise, up to 0.8 in terse speech."""
_LOOK_BACK = 8 * RATE
"""Samples at the end of the longest piece in which a longer utterance is cut, at the quietest point."""
_DIP = RATE // 10
"""Samples over which a point is judged to be quiet."""
_CORES = 4
"""Cores that are of use at most."""


@dataclass(frozen=True, slots=True)
class Opinions:
    """What two recognizers make of the same sound."""

    words: tuple[Word, ...]
    """Those of the one that is believed."""
    second: tuple[Word, ...]
    """Those of the other."""


@cache
def _model() -> WhisperModel:
    """The model, loaded once for all recognizers of a process."""
    return WhisperModel(checked_files(model_folder()), min(_CORES, os.cpu_count() or 1))


class Whisper:
    """Hears each utterance as a whole when it ends; the words so far are those of PocketSphinx."""

    name = "whisper"

    def __init__(
        self, phrases: Sequence[str], pronounce: Mapping[str, str], others: Unread = NOTHING
    ) -> None:
        """Load the model and make ready for a procedure, with the arguments of Sphinx.

        Raises Complaint where the extra `whisper` is not installed, or its model is another than tested.
        """
        self._model = _model()
        self._expecting = expecting(phrases, pronounce, others)
        self._start = 0.0
        self._blocks: list[NDArray[np.int16]] = []
        self._utterance = 0

    def begin(self, at: float) -> None:
        """An utterance begins at `at` seconds on the audio clock."""
        self._start = at
        self._blocks = []
        self._utterance += 1
        self._expecting.start_utt()

    def feed(self, samples: NDArray[np.int16]) -> str:
        """Take more of the utterance, mono at 16000 Hz; give the words so far."""
        if len(samples):  # the decoder takes no empty block
            self._blocks.append(samples.copy())
            self._expecting.process_raw(samples.astype("=i2").tobytes())
        found = self._expecting.hyp()
        return found.hypstr if found else ""

    def end(self, at: float) -> Heard:
        """The utterance ends, and it is `at` seconds on the audio clock now; give what was said."""
        self._expecting.end_utt()
        expected = decoded(self._expecting, self._start)
        samples = np.concatenate([np.zeros(0, np.int16), *self._blocks])
        self._blocks = []
        words: list[Word] = []
        second: list[Word] = []
        start = self._start
        for piece in pieces(samples):
            end = start + len(piece) / RATE
            within = [word for word in expected if start <= (word.start + word.end) / 2 < end]
            opinions = believed(self._model.transcribe(piece), start, within)
            words += opinions.words
            second += opinions.second
            start = end
        return Heard(
            at=at,
            utterance=self._utterance,
            start=self._start,
            end=self._start + len(samples) / RATE,
            words=tuple(words),
            second=tuple(second),
        )


def believed(transcript: Transcript, start: float, expected: Sequence[Word]) -> Opinions:
    """The words to believe of a piece of sound that begins at `start` seconds on the audio clock.

    `expected` are those of the decoder that expects the procedure, with its own confidence; they come back
    with the chance that they are right, given what Whisper heard.
    """
    if transcript.no_speech > _NO_SPEECH:
        return Opinions((), ())
    free = tuple(
        Word(word.text, round(word.start + start, 3), round(word.end + start, 3), round(word.probability, 3))
        for word in transcript.words
    )
    likely = tuple(weighed(word, free) for word in expected)
    # In noise the decoder that expects the procedure hears it in everything, but is not sure of it.
    if free and (transcript.average >= _UNSURE or _sure(likely) < _sure(free)):
        return Opinions(free, likely)
    return Opinions(likely, free)


def _sure(words: Sequence[Word]) -> float:
    """The confidence in words, on average; 0 where there are none."""
    return sum(word.confidence for word in words) / len(words) if words else 0.0


def pieces(samples: NDArray[np.int16]) -> Iterator[NDArray[np.int16]]:
    """Sound of any length in pieces of LONGEST samples at most, cut where it is quiet."""
    while len(samples) > LONGEST:
        tail = np.abs(samples[LONGEST - _LOOK_BACK : LONGEST].astype(np.float32))
        loudness = tail.reshape(-1, _DIP).sum(axis=1)
        cut = LONGEST - _LOOK_BACK + int(loudness.argmin()) * _DIP + _DIP // 2
        yield samples[:cut]
        samples = samples[cut:]
    yield samples

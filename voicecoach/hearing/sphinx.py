"""The recognizer that works everywhere: PocketSphinx and the English model in its wheel."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import pocketsphinx
from numpy.typing import NDArray

from voicecoach.events import Heard, Word
from voicecoach.hearing.general_english import model_path
from voicecoach.hearing.model_files import NOTHING, Unread, procedure_files
from voicecoach.sound import RATE

_FRAME = 0.01
"""Seconds that the decoder looks at in one go."""
_SOUNDS = 3000
"""Sounds that the first decoder weighs up at any moment; more make it slow in noise, not better."""
_SOUNDS_SECOND = 2000
"""The same for the second, which also does without a second pass over the utterance."""
_NARROW, _NARROW_WORDS = 1e-48, 1e-20
"""Beams of the second pass, which comes when the student waits for an answer: narrower than usual, which
saves a sixth of its time and no step."""
_ALONE = 0.17
"""Log odds that a word is right of which the decoder gives even odds and the second opinion knows nothing."""
_POSTERIOR = 0.36
"""What each unit of the decoder's own log odds adds; it is far too sure of itself."""
_AGREED = 1.18
"""What it adds that the second opinion heard the word in the same place."""


class Sphinx:
    """Hears with what a procedure makes likely and, as a second opinion, with general English alone."""

    name = "sphinx"

    def __init__(
        self, phrases: Sequence[str], pronounce: Mapping[str, str], others: Unread = NOTHING
    ) -> None:
        """Make ready for a procedure.

        `phrases` are what a student may say, lower case without punctuation; `pronounce` maps words to
        phones separated by spaces; `others` are phrases of other procedures, which make the words of
        the trade likelier. The first time takes some seconds, later ones a fraction of one.
        """
        self._expecting = expecting(phrases, pronounce, others)
        self._open = pocketsphinx.Decoder(
            lm=str(model_path()), maxhmmpf=_SOUNDS_SECOND, fwdflat=False, loglevel="FATAL"
        )
        self._start = 0.0
        self._samples = 0
        self._utterance = 0

    def begin(self, at: float) -> None:
        """An utterance begins at `at` seconds on the audio clock."""
        self._start = at
        self._samples = 0
        self._utterance += 1
        self._expecting.start_utt()
        self._open.start_utt()

    def feed(self, samples: NDArray[np.int16]) -> str:
        """Take more of the utterance, mono at 16000 Hz; give the words so far."""
        if not len(samples):
            return self._partial()  # the decoder takes no empty block
        self._samples += len(samples)
        block = samples.astype("=i2").tobytes()
        self._expecting.process_raw(block)
        self._open.process_raw(block)
        return self._partial()

    def end(self, at: float) -> Heard:
        """The utterance ends, and it is `at` seconds on the audio clock now; give what was said."""
        self._expecting.end_utt()
        self._open.end_utt()
        second = decoded(self._open, self._start)
        return Heard(
            at=at,
            utterance=self._utterance,
            start=self._start,
            end=self._start + self._samples / RATE,
            words=tuple(weighed(word, second) for word in decoded(self._expecting, self._start)),
            second=second,
        )

    def _partial(self) -> str:
        found = self._expecting.hyp()
        return found.hypstr if found else ""


def expecting(phrases: Sequence[str], pronounce: Mapping[str, str], others: Unread) -> pocketsphinx.Decoder:
    """A decoder that expects a procedure; the arguments are those of Sphinx."""
    files = procedure_files(phrases, pronounce, others)
    return pocketsphinx.Decoder(
        lm=str(files.language),
        dict=str(files.words),
        maxhmmpf=_SOUNDS,
        fwdflatbeam=_NARROW,
        fwdflatwbeam=_NARROW_WORDS,
        loglevel="FATAL",
    )


def decoded(decoder: pocketsphinx.Decoder, start: float) -> tuple[Word, ...]:
    """The words that a decoder heard in an utterance that began at `start`, with its own confidence."""
    if decoder.hyp() is None:
        return ()
    return tuple(
        Word(
            text=segment.word.partition("(")[0],
            start=round(start + segment.start_frame * _FRAME, 3),
            end=round(start + (segment.end_frame + 1) * _FRAME, 3),
            confidence=min(1.0, segment.prob),
        )
        for segment in decoder.seg()
        if segment.word[0] not in "<["
    )


def weighed(word: Word, second: Sequence[Word]) -> Word:
    """The word with the chance that it is right, given what the second opinion heard."""
    agreed = any(
        other.text == word.text and other.start < word.end and word.start < other.end for other in second
    )
    sure = min(max(word.confidence, 1e-4), 1 - 1e-4)
    odds = _ALONE + _POSTERIOR * math.log(sure / (1 - sure)) + _AGREED * agreed
    return replace(word, confidence=round(1 / (1 + math.exp(-odds)), 3))

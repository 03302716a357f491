"""The recognizer for those who have an English Vosk model: it streams and hears free wording well."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voicecoach.errors import Complaint
from voicecoach.events import Heard, Word
from voicecoach.sound import RATE

_UNKNOWN = "[unk]"


def check_model(model: Path) -> None:
    """Raise Complaint where `model` is not the folder of a Vosk model."""
    if not model.is_dir():
        raise Complaint(
            f"There is no folder {model}: give the folder of an English Vosk model, unpacked from its zip."
        )
    if part := lacking(lambda place: (model / place).is_file()):
        raise Complaint(
            f"The folder {model} is not a Vosk model, since it has no {part}: "
            "unpack the model's zip and give the folder that holds `am`, `conf` and `graph`."
        )


def lacking(has: Callable[[str], bool]) -> str:
    """The first thing that a model needs and this one lacks; empty where it has all.

    `has` says whether the model has a file at a path, such as `am/final.mdl`.
    """
    needed = {
        "am/final.mdl": ("am/final.mdl", "final.mdl"),
        "conf": ("conf/mfcc.conf", "conf/model.conf", "mfcc.conf"),
        "graph": ("graph/HCLG.fst", "HCLG.fst", "graph/HCLr.fst", "HCLr.fst"),
    }
    return next((name for name, places in needed.items() if not any(map(has, places))), "")


def is_dynamic(model: Path) -> bool:
    """Whether the model's word list can be narrowed to that of a procedure."""
    return any(
        (base / "HCLr.fst").is_file() and (base / "Gr.fst").is_file() for base in (model, model / "graph")
    )


@lru_cache(maxsize=1)
def _loaded(model: Path) -> Any:
    """A model, loaded once for all recognizers of a process; Complaint where that fails."""
    import vosk

    vosk.SetLogLevel(-1)
    try:
        return vosk.Model(str(model))
    except Exception:
        # the library raises a bare Exception, and has nothing more to say
        raise Complaint(
            f"The Vosk model in {model} cannot be loaded, it may be damaged: unpack it again."
        ) from None


class Vosk:
    """Hears freely and, where the model allows it, a second time with the procedure's words only."""

    name = "vosk"

    def __init__(self, model: Path, phrases: Sequence[str]) -> None:
        """Load `model`, a folder; Complaint where it is none or cannot be loaded."""
        check_model(model)
        import vosk  # It brings a client for the web, and this module is asked for what a model is, too.

        loaded = _loaded(model)
        self._free = _Stream(vosk.KaldiRecognizer(loaded, RATE))
        self._narrow: _Stream | None = None
        if is_dynamic(model) and (lines := _known(phrases, loaded)):
            self._narrow = _Stream(vosk.KaldiRecognizer(loaded, RATE, json.dumps(lines, ensure_ascii=False)))
        self._utterance = 0
        self._start = 0.0

    def begin(self, at: float) -> None:
        """An utterance begins at `at` seconds on the audio clock."""
        self._start = at
        self._utterance += 1

    def feed(self, samples: NDArray[np.int16]) -> str:
        """Take more of the utterance, mono at 16000 Hz; give the words so far."""
        block = samples.astype("<i2").tobytes()
        if self._narrow:
            self._narrow.feed(block)
        self._free.feed(block)
        return self._free.partial()

    def end(self, at: float) -> Heard:
        """The utterance ends, and it is `at` seconds on the audio clock now; give what was said.

        `second` is what the procedure's words alone make of the sound; empty where the model's word
        list is fixed.
        """
        length = self._free.seconds
        return Heard(
            at=at,
            utterance=self._utterance,
            start=self._start,
            end=self._start + length,
            words=self._free.end(self._start),
            second=self._narrow.end(self._start) if self._narrow else (),
        )


@dataclass(slots=True)
class _Stream:
    """One of the library's recognizers, fed one utterance after the other."""

    recognizer: Any
    done: int = 0
    """Samples of the utterances before; the library's times go on from utterance to utterance."""
    samples: int = 0
    """Samples of this utterance."""
    pieces: list[dict[str, Any]] = field(default_factory=list)
    """The library's words of this utterance, up to the last pause that it found by itself."""

    def __post_init__(self) -> None:
        self.recognizer.SetWords(True)

    @property
    def seconds(self) -> float:
        return self.samples / RATE

    def feed(self, block: bytes) -> None:
        self.samples += len(block) // 2
        if self.recognizer.AcceptWaveform(block):
            self.pieces += json.loads(self.recognizer.Result()).get("result", [])

    def partial(self) -> str:
        # right after a pause the library leaves the partial out
        rest = json.loads(self.recognizer.PartialResult()).get("partial", "")
        return " ".join([*(piece["word"] for piece in self.pieces), *rest.split()])

    def end(self, start: float) -> tuple[Word, ...]:
        pieces = [*self.pieces, *json.loads(self.recognizer.FinalResult()).get("result", [])]
        shift = start - self.done / RATE
        self.done += self.samples
        self.samples = 0
        self.pieces = []
        return tuple(
            Word(
                text=piece["word"],
                start=round(piece["start"] + shift, 3),
                end=round(piece["end"] + shift, 3),
                confidence=min(1.0, piece["conf"]),
            )
            for piece in pieces
            if piece["word"] != _UNKNOWN
        )


def _known(phrases: Iterable[str], model: Any) -> list[str]:
    """The phrases as the library takes them, words that the model lacks replaced by the unknown word."""
    has_unknown = model.vosk_model_find_word(_UNKNOWN) >= 0
    lines: dict[str, None] = {}
    for phrase in phrases:
        words = [word if model.vosk_model_find_word(word) >= 0 else _UNKNOWN for word in phrase.split()]
        lines[" ".join(word for word in words if has_unknown or word != _UNKNOWN)] = None
    lines.pop("", None)
    return [*lines, _UNKNOWN] if lines and has_unknown else list(lines)

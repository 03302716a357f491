"""What every recognizer does: sound of one utterance in, words out."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from voicecoach.events import Heard


class Recognizer(Protocol):
    """Hears one utterance after the other; where they begin and end is decided elsewhere."""

    name: str
    """sphinx, vosk or whisper, as it stands in the journal."""

    def begin(self, at: float) -> None:
        """An utterance begins at `at` seconds on the audio clock."""

    def feed(self, samples: NDArray[np.int16]) -> str:
        """Take more of the utterance, mono at 16000 Hz; give the words so far, which may still change."""

    def end(self, at: float) -> Heard:
        """The utterance ends, and it is `at` seconds on the audio clock now; give what was said."""

"""Cues rendered before they are needed, in a thread beside what else goes on."""

from __future__ import annotations

import threading
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from voicecoach.errors import Complaint
from voicecoach.speaking.voice import Voice

_BREATH = 0.005
"""Seconds between two texts in which one that is wanted at once gets its turn."""


class Ahead:
    """Renders some texts, then ends by itself."""

    def __init__(self, voice: Voice, texts: Sequence[str], ready: dict[str, NDArray[np.int16]]) -> None:
        """Begin with `texts` that are not in `ready`, where their samples go."""
        self._voice = voice
        self._texts = [text for text in texts if text not in ready]
        self._ready = ready
        self._enough = threading.Event()
        self._thread = threading.Thread(target=self._render, name="cues ahead")
        self._thread.start()

    def stop(self) -> None:
        """Render no more, and wait until that is so."""
        self._enough.set()
        self._thread.join()

    def _render(self) -> None:
        for text in self._texts:
            if self._enough.wait(_BREATH):
                return
            try:
                self._ready[text] = self._voice.render(text)
            except Complaint:
                return  # Whoever wants to say it will be told.

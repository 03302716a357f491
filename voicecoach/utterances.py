"""One utterance after the other, from the endpointer to the recognizer, and when each is over.

Where somebody waits for an answer, an utterance is recognized to its end as soon as there is a pause, and
its words tell how long a pause means that it is over. If the student goes on before that, it is heard again
from its beginning: that takes a part of a second, which nobody waits for.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from voicecoach.events import Heard
from voicecoach.hearing.recognizer import Recognizer
from voicecoach.sound.endpointer import Cut, Endpointer, Speech, SpeechBegan

Patience = Callable[[str], float]
"""The seconds of silence after which an utterance is over, by its words."""

EARLY = 0.2
"""Seconds of silence after which the words are wanted, ahead of the end."""


class Utterances:
    """Takes sound, gives utterances."""

    def __init__(self, endpointer: Endpointer, recognizer: Recognizer, patience: Patience | None) -> None:
        """Without `patience` an utterance is over when the endpointer says so."""
        self._endpointer = endpointer
        self._recognizer = recognizer
        self._patience = patience
        self._count = 0
        self._began: float | None = None
        """Seconds at which the sound of the open utterance begins; None where there is none yet."""
        self._sound: list[NDArray[np.int16]] = []
        self._early: Heard | None = None
        """What was heard up to the pause in which it is silent now."""
        self._waits = 0.0
        """Seconds of silence after which it is over."""
        self.speaking = False
        """True while an utterance is open."""
        self.partial = ""
        """Its words so far."""

    def take(self, block: NDArray[np.int16], now: float) -> list[Heard]:
        """Take a block that ends at `now`; what has been heard with it."""
        heard = self._follow(self._endpointer.take(block), now)
        if self._patience is None or self._began is None:
            return heard
        silence = self._endpointer.silence
        if self._early is None and silence >= EARLY:
            self._early = self._recognizer.end(now)
            self._waits = self._patience(self._early.text)
        elif self._early is not None and silence < EARLY:
            self._hear_again()
        if self._early is not None and silence >= self._waits:
            heard += self.finish(now)
        return heard

    def finish(self, now: float) -> list[Heard]:
        """End the utterance that is open."""
        return self._follow(self._endpointer.finish(), now)

    def _follow(self, cuts: list[Cut], now: float) -> list[Heard]:
        heard = []
        for cut in cuts:
            if isinstance(cut, SpeechBegan):
                self.speaking = True
            elif isinstance(cut, Speech):
                self._go_on(cut)
            else:
                if self._began is not None:
                    self._count += 1
                    whole = self._early or self._recognizer.end(now)
                    heard.append(replace(whole, at=now, utterance=self._count, start=cut.start, end=cut.end))
                self.speaking, self.partial = False, ""
                self._began, self._early, self._sound = None, None, []
        return heard

    def _go_on(self, speech: Speech) -> None:
        if self._began is None:
            self._began = speech.at
            self._recognizer.begin(speech.at)
        self._sound.append(speech.samples)
        if self._early is None:
            self.partial = self._recognizer.feed(speech.samples)

    def _hear_again(self) -> None:
        """The student goes on: the pause was none."""
        assert self._began is not None
        self._early = None
        self._recognizer.begin(self._began)
        self.partial = self._recognizer.feed(np.concatenate(self._sound))

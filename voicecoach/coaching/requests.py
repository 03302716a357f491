"""What the student asks the coach for, in natural variants, addressed or where the sense is plain."""

from __future__ import annotations

from itertools import pairwise

from voicecoach.following.likeness import Learn, Likeness
from voicecoach.following.meaning import meanings
from voicecoach.following.normal import plain
from voicecoach.following.samples import Samples

ADDRESS = "coach"
"""The word that makes it plain who is spoken to."""
PLAIN = 0.33
"""Likeness from which a clause is a request though the coach is not named."""
ADDRESSED = 0.15
"""The same where the coach is named."""
OF_THE_CASE = frozenset({"time", "look"})
"""Requests that sound like what is done: `time, and i got seventy six`."""
WHOLE = 0.5
"""Likeness from which the words so far are a whole request."""


def is_addressed(text: str) -> bool:
    """Whether the coach is named."""
    return ADDRESS in plain(text)


class Requests:
    """Tells which request a clause makes."""

    def __init__(self, samples: Samples, learn: Learn = Likeness) -> None:
        asked = [(phrase, name) for name, phrases in samples.requests.items() for phrase in phrases]
        others = (*samples.chat, *samples.report, *samples.later, *samples.undone, *samples.avoiding)
        asked += [(phrase, "") for phrase in others]
        self._likeness = learn(asked, pieces=_pieces, meaning=meanings)

    def request(self, text: str) -> str:
        """The name of the request that a clause makes; empty where it makes none."""
        name, score = self._best(text)
        if is_addressed(text):
            return name if score >= ADDRESSED else ""
        return name if score >= (WHOLE if name in OF_THE_CASE else PLAIN) else ""

    def is_plain(self, text: str) -> bool:
        """Whether the words so far make a request, whatever may follow."""
        name, score = self._best(text)
        return bool(name) and score >= WHOLE

    def _best(self, text: str) -> tuple[str, float]:
        """The likeliest request, empty for none, and its likeness."""
        scores = self._likeness.scores([text])[0]
        best = int(scores.argmax())
        return self._likeness.labels[best], float(scores[best])


def _pieces(text: str) -> list[str]:
    """Words and pairs of words, without the name of the coach."""
    words = [word for word in plain(text) if word != ADDRESS]
    return [*words, *(f"{one} {two}" for one, two in pairwise(words))]

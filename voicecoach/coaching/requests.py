"""What the student asks the coach for, in natural variants, addressed or where the sense is plain."""

from __future__ import annotations

from itertools import pairwise

from voicecoach.following.likeness import Likeness
from voicecoach.following.meaning import meanings
from voicecoach.following.normal import plain
from voicecoach.following.samples import Samples

ADDRESS = "coach"
"""The word that makes it plain who is spoken to."""
PLAIN = 0.33
"""Likeness from which a clause is a request though the coach is not named."""
ADDRESSED = 0.15
"""The same where the coach is named."""


def is_addressed(text: str) -> bool:
    """Whether the coach is named."""
    return ADDRESS in plain(text)


class Requests:
    """Tells which request a clause makes."""

    def __init__(self, samples: Samples) -> None:
        asked = [(phrase, name) for name, phrases in samples.requests.items() for phrase in phrases]
        others = (*samples.chat, *samples.report, *samples.later, *samples.undone, *samples.avoiding)
        asked += [(phrase, "") for phrase in others]
        self._likeness = Likeness(asked, pieces=_pieces, meaning=meanings)

    def request(self, text: str) -> str:
        """The name of the request that a clause makes; empty where it makes none."""
        scores = self._likeness.scores([text])[0]
        best = int(scores.argmax())
        enough = ADDRESSED if is_addressed(text) else PLAIN
        return self._likeness.labels[best] if scores[best] >= enough else ""


def _pieces(text: str) -> list[str]:
    """Words and pairs of words, without the name of the coach."""
    words = [word for word in plain(text) if word != ADDRESS]
    return [*words, *(f"{one} {two}" for one, two in pairwise(words))]

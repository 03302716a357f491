"""How like the phrases of each label a clause is: kernel ridge regression in closed form.

The kernel of two texts is the sum of a cosine over weighted word pieces (words that stand under many
labels weigh little) and, where a meaning is given, the cube of the cosine of their meanings. The
solution is exact and takes no random start, so the same phrases always give the same scores.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from voicecoach.following.rows import unit_rows

Labelled = Sequence[tuple[str, str]]
"""Pairs of a phrase and its label."""
Pieces = Callable[[str], Sequence[str]]
"""The pieces of a text that are compared, for example its stems."""
Meaning = Callable[[Sequence[str]], NDArray[np.float32]]
"""Texts to unit vectors, shape (texts, dimensions)."""
Scores = NDArray[np.float64]
_RIDGE = 1.0
"""What keeps the scores from following each phrase to the letter."""


@dataclass(frozen=True, slots=True)
class Learned:
    """What has been learned from labelled phrases."""

    labels: tuple[str, ...]
    """Each label once."""
    pieces: tuple[str, ...]
    """Each piece of the phrases once."""
    weight: NDArray[np.float64]
    """How much each piece counts; shape (pieces)."""
    base: NDArray[np.float64]
    """The score of a text that is like nothing; shape (labels)."""
    by_piece: NDArray[np.float32]
    """What a piece adds to the score; shape (pieces, labels)."""
    solution: NDArray[np.float32]
    """What nearness to the meaning of a phrase adds to it; shape (phrases, labels)."""
    meanings: NDArray[np.float32]
    """The meaning of each phrase; shape (phrases, dimensions), (phrases, 0) where none is given."""


class Likeness:
    """Scores texts against labels learned from phrases."""

    def __init__(
        self,
        labelled: Labelled,
        pieces: Pieces,
        meaning: Meaning | None,
        meaning_weight: float = 1.0,
        learned: Learned | None = None,
    ) -> None:
        """Learn from `labelled`, unless `learned` is what was learned from the same before."""
        self._pieces = pieces
        self._meaning = meaning
        self._meaning_weight = np.float32(meaning_weight)
        self.learned = learned or self._learn(labelled)
        self.labels = self.learned.labels
        self._column = {piece: place for place, piece in enumerate(self.learned.pieces)}

    def scores(self, texts: Sequence[str]) -> Scores:
        """About 1 where a text is like a label's phrases, about 0 where not; shape (texts, labels)."""
        learned = self.learned
        # The part over pieces is linear, so that it needs one small product instead of the kernel.
        rows = unit_rows([Counter(self._pieces(text)) for text in texts], self._column, learned.weight)
        scores = learned.base + rows.times(learned.by_piece)
        if self._meaning is not None:
            scores += self._nearness(self._meaning(texts), learned.meanings) @ learned.solution
        return scores

    def _learn(self, labelled: Labelled) -> Learned:
        from voicecoach.following.ridge import solved  # Brings scipy, which nothing else here needs.

        phrases = [phrase for phrase, _ in labelled]
        labels = {label: place for place, label in enumerate(dict.fromkeys(label for _, label in labelled))}
        counted = [Counter(self._pieces(phrase)) for phrase in phrases]
        documents = Counter(piece for counts in counted for piece in counts)
        weight = np.log((1 + len(phrases)) / (1 + np.array(list(documents.values())))) + 1
        rows = unit_rows(counted, {piece: place for place, piece in enumerate(documents)}, weight)
        truth = np.zeros((len(phrases), len(labels)))
        truth[np.arange(len(phrases)), [labels[label] for _, label in labelled]] = 1
        base = truth.mean(axis=0)
        meanings = self._meaning(phrases) if self._meaning else np.zeros((len(phrases), 0), np.float32)

        def more(some: slice, others: slice) -> NDArray[np.float32]:
            return self._nearness(meanings[some], meanings[others])

        solution, by_piece = solved(rows, len(documents), (truth - base).astype(np.float32), _RIDGE, more)
        return Learned(tuple(labels), tuple(documents), weight, base, by_piece, solution, meanings)

    def _nearness(self, some: NDArray[np.float32], others: NDArray[np.float32]) -> NDArray[np.float32]:
        cosines = some @ others.T
        cubed = cosines * cosines  # in place from here, since most of the time that following takes is here
        cubed *= cosines
        cubed *= self._meaning_weight
        return np.asarray(cubed)


class Learn(Protocol):
    """Makes a likeness, as the class does by learning, or from what was learned before."""

    def __call__(
        self, labelled: Labelled, pieces: Pieces, meaning: Meaning | None, meaning_weight: float = 1.0
    ) -> Likeness:
        """A likeness that has learned from `labelled`."""

    def __hash__(self) -> int:
        """It can be told from others, so that what it made can be kept."""

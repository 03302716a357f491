"""How like the phrases of each label a clause is: kernel ridge regression in closed form.

The kernel of two texts is the sum of a cosine over weighted word pieces (words that stand under many
labels weigh little) and, where a meaning is given, the cube of the cosine of their meanings. The
solution is exact and takes no random start, so the same phrases always give the same scores.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

Pieces = Callable[[str], Sequence[str]]
"""The pieces of a text that are compared, for example its stems."""
Meaning = Callable[[Sequence[str]], NDArray[np.float32]]
"""Texts to unit vectors, shape (texts, dimensions)."""
Scores = NDArray[np.float64]


class Likeness:
    """Scores texts against labels learned from phrases."""

    def __init__(
        self,
        phrases: Sequence[str],
        labels: Sequence[str],
        pieces: Pieces,
        meaning: Meaning | None,
        meaning_weight: float = 1.0,
        ridge: float = 1.0,
    ) -> None:
        """Learn from `phrases`, of which each has the label at the same place in `labels`."""
        self.labels = tuple(dict.fromkeys(labels))
        self._pieces = pieces
        self._meaning = meaning
        self._meaning_weight = meaning_weight
        counted = [Counter(pieces(phrase)) for phrase in phrases]
        documents = Counter(piece for counts in counted for piece in counts)
        self._column = {piece: place for place, piece in enumerate(documents)}
        self._weight = np.array(
            [np.log((1 + len(phrases)) / (1 + documents[piece])) + 1 for piece in self._column]
        )
        self._rows = self._vectors(counted)
        self._meanings = meaning(phrases) if meaning else None
        index = {label: place for place, label in enumerate(self.labels)}
        truth = np.zeros((len(phrases), len(self.labels)))
        truth[np.arange(len(phrases)), [index[label] for label in labels]] = 1
        self._base = truth.mean(axis=0)
        kernel = self._rows @ self._rows.T
        if self._meanings is not None:
            kernel = kernel + self._likeness(self._meanings, self._meanings)
        solution = np.linalg.solve(kernel + ridge * np.eye(len(phrases)), truth - self._base)
        self._solution = solution.astype(np.float64)
        # The part over pieces is linear, so that it needs one small product instead of the kernel.
        self._by_piece = self._rows.T @ self._solution

    def scores(self, texts: Sequence[str]) -> Scores:
        """About 1 where a text is like a label's phrases, about 0 where not; shape (texts, labels)."""
        rows = self._vectors([Counter(self._pieces(text)) for text in texts])
        scores = self._base + rows @ self._by_piece
        if self._meaning is not None and self._meanings is not None:
            scores = scores + self._likeness(self._meaning(texts), self._meanings) @ self._solution
        return np.asarray(scores, dtype=np.float64)

    def _likeness(self, some: NDArray[np.float32], others: NDArray[np.float32]) -> NDArray[np.float64]:
        return np.asarray(self._meaning_weight * (some @ others.T).astype(np.float64) ** 3)

    def _vectors(self, counted: Sequence[Counter[str]]) -> NDArray[np.float64]:
        """Unit vectors over the known pieces, the unknown ones counted in the length."""
        rows = np.zeros((len(counted), len(self._column)))
        rarest = self._weight.max(initial=1.0)
        for row, counts in zip(rows, counted, strict=True):
            unknown = 0.0
            for piece, count in counts.items():
                column = self._column.get(piece)
                if column is None:
                    unknown += rarest**2 / 4
                else:
                    row[column] = (1 + np.log(count)) * self._weight[column]
            row /= np.sqrt(row @ row + unknown) or 1.0
        return rows

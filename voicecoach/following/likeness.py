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
        labelled: Sequence[tuple[str, str]],
        pieces: Pieces,
        meaning: Meaning | None,
        meaning_weight: float = 1.0,
        ridge: float = 1.0,
    ) -> None:
        """Learn from `labelled`, pairs of a phrase and its label."""
        phrases = [phrase for phrase, _ in labelled]
        labels = [label for _, label in labelled]
        self.labels = tuple(dict.fromkeys(labels))
        self._pieces = pieces
        self._meaning = meaning
        self._meaning_weight = meaning_weight
        counted = [Counter(pieces(phrase)) for phrase in phrases]
        documents = Counter(piece for counts in counted for piece in counts)
        self._column = {piece: place for place, piece in enumerate(documents)}
        self._weight = np.log((1 + len(phrases)) / (1 + np.array(list(documents.values())))) + 1
        self._meanings = meaning(phrases) if meaning else None
        truth = np.zeros((len(phrases), len(self.labels)))
        truth[np.arange(len(phrases)), [self.labels.index(label) for label in labels]] = 1
        self._base = truth.mean(axis=0)
        rows = [self._weighted(counts) for counts in counted]
        kernel = self._alike(rows, np.array(list(documents.values())) > 1)
        if self._meanings is not None:
            kernel += self._nearness(self._meanings, self._meanings)
        self._solution = np.linalg.solve(kernel + ridge * np.eye(len(phrases)), truth - self._base)
        # The part over pieces is linear, so that it needs one small product instead of the kernel.
        self._by_piece = np.zeros((len(documents), len(self.labels)))
        for (columns, values), solution in zip(rows, self._solution, strict=True):
            self._by_piece[columns] += values[:, None] * solution

    def scores(self, texts: Sequence[str]) -> Scores:
        """About 1 where a text is like a label's phrases, about 0 where not; shape (texts, labels)."""
        scores = np.tile(self._base, (len(texts), 1))
        for row, text in zip(scores, texts, strict=True):
            columns, values = self._weighted(Counter(self._pieces(text)))
            row += values @ self._by_piece[columns]
        if self._meaning is not None and self._meanings is not None:
            scores += self._nearness(self._meaning(texts), self._meanings) @ self._solution
        return scores

    def _weighted(self, counts: Counter[str]) -> tuple[list[int], NDArray[np.float64]]:
        """Columns and values of the unit vector of a text; unknown pieces count in its length alone."""
        known = [(self._column[piece], count) for piece, count in counts.items() if piece in self._column]
        columns = [column for column, _ in known]
        values = (1 + np.log([count for _, count in known])) * self._weight[columns]
        unknown = (len(counts) - len(known)) * (self._weight.max() / 2) ** 2
        return columns, values / (np.sqrt(values @ values + unknown) or 1.0)

    def _alike(
        self, rows: Sequence[tuple[list[int], NDArray[np.float64]]], shared: NDArray[np.bool_]
    ) -> NDArray[np.float64]:
        """Cosines of the phrases' pieces, shape (phrases, phrases)."""
        # A piece that only one phrase has makes no two of them alike, so it needs no column here.
        dense = np.zeros((len(rows), len(shared)), dtype=np.float32)
        for row, (columns, values) in zip(dense, rows, strict=True):
            row[columns] = values
        few = dense[:, shared]
        cosines = (few @ few.T).astype(np.float64)
        np.fill_diagonal(cosines, 1.0)
        return cosines

    def _nearness(self, some: NDArray[np.float32], others: NDArray[np.float32]) -> NDArray[np.float64]:
        return np.asarray(self._meaning_weight * (some @ others.T).astype(np.float64) ** 3)

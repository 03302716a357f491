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
from scipy.linalg import solve
from scipy.sparse import csr_array

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
        pieces_of = self._rows(counted)
        kernel = (pieces_of @ pieces_of.T).toarray()
        if self._meanings is not None:
            kernel += self._nearness(self._meanings, self._meanings)
        kernel[np.diag_indices_from(kernel)] += ridge
        self._solution = solve(kernel, (truth - self._base).astype(np.float32), assume_a="pos")
        # The part over pieces is linear, so that it needs one small product instead of the kernel.
        self._by_piece = pieces_of.T @ self._solution

    def scores(self, texts: Sequence[str]) -> Scores:
        """About 1 where a text is like a label's phrases, about 0 where not; shape (texts, labels)."""
        scores = self._base + self._rows([Counter(self._pieces(text)) for text in texts]) @ self._by_piece
        if self._meaning is not None and self._meanings is not None:
            scores += self._nearness(self._meaning(texts), self._meanings) @ self._solution
        return np.asarray(scores)

    def _rows(self, counted: Sequence[Counter[str]]) -> csr_array:
        """Unit vectors of texts over the known pieces; unknown pieces count in a text's length alone."""
        columns: list[int] = []
        values: list[NDArray[np.float64]] = []
        ends = [0]
        for counts in counted:
            known = [(self._column[piece], count) for piece, count in counts.items() if piece in self._column]
            columns += [column for column, _ in known]
            ends.append(len(columns))
            weights = (1 + np.log([count for _, count in known])) * self._weight[columns[ends[-2] :]]
            unknown = (len(counts) - len(known)) * (self._weight.max() / 2) ** 2
            values.append(weights / (np.sqrt(weights @ weights + unknown) or 1.0))
        data = np.concatenate(values).astype(np.float32)
        return csr_array((data, columns, ends), shape=(len(counted), len(self._column)))

    def _nearness(self, some: NDArray[np.float32], others: NDArray[np.float32]) -> NDArray[np.float32]:
        cosines = some @ others.T
        cubed = cosines * cosines  # in place from here, since most of the time that following takes is here
        cubed *= cosines
        cubed *= np.float32(self._meaning_weight)
        return np.asarray(cubed)

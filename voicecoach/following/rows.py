"""Texts as rows of numbers, of which nearly all are 0: one column for each piece that is known."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Rows:
    """What is not 0, row after row."""

    columns: NDArray[np.int64]
    """The column of each number."""
    values: NDArray[np.float32]
    """Each number."""
    ends: NDArray[np.int64]
    """Where each row ends, after a 0 where the first begins."""

    def times(self, table: NDArray[np.float32]) -> NDArray[np.float32]:
        """The product with a table, shape (columns, any): (rows, any)."""
        product = np.zeros((len(self.ends) - 1, table.shape[1]), np.float32)
        filled = self.ends[1:] > self.ends[:-1]
        if filled.any():
            summands = self.values[:, None] * table[self.columns]
            product[filled] = np.add.reduceat(summands, self.ends[:-1][filled])
        return product


def unit_rows(
    counted: Sequence[Counter[str]], column: Mapping[str, int], weight: NDArray[np.float64]
) -> Rows:
    """Unit vectors of texts, given how often each has each piece; pieces without a column count in a text's
    length alone.

    `column` is the place of each piece that is known, `weight` what it counts.
    """
    known = [
        [(column[piece], count) for piece, count in counts.items() if piece in column] for counts in counted
    ]
    sizes = np.array([len(row) for row in known], np.int64)
    columns = np.array([place for row in known for place, _ in row], np.int64)
    counts = np.array([count for row in known for _, count in row], np.float64)
    values = (1 + np.log(counts)) * weight[columns]
    owner = np.repeat(np.arange(len(known)), sizes)
    unknown = np.array([len(counts) for counts in counted]) - sizes
    squares = np.bincount(owner, values**2, len(known)) + unknown * (weight.max(initial=0.0) / 2) ** 2
    lengths = np.sqrt(np.where(squares > 0, squares, 1.0))
    return Rows(
        columns, (values / lengths[owner]).astype(np.float32), np.concatenate([[0], np.cumsum(sizes)])
    )

"""The exact solution of kernel ridge regression: a module of its own, since scipy takes long to import.

It is wanted only where phrases are learned that were not learned before.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve
from scipy.sparse import csr_array

from voicecoach.following.rows import Rows

Numbers = NDArray[np.float32]
_BLOCK = 512
"""Rows of the kernel that are made at once, so that little more memory is needed than it takes itself."""


def solved(
    rows: Rows, width: int, truth: Numbers, ridge: float, more: Callable[[slice, slice], Numbers]
) -> tuple[Numbers, Numbers]:
    """What each text adds to the score of each label, and what each of the `width` columns adds.

    The kernel is the product of `rows` and `more`, which is given the texts of its rows and those of its
    columns; `truth` is what the scores should be, shape (texts, labels).
    """
    count = len(truth)
    texts = csr_array((rows.values, rows.columns, rows.ends), shape=(count, width))
    turned = texts.T.tocsr()
    kernel = np.empty((count, count), np.float32)
    # It is symmetric, and of only one half the solution makes use.
    for start in range(0, count, _BLOCK):
        block, before = slice(start, start + _BLOCK), slice(min(start + _BLOCK, count))
        kernel[block] = (texts[block] @ turned).toarray()
        kernel[block, before] += more(block, before)
    kernel[np.diag_indices_from(kernel)] += ridge
    # Transposed it stands as LAPACK wants it, so that nothing is copied; its lower half is then the upper.
    factor = cho_factor(kernel.T, lower=False, overwrite_a=True, check_finite=False)
    solution = np.ascontiguousarray(cho_solve(factor, truth, check_finite=False))
    return solution, np.ascontiguousarray(turned @ solution)

"""How sure a figure is, by drawing the narrations anew."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

SEED = 20261125
DRAWS = 2000


def f1_interval(counts: Sequence[tuple[int, int, int]], seed: int = SEED) -> tuple[float, float]:
    """The 95% percentile bootstrap interval (Efron, 1979) of F1 over narrations.

    `counts` are (found, taken, reported) of each narration; F1 is 2 found / (taken + reported).
    """
    table = np.asarray(counts, dtype=np.float64).reshape(-1, 3)
    if not len(table):
        return 0.0, 0.0
    drawn = np.random.default_rng(seed).integers(len(table), size=(DRAWS, len(table)))
    found, taken, reported = table[drawn].sum(axis=1).T
    f1 = 2 * found / np.maximum(taken + reported, 1)
    low, high = np.percentile(f1, [2.5, 97.5])
    return float(low), float(high)

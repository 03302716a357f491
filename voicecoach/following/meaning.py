"""The meaning of a text as a vector: the mean of static word vectors.

The vectors were distilled from the sentence model all-MiniLM-L6-v2 (Apache-2.0) by
`tests/benchmarks/distil.py` to 128 dimensions of 8 bits each, and are read by model2vec.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from importlib.resources import as_file, files

import numpy as np
from model2vec import StaticModel
from numpy.typing import NDArray


@cache
def _model() -> StaticModel:
    with as_file(files("voicecoach.following") / "vectors") as folder:
        return StaticModel.from_pretrained(str(folder))


_KNOWN: dict[str, NDArray[np.float32]] = {}
_MANY = 20_000
"""Texts whose vectors are kept at most: clauses are asked for more than once."""


def meanings(texts: Sequence[str]) -> NDArray[np.float32]:
    """Unit vectors of texts, shape (texts, 128); zero for a text of which no word is known."""
    new = [text for text in dict.fromkeys(texts) if text not in _KNOWN]
    if len(_KNOWN) + len(new) > _MANY:
        _KNOWN.clear()
        new = list(dict.fromkeys(texts))
    if new:
        vectors = np.asarray(_model().encode(new), dtype=np.float32)
        lengths = np.linalg.norm(vectors, axis=1, keepdims=True)
        _KNOWN.update(zip(new, vectors / np.maximum(lengths, 1e-9), strict=True))
    return np.stack([_KNOWN[text] for text in texts])

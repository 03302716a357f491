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

from voicecoach.following.normal import numbered


@cache
def _model() -> StaticModel:
    with as_file(files("voicecoach.following") / "vectors") as folder:
        return StaticModel.from_pretrained(str(folder))


_WORDS: dict[str, NDArray[np.float32]] = {}
"""Sums of the vectors of the pieces of each word met so far."""
_MANY = 50_000
"""Words that are kept at most."""


def meanings(texts: Sequence[str]) -> NDArray[np.float32]:
    """Unit vectors of texts, shape (texts, 128); zero for a text of which no word is known.

    The mean of the pieces of a text is the sum over its words but for its length, so that each word is
    looked up once and a text costs a few additions.
    """
    split = [numbered(text) for text in texts]
    new = list(dict.fromkeys(word for words in split for word in words if word not in _WORDS))
    if new:
        if len(_WORDS) + len(new) > _MANY:
            _WORDS.clear()
            new = list(dict.fromkeys(word for words in split for word in words))
        pieces = _model().encode_as_sequence(new)
        _WORDS.update(
            (word, vectors.sum(axis=0, dtype=np.float32)) for word, vectors in zip(new, pieces, strict=True)
        )
    vectors = np.zeros((len(texts), _model().dim), dtype=np.float32)
    for vector, words in zip(vectors, split, strict=True):
        for word in words:
            vector += _WORDS[word]
    lengths = np.linalg.norm(vectors, axis=1, keepdims=True)
    return np.asarray(vectors / np.maximum(lengths, 1e-9))

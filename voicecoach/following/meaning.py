"""The meaning of a text as a vector: the mean of static word vectors.

The vectors were distilled from the sentence model all-MiniLM-L6-v2 (Apache-2.0) by
`tests/benchmarks/distil.py` to 128 dimensions of 8 bits each, and are read by model2vec.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache, lru_cache
from importlib.resources import as_file, files
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voicecoach.following.normal import numbered

DIMENSIONS = 128
_MANY = 50_000
"""Words that are kept at most."""


def meanings(texts: Sequence[str]) -> NDArray[np.float32]:
    """Unit vectors of texts, shape (texts, 128); zero for a text of which no word is known.

    The mean of the pieces of a text is the sum over its words but for its length, so that each word is
    looked up once and a text costs a few additions.
    """
    split = [numbered(text) for text in texts]
    place = {
        word: place for place, word in enumerate(dict.fromkeys(word for words in split for word in words))
    }
    vectors = np.zeros((len(texts), DIMENSIONS), dtype=np.float32)
    if place:
        summands = np.stack([_vector(word) for word in place])[
            [place[word] for words in split for word in words]
        ]
        lengths = np.array([len(words) for words in split])
        starts = np.cumsum(lengths) - lengths
        vectors[lengths > 0] = np.add.reduceat(summands, starts[lengths > 0])
    norms = np.linalg.norm(vectors, axis=1, keepdims=True)
    return np.asarray(vectors / np.maximum(norms, 1e-9))


@lru_cache(maxsize=_MANY)
def _vector(word: str) -> NDArray[np.float32]:
    """The sum of the vectors of its pieces; zero for a word that is not known."""
    (pieces,) = _model().encode_as_sequence([word])
    summed: NDArray[np.float32] = pieces.sum(axis=0, dtype=np.float32)
    return summed


@cache
def _model() -> Any:
    from model2vec import StaticModel  # Takes a third of a second, and some commands need no meanings.
    from tqdm import tqdm

    tqdm.monitor_interval = 0  # Else it starts a thread for the progress that model2vec is not to show.
    with as_file(files("voicecoach.following") / "vectors") as folder:
        return StaticModel.from_pretrained(str(folder))

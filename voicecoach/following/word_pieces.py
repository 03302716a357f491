"""The pieces of a word and their vectors: what the files in `vectors` hold.

These files are model2vec's, which would read them, too, but takes a third of a second and 60 MB for it,
most of both for what else it can do. A word of plain letters is cut into pieces in a few lines.
"""

from __future__ import annotations

import json
from functools import cache, lru_cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

DIMENSIONS = 128
_INSIDE = "##"
"""Stands before a piece that does not begin a word."""
_LONGEST = 100
"""Letters of the longest word that has pieces."""
_MANY = 50_000
"""Words that are kept at most."""


@lru_cache(maxsize=_MANY)
def vector(word: str) -> NDArray[np.float32]:
    """The sum of the vectors of its pieces, for a word of small letters and digits; zero for one unknown."""
    summed: NDArray[np.float32] = _table()[pieces(word)].sum(axis=0, dtype=np.float32)
    return summed


def pieces(word: str) -> list[int]:
    """The places of its pieces in the table, each the longest that fits; none where not all is known."""
    known = _known()
    found: list[int] = []
    start = 0
    while start < len(word) <= _LONGEST:
        before = _INSIDE if start else ""
        ends = range(len(word), start, -1)
        end = next((end for end in ends if before + word[start:end] in known), None)
        if end is None:
            return []
        found.append(known[before + word[start:end]])
        start = end
    return found


@cache
def _known() -> dict[str, int]:
    """The place of each piece in the table."""
    tokenizer = json.loads(files("voicecoach.following").joinpath("vectors", "tokenizer.json").read_bytes())
    known: dict[str, int] = tokenizer["model"]["vocab"]
    return known


@cache
def _table() -> NDArray[np.int8]:
    """A vector for each piece, in the form safetensors: the length of a header, the header, the numbers."""
    raw = files("voicecoach.following").joinpath("vectors", "model.safetensors").read_bytes()
    return np.frombuffer(raw, np.int8, offset=8 + int.from_bytes(raw[:8], "little")).reshape(-1, DIMENSIONS)

"""Words are cut into pieces as the library does for which the vectors were made."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import tokenizers
from hypothesis import given
from hypothesis import strategies as st

from voicecoach.following import word_pieces
from voicecoach.following.word_pieces import DIMENSIONS, pieces, vector

FOLDER = Path(word_pieces.__file__).parent / "vectors"
LIBRARY = tokenizers.Tokenizer.from_file(str(FOLDER / "tokenizer.json"))
UNKNOWN = LIBRARY.token_to_id("[UNK]")
WORDS = (
    "hands gown gloves perineal antecubital sphygmomanometer doffing 120 b12 washbasin qzxj number".split()
)


def as_the_library(word: str) -> list[int]:
    found = LIBRARY.encode(word, add_special_tokens=False).ids
    return [] if UNKNOWN in found else list(found)


def test_the_usual_words() -> None:
    for word in WORDS:
        assert pieces(word) == as_the_library(word)
        assert pieces(word)


@given(st.text("abcdefghijklmnopqrstuvwxyz0123456789", min_size=1, max_size=110))
def test_any_word(word: str) -> None:
    assert pieces(word) == as_the_library(word)


def test_a_vector_is_the_sum_of_those_of_the_pieces() -> None:
    whole = vector("washbasin")
    parts = word_pieces._table()[pieces("washbasin")].astype(int)
    assert len(parts) > 1
    assert whole.shape == (DIMENSIONS,)
    assert np.array_equal(whole, parts.sum(axis=0))


def test_a_word_without_pieces_means_nothing() -> None:
    assert pieces("") == pieces("ꙮ") == pieces("a" * 101) == []
    assert not vector("").any()
    assert not vector("ꙮ").any()

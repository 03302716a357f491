"""General English: the trigram model in PocketSphinx's wheel, cut down to the words that are wanted.

The library can decode with this model but not mix it with another, so its file is read here: a trie
with the last word of an entry at the root, the words before it below, and everything packed in bits.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pocketsphinx
from numpy.typing import NDArray

from voicecoach.hearing.ngrams import BEGIN, END, NEVER, Ids, Logs, Ngrams, normalized

_MAGIC = b"Trie Language Model\x03"
_LOG = math.log10(1.0001)
"""The file's logs are to base 1.0001."""
_LEVELS = 1 << 16
"""Different values of a probability that the file tells apart."""
_SLACK = 8
"""Bytes behind each table, for readers that take eight at once."""
_WORTH = 1e-7
"""An entry stays if it moves its probability, weighed by how often it is used, by more than this."""


@dataclass(frozen=True, slots=True)
class _File:
    """The file as it is: parts of it that are read only where they are looked at."""

    words: tuple[str, ...]
    """All words, in the order of their ids."""
    levels: NDArray[np.float32]
    """The different values of three kinds of logs; shape (3, _LEVELS)."""
    roots: NDArray[Any]
    """For each word its `log` and where its pairs begin, `next`; one more at the end."""
    middle: NDArray[np.uint8]
    """The table of pairs."""
    leaves: NDArray[np.uint8]
    """The table of triples."""
    triples: int
    """How many triples there are."""


@dataclass(frozen=True, slots=True)
class _Trie:
    """The whole model: word ids, the earliest word of an entry first."""

    words: tuple[str, ...]
    single: Logs
    pairs: tuple[Ids, Ids]
    pair: Logs
    triples: tuple[Ids, Ids, Ids]
    triple: Logs


def model_path() -> Path:
    """The file of the general model."""
    return Path(pocketsphinx.get_model_path("en-us")) / "en-us.lm.bin"


def common_words(count: int) -> list[str]:
    """The `count` most usual words of general English, the most usual first."""
    file = _open(model_path())
    marks = (BEGIN, END)
    order = np.argsort(-file.roots["log"][:-1], kind="stable")[: count + len(marks)].tolist()
    return [file.words[n] for n in order if file.words[n] not in marks][:count]


def general_english(words: tuple[str, ...]) -> Ngrams:
    """General English with `words` alone, entries of little worth left out; other words are never said."""
    trie = _read(model_path())
    ids = {word: n for n, word in enumerate(words)}
    new = np.array([ids.get(word, -1) for word in trie.words], np.int64)
    single = np.full(len(words), NEVER)
    wanted = trie.single[new >= 0]
    single[new[new >= 0]] = wanted - math.log10(float(np.sum(10.0**wanted)))
    pairs = _kept(tuple(new[part] for part in trie.pairs), trie.pair, len(words))
    triples = _kept(tuple(new[part] for part in trie.triples), trie.triple, len(words))
    return _pruned(normalized(words, single, pairs, triples))


def _kept(ids: tuple[Ids, ...], logs: Logs, base: int) -> tuple[Ids, Logs]:
    """Keys in rising order, and logs, of the entries all of whose words are wanted."""
    wanted = np.all([part >= 0 for part in ids], axis=0)
    keys = np.zeros(int(np.count_nonzero(wanted)), np.int64)
    for part in ids:
        keys = keys * base + part[wanted]
    order = np.argsort(keys)
    return keys[order], logs[wanted][order]


def _pruned(model: Ngrams) -> Ngrams:
    """The model without entries that hardly differ from what the shorter history says."""
    first, second, third = model.parted(model.triple_keys, 3)
    used = 10.0 ** (model.single[first] + model.after_one(first, second) + model.triple)
    gain = used * np.abs(model.triple - model.left(first, second) - model.after_one(second, third))
    triple = gain > _WORTH
    first, second = model.parted(model.pair_keys, 2)
    used = 10.0 ** (model.single[first] + model.pair)
    pair = used * np.abs(model.pair - model.single_left[first] - model.single[second]) > _WORTH
    pair |= np.isin(model.pair_keys, model.triple_keys[triple] // len(model.words))
    return normalized(
        model.words,
        model.single,
        (model.pair_keys[pair], model.pair[pair]),
        (model.triple_keys[triple], model.triple[triple]),
    )


def _open(path: Path) -> _File:
    """The model in `path`; ValueError for a file of another kind."""
    raw = np.memmap(path, np.uint8, "r")
    if raw[: len(_MAGIC)].tobytes() != _MAGIC:
        raise ValueError(f"{path} is not a trigram model in trie form")
    at = len(_MAGIC)
    singles, pairs, triples = (int(count) for count in raw[at : at + 12].view("<u4"))
    at += 12 + 4
    levels = raw[at : at + 12 * _LEVELS].view("<f4").reshape(3, _LEVELS)
    at += 12 * _LEVELS
    roots = raw[at : at + 12 * (singles + 1)].view([("log", "<f4"), ("left", "<f4"), ("next", "<u4")])
    at += 12 * (singles + 1)
    middle = raw[at:]
    at += _size(pairs, _pair_bits(singles, triples))
    leaves = raw[at:]
    at += _size(triples, singles.bit_length() + 16)
    words = tuple(raw[at + 4 :].tobytes().decode("utf-8").split("\0")[:singles])
    return _File(words, levels, roots, middle, leaves, triples)


def _read(path: Path) -> _Trie:
    """All of the model in `path`; ValueError for a file of another kind."""
    file = _open(path)
    singles = len(file.words)
    levels = file.levels * _LOG
    word_bits, next_bits = singles.bit_length(), file.triples.bit_length()
    pair_bits, triple_bits = _pair_bits(singles, file.triples), word_bits + 16
    # the header may count a few pairs more than there are; the roots know
    pairs = int(file.roots["next"][singles])
    before = _field(file.middle, pairs, pair_bits, 0, word_bits)
    last = np.repeat(np.arange(singles), _sizes(file.roots["next"].astype(np.int64)))
    above = np.repeat(
        np.arange(pairs), _sizes(_field(file.middle, pairs + 1, pair_bits, word_bits + 32, next_bits))
    )
    return _Trie(
        words=file.words,
        single=file.roots["log"][:singles] * _LOG,
        pairs=(before, last),
        pair=levels[0][_field(file.middle, pairs, pair_bits, word_bits + 16, 16)].astype(np.float64),
        triples=(_field(file.leaves, file.triples, triple_bits, 0, word_bits), before[above], last[above]),
        triple=levels[2][_field(file.leaves, file.triples, triple_bits, word_bits, 16)].astype(np.float64),
    )


def _pair_bits(words: int, triples: int) -> int:
    """Bits of a pair: its first word, two logs, and where its triples begin."""
    return words.bit_length() + 32 + triples.bit_length()


def _size(entries: int, bits: int) -> int:
    return ((1 + entries) * bits + 7) // 8 + _SLACK


def _field(raw: NDArray[np.uint8], count: int, total: int, offset: int, bits: int) -> Ids:
    """One field of `bits` bits, `offset` bits into each of `count` entries of `total` bits."""
    place = np.arange(count, dtype=np.int64) * total + offset
    byte, shift = place >> 3, (place & 7).astype(np.uint32)
    value = np.zeros(count, np.uint32)
    for n in range(4):
        value |= raw[byte + n].astype(np.uint32) << np.uint32(8 * n)
    # no field is wider than 25 bits, so that with its shift it fits into four bytes
    return ((value >> shift) & np.uint32((1 << bits) - 1)).astype(np.int64)


def _sizes(starts: Ids) -> Ids:
    """How many entries belong to each parent, from where its first one stands."""
    return starts[1:] - starts[:-1]

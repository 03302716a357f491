"""A trigram language model in back-off form, as tables of numbers.

A word is known by its place in the list of words. All probabilities are logs to base 10.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Ids = NDArray[np.int64]
Logs = NDArray[np.float64]

BEGIN = "<s>"
END = "</s>"
NEVER = -99.0
"""The log of a probability of nothing."""
_LEAST = 1e-6
"""What is left for words not seen after a history, where rounding would leave less."""


@dataclass(frozen=True, slots=True)
class Ngrams:
    """Probabilities of a word after none, one or two others."""

    words: tuple[str, ...]
    """All words, the marks of beginning and end among them."""
    single: Logs
    """For each word its probability without regard to what stands before."""
    single_left: Logs
    """For each word what its followers without an entry in `pair` keep."""
    pair_keys: Ids
    """Entries of two words as one number each (see `joined`), in rising order."""
    pair: Logs
    """For each of them the probability of the second after the first."""
    pair_left: Logs
    """For each of them what its followers without an entry in `triple` keep."""
    triple_keys: Ids
    """Entries of three words as one number each, in rising order."""
    triple: Logs
    """For each of them the probability of the third after the other two."""

    def joined(self, *ids: Ids) -> Ids:
        """Word ids, the earliest first, made into one number for each entry."""
        keys = ids[0]
        for more in ids[1:]:
            keys = keys * len(self.words) + more
        return keys

    def parted(self, keys: Ids, count: int) -> tuple[Ids, ...]:
        """The `count` word ids of each key, the earliest first."""
        ids: list[Ids] = []
        for _ in range(count):
            keys, last = np.divmod(keys, len(self.words))
            ids.insert(0, last)
        return tuple(ids)

    def after_one(self, first: Ids, word: Ids) -> Logs:
        """Log probability of each `word` after `first`."""
        place, found = _places(self.pair_keys, self.joined(first, word))
        return np.where(found, self.pair[place], self.single_left[first] + self.single[word])

    def after_two(self, first: Ids, second: Ids, word: Ids) -> Logs:
        """Log probability of each `word` after `first` and `second`."""
        place, found = _places(self.triple_keys, self.joined(first, second, word))
        shorter = self.left(first, second) + self.after_one(second, word)
        return np.where(found, self.triple[place], shorter)

    def left(self, first: Ids, second: Ids) -> Logs:
        """Log of what the followers of `first` and `second` without an entry in `triple` keep."""
        place, found = _places(self.pair_keys, self.joined(first, second))
        return np.where(found, self.pair_left[place], 0.0)

    def arpa(self) -> Iterator[str]:
        """The lines of the model as ARPA text."""
        yield from (
            "\\data\\\n",
            f"ngram 1={len(self.words)}\n",
            f"ngram 2={len(self.pair_keys)}\n",
            f"ngram 3={len(self.triple_keys)}\n",
            "\n\\1-grams:\n",
        )
        for word, log, left in zip(self.words, self.single.tolist(), self.single_left.tolist(), strict=True):
            yield f"{log:.4f} {word} {left:.4f}\n"
        words = self.words
        yield "\n\\2-grams:\n"
        ids = (part.tolist() for part in self.parted(self.pair_keys, 2))
        for first, word, log, left in zip(*ids, self.pair.tolist(), self.pair_left.tolist(), strict=True):
            yield f"{log:.4f} {words[first]} {words[word]} {left:.4f}\n"
        yield "\n\\3-grams:\n"
        ids = (part.tolist() for part in self.parted(self.triple_keys, 3))
        for first, second, word, log in zip(*ids, self.triple.tolist(), strict=True):
            yield f"{log:.4f} {words[first]} {words[second]} {words[word]}\n"
        yield "\n\\end\\\n"


@dataclass(frozen=True, slots=True)
class Close:
    """Where a mixture has other weights than elsewhere."""

    after: frozenset[str]
    """Words after which it has."""
    joining: frozenset[str]
    """Words after which it has where one of the others stands before."""
    weights: Sequence[float]
    """The weight that each part has there; they add up to one."""


def normalized(
    words: tuple[str, ...], single: Logs, pairs: tuple[Ids, Logs], triples: tuple[Ids, Logs]
) -> Ngrams:
    """The model with these probabilities, and with what is left for all other followers.

    `pairs` and `triples` are keys in rising order and their logs; the first two words of every triple
    must be among the pairs.
    """
    pair_keys, pair = pairs
    triple_keys, triple = triples
    none, nothing = np.zeros(len(words)), np.zeros(len(pair))
    model = Ngrams(words, single, none, pair_keys, pair, nothing, triple_keys, triple)
    first, word = model.parted(pair_keys, 2)
    model = replace(model, single_left=_left(first, pair, single[word], len(words)))
    _, second, third = model.parted(triple_keys, 3)
    history, known = _places(pair_keys, triple_keys // len(words))
    if not known.all():
        raise ValueError("a triple's first two words are not among the pairs")
    return replace(model, pair_left=_left(history, triple, model.after_one(second, third), len(pair)))


def mixed(parts: Sequence[tuple[float, Ngrams]], close: Close | None = None) -> Ngrams:
    """The weighted mean of models over the same words; the weights add up to one."""
    words = parts[0][1].words
    pair_keys = np.unique(np.concatenate([part.pair_keys for _, part in parts]))
    triple_keys = np.unique(np.concatenate([part.triple_keys for _, part in parts]))
    some = parts[0][1]
    close = close or Close(frozenset(), frozenset(), [weight for weight, _ in parts])
    after, joining = (np.isin(np.array(words), list(which)) for which in (close.after, close.joining))
    first, second = some.parted(pair_keys, 2)
    pair = _mean(_weights(parts, close, after[first]), [part.after_one(first, second) for _, part in parts])
    first, second, third = some.parted(triple_keys, 3)
    near = after[second] | (after[first] & joining[second])
    triple = _mean(_weights(parts, close, near), [part.after_two(first, second, third) for _, part in parts])
    single = _mean([weight for weight, _ in parts], [part.single for _, part in parts])
    return normalized(words, single, (pair_keys, pair), (triple_keys, triple))


def _weights(
    parts: Sequence[tuple[float, Ngrams]], close: Close, near: NDArray[np.bool_]
) -> list[float | Logs]:
    """The weight of each part, for each entry its own by whether the history is near."""
    return [np.where(near, here, weight) for here, (weight, _) in zip(close.weights, parts, strict=True)]


def _mean(weights: Sequence[float | Logs], parts: Sequence[Logs]) -> Logs:
    total: Logs = np.sum([weight * 10.0**logs for weight, logs in zip(weights, parts, strict=True)], axis=0)
    logs: Logs = np.log10(np.maximum(total, 10.0**NEVER))
    return logs


def _left(history: Ids, seen: Logs, lower: Logs, count: int) -> Logs:
    """Log of what the followers without an entry keep, for each of `count` histories."""
    here = 1.0 - np.bincount(history, 10.0**seen, count)
    below = 1.0 - np.bincount(history, 10.0**lower, count)
    left = np.log10(np.maximum(here, _LEAST) / np.maximum(below, _LEAST))
    return np.where(np.bincount(history, minlength=count) > 0, left, 0.0)


def _places(keys: Ids, wanted: Ids) -> tuple[Ids, NDArray[np.bool_]]:
    """Where each wanted key stands among the rising `keys`, and whether it is there at all."""
    place = np.minimum(np.searchsorted(keys, wanted), len(keys) - 1)
    return place, keys[place] == wanted

"""Which words follow which in a procedure: a trigram model of what a student may say.

It is an interpolated Witten-Bell model over weighted fragments of speech. The fragments are the
phrases of the procedure and what stands around and between them.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby, pairwise

import numpy as np

from voicecoach.hearing.ngrams import BEGIN, END, NEVER, Ids, Logs, Ngrams, normalized
from voicecoach.hearing.number_words import NUMBER, classed

Words = tuple[str, ...]
Counts = defaultdict[tuple[int, ...], defaultdict[int, float]]
"""For each history of word ids, how often each word followed it."""

_FILLERS = ("um", "uh", "like", "well", "oh", "alright", "yeah")
"""Said between any two words."""

_LEADS = (
    "okay", "so", "now", "then", "and", "and then", "next", "first", "okay so", "okay now", "so now",
    "so first", "now i", "i'm", "i", "i'll", "i'm going to", "i'm gonna", "i am going to", "i will",
    "let me", "let me just", "i just", "i have to", "i need to", "and i", "and now", "and now i", "so i",
    "then i", "here i", "now i'm", "we", "alright", "after that", "before that", "you see", "um", "uh",
    "uh so", "um okay", "but", "because", "until", "while i", "the next thing is", "what i do is",
    "i make sure", "i'm making sure", "make sure", "i check that", "don't forget", "i almost forgot",
    "wait", "oops", "sorry", "mister", "missus", "sir", "ma'am",
)  # fmt: skip
"""Said before a phrase."""

_TAILS = (
    "now", "first", "again", "too", "and", "and then", "so", "then", "okay", "right", "for you", "please",
    "like this", "like so", "there we go", "there", "all done", "done", "that's it", "you know", "um", "uh",
    "alright", "good", "here", "because", "before i", "and i", "sir", "ma'am", "thank you",
)  # fmt: skip
"""Said after a phrase."""

_JOINED = 0.02
"""How often a phrase comes with each of the leads, tails and fillers, for one time that it comes alone."""

_SPLIT = 8
"""How much more often any number stands somewhere than one word would: it is split among many first words."""
_RUN_ON = 0.1
"""How often a number follows right after another, for one time that a number comes at all."""
_FIRST, _LAST, _END = slice(0, 1), slice(-1, None), slice(-2, None)
"""Parts of a number's words."""


def fragments(phrases: Iterable[str], numbers: Sequence[str] = ()) -> dict[Words, float]:
    """What a student may say around and between `phrases`, with how often.

    A fragment need not begin with `BEGIN` or end with `END`: one phrase runs on into another through
    a joining word, and after a joining word any phrase may follow. With `numbers`, any of them may stand
    where a phrase has one.
    """
    weights: defaultdict[Words, float] = defaultdict(float)
    firsts: defaultdict[str, float] = defaultdict(float)
    lasts: defaultdict[str, float] = defaultdict(float)
    for phrase in phrases:
        said = classed(phrase) if numbers else tuple(phrase.split())
        weights[(BEGIN, *said, END)] += 1.0
        firsts[said[0]] += 1.0
        lasts[said[-1]] += 1.0
    for lead in _LEADS:
        for word, count in firsts.items():
            weights[(BEGIN, *lead.split(), word)] += _JOINED * count
    for tail in _TAILS:
        for word, count in lasts.items():
            weights[(word, *tail.split())] += _JOINED * count
        weights[(*tail.split(), END)] += _JOINED * sum(lasts.values())
    for filler in _FILLERS:
        weights[(filler,)] += _JOINED * sum(lasts.values())
    return _any_number(weights, numbers) if numbers else dict(weights)


def _any_number(weights: Mapping[Words, float], numbers: Sequence[str]) -> dict[Words, float]:
    """The fragments with each of the numbers wherever one stands; what is within numbers is left out."""
    out: defaultdict[Words, float] = defaultdict(float)
    firsts, lasts = (Counter(number.split()[place] for number in numbers) for place in (0, -1))
    for said, weight in weights.items():
        for is_number, group in groupby(said, NUMBER.__eq__):
            piece = tuple(group)
            if not is_number and piece not in ((BEGIN,), (END,)):
                out[piece] += weight
        for before, after in pairwise(said):
            if after == NUMBER:
                for first, count in firsts.items():
                    out[(before, first)] += _SPLIT * weight * count / len(numbers)
            if before == NUMBER:
                for last, count in lasts.items():
                    out[(last, after)] += _SPLIT * weight * count / len(numbers)
    return dict(out)


def numbered(phrases: Iterable[str], numbers: Sequence[str]) -> dict[Words, float]:
    """What is said within numbers and right beside them, with how often.

    Every number weighs the same whatever stands before it, and so does whatever follows after any number.
    """
    out: defaultdict[Words, float] = defaultdict(float)
    inside = [tuple(number.split()) for number in numbers]
    for number in inside:
        out[number] += 1.0
    firsts, lasts, ends = (Counter(number[part] for number in inside) for part in (_FIRST, _LAST, _END))
    said = [(BEGIN, *words, END) for words in map(classed, phrases) if NUMBER in words]
    befores = Counter(one for words in said for one, two in pairwise(words) if two == NUMBER)
    afters = Counter(two for words in said for one, two in pairwise(words) if one == NUMBER)
    befores[BEGIN] += len(said) + 1
    afters[END] += len(said) + 1
    for before, count in befores.items():
        for first, many in firsts.items():
            out[(before, *first)] += many * count / befores.total()
    for end, many in ends.items():
        for after, count in afters.items():
            out[(*end, after)] += many * count / afters.total()
        for first, more in firsts.items():
            out[(*end, *first)] += _RUN_ON * many * more / len(inside)
    joins = Counter(
        two for words in said for one, two, three in zip(words, words[1:], words[2:], strict=False)
        if one == three == NUMBER
    )  # fmt: skip
    for join, count in joins.items():
        for last, many in lasts.items():
            for first, more in firsts.items():
                out[(*last, join, *first)] += count / afters.total() * many * more / len(inside)
    return dict(out)


def vocabulary(weights: Mapping[Words, float]) -> frozenset[str]:
    """The words of weighted fragments, the marks of beginning and end left out."""
    return frozenset(word for said in weights for word in said) - {BEGIN, END}


def estimate(weights: Mapping[Words, float], words: tuple[str, ...]) -> Ngrams:
    """The model of weighted fragments over `words`; those that no fragment has are never said.

    Raises KeyError for a fragment with a word that is not among `words`.
    """
    ids = {word: n for n, word in enumerate(words)}
    single_counts, pair_counts, triple_counts = _counts(weights, ids)
    single = np.full(len(words), 10.0**NEVER)
    for _, word, share, left in _shares(single_counts):
        # no shorter history: what is left goes to the words in equal shares
        single[word] = share + left / len(single_counts[()])
    pair: dict[tuple[int, ...], float] = {}
    for history, word, share, left in _shares(pair_counts):
        pair[(*history, word)] = share + left * single[word]
    triple: dict[tuple[int, ...], float] = {}
    for history, word, share, left in _shares(triple_counts):
        triple[(*history, word)] = share + left * pair[(*history[1:], word)]
    return normalized(words, np.log10(single), _table(pair, len(words)), _table(triple, len(words)))


def _counts(weights: Mapping[Words, float], ids: Mapping[str, int]) -> tuple[Counts, Counts, Counts]:
    """What follows no word, one word and two words."""
    counts: tuple[Counts, Counts, Counts] = (
        defaultdict(lambda: defaultdict(float)),
        defaultdict(lambda: defaultdict(float)),
        defaultdict(lambda: defaultdict(float)),
    )
    for said, weight in weights.items():
        spoken = tuple(ids[word] for word in said)
        for place in range(1 if said[0] == BEGIN else 0, len(spoken)):
            for length in range(min(place, 2) + 1):
                counts[length][spoken[place - length : place]][spoken[place]] += weight
    return counts


def _shares(counts: Counts) -> Iterator[tuple[tuple[int, ...], int, float, float]]:
    """Each history and follower, the follower's own share, and what is left for the shorter history."""
    for history, followers in counts.items():
        mass = sum(followers.values()) + len(followers)
        for word, count in followers.items():
            yield history, word, count / mass, len(followers) / mass


def _table(chances: Mapping[tuple[int, ...], float], base: int) -> tuple[Ids, Logs]:
    """Keys and logs, in rising order of the keys."""
    entries = sorted(chances.items())
    keys = np.zeros(len(entries), np.int64)
    for column in np.array([ids for ids, _ in entries], np.int64).T:
        keys = keys * base + column
    return keys, np.log10([chance for _, chance in entries])

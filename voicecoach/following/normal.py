"""The normal form of what was said: plain words, stems, every number as one word.

Recognizers print lower-case words with apostrophes; typed lines may hold anything. Both become the
same tokens here, so that everything after this compares like with like.
"""

from __future__ import annotations

import re
from functools import lru_cache

import snowballstemmer

_STEMMER = snowballstemmer.stemmer("english")

FILLERS = frozenset({"um", "uh", "er", "erm", "hmm", "mhm", "ah", "oh", "eh"})
"""Sounds that carry nothing."""

_WHOLE = {
    "can't": "can not", "won't": "will not", "shan't": "shall not", "gonna": "going to",
    "gotta": "got to", "wanna": "want to", "let's": "let us", "lemme": "let me", "cannot": "can not",
    "ain't": "is not",
}  # fmt: skip
_ENDINGS = (
    ("n't", " not"),
    ("'m", " am"),
    ("'re", " are"),
    ("'ve", " have"),
    ("'ll", " will"),
    ("'d", " would"),
)

NUMBER_WORDS = frozenset(
    "zero oh one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen "
    "sixteen seventeen eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety hundred "
    "thousand".split()
)
"""Words of which numbers are made."""
FUNCTION_WORDS = frozenset(
    "a an the this that these those i me my mine you your yours he him his she her hers it its we us our "
    "they them their theirs who what which and or but so if as of to at by for from with than am is are "
    "was were be been being do does did has have had will would can could may might must shall should not "
    "very just too there here then now okay ok well yeah yes no right oh".split()
)
"""Words that tell nothing by themselves, whatever a procedure is about."""
_SMALL = frozenset({"one", "two", "three", "oh"})


def words(text: str) -> list[str]:
    """The words of a text: lower case, apostrophes kept, everything else a border."""
    return re.findall(r"[a-z0-9]+(?:'[a-z]+)*", text.lower().replace("’", "'"))


def plain(text: str) -> list[str]:
    """Words with contractions written out and fillers left out: `it's` is `it is`, `bed's` is `bed`."""
    return [part for word in words(text) for part in _spelled(word)]


@lru_cache(maxsize=20_000)
def _spelled(word: str) -> tuple[str, ...]:
    """A word written out."""
    if word in FILLERS:
        return ()
    spelled = _WHOLE.get(word, word)
    for ending, full in _ENDINGS:
        if spelled.endswith(ending):
            spelled = spelled.removesuffix(ending) + full
    # `bed's` may mean `bed is`, `bed has` or `of the bed`; none of these tells steps apart.
    return tuple(part.removesuffix("'s").replace("'", "") for part in spelled.split())


@lru_cache(maxsize=20_000)
def stem(word: str) -> str:
    """The stem of an English word."""
    return str(_STEMMER.stemWord(word))


def numbered(text: str) -> list[str]:
    """Plain words with each number as the one word `number`.

    Which number it is tells no step from another. A lone small number stays, since it may well be
    another word: `one glove`, `two fingers`.
    """
    out: list[str] = []
    run: list[str] = []
    for word in [*plain(text), ""]:
        if word in NUMBER_WORDS or word.isdigit():
            run.append(word)
            continue
        out += ["number"] if len(run) > 1 or (run and run[0] not in _SMALL) else run
        out.append(word)
        run = []
    return out[:-1]


def telling(text: str) -> list[str]:
    """Its words but for fillers, function words and lone small numbers; `on` and `off` do tell something."""
    return [word for word in numbered(text) if word not in FUNCTION_WORDS and word not in _SMALL]


def stems(text: str) -> list[str]:
    """Stems in order, each number as the one stem `number`."""
    return [stem(word) for word in numbered(text)]

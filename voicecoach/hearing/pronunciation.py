"""How words sound: the pronouncing dictionary, and guesses for words that it lacks.

A pronunciation is a tuple of the 39 phones of the CMU dictionary, without stress digits.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path

import pocketsphinx

from voicecoach.errors import Complaint
from voicecoach.hearing.letters import spelled_out

Phones = tuple[str, ...]

PHONES = frozenset(
    "AA AE AH AO AW AY EH ER EY IH IY OW OY UH UW "
    "B CH D DH F G HH JH K L M N NG P R S SH T TH V W Y Z ZH".split()
)
"""All phones, as the CMU dictionary writes them."""

_SIBILANTS = frozenset(("S", "Z", "SH", "ZH", "CH", "JH"))
_VOICELESS = frozenset(("P", "T", "K", "F", "TH"))
_SHORTEST_PART = 3
"""Letters that each half of a compound has at least; shorter ones are found in any word."""

_ALSO = {
    "forty": (("F", "AO", "R", "D", "IY"),),
    "seventy": (("S", "EH", "V", "AH", "N", "D", "IY"),),
    "eighty": (("EY", "D", "IY"),),
    "ninety": (("N", "AY", "N", "D", "IY"), ("N", "AY", "N", "IY")),
    "fahrenheit": (("F", "EH", "R", "AH", "N", "AY", "T"),),
    "respirations": (("R", "EH", "S", "P", "R", "EY", "SH", "AH", "N", "Z"),),
    "point": (("P", "OY", "N"),),
    "liter": (("L", "IY", "D", "ER"),),
    "liters": (("L", "IY", "D", "ER", "Z"),),
    "milliliter": tuple(("M", "IH", "L", *sound, "L", "IY", "D", "ER") for sound in (("AH",), ("IH",), ())),
    "milliliters": tuple(
        ("M", "IH", "L", *sound, "L", "IY", "D", "ER", "Z") for sound in (("AH",), ("IH",), ())
    ),
}
"""How words of readings are said besides what the dictionary has."""


@cache
def dictionary() -> Mapping[str, tuple[Phones, ...]]:
    """Every word of the pronouncing dictionary with its pronunciations, the usual one first."""
    found: dict[str, tuple[Phones, ...]] = {}
    path = Path(pocketsphinx.get_model_path("en-us")) / "cmudict-en-us.dict"
    for line in path.read_text(encoding="utf-8").splitlines():
        entry, *phones = line.split()
        word = entry.partition("(")[0]
        found[word] = (*found.get(word, ()), tuple(phones))
    return found


def pronunciations(
    word: str,
    pronounce: Mapping[str, str],
    known: Mapping[str, tuple[Phones, ...]] | None = None,
) -> tuple[Phones, ...]:
    """All ways to say `word`, at least one: the procedure's, else the dictionary's, else a guess.

    `pronounce` maps words to phones separated by spaces; `known` is the dictionary, unless another
    is given. Raises Complaint where `pronounce` has something that is no phone.
    """
    known = dictionary() if known is None else known
    if word in pronounce:
        phones = tuple(pronounce[word].split())
        if not phones or not PHONES.issuperset(phones):
            raise Complaint(
                f"The pronunciation {pronounce[word]!r} of {word!r} is not made of phones: write some of "
                f"{' '.join(sorted(PHONES))}, with spaces between."
            )
        return (phones,)
    if word in known:
        return (*known[word], *_ALSO.get(word, ()))
    return (_inflected(word, known) or _compound(word, known) or spelled_out(word),)


def without_pronunciation(words: Iterable[str], pronounce: Mapping[str, str]) -> list[str]:
    """The words whose pronunciation is only guessed, each once, in alphabetical order."""
    known = dictionary()
    return sorted({word for word in words if word not in pronounce and word not in known})


def _inflected(word: str, known: Mapping[str, tuple[Phones, ...]]) -> Phones | None:
    """The phones of a form of a word that the dictionary has, such as `blotted` from `blot`."""
    for ending, sound in (("'s", _plural), ("s'", _plural), ("es", _plural), ("s", _plural),
                          ("ed", _past), ("d", _past)):  # fmt: skip
        stem = word.removesuffix(ending)
        if stem != word and (phones := _stem(stem, known)):
            return sound(phones)
    for ending, more in (("ing", ("IH", "NG")), ("er", ("ER",)), ("ers", ("ER", "Z")), ("ly", ("L", "IY")),
                         ("ful", ("F", "AH", "L")), ("less", ("L", "AH", "S")), ("ness", ("N", "AH", "S")),
                         ("y", ("IY",))):  # fmt: skip
        stem = word.removesuffix(ending)
        if stem != word and (phones := _stem(stem, known)):
            return phones + more
    return None


def _stem(stem: str, known: Mapping[str, tuple[Phones, ...]]) -> Phones | None:
    """The phones of a stem as it stands before an ending: `rins`, `blott` and `dri` too."""
    if len(stem) < _SHORTEST_PART:
        return None
    spellings = [stem, stem + "e"]
    if stem[-1] == stem[-2]:
        spellings.append(stem[:-1])
    if stem[-1] == "i":
        spellings.append(stem[:-1] + "y")
    return next((known[spelling][0] for spelling in spellings if spelling in known), None)


def _plural(phones: Phones) -> Phones:
    if phones[-1] in _SIBILANTS:
        return (*phones, "IH", "Z")
    return (*phones, "S" if phones[-1] in _VOICELESS else "Z")


def _past(phones: Phones) -> Phones:
    if phones[-1] in ("T", "D"):
        return (*phones, "IH", "D")
    return (*phones, "T" if phones[-1] in _VOICELESS | {"S", "SH", "CH"} else "D")


def _compound(word: str, known: Mapping[str, tuple[Phones, ...]]) -> Phones | None:
    """The phones of two dictionary words written as one, such as `washbasin`; the evenest cut wins."""
    cuts = range(_SHORTEST_PART, len(word) - _SHORTEST_PART + 1)
    for cut in sorted(cuts, key=lambda cut: abs(2 * cut - len(word))):
        if word[:cut] in known and word[cut:] in known:
            return known[word[:cut]][0] + known[word[cut:]][0]
    return None

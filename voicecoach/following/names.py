"""Names: whether the resident was called by the name of somebody else."""

from __future__ import annotations

from collections.abc import Collection

from jellyfish import metaphone
from rapidfuzz.distance import JaroWinkler, Levenshtein

from voicecoach.procedure.case import Case

TITLES = {
    "mrs": "Mrs.", "missus": "Mrs.", "misses": "Mrs.", "mr": "Mr.", "mister": "Mr.",
    "ms": "Ms.", "miss": "Miss",
}  # fmt: skip
"""Titles as they are heard, and how they are written."""
FREQUENT = frozenset(
    "smith johnson williams brown jones garcia miller davis rodriguez martinez hernandez lopez gonzalez "
    "wilson anderson thomas taylor moore jackson martin lee perez thompson white harris sanchez clark "
    "ramirez lewis robinson walker young allen king wright scott torres nguyen hill flores green adams "
    "nelson baker hall rivera campbell mitchell carter roberts gomez phillips evans turner diaz parker "
    "cruz edwards collins reyes stewart morris morales murphy cook rogers gutierrez ortiz morgan cooper "
    "peterson bailey reed kelly howard ramos kim cox ward richardson watson brooks chavez wood james "
    "bennett gray mendoza ruiz hughes price alvarez castillo sanders patel myers long ross foster "
    "jimenez".split()
)
"""The hundred most frequent surnames of the United States (Census Bureau, 2010 census); from memory."""
ALIKE = 0.8
"""Likeness of two surnames as they are written from which one may have been heard for the other."""
ALIKE_SOUNDS = 0.65
"""The same of how they sound."""
_OTHERS = frozenset(
    "nurse nurses doctor doctors dr aide aides aid instructor teacher supervisor trainer boss charge "
    "daughter son wife husband sister brother mother father mom dad mama niece nephew cousin family friend "
    "visitor neighbor neighbour roommate partner granddaughter grandson chaplain therapist dentist surgeon "
    "next another other instead no".split()
)
"""Words that speak of somebody else than the resident, close before or behind a name."""
_CLOSE = 3
"""How many words before or behind a name are close to it."""
_NOT_MEANT = frozenset(
    "not isn't wasn't from like than before after unlike tell tells told ask asks asked say says said "
    "i'm name name's".split()
)
"""Words right before a name that is not meant for the resident, or is the speaker's own."""
_TAKEN_BACK = frozenset("wrong oops mean mistake yesterday earlier last".split())
"""Words with which a name is taken back, or belongs to another time."""
_MISSING = frozenset(
    "i you we they to not never don't didn't did will won't i'll almost can't might may".split()
)
"""Words after which `miss` is no title."""
_MARKS = '.,;:!?"()'


def surname(resident: str) -> str:
    """The surname of a resident, in lower case: `pruitt` of `Mrs. Pruitt`; empty where there is none."""
    return resident.lower().split()[-1] if resident else ""


def mistaken_resident(text: str, case: Case, known: Collection[str]) -> tuple[str, str] | None:
    """What the resident was called and the right name, where that is the name of somebody else.

    `known` are residents whose names may be taken for the right one, such as `Mrs. Pruitt`. No fault where
    the name is no known surname, sounds like the right one, or may be that of another person: a false
    accusation costs more than a miss.
    """
    right = surname(case.resident)
    words = [word.strip(_MARKS) for word in text.lower().replace("’", "'").split()]
    called = _called(words)
    if not right or any(name == right for _, name, _ in called) or not _TAKEN_BACK.isdisjoint(words):
        return None
    surnames = FREQUENT | {surname(resident) for resident in known}
    for title, name, meant in called:
        if meant and name in surnames and not _alike(name, right):
            return f"{TITLES[title]} {name.capitalize()}", case.resident
    return None


def _called(words: list[str]) -> list[tuple[str, str, bool]]:
    """Titles, the name after each, and whether the resident may be meant."""
    return [
        (title, words[place + 1].removesuffix("'s"), _meant(words[:place], words[place + 2 :]))
        for place, title in enumerate(words[:-1])
        if title in TITLES and not (title == "miss" and place and words[place - 1] in _MISSING)
    ]


def _meant(before: list[str], behind: list[str]) -> bool:
    """Whether a name that stands between these words may be meant for the resident."""
    close = (*before[-_CLOSE:], *behind[:_CLOSE])
    return _OTHERS.isdisjoint(close) and _NOT_MEANT.isdisjoint(before[-2:])


def _alike(name: str, right: str) -> bool:
    """Whether a recognizer may have heard one name for the other."""
    sounds = Levenshtein.normalized_similarity(metaphone(name), metaphone(right))
    return JaroWinkler.similarity(name, right) >= ALIKE or sounds >= ALIKE_SOUNDS

"""Whether the resident was called by the name of somebody else."""

from __future__ import annotations

from itertools import permutations

import pytest

from tests.narrated import procedure
from tests.procedure.examples import SHIPPED
from voicecoach.following.names import FREQUENT, mistaken_resident, surname
from voicecoach.hearing.pronunciation import dictionary
from voicecoach.procedure.case import Case

KNOWN = tuple({resident for id in SHIPPED for resident in procedure(id).residents})
PRUITT = Case(1, "Mrs. Pruitt", "112", "")


def mistaken(text: str, case: Case = PRUITT) -> tuple[str, str] | None:
    return mistaken_resident(text, case, KNOWN)


@pytest.mark.parametrize(
    ("resident", "expected"),
    [("Mrs. Pruitt", "pruitt"), ("Mr. Hadley", "hadley"), ("Juan", "juan"), ("", "")],
)
def test_the_surname_of_a_resident(resident: str, expected: str) -> None:
    assert surname(resident) == expected


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("good morning missus lopez", "Mrs. Lopez"),
        ("hello mrs nesbitt i'm dana and i'd like to count your pulse", "Mrs. Nesbitt"),
        ("Good morning, Mrs. Lopez!", "Mrs. Lopez"),
        ("hi miss sanchez", "Miss Sanchez"),
        ("ms gilmore i take your pulse now", "Ms. Gilmore"),
        ("mister hadley your wrist please", "Mr. Hadley"),
        ("mr hadley's wrist", "Mr. Hadley"),
        ("misses gilmore i'm not going to hurt you", "Mrs. Gilmore"),
        ("i call the nurse if something is wrong with you", None),
        ("hello missus pruitt", None),
        ("are you missus pruitt", None),
    ],
)
def test_the_name_of_somebody_else(text: str, said: str | None) -> None:
    assert mistaken(text) == (None if said is None else (said, "Mrs. Pruitt"))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "missus",
        "hello mrs",
        # other people
        "i tell the nurse missus lopez",
        "her daughter missus nesbitt is here",
        "missus lopez the nurse comes in",
        "her roommate missus gilmore is asleep",
        "doctor lopez asked for it",
        "dr lopez wants it",
        "i'm miss lopez your aide",
        "hello my name is miss lopez",
        "i came from missus lopez",
        "like missus lopez used to say",
        "missus lopez in the next bed",
        # taken back or denied
        "missus lopez no missus pruitt",
        "missus lopez oops",
        "that's wrong it's missus lopez on the sheet",
        "you are not missus lopez",
        # no name that is known, or no title
        "hello missus quackenbush",
        "missus i take your pulse",
        "lopez gilmore hadley",
        "i miss king size beds",
        "did i miss long pauses",
        # what may be the right one, misheard
        "hello missus price",
        "hello missus wright",
        "hello missus reed",
    ],
)
def test_where_it_may_be_meant_in_another_way_nobody_is_accused(text: str) -> None:
    assert mistaken(text) is None


def test_where_no_resident_is_known_none_is_mistaken() -> None:
    assert mistaken("hello missus lopez", Case(1, "", "112", "")) is None


def test_a_name_that_no_resident_has_and_that_is_not_frequent_is_not_known() -> None:
    assert mistaken_resident("hello missus nesbitt", PRUITT, ()) is None
    assert mistaken_resident("hello missus lopez", PRUITT, ()) == ("Mrs. Lopez", "Mrs. Pruitt")


@pytest.mark.parametrize("id", SHIPPED)
def test_residents_of_one_procedure_are_told_from_each_other(id: str) -> None:
    for one, other in permutations(procedure(id).residents, 2):
        case = Case(1, one, "112", "")
        assert mistaken(f"hello {other.lower()}", case) == (other, one)
        assert mistaken(f"hello {one.lower()}", case) is None


@pytest.mark.parametrize("id", SHIPPED)
def test_phrases_with_the_right_name_are_no_mistake(id: str) -> None:
    made = procedure(id)
    first = made.residents[0]
    named = [phrase for phrase in made.phrases if surname(first) in phrase.split()]
    assert len(named) > 5
    for phrase in named:
        assert mistaken(phrase, Case(1, first, "112", "")) is None, phrase


# United States Census Bureau, surnames of the 2010 census; the list is from memory. It is held against the
# pronouncing dictionary of Carnegie Mellon, which has the usual American names.
def test_a_hundred_frequent_surnames_all_of_which_a_dictionary_knows() -> None:
    assert len(FREQUENT) == 100
    assert {name for name in FREQUENT if name not in dictionary()} == set()

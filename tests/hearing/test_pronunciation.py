"""Words get a pronunciation, and guesses are near those of the dictionary."""

import random

import pytest
from rapidfuzz.distance import Levenshtein

from voicecoach.errors import Complaint
from voicecoach.hearing.letters import spelled_out
from voicecoach.hearing.pronunciation import PHONES, Phones, dictionary, pronunciations, without_pronunciation


def _words(count: int) -> list[str]:
    words = sorted(word for word in dictionary() if word.isalpha() and len(word) >= 3)
    return random.Random(5).sample(words, count)


def _error(guesses: dict[str, Phones]) -> float:
    """Phones wrong, for each phone of the nearest pronunciation in the dictionary."""
    wrong = total = 0
    for word, guess in guesses.items():
        nearest = min(dictionary()[word], key=lambda phones: Levenshtein.distance(guess, phones))
        wrong += Levenshtein.distance(guess, nearest)
        total += len(nearest)
    return wrong / total


def test_the_dictionary_has_variants_in_order() -> None:
    assert dictionary()["the"][0] == ("DH", "AH")
    assert ("DH", "IY") in dictionary()["the"]


def test_spelling_alone() -> None:
    assert _error({word: spelled_out(word) for word in _words(3000)}) < 0.20


def test_endings_and_compounds_are_better_than_spelling() -> None:
    # each word is guessed as if the dictionary lacked it
    guesses: dict[str, Phones] = {}
    known = dict(dictionary())
    for word in _words(1500):
        ways = known.pop(word)
        (guess,) = pronunciations(word, {}, known)
        known[word] = ways
        if guess != spelled_out(word):
            guesses[word] = guess
    assert len(guesses) > 400
    assert _error(guesses) < 0.15
    assert _error(guesses) < 0.8 * _error({word: spelled_out(word) for word in guesses})


def test_phones_are_those_of_the_dictionary() -> None:
    assert {phone for ways in dictionary().values() for way in ways for phone in way} == PHONES
    for word in (*_words(500), "xqz", "o", "rrr"):
        assert set(spelled_out(word)) <= PHONES
        assert spelled_out(word)


@pytest.mark.parametrize(
    ("word", "phones"),
    [
        ("footrests", "F UH T R EH S T S"),
        ("washcloths", "W AA SH K L AO TH S"),
        ("blotted", "B L AA T IH D"),
        ("gloving", "G L AH V IH NG"),
        ("drainage's", "D R EY N AH JH IH Z"),
        ("grimier", "G R AY M IY ER"),
    ],
)
def test_guesses(word: str, phones: str) -> None:
    without = {other: ways for other, ways in dictionary().items() if other != word}
    assert pronunciations(word, {}, without) == (tuple(phones.split()),)


def test_the_procedure_comes_first() -> None:
    assert pronunciations("hands", {"hands": "HH AE N"}) == (("HH", "AE", "N"),)


def test_only_guessed_words_are_listed() -> None:
    words = ["hands", "zorbly", "cravat's", "zorbly", "sani"]
    assert without_pronunciation(words, {"sani": "S AE N IY"}) == ["cravat's", "zorbly"]


@pytest.mark.parametrize("phones", ["S AX N", "S AE1 N", "", "sani"])
def test_what_is_no_phone(phones: str) -> None:
    with pytest.raises(Complaint, match="'sani' is not made of phones"):
        pronunciations("sani", {"sani": phones})

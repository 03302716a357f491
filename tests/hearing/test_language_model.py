"""What a procedure's phrases make likely."""

import numpy as np
import pytest

from voicecoach.hearing.language_model import estimate, fragments, numbered, vocabulary
from voicecoach.hearing.ngrams import BEGIN, END, NEVER, Ngrams

PHRASES = ("i lock the brakes", "i am locking both brakes", "socks go on first", "now her slippers go on")


@pytest.fixture(scope="module")
def model() -> Ngrams:
    weights = fragments(PHRASES)
    return estimate(weights, (*sorted(vocabulary(weights) | {"zebra"}), BEGIN, END))


def chance(model: Ngrams, *said: str) -> float:
    """The probability of words after the first two."""
    ids = [np.array([model.words.index(word)]) for word in said]
    logs = [model.after_two(*ids[place : place + 3])[0] for place in range(len(ids) - 2)]
    return float(10 ** np.sum(logs))


def test_phrases_are_likelier_than_their_words_in_another_order(model: Ngrams) -> None:
    assert chance(model, BEGIN, "i", "lock", "the", "brakes", END) > 1000 * chance(
        model, BEGIN, "i", "brakes", "the", "lock", END
    )


def test_one_phrase_runs_on_into_another(model: Ngrams) -> None:
    run_on = chance(model, "the", "brakes", "and", "then", "socks", "go")
    assert run_on > 20 * chance(model, "the", "brakes", "go", "and", "then", "socks")


def test_fillers_come_between_any_words(model: Ngrams) -> None:
    assert chance(model, "lock", "the", "um") > 1e-4


def test_a_word_that_nobody_says(model: Ngrams) -> None:
    assert model.single[model.words.index("zebra")] == NEVER


def test_rarer_fragments_weigh_less() -> None:
    words = ("a", "b", "c", BEGIN, END)
    model = estimate({(BEGIN, "a", "b", END): 3.0, (BEGIN, "a", "c", END): 1.0}, words)
    after = {word: chance(model, BEGIN, "a", word) for word in ("b", "c")}
    assert after["b"] > 2 * after["c"] > 0
    # by hand: 4 different words are said 12 times in all, and 2 different ones follow `a` 4 times
    single = (3 + 1) / (12 + 4)
    pair = 3 / 6 + 2 / 6 * single
    assert after["b"] == pytest.approx(3 / 6 + 2 / 6 * pair)


def test_an_unlisted_word_is_a_mistake() -> None:
    with pytest.raises(KeyError):
        estimate({("a", "b"): 1.0}, ("a", BEGIN, END))


def test_a_number_in_a_phrase_stands_for_any_other() -> None:
    phrases = ("i write down twenty two", "forty beats")
    weights = fragments(phrases, ("thirty one", "thirty six"))
    assert ("down", "thirty") in weights
    assert {("one", "beats"), ("six", "beats")} <= set(weights)
    assert not {"twenty", "two", "forty"} & vocabulary(weights)


def test_numbers_are_counted_evenly_within_and_beside() -> None:
    weights = numbered(("i write down twenty two", "forty beats"), ("thirty one", "thirty six"))
    words = (*sorted(vocabulary(weights)), BEGIN, END)
    model = estimate(weights, words)
    assert chance(model, BEGIN, "thirty", "one", END) == pytest.approx(
        chance(model, BEGIN, "thirty", "six", END)
    )
    assert chance(model, "down", "thirty", "one") == pytest.approx(chance(model, "down", "thirty", "six"))
    assert chance(model, "thirty", "one", "beats") == pytest.approx(chance(model, "thirty", "six", "beats"))


def test_numbers_alone_are_phrases_enough() -> None:
    weights = numbered((), ("seven", "eight"))
    assert weights[(BEGIN, "seven")] == weights[(BEGIN, "eight")] > 0

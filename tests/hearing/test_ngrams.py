"""Tables of trigrams: probabilities, mixing, and the text that the decoder's library reads."""

from pathlib import Path

import numpy as np
import pocketsphinx
import pytest

from voicecoach.hearing.language_model import estimate, fragments, vocabulary
from voicecoach.hearing.ngrams import BEGIN, END, NEVER, Close, Ngrams, mixed, normalized

PHRASES = ("wash my hands", "dry my hands", "rub my palms together", "lock the bed", "lock both wheels")
OTHERS = ("lock the wheelchair", "my hands are clean", "wash the basin")


def words_of(*sets: tuple[str, ...]) -> tuple[str, ...]:
    words = frozenset().union(*(vocabulary(fragments(phrases)) for phrases in sets))
    return (*sorted(words), BEGIN, END)


@pytest.fixture(scope="module")
def one() -> Ngrams:
    return estimate(fragments(PHRASES), words_of(PHRASES, OTHERS))


@pytest.fixture(scope="module")
def other() -> Ngrams:
    return estimate(fragments(OTHERS), words_of(PHRASES, OTHERS))


def totals(model: Ngrams) -> list[float]:
    """The sum over all words after nothing, and after every history with an entry."""
    count = len(model.words)
    every = np.arange(count)
    sums = [np.sum(10**model.single)]
    for first in range(count):
        sums.append(np.sum(10 ** model.after_one(np.full(count, first), every)))
    for key in model.pair_keys:
        first, second = (int(part) for part in model.parted(key, 2))
        sums.append(np.sum(10 ** model.after_two(np.full(count, first), np.full(count, second), every)))
    return [float(total) for total in sums]


def test_probabilities_add_up_to_one(one: Ngrams, other: Ngrams) -> None:
    for model in (one, other, mixed([(0.7, one), (0.3, other)])):
        assert totals(model) == pytest.approx([1.0] * (1 + len(model.words) + len(model.pair_keys)))


def test_a_mixture_is_the_mean_where_a_part_has_an_entry(one: Ngrams, other: Ngrams) -> None:
    both = mixed([(0.25, one), (0.75, other)])
    ids = [np.array([both.words.index(word)]) for word in ("lock", "the", "bed")]
    expected = 0.25 * 10 ** one.after_two(*ids) + 0.75 * 10 ** other.after_two(*ids)
    assert 10 ** both.after_two(*ids) == pytest.approx(expected)


def test_a_mixture_has_other_weights_after_some_words(one: Ngrams, other: Ngrams) -> None:
    close = Close(frozenset(("wash",)), frozenset(("the",)), (0.9, 0.1))
    both = mixed([(0.25, one), (0.75, other)], close)
    assert totals(both) == pytest.approx([1.0] * (1 + len(both.words) + len(both.pair_keys)))
    for said, share in (
        (("lock", "the", "bed"), 0.25),
        (("wash", "the", "basin"), 0.9),
        ((BEGIN, "wash", "my"), 0.9),
        ((BEGIN, "lock", "the"), 0.25),
    ):
        ids = [np.array([both.words.index(word)]) for word in said]
        expected = share * 10 ** one.after_two(*ids) + (1 - share) * 10 ** other.after_two(*ids)
        assert 10 ** both.after_two(*ids) == pytest.approx(expected)


def test_keys_come_apart_as_they_were_joined(one: Ngrams) -> None:
    ids = (np.array([3, 0]), np.array([1, 2]), np.array([0, 5]))
    for before, after in zip(ids, one.parted(one.joined(*ids), 3), strict=True):
        np.testing.assert_array_equal(before, after)


def test_a_triple_needs_its_pair() -> None:
    keys, logs = np.array([1], np.int64), np.array([-0.5])
    with pytest.raises(ValueError, match="not among the pairs"):
        normalized(("a", "b"), np.log10([0.5, 0.5]), (keys, logs), (np.array([6], np.int64), logs))


def test_the_library_reads_the_text_and_agrees(one: Ngrams, tmp_path: Path) -> None:
    path = tmp_path / "model.arpa"
    path.write_text("".join(one.arpa()), encoding="utf-8")
    logs = pocketsphinx.LogMath()
    loaded = pocketsphinx.NGramModel(pocketsphinx.Config(loglevel="FATAL"), logs, str(path))
    assert loaded.size() == 3
    said = [n for n, log in enumerate(one.single) if log > NEVER]
    rng = np.random.default_rng(1)
    for first, second, word in rng.choice(said, (200, 3)):
        ours = float(one.after_two(np.array([first]), np.array([second]), np.array([word]))[0])
        # the library takes the word first and what stands before it from near to far
        theirs = loaded.prob([one.words[word], one.words[second], one.words[first]]) * np.log10(1.0001)
        assert theirs == pytest.approx(ours, abs=0.01)

"""The general model as read here against the library's own reading of it."""

from pathlib import Path

import numpy as np
import pocketsphinx
import pytest

from voicecoach.hearing import general_english as general
from voicecoach.hearing.ngrams import BEGIN, END, NEVER


@pytest.fixture(scope="module")
def library() -> pocketsphinx.NGramModel:
    config = pocketsphinx.Config(loglevel="FATAL")
    return pocketsphinx.NGramModel(config, pocketsphinx.LogMath(), str(general.model_path()))


def test_every_entry_is_read_as_the_library_does(library: pocketsphinx.NGramModel) -> None:
    trie = general._read(general.model_path())
    rng = np.random.default_rng(2)
    for ids, logs in ((trie.pairs, trie.pair), (trie.triples, trie.triple)):
        for place in rng.integers(0, len(logs), 300):
            said = [trie.words[part[place]] for part in ids]
            assert library.prob(said[::-1]) * np.log10(1.0001) == pytest.approx(logs[place], abs=0.001)
    for place in rng.integers(0, len(trie.words), 300):
        ours = trie.single[place]
        assert library.prob([trie.words[place]]) * np.log10(1.0001) == pytest.approx(ours, abs=0.001)


def test_common_words() -> None:
    words = general.common_words(200)
    assert len(words) == len(set(words)) == 200
    assert {"the", "and", "my", "hand"} - set(words) <= {"hand"}
    assert not {BEGIN, END} & set(words)
    assert general.common_words(50) == words[:50]


def test_only_the_wanted_words_are_left() -> None:
    words = (*sorted({*general.common_words(3000), "sanitizer", "zorbly"}), BEGIN, END)
    model = general.general_english(words)
    count, every = len(words), np.arange(len(words))
    assert np.sum(10**model.single) == pytest.approx(1.0)
    assert model.single[words.index("zorbly")] == NEVER
    for history in (("of", "the"), ("going", "to"), (BEGIN, "i")):
        first, second = (np.full(count, words.index(word)) for word in history)
        assert np.sum(10 ** model.after_one(second, every)) == pytest.approx(1.0, abs=1e-4)
        assert np.sum(10 ** model.after_two(first, second, every)) == pytest.approx(1.0, abs=1e-4)
    go, going, to = (np.array([words.index(word)]) for word in ("go", "going", "to"))
    assert model.after_two(going, to, go) > model.after_one(to, go) > model.single[go]


def test_another_kind_of_file(tmp_path: Path) -> None:
    path = tmp_path / "model"
    path.write_bytes(b"\\data\\\nngram 1=2\n")
    with pytest.raises(ValueError, match="not a trigram model"):
        general._read(path)

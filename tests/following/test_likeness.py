"""What is learned from phrases is the exact solution, however it is come by."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest

from voicecoach.following.evidence import sounded, turns
from voicecoach.following.likeness import Likeness, Meaning, Pieces
from voicecoach.following.meaning import meanings
from voicecoach.following.samples import samples

LABELLED = [
    *((phrase, "chat") for phrase in samples().chat[:400]),
    *((phrase, "later") for phrase in samples().later[:200]),
    *((phrase, "report") for phrase in samples().report[:100]),
]
"""More than are taken at once."""


@pytest.mark.parametrize("pieces", [sounded, turns])
@pytest.mark.parametrize("meaning", [meanings, None])
def test_the_scores_of_the_phrases_are_their_labels_less_what_the_ridge_takes(
    pieces: Pieces, meaning: Meaning | None
) -> None:
    likeness = Likeness(LABELLED, pieces, meaning)
    truth = np.array([[label == name for name in likeness.labels] for _, label in LABELLED])
    scores = likeness.scores([phrase for phrase, _ in LABELLED])
    assert np.abs(scores - (truth - likeness.learned.solution)).max() < 1e-4
    assert np.mean(scores.argmax(axis=1) == truth.argmax(axis=1)) > 0.95


def test_a_text_like_nothing_has_the_share_of_each_label() -> None:
    likeness = Likeness(LABELLED, sounded, meanings)
    assert likeness.scores(["", "ж"]) == pytest.approx(np.array([[4 / 7, 2 / 7, 1 / 7]] * 2))


def test_texts_have_the_same_scores_alone_and_together() -> None:
    likeness = Likeness(LABELLED, sounded, meanings)
    texts = ["i will do that in a moment", "", "my sister lives by the sea", "i have done that"]
    alone = np.concatenate([likeness.scores([text]) for text in texts])
    assert likeness.scores(texts) == pytest.approx(alone, abs=1e-5)


def test_reading_the_word_vectors_leaves_no_thread() -> None:
    check = (
        "import threading; from voicecoach.following.meaning import meanings; "
        "meanings(['lock the wheels']); print(threading.active_count())"
    )
    done = subprocess.run([sys.executable, "-c", check], capture_output=True, text=True, check=True)
    assert done.stdout == "1\n"

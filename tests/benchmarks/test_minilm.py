"""Sentence embeddings of the baseline."""

from __future__ import annotations

import numpy as np
import pytest

from tests.benchmarks import minilm

for _module in minilm.NEEDED:
    pytest.importorskip(_module, reason="the sentence model comes with the extra bench")


def test_like_meanings_are_near() -> None:
    wash, clean, weather = minilm.embeddings(
        ["i wash my hands", "she cleans her hands with soap", "the weather is nice"]
    )
    assert np.linalg.norm(wash) == pytest.approx(1, abs=1e-5)
    assert wash @ clean > 0.5 > wash @ weather + 0.2


def test_a_text_has_the_same_vector_in_any_company() -> None:
    alone = minilm.embeddings(["i dry them"])[0]
    minilm._KNOWN.clear()
    # Padding costs the 8-bit model a little, as its range is that of the whole batch.
    among = minilm.embeddings(["i dry them", "a far longer sentence about something else altogether"])[0]
    assert alone @ among > 0.98

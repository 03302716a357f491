"""The picture of step F1 by noise."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.benchmarks import plot


def column(f1: float) -> dict[str, float]:
    return {"step_f1": f1, "step_f1_low": f1 - 0.1, "step_f1_high": f1 + 0.1}


COLUMNS = {
    "text": column(0.95),
    "sphinx clean all": column(0.9),
    "sphinx clean in-turn": column(0.88),
    "sphinx water-20 in-turn": column(0.8),
    "sphinx water-5 in-turn": column(0.3),
    "sphinx echo in-turn": column(0.7),
}


def test_each_recognizer_and_noise_is_a_curve_that_ends_in_the_clean_sound() -> None:
    curves = plot.curves(COLUMNS)
    assert [point[:2] for point in curves["sphinx", "water"]] == [(5, 0.3), (20, 0.8), (plot.CLEAN, 0.88)]
    assert [point[:2] for point in curves["sphinx", "babble"]] == [(plot.CLEAN, 0.88)]


@pytest.mark.parametrize("name", ["by_noise.png", "by_noise.svg"])
def test_it_is_drawn(name: str, tmp_path: Path) -> None:
    plot.draw(COLUMNS, tmp_path / name)
    assert (tmp_path / name).stat().st_size > 1000

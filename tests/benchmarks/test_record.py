"""The benchmark of the record: its plain loops come to the same, and its learners are what they say."""

from __future__ import annotations

from collections.abc import Callable
from unittest.mock import patch

import numpy as np
import pytest

from tests.benchmarks.record import (
    KINDS,
    WAYS,
    Course,
    Learner,
    learner,
    plain_interval,
    plain_progress,
    practised,
    shipped,
    truth,
)
from voicecoach.records import readiness as room
from voicecoach.records.progress import progress
from voicecoach.records.readiness import LEVEL, readiness

POOL = shipped()


def test_plain_loops_count_the_same() -> None:
    results = practised(POOL, 60)
    plain = plain_progress(results)
    steps = [(one.procedure, its) for one in progress(results) for its in one.steps]
    assert len(steps) == len(plain)
    for procedure, its in steps:
        shares = (its.in_order, its.unprompted, its.right, its.good)
        counts = (its.done.of, its.done.well, *(share.well for share in shares))
        assert plain[procedure, its.step] == counts


def test_plain_draws_have_the_same_interval() -> None:
    results = practised(POOL, 100)
    with patch.object(room, "TOGETHER", 0.0), patch.object(room, "STEPS_TOGETHER", 0.0):
        ours = readiness(results, POOL).chance
    # Both ends are of 2000 draws, and so known to a tenth or so.
    assert plain_interval(results, POOL) == pytest.approx((ours.low, ours.high), rel=0.3)


@pytest.mark.parametrize("kind", KINDS)
def test_the_interval_holds_the_true_chance_of_nine_in_ten(
    kind: Callable[[np.random.Generator], Course],
) -> None:
    """Of 80 learners, the level less two standard errors."""
    chance = np.random.default_rng(2026)
    learners = [learner(chance, POOL, often, 0, kind) for often in (2, 4, 8, 16) for _ in range(20)]
    assert truth(learners, POOL, WAYS[0])["held"] >= LEVEL - 2 * (LEVEL * (1 - LEVEL) / 80) ** 0.5


def test_who_practises_more_has_a_better_true_chance_and_nobody_practises_what_is_left_out() -> None:
    def some(often: float, left_out: int) -> list[Learner]:
        chance = np.random.default_rng(5)
        return [learner(chance, POOL, often, left_out) for _ in range(8)]

    few, many, half = some(1, 0), some(9, 0), some(4, 8)
    assert np.mean([one.chance for one in many]) > np.mean([one.chance for one in few])
    assert all(len({result.procedure for result in one.results}) <= len(POOL) - 8 for one in half)
    figures = truth(few, POOL, (2, 0.8, 0.3))
    assert figures["true"] == pytest.approx(np.mean([one.chance for one in few]))
    assert 0 <= figures["held"] + figures["below"] <= 1

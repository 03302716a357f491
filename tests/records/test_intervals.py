"""Intervals of shares, against published tables and other libraries."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest
from statsmodels.stats.proportion import proportion_confint

from voicecoach.records.fading import HALF_LIFE, smoothed, weights
from voicecoach.records.intervals import share, weighted, wilson

COUNTS = st.integers(1, 400).flatmap(lambda of: st.tuples(st.integers(0, of), st.just(of)))

NEWCOMBE = [
    (81, 263, 0.2553, 0.3662),
    (15, 148, 0.0624, 0.1605),
    (0, 20, 0.0000, 0.1611),
    (1, 29, 0.0061, 0.1718),
]
"""R. G. Newcombe, Two-sided confidence intervals for the single proportion: comparison of seven methods,
Statistics in Medicine 17, 1998, 857-872, table I, method 3: Wilson's score interval."""


@pytest.mark.parametrize(("well", "of", "low", "high"), NEWCOMBE)
def test_the_interval_is_that_of_the_published_table(well: int, of: int, low: float, high: float) -> None:
    assert wilson(well, of) == pytest.approx((low, high), abs=5e-5)


@given(COUNTS)
def test_the_interval_is_that_of_other_libraries(counts: tuple[int, int]) -> None:
    well, of = counts
    ours = wilson(well, of)
    assert ours == pytest.approx(proportion_confint(well, of, method="wilson"), abs=1e-9)
    theirs = binomtest(well, of).proportion_ci(method="wilson")
    assert ours == pytest.approx((theirs.low, theirs.high), abs=1e-9)


@given(COUNTS)
def test_the_interval_holds_the_share_and_stays_within_0_and_1(counts: tuple[int, int]) -> None:
    found = share(*counts)
    assert found.value is not None
    assert 0 <= found.low <= found.value + 1e-12
    assert found.value - 1e-12 <= found.high <= 1
    assert found.high - found.low > 0


def test_without_an_attempt_anything_may_be() -> None:
    nothing = share(0, 0)
    assert nothing.value is None
    assert (nothing.low, nothing.high) == (0, 1)
    assert weighted([], []) == nothing


def test_one_or_two_attempts_say_little() -> None:
    # Wilson's interval of all of n is n / (n + z²) to 1: 0.207 for one, 0.342 for two.
    assert share(1, 1).low == pytest.approx(1 / (1 + 1.959964**2), abs=1e-6)
    assert share(2, 2).low == pytest.approx(2 / (2 + 1.959964**2), abs=1e-6)
    assert share(0, 1).high == pytest.approx(1 - share(1, 1).low)


@given(st.lists(st.booleans(), min_size=1, max_size=60))
def test_equal_weights_are_no_weights(went_well: list[bool]) -> None:
    plain = share(sum(went_well), len(went_well))
    found = weighted(went_well, [0.25] * len(went_well))
    assert found.value == pytest.approx(plain.value)
    assert (found.low, found.high) == pytest.approx((plain.low, plain.high))


@given(st.lists(st.booleans(), min_size=2, max_size=60))
def test_fading_makes_an_interval_wider(went_well: list[bool]) -> None:
    found = weighted(went_well, weights(len(went_well)))
    assert found.value is not None
    # As wide as that of fewer equal attempts with the same share.
    whole = wilson(found.value * len(went_well), len(went_well))
    assert found.high - found.low > whole[1] - whole[0]


def test_an_attempt_weighs_half_after_the_half_life() -> None:
    found = weights(3 * HALF_LIFE + 1)
    assert found[-1] == 1
    assert found[::-HALF_LIFE] == pytest.approx([1, 1 / 2, 1 / 4, 1 / 8])
    assert found == sorted(found)
    assert weights(0) == []


@given(st.lists(st.floats(0, 1), min_size=1, max_size=40))
def test_the_smoothed_mean_is_the_weighted_mean_up_to_then(values: list[float]) -> None:
    for place, mean in enumerate(smoothed(values), 1):
        weight = weights(place)
        expected = sum(a * b for a, b in zip(weight, values, strict=False)) / sum(weight)
        assert mean == pytest.approx(expected)

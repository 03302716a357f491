"""Chances of passing, against all outcomes and all draws one by one, simulation, and SciPy."""

from __future__ import annotations

from itertools import combinations, product
from math import comb, prod

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, poisson_binom

from tests.procedure.examples import plain_step, procedure
from voicecoach.records.chances import ARISES, Rule, drawn, each, passing, rule

CHANCE = st.floats(0, 1)
KINDS = st.sampled_from(["critical", "plain", "when", "critical when"])
STEPS = st.lists(st.tuples(KINDS, CHANCE), min_size=1, max_size=8)
SHARES = st.sampled_from([0.0, 0.5, 0.7, 0.75, 0.8, 0.9, 1.0]) | CHANCE


def passed(critical: list[bool], outcome: tuple[str, ...], share: float) -> bool:
    """The rule of the debrief, said once more: every needed critical step right, and enough of all."""
    needed = [(one, how) for one, how in zip(critical, outcome, strict=True) if how != "not needed"]
    if any(one and how == "lacking" for one, how in needed):
        return False
    return not needed or sum(how == "right" for _, how in needed) / len(needed) >= share


def one_by_one(kinds: list[str], chances: list[float], share: float) -> float:
    """The chance of passing by all outcomes."""
    total = 0.0
    for outcome in product(("right", "lacking", "not needed"), repeat=len(kinds)):
        likely = 1.0
        for kind, chance, how in zip(kinds, chances, outcome, strict=True):
            arises = ARISES if "when" in kind else 1.0
            likely *= {"right": arises * chance, "lacking": arises * (1 - chance), "not needed": 1 - arises}[
                how
            ]
        if likely and passed(["critical" in kind for kind in kinds], outcome, share):
            total += likely
    return total


def made(kinds: list[str], share: float) -> Rule:
    """The rule of a procedure whose steps are of these kinds."""
    more = [
        ({"critical": True} if "critical" in kind else {}) | ({"when": "it rains"} if "when" in kind else {})
        for kind in kinds
    ]
    steps = [plain_step(f"step-{place}", **one) for place, one in enumerate(more)]
    return rule(procedure(*steps, **{"pass": {"share": share}}))


@given(STEPS, SHARES)
def test_the_chance_of_a_procedure_is_that_of_all_outcomes_together(
    steps: list[tuple[str, float]], share: float
) -> None:
    kinds, chances = [kind for kind, _ in steps], [chance for _, chance in steps]
    ours = passing(np.array([chances]), made(kinds, share))
    assert ours == pytest.approx([one_by_one(kinds, chances, share)], abs=1e-12)


@pytest.mark.parametrize("share", [0.5, 0.8, 0.95])
def test_twelve_steps_are_right_by_all_outcomes_too(share: float) -> None:
    chances = np.random.default_rng(1).uniform(0.3, 1.0, 12)
    critical = [place < 5 for place in range(12)]
    total = sum(
        prod(chance if right else 1 - chance for chance, right in zip(chances, outcome, strict=True))
        for outcome in product((True, False), repeat=12)
        if passed(critical, tuple("right" if right else "lacking" for right in outcome), share)
    )
    its = made(["critical" if one else "plain" for one in critical], share)
    assert passing(chances[None], its)[0] == pytest.approx(total, abs=1e-12)


@given(st.lists(CHANCE, min_size=1, max_size=30), SHARES)
def test_without_critical_steps_it_is_a_poisson_binomial_distribution(
    chances: list[float], share: float
) -> None:
    steps = len(chances)
    enough = min(right for right in range(steps + 1) if right / steps >= share)
    ours = passing(np.array([chances]), made(["plain"] * steps, share))[0]
    assert ours == pytest.approx(float(poisson_binom.sf(enough - 1, chances)), abs=1e-9)


def test_steps_as_likely_as_each_other_are_binomial() -> None:
    # Of fifteen steps 0.8 are needed, 12: the five critical ones, and seven of the ten others.
    its = made(["critical"] * 5 + ["plain"] * 10, 0.8)
    chances = np.array([[0.9] * 5 + [0.7] * 10])
    assert passing(chances, its)[0] == pytest.approx(0.9**5 * float(binom.sf(6, 10, 0.7)))


def test_a_simulation_of_a_procedure_comes_to_the_same() -> None:
    chance = np.random.default_rng(7)
    kinds = ["critical"] * 4 + ["plain"] * 9 + ["when", "critical when"]
    chances = chance.uniform(0.6, 1.0, len(kinds))
    needed = np.array(["when" not in kind for kind in kinds]) | (
        chance.random((100_000, len(kinds))) < ARISES
    )
    right = needed & (chance.random(needed.shape) < chances)
    lacks = (needed & ~right & np.array(["critical" in kind for kind in kinds])).any(axis=1)
    enough = right.sum(axis=1) / needed.sum(axis=1) >= 0.8
    ours = passing(chances[None], made(kinds, 0.8))[0]
    # Within four standard errors of the simulation.
    assert ours == pytest.approx((enough & ~lacks).mean(), abs=4 * (ours * (1 - ours) / 100_000) ** 0.5)


@given(
    st.lists(CHANCE, min_size=1, max_size=9).flatmap(
        lambda pool: st.tuples(
            st.just(pool), st.integers(1, len(pool)), st.none() | st.integers(0, len(pool) - 1)
        )
    ),
    st.data(),
)
def test_the_chance_of_a_test_is_that_of_all_draws_together(
    given: tuple[list[float], int, int | None], data: st.DataObject
) -> None:
    pool, items, always = given
    must_pass = data.draw(st.integers(0, items))
    draws = [draw for draw in combinations(range(len(pool)), items) if always is None or always in draw]
    total = 0.0
    for draw in draws:
        for outcome in product((True, False), repeat=items):
            if sum(outcome) >= must_pass:
                total += prod(
                    pool[place] if right else 1 - pool[place]
                    for place, right in zip(draw, outcome, strict=True)
                )
    ours = drawn(np.array([pool]), items, must_pass, always)
    assert ours == pytest.approx([total / len(draws)], abs=1e-12)


def test_of_a_pool_of_like_procedures_the_draw_does_not_matter() -> None:
    pool = np.full((1, 22), 0.9)
    assert drawn(pool, 5, 5, None)[0] == pytest.approx(0.9**5)
    assert drawn(pool, 5, 5, 3)[0] == pytest.approx(0.9**5)
    assert drawn(pool, 5, 4, 3)[0] == pytest.approx(float(binom.sf(3, 5, 0.9)))


def test_procedures_that_are_sure_or_hopeless_are_counted() -> None:
    # Passed where the five are drawn of the sixteen sure ones of twenty: hypergeometric.
    pool = np.array([[1.0] * 16 + [0.0] * 4])
    assert drawn(pool, 5, 5, None)[0] == pytest.approx(comb(16, 5) / comb(20, 5))
    assert drawn(pool, 5, 5, 0)[0] == pytest.approx(comb(15, 4) / comb(19, 4))
    assert drawn(pool, 5, 5, 16)[0] == 0.0


def test_rows_do_not_touch_each_other() -> None:
    rows = np.random.default_rng(3).uniform(size=(5, 8))
    its = made(["critical", "plain", "plain", "when"] * 2, 0.8)
    assert passing(rows, its) == pytest.approx([passing(row[None], its)[0] for row in rows])
    assert drawn(rows, 3, 2, 1) == pytest.approx([drawn(row[None], 3, 2, 1)[0] for row in rows])


@pytest.mark.parametrize(("items", "always"), [(4, None), (4, 0), (0, 0)])
def test_more_than_there_are_cannot_be_drawn(items: int, always: int | None) -> None:
    with pytest.raises(ValueError, match="cannot be drawn of 3"):
        drawn(np.full((1, 3), 0.5), items, items, always)


def test_in_each_row_one_chance_is_another() -> None:
    assert each(np.array([0.1, 0.2]), 1.0).tolist() == [[1.0, 0.2], [0.1, 1.0]]

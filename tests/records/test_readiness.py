"""Readiness: the chance of a test, against simulation, and how it moves with what was done."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import beta, norm

from tests.procedure.examples import plain_step, procedure
from tests.records.made_results import attempt, step
from voicecoach.procedure import library
from voicecoach.procedure.model import Procedure
from voicecoach.records.chances import passing, rule
from voicecoach.records.fading import weights
from voicecoach.records.readiness import (
    HANDS,
    STEPS_TOGETHER,
    Readiness,
    StepReadiness,
    even_odds,
    readiness,
)
from voicecoach.records.results import Result, StepResult


def care(id: str, *kinds: str, share: float = 0.8) -> Procedure:
    """A procedure with steps of these kinds: critical, plain or when."""
    steps = [
        plain_step(
            f"{id}-{place}", **({} if kind == "plain" else {kind: "it rains" if kind == "when" else True})
        )
        for place, kind in enumerate(kinds)
    ]
    return procedure(*steps, id=id, title=f"Do {id}", **{"pass": {"share": share}})


POOL = (
    care(HANDS, "critical", "critical", "plain", "plain", "plain"),
    care("bath", "critical", "plain", "plain", "plain", "plain", "when"),
    care("shave", "plain", "plain", "plain", share=0.5),
    care("walk", "critical", "critical", "critical"),
)


def tried(its: Procedure, marks: str = "", *, hour: int = 9, **more: object) -> Result:
    """An attempt: a mark a step, + good, - missed, x not right, c after a cue, . not needed, ! out of
    order."""
    kinds: dict[str, dict[str, bool]] = {
        "+": {},
        "-": {"done": False},
        "x": {"right": False},
        "c": {"unprompted": False},
        ".": {"done": False, "needed": False},
        "!": {"in_order": False},
    }
    steps = [
        step(one.id, one.do, critical=one.critical, **kinds[mark])
        for one, mark in zip(its.steps, marks or "+" * len(its.steps), strict=True)
    ]
    return attempt(*steps, procedure=its.id, title=its.title, hour=hour, **more)  # type: ignore[arg-type]


def by_id(found: Readiness) -> dict[str, StepReadiness]:
    return {one.step: one for one in found.steps}


def chance_of(found: Readiness, id: str) -> float:
    return next(one.chance.value for one in found.procedures if one.procedure == id)


# Against what is known


def test_the_chance_is_what_a_simulation_of_tests_comes_to() -> None:
    results = [
        *(tried(POOL[0], marks, hour=hour) for hour, marks in enumerate(["++-+x", "+c+++", "+++++"])),
        *(tried(POOL[1], marks, hour=hour) for hour, marks in enumerate(["+--+x.", "++++++"])),
        *(tried(POOL[3], marks, hour=hour) for hour, marks in enumerate(["+-+", "+++", "+++", "+++"])),
    ]
    found = readiness(results, POOL, items=3)
    steps = by_id(found)
    chance, times = np.random.default_rng(11), 100_000
    passed = {}
    for one in POOL:
        likely = np.array([steps[its.id].chance for its in one.steps])
        needed = np.array([its.when is None for its in one.steps]) | (
            chance.random((times, len(likely))) < 0.5
        )
        right = needed & (chance.random(needed.shape) < likely)
        lacks = (needed & ~right & np.array([its.critical for its in one.steps])).any(axis=1)
        passed[one.id] = ~lacks & (right.sum(axis=1) / needed.sum(axis=1) >= one.pass_.share)
        # Within four standard errors.
        assert passed[one.id].mean() == pytest.approx(chance_of(found, one.id), abs=4 * 0.5 / times**0.5)
    draws = [[HANDS, *pair] for pair in combinations(["bath", "shave", "walk"], 2)]
    took = chance.integers(len(draws), size=times)
    each_draw = np.array([np.all([passed[id] for id in draw], axis=0) for draw in draws])
    assert found.chance.value == pytest.approx(
        each_draw[took, np.arange(times)].mean(), abs=4 * 0.5 / times**0.5
    )


def test_the_expected_chance_is_the_mean_of_the_draws_of_one_procedure() -> None:
    # A product of independent beta variables has the product of their means; here by a draw of its own.
    (walk,) = readiness([tried(POOL[3], "+-+", hour=1), tried(POOL[3], hour=2)], POOL[3:], items=1).procedures
    older, newer = weights(2)
    well = np.array([older + newer, newer, older + newer])
    badly = np.array([0.0, older, 0.0])
    even = 2 ** (-1 / 3)
    mean = (well.sum() + 10 * even) / (well.sum() + badly.sum() + 10)
    draws = np.random.default_rng(2).beta(well + mean, badly + 1 - mean, size=(200_000, 3)).prod(axis=1)
    assert walk.chance.value == pytest.approx(draws.mean(), abs=0.003)
    # The interval is that of draws that go together: here by a normal copula, with scipy's distributions.
    chance = np.random.default_rng(3)
    common, own = chance.standard_normal((200_000, 1)), chance.standard_normal((200_000, 3))
    scores = norm.cdf(STEPS_TOGETHER**0.5 * common + (1 - STEPS_TOGETHER) ** 0.5 * own)
    together = beta.ppf(scores, well + mean, badly + 1 - mean).prod(axis=1)
    assert (walk.chance.low, walk.chance.high) == pytest.approx(np.quantile(together, [0.05, 0.95]), abs=0.03)


def test_a_procedure_never_done_alone_is_a_toss_of_a_coin_in_its_critical_steps() -> None:
    found = readiness([], POOL)
    assert chance_of(found, "walk") == pytest.approx(0.5)
    for one in POOL:
        assert chance_of(found, one.id) <= 0.5 + 1e-12 or not any(its.critical for its in one.steps)
    assert even_odds(rule(POOL[3])) == pytest.approx(0.5 ** (1 / 3))


def test_who_did_nothing_yet_has_an_interval_that_says_so() -> None:
    shipped = [library.as_shipped(id) for id in library.shipped()]
    found = readiness([], shipped)
    assert not found.chance.known
    assert found.chance.low < 0.01
    assert found.chance.high > 0.5
    for one in found.procedures:
        assert not one.chance.known
        assert one.chance.low < 0.1
        assert one.chance.high > 0.6
        assert one.alone == 0
    assert found.tried == ()


def test_many_good_attempts_at_all_come_near_to_sure_and_many_bad_ones_to_never() -> None:
    good = [tried(one, hour=hour) for one in POOL for hour in range(12)]
    bad = [tried(one, "-" * len(one.steps), hour=hour, passed=False) for one in POOL for hour in range(12)]
    assert readiness(good, POOL, items=3).chance.value > 0.9
    assert readiness(bad, POOL, items=3).chance.value < 0.01
    assert readiness(good, POOL, items=3).chance.known
    assert readiness(bad, POOL, items=3).chance.known


# What counts


@pytest.mark.parametrize(
    "more", [{"mode": "practise"}, {"judged": False}, {"complete": False}, {"procedure": "elsewhere"}]
)
def test_what_was_led_broken_off_or_is_not_in_the_pool_has_no_part(more: dict[str, object]) -> None:
    odd = replace(tried(POOL[3]), **more)  # type: ignore[arg-type]
    assert readiness([odd], POOL) == readiness([], POOL)


def test_a_step_after_a_cue_or_not_right_is_as_good_as_missed_and_order_does_not_decide() -> None:
    def walk(marks: str) -> float:
        return chance_of(readiness([tried(POOL[3], marks)], POOL), "walk")

    assert walk("+c+") == walk("+-+") == walk("+x+") < walk("+!+") == walk("+++")
    (middle,) = (
        one
        for one in readiness(
            [
                tried(POOL[3], marks, hour=hour)
                for hour, marks in enumerate(["+c+", "+-+", "+x+", "+++", "+++"])
            ],
            POOL,
        ).steps
        if one.step == "walk-1"
    )
    assert (middle.of, middle.missed, middle.wrong, middle.prompted, middle.well) == (5, 1, 1, 1, 2)


def test_newer_attempts_weigh_more() -> None:
    better = [tried(POOL[3], "-++", hour=1), tried(POOL[3], hour=2)]
    worse = [tried(POOL[3], hour=1), tried(POOL[3], "-++", hour=2)]
    assert readiness(better, POOL).chance.value > readiness(worse, POOL).chance.value


def test_hand_washing_is_in_every_draw_where_the_pool_has_it() -> None:
    bad = [tried(POOL[0], "--+++", hour=hour) for hour in range(20)]
    with_hands = readiness(bad, POOL, items=2)
    assert with_hands.hands
    assert with_hands.chance.value < 0.02
    without = readiness(bad, POOL[1:], items=2)
    assert not without.hands
    assert without.chance.value > 0.1
    assert with_hands.procedures[0].procedure == HANDS


def test_a_small_pool_is_drawn_whole_and_an_empty_one_is_refused() -> None:
    found = readiness([], POOL[:2])
    assert (found.items, found.must_pass) == (2, 2)
    assert found.chance.value == pytest.approx(chance_of(found, HANDS) * chance_of(found, "bath"))
    with pytest.raises(ValueError, match="empty"):
        readiness([], [])


def test_where_not_all_must_be_passed_the_chance_is_higher() -> None:
    chances = [readiness([], POOL, items=3, must_pass=must).chance.value for must in (3, 2, 1)]
    assert chances == sorted(chances)
    assert chances[0] < chances[-1]


# What would raise it


def test_a_gain_is_what_the_chance_rises_by_when_that_step_is_sure() -> None:
    results = [tried(POOL[0], "+-+x+", hour=1), tried(POOL[1], "-+++c+", hour=2), tried(POOL[3], hour=3)]
    found = readiness(results, POOL, items=2)
    for sure in found.steps:
        chances = {}
        for one in POOL:
            likely = [1.0 if its.id == sure.step else by_id(found)[its.id].chance for its in one.steps]
            chances[one.id] = passing(np.array([likely]), rule(one))[0]
        others = [chances[id] for id in ("bath", "shave", "walk")]
        assert found.chance.value + sure.gain == pytest.approx(chances[HANDS] * sum(others) / 3)
        assert sure.gain >= 0
    assert [one.gain for one in found.steps] == sorted((one.gain for one in found.steps), reverse=True)
    hands = next(one for one in found.procedures if one.procedure == HANDS)
    assert found.chance.value + hands.gain == pytest.approx(
        sum(chance_of(found, id) for id in ("bath", "shave", "walk")) / 3
    )
    assert {one.procedure for one in found.tried} == {HANDS, "bath", "walk"}


MARKS = st.sampled_from("+-xc.!")


@st.composite
def histories(draw: st.DrawFn) -> list[Result]:
    """Some attempts at procedures of the pool, hours apart."""
    results = []
    for hour in range(draw(st.integers(0, 7))):
        one = draw(st.sampled_from(POOL))
        # Only a step with `when` may not be needed.
        marks = "".join(
            draw(MARKS if its.when else MARKS.filter(lambda mark: mark != ".")) for its in one.steps
        )
        results.append(tried(one, marks, hour=hour, mode=draw(st.sampled_from(["practise", "rehearse"]))))
    return results


@settings(max_examples=40)
@given(histories(), st.sampled_from(POOL), st.integers(1, 4))
def test_one_more_good_attempt_never_lowers_the_chance(
    results: list[Result], one: Procedure, items: int
) -> None:
    before = readiness(results, POOL, items)
    after = readiness([*results, tried(one, hour=20)], POOL, items)
    assert after.chance.value >= before.chance.value - 1e-12
    for id in (its.id for its in POOL):
        assert chance_of(after, id) >= chance_of(before, id) - 1e-12
    for step_before in before.steps:
        assert by_id(after)[step_before.step].chance >= step_before.chance - 1e-12


@settings(max_examples=20)
@given(histories(), st.randoms(use_true_random=False))
def test_the_same_attempts_give_the_same_figures_in_whatever_order_they_come(
    results: list[Result], shuffle: object
) -> None:
    mixed, pool = list(results), list(POOL)
    shuffle.shuffle(mixed)  # type: ignore[attr-defined]
    shuffle.shuffle(pool)  # type: ignore[attr-defined]
    assert readiness(mixed, pool, 3) == readiness(results, POOL, 3)


@settings(max_examples=20)
@given(histories())
def test_all_figures_are_chances(results: list[Result]) -> None:
    found = readiness(results, POOL, 3)
    for one in (found.chance, *(its.chance for its in found.procedures)):
        assert 0 <= one.low <= one.value <= one.high <= 1
    for its in found.steps:
        assert 0 < its.chance < 1
        assert 0 <= its.well <= its.of


def test_a_step_that_the_procedure_no_longer_has_is_forgotten() -> None:
    old = tried(POOL[3])
    other = replace(
        old, steps=(*old.steps, StepResult("gone", "Gone", True, True, False, True, True, False, None, None))
    )
    assert readiness([other], POOL) == readiness([old], POOL)

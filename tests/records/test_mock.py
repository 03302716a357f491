"""The draw of a mock test and its verdict."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import chisquare

from tests.records import small_journals
from tests.records.made_results import attempt, failed, step
from voicecoach.errors import Complaint
from voicecoach.events import Begun
from voicecoach.procedure import library
from voicecoach.records import store
from voicecoach.records.mock import HAND_WASHING, MINUTES, SIZE, draw, name, number_of, verdict
from voicecoach.records.results import Result

home = small_journals.home

POOLS = st.sets(st.from_regex(r"[a-z]{1,5}", fullmatch=True), max_size=12).map(
    lambda others: (*sorted(others), HAND_WASHING)
)
NUMBERS = st.integers(1, 9999)
DRAWN = {"wash-hands": "Wash hands", "make-bed": "Make a bed", "mouth-care": "Care for a mouth"}
LIMIT = 1800.0

# The draw


@given(POOLS, NUMBERS, st.data())
def test_a_draw_is_without_replacement_and_begins_with_hand_washing(
    pool: tuple[str, ...], number: int, data: st.DataObject
) -> None:
    size = data.draw(st.integers(1, len(pool)))
    before = data.draw(st.lists(st.sampled_from(pool), max_size=len(pool)))
    drawn = draw(pool, number, size, before)
    assert drawn[0] == HAND_WASHING
    assert len(drawn) == len({*drawn}) == size
    assert {*drawn} <= {*pool}
    assert drawn == draw(pool[::-1], number, size, before[::-1])


@given(POOLS, NUMBERS, st.data())
def test_the_same_set_is_never_drawn_twice_in_a_row_where_there_is_another(
    pool: tuple[str, ...], number: int, data: st.DataObject
) -> None:
    size = data.draw(st.integers(1, len(pool)))
    before = (HAND_WASHING, *data.draw(st.permutations(pool[:-1]))[: size - 1])
    drawn = draw(pool, number, size, before)
    # Hand washing alone, or all of the pool, is the only set of its size.
    assert ({*drawn} == {*before}) == (size in (1, len(pool)))


@pytest.mark.parametrize("before", [(), (HAND_WASHING, "a", "b")])
def test_every_set_that_may_be_drawn_is_as_likely_as_any_other(before: tuple[str, ...]) -> None:
    """Drawn at random: 42 CFR 483.154(b)(2). Chi-square test of scipy against equal chances."""
    pool = (*"abcdef", HAND_WASHING)
    sets = [frozenset(pair) for pair in combinations("abcdef", 2) if {HAND_WASHING, *pair} != {*before}]
    drawn = Counter(frozenset(draw(pool, number, 3, before)[1:]) for number in range(1, 6001))
    assert {*drawn} == {*sets}
    assert chisquare([drawn[one] for one in sets]).pvalue > 0.01


def test_every_procedure_and_every_place_is_as_likely_in_the_usual_draw() -> None:
    """As above, over the procedures that come with voicecoach."""
    pool = library.shipped()
    others = [id for id in pool if id != HAND_WASHING]
    draws = [draw(pool, number, SIZE, ()) for number in range(1, 6001)]
    for place in range(1, SIZE):
        counts = Counter(drawn[place] for drawn in draws)
        assert chisquare([counts[id] for id in others]).pvalue > 0.01


def test_numbers_one_after_the_other_are_independent() -> None:
    """The second skill of a number tells nothing of that of the next: chi-square over all pairs."""
    pool = (*"abcd", HAND_WASHING)
    second = [draw(pool, number, 2, ())[1] for number in range(1, 4001)]
    pairs = Counter(zip(second[::2], second[1::2], strict=True))
    assert len(pairs) == 16
    assert chisquare(list(pairs.values())).pvalue > 0.01


def test_a_draw_of_more_than_there_is_is_refused() -> None:
    for size in (0, 4):
        with pytest.raises(Complaint, match=f"1 to 3 skills, not {size}; give --skills"):
            draw((HAND_WASHING, "a", "b"), 1, size, ())
    with pytest.raises(ValueError, match="hand washing"):
        draw(("a", "b"), 1, 1, ())


def test_the_name_of_a_test_tells_its_number_and_is_taken_once() -> None:
    day = date(2026, 11, 26)
    taken: set[str] = set()
    for expected in ("2026-11-26-0312", "2026-11-26-0312-2", "2026-11-26-0312-3"):
        taken.add(named := name(day, 312, taken))
        assert (named, number_of(named)) == (expected, 312)
    assert number_of(name(day, 123456, taken)) == 123456
    assert number_of("of another kind") is None


def test_the_store_knows_which_test_an_attempt_was_part_of(home: object) -> None:
    events = small_journals.attempt("in-a-test", "s07")
    assert isinstance(events[0], Begun)
    small_journals.put([replace(events[0], mock="2026-11-26-0312"), *events[1:]])
    small_journals.put(small_journals.attempt("alone", "s07"))
    expected = {"in-a-test": "2026-11-26-0312", "alone": ""}
    assert {one.attempt: one.mock for one in store.results("s07")} == expected


# The verdict


def passed(procedure: str) -> Result:
    return attempt(procedure=procedure, mode="selftest")


ALL = [passed(id) for id in DRAWN]


def test_a_test_is_passed_where_every_skill_was_passed_within_the_time() -> None:
    assert MINUTES * 60 == LIMIT
    for seconds in (900.0, LIMIT, LIMIT + 1e-9):
        came = verdict(ALL, DRAWN, seconds, LIMIT)
        assert (came.passed, came.missed) == (True, ())
        assert came.why == "You passed the mock test: 3 of 3 skills."
    assert [skill.procedure for skill in came.skills] == list(DRAWN)
    assert {(skill.told, skill.seconds) for skill in came.skills} == {("passed", 150.0)}


def test_whoever_took_too_long_has_not_passed() -> None:
    came = verdict(ALL, DRAWN, LIMIT + 0.01, LIMIT)
    assert not came.passed
    assert came.why == "Not passed yet: 3 of 3 skills, but not within 30 minutes."


@pytest.mark.parametrize(
    ("result", "told"),
    [
        (failed(), "missing: Lock the wheels"),
        (attempt(step(critical=True, right=False), passed=False), "not right: Lock the wheels"),
        (
            attempt(step(critical=True, done=False), step("b", critical=True, done=False), passed=False),
            "missing: Lock the wheels, and 1 more",
        ),
        (attempt(step(), step("b", done=False), passed=False), "1 of 2 steps, 80% are needed"),
        (attempt(passed=False, judged=False), "not judged, too little was understood"),
        (attempt(passed=True, complete=False), "broken off"),
        (None, "not gone through"),
    ],
)
def test_one_skill_that_is_not_passed_fails_the_test_and_the_reason_is_told(
    result: Result | None, told: str
) -> None:
    results = [ALL[0], *([result] if result else []), ALL[2]]
    came = verdict(results, DRAWN, 600.0, LIMIT)
    assert not came.passed
    assert came.why == "Not passed yet: 2 of 3 skills. Not passed: Make a bed."
    (missed,) = came.missed
    assert (missed.procedure, missed.told) == ("make-bed", told)
    assert bool(missed.attempt) == (missed.seconds is not None) == (result is not None)


def test_where_the_time_was_up_that_is_said() -> None:
    came = verdict([ALL[0], failed()], DRAWN, LIMIT, LIMIT)
    assert came.why == (
        "Time is up. Not passed yet: 1 of 3 skills. Not passed: Make a bed; Care for a mouth."
    )
    assert [skill.told for skill in came.missed] == ["missing: Lock the wheels", "the time was up"]


def test_at_most_three_skills_are_named() -> None:
    drawn = {f"p{place}": f"Part {place}" for place in range(1, 6)}
    why = verdict([], drawn, 0.0, LIMIT).why
    assert why == "Not passed yet: 0 of 5 skills. Not passed: Part 1; Part 2; Part 3. And 2 more."


def test_of_two_attempts_at_a_skill_the_later_counts() -> None:
    assert verdict([failed(), *ALL], DRAWN, 600.0, LIMIT).passed
    assert not verdict([*ALL, failed()], DRAWN, 600.0, LIMIT).passed

"""Progress: what is counted of which attempts."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.records.made_results import MONDAY, RESULTS, attempt, step
from voicecoach.records.fading import ALONE, weights
from voicecoach.records.intervals import share, wilson
from voicecoach.records.progress import Progress, StepProgress, progress
from voicecoach.records.results import Result

LOCK = step("lock", "Lock the wheels", critical=True)
BELL = step("bell", "Give the bell")


def only(*results: Result) -> Progress:
    (found,) = progress(results)
    return found


def steps_of(found: Progress) -> dict[str, StepProgress]:
    return {one.step: one for one in found.steps}


def test_each_share_is_of_the_attempts_in_which_it_could_happen() -> None:
    found = only(
        attempt(LOCK, replace(BELL, done=False, right=False), hour=8),
        attempt(replace(LOCK, unprompted=False), replace(BELL, in_order=False), hour=9),
        attempt(replace(LOCK, right=False), replace(BELL, needed=False, done=False, right=False), hour=10),
    )
    lock, bell = found.steps
    assert (lock.do, lock.critical) == ("Lock the wheels", True)
    assert lock.done == share(3, 3)
    assert lock.in_order == share(3, 3)
    assert lock.unprompted == share(2, 3)
    assert lock.right == share(2, 3)
    assert lock.good == share(1, 3)
    assert bell.done == share(1, 2)
    assert bell.in_order == share(0, 1)
    assert bell.unprompted == bell.right == share(1, 1)
    assert bell.good == share(0, 2)
    assert found.good == (0.5, 0.0, 0.0)


def test_what_was_broken_off_or_not_judged_does_not_count() -> None:
    found = only(
        attempt(LOCK, hour=8),
        attempt(replace(LOCK, done=False, right=False), complete=False, passed=False, hour=9),
        attempt(replace(LOCK, done=False, right=False), judged=False, passed=False, hour=10),
    )
    assert found.left_out == 2
    assert len(found.tries) == 1
    assert found.passed == found.steps[0].good == share(1, 1)


def test_where_no_attempt_counts_nothing_is_said_of_steps() -> None:
    found = only(attempt(LOCK, judged=False, passed=False))
    assert (found.left_out, found.tries, found.steps, found.last) == (1, (), (), None)
    assert found.passed == found.lately == share(0, 0)
    assert found.change == 0


def test_what_is_said_of_the_last_attempts_is_of_those_alone() -> None:
    bad = replace(LOCK, done=False, right=False)
    found = only(
        attempt(bad, mode="rehearse", passed=False, hour=8),
        attempt(LOCK, mode="practise", hour=9),
        attempt(LOCK, mode="selftest", hour=10),
        attempt(bad, mode="practise", passed=False, hour=11),
    )
    older, newer = weights(2)
    assert [one.mode for one in found.alone] == ["rehearse", "selftest"]
    assert found.passed == share(2, 4)
    assert found.passed_alone == share(1, 2)
    assert found.lately.value == pytest.approx(newer / (older + newer))
    assert found.steps[0].lately.value == found.lately.value
    assert found.steps[0].good == share(2, 4)
    assert found.trend == pytest.approx([0.0, newer / (older + newer)])


def test_the_interval_of_the_last_attempts_is_that_of_what_they_are_worth() -> None:
    found = only(*(attempt(LOCK, hour=hour) for hour in range(1, 21)))
    # Kish's number for a long row: (1 + f) / (1 - f), with f what an attempt keeps of its weight.
    keeps = weights(2)[0]
    assert (found.lately.low, found.lately.high) == pytest.approx(
        wilson((1 + keeps) / (1 - keeps), (1 + keeps) / (1 - keeps)), abs=1e-3
    )


def test_steps_are_those_of_the_latest_attempt_in_their_order() -> None:
    new = step("call", "Call the nurse")
    found = only(
        attempt(LOCK, BELL, hour=8),
        attempt(new, replace(BELL, do="Hand over the bell"), hour=9),
    )
    assert [one.do for one in found.steps] == ["Call the nurse", "Hand over the bell"]
    assert steps_of(found)["call"].history == (None, new)
    assert steps_of(found)["call"].done == share(1, 1)
    assert steps_of(found)["bell"].done == share(2, 2)


def test_timed_steps_tell_their_times() -> None:
    timed = replace(LOCK, seconds=12.0, needed_seconds=20.0)
    found = only(
        attempt(replace(timed, right=False), BELL, hour=8),
        attempt(replace(timed, seconds=None), BELL, hour=9),
        attempt(replace(timed, done=False, right=False, seconds=None), BELL, hour=10),
        attempt(replace(timed, seconds=31.0), BELL, hour=11),
        attempt(replace(timed, seconds=23.0), BELL, hour=12),
    )
    lock, bell = found.steps
    assert lock.timing is not None
    assert (lock.timing.needed, lock.timing.seconds) == (20.0, (12.0, 31.0, 23.0))
    assert (lock.timing.latest, lock.timing.usual) == (23.0, 23.0)
    assert bell.timing is None
    never = only(attempt(replace(timed, done=False, right=False, seconds=None)))
    assert never.steps[0].timing is None


@pytest.mark.parametrize(
    ("good", "change"),
    [("--++", 1), ("++--", -1), ("++++", 0), ("-+-+-+", 0), ("-++", 0), ("----++++", 1)],
)
def test_better_or_worse_is_said_after_four_attempts_alone(good: str, change: int) -> None:
    bad = replace(LOCK, done=False, right=False)
    results = [attempt(LOCK if mark == "+" else bad, hour=hour) for hour, mark in enumerate(good)]
    assert only(*results).change == change


def test_attempts_are_put_in_order_of_time_whatever_their_offset() -> None:
    early = replace(attempt(LOCK), begun="2026-11-23T23:00:00+09:00")
    late = replace(attempt(replace(LOCK, done=False, right=False)), begun="2026-11-23T09:00:00-06:00")
    assert only(late, early).tries == (early, late)
    assert only(late, early) == only(early, late)


def test_procedures_come_by_title() -> None:
    found = progress(
        [
            attempt(LOCK, procedure=id, title=title)
            for id, title in (("a", "Walk"), ("b", "Move"), ("c", "Bathe"))
        ]
    )
    assert [one.title for one in found] == ["Bathe", "Move", "Walk"]
    assert progress([]) == ()


@given(st.lists(RESULTS, max_size=12))
def test_of_any_results_each_counts_once_and_every_share_is_one(results: list[Result]) -> None:
    found = progress(results)
    assert sum(len(one.tries) + one.left_out for one in found) == len(results)
    for one in found:
        assert all(result.counts for result in one.tries)
        assert len(one.trend) == len(one.alone) == sum(result.mode in ALONE for result in one.tries)
        assert all(0 <= good <= 1 for good in (*one.good, *one.trend))
        for its in one.steps:
            assert len(its.history) == len(one.tries)
            for part in (its.done, its.in_order, its.unprompted, its.right, its.good, its.lately):
                assert 0 <= part.low <= part.high <= 1
                assert 0 <= part.well <= part.of + 1e-9
            assert its.good.well <= its.done.well
            assert its.in_order.of == its.unprompted.of == its.right.of == its.done.well


def test_the_last_day_is_that_of_the_latest_attempt_that_counts() -> None:
    later = MONDAY + timedelta(days=1)
    assert only(attempt(LOCK), attempt(LOCK, on=later, complete=False)).last == MONDAY

"""What to practise next, against FSRS itself and against what makes sense to a student."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise, product

import pytest
from fsrs import Card, Rating, ReviewLog, Scheduler
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.records.made_results import MODES, MONDAY, attempt, failed, placed, step, steps
from voicecoach.procedure import library
from voicecoach.records.next import AT_MOST, FIRST, agenda, card, plan, rating
from voicecoach.records.results import Result

BED = {"make-bed": "Make an empty bed"}
LIBRARY = {
    "feed": "Help a resident eat",
    "make-bed": "Make an empty bed",
    "shave": "Shave a resident",
    "turn": "Turn a resident on the side",
    "wash-hands": "Wash hands at a sink",
}
DAY = timedelta(days=1)

_KINDS = [
    step(critical=critical, needed=needed, done=done, in_order=in_order, unprompted=unprompted, right=right)
    for critical, needed, done, in_order, unprompted, right in product([False, True], repeat=6)
    if done or not right
]
HISTORIES = st.lists(
    st.builds(
        lambda day, mode, passed, judged, complete, procedure, steps: attempt(
            *steps,
            on=MONDAY + day * DAY,
            mode=mode,
            passed=passed,
            judged=judged,
            complete=complete,
            procedure=procedure,
        ),
        st.integers(0, 90),
        MODES,
        st.booleans(),
        st.booleans(),
        st.booleans(),
        st.sampled_from(sorted(LIBRARY)),
        st.lists(st.sampled_from(_KINDS), min_size=1, max_size=3),
    ),
    max_size=10,
)
"""The attempts of one student in a quarter of a year, in any order."""


def midnight(day: date) -> datetime:
    return datetime.combine(day, time(), UTC)


def only(results: Sequence[Result], day: date) -> str:
    """Why the one procedure there is must be practised on a day."""
    (due,) = plan(results, BED, day)
    return due.why


# The rating, in one place


FAULTY = step("tidy", "Tidy up", done=False)
CUED = step("tidy", "Tidy up", unprompted=False)
LATE = step("tidy", "Tidy up", in_order=False)
WRONG = step("tidy", "Tidy up", right=False)
CRITICAL_LATE = step("tidy", "Tidy up", critical=True, in_order=False)


@pytest.mark.parametrize(
    ("result", "rated"),
    [
        (failed(), Rating.Again),
        (failed(mode="selftest"), Rating.Again),
        (attempt(passed=False), Rating.Again),
        (attempt(*steps(9), step(critical=True, done=False)), Rating.Again),
        (attempt(mode="practise"), Rating.Hard),
        (attempt(mode="practise", passed=False), Rating.Again),
        (attempt(*steps(8), CUED, CUED), Rating.Hard),
        (attempt(*steps(9), CRITICAL_LATE), Rating.Hard),
        (attempt(*steps(8), FAULTY, LATE), Rating.Hard),
        (attempt(*steps(17), FAULTY, LATE, WRONG), Rating.Hard),
        (attempt(mishaps=("Water was spilled",)), Rating.Hard),
        (attempt(mishaps=("Water was spilled",), mode="selftest"), Rating.Hard),
        (attempt(*steps(18), FAULTY, LATE), Rating.Good),
        (attempt(*steps(9), FAULTY), Rating.Good),
        (attempt(*steps(9), CUED), Rating.Good),
        (attempt(*steps(2), WRONG, mode="selftest"), Rating.Good),
        (attempt(), Rating.Good),
        (attempt(mode="selftest"), Rating.Easy),
        (attempt(*steps(9), step(needed=False, done=False), mode="selftest"), Rating.Easy),
    ],
)
def test_an_attempt_is_rated_by_the_rule_that_its_docstring_tells(result: Result, rated: Rating) -> None:
    assert rating(result) is rated


@given(HISTORIES)
def test_practise_is_never_rated_better_than_hard_and_easy_only_in_selftest(results: list[Result]) -> None:
    for result in results:
        if result.mode == "practise":
            assert rating(result) in (Rating.Again, Rating.Hard)
        if rating(result) is Rating.Easy:
            assert result.mode == "selftest"


@given(HISTORIES.filter(bool), st.data())
def test_a_fault_more_never_makes_a_rating_better(results: list[Result], data: st.DataObject) -> None:
    before = results[0]
    place = data.draw(st.integers(0, len(before.steps) - 1))
    good = before.steps[place]
    fault = data.draw(
        st.sampled_from(
            [
                replace(good, done=False),
                replace(good, right=False),
                replace(good, in_order=False),
                replace(good, unprompted=False),
            ]
        )
    )
    worse = [*before.steps[:place], fault, *before.steps[place + 1 :]]
    assert rating(replace(before, steps=tuple(worse))) <= rating(before)


# FSRS


@given(HISTORIES)
def test_the_card_is_what_fsrs_makes_of_the_same_reviews(results: list[Result]) -> None:
    """Against py-fsrs by its own way of making a card from a log of reviews."""
    scheduler = Scheduler(learning_steps=(DAY,), relearning_steps=(DAY,), enable_fuzzing=False)
    for attempts in placed(results).values():
        logs = [
            ReviewLog(card_id=1, rating=rating(one), review_datetime=midnight(one.day), review_duration=None)
            for one in attempts
            if one.counts
        ]
        made = card(attempts)
        if made is None:
            assert not logs
            continue
        assert made == scheduler.reschedule_card(Card(card_id=1, due=midnight(MONDAY)), logs)
        assert made.due.date() > logs[-1].review_datetime.date()


@pytest.mark.parametrize(("mode", "stability"), [("rehearse", 2.3065), ("selftest", 8.2956)])
def test_a_first_success_lasts_as_long_as_the_published_parameters_say(mode: str, stability: float) -> None:
    """The first four of the 21 default parameters of FSRS-6 are the days after a first Again, Hard, Good and
    Easy until the chance to remember is 90 % (open-spaced-repetition, The Algorithm: initial stability)."""
    made = card([attempt(mode=mode)])
    assert made is not None
    assert made.stability == stability
    assert made.due.date() == MONDAY + round(stability) * DAY


@given(st.integers(1, 60))
def test_the_chance_falls_along_the_published_curve(days: int) -> None:
    """FSRS-6: R(t, S) = (1 + factor * t / S) ** -w20, with the factor such that R(S, S) is 0.9
    (open-spaced-repetition, The Algorithm: the forgetting curve); w20 is 0.1542 by default."""
    due = plan([attempt()], BED, MONDAY + days * DAY)
    if days < 2:
        assert not due
        return
    factor = 0.9 ** (-1 / 0.1542) - 1
    assert due[0].known == pytest.approx((1 + factor * days / 2.3065) ** -0.1542, abs=1e-9)


@given(HISTORIES)
def test_after_a_success_the_next_date_is_later(results: list[Result]) -> None:
    for id, attempts in placed(results).items():
        counted = [one for one in attempts if one.counts]
        if counted and counted[-1].passed:
            assert id not in [due.procedure for due in plan(results, LIBRARY, counted[-1].day)]


@given(HISTORIES, st.sampled_from(sorted(LIBRARY)), MODES)
def test_a_failure_comes_up_first_the_next_day(results: list[Result], id: str, mode: str) -> None:
    today = MONDAY + 91 * DAY
    others = [one for one in results if rating(one) is not Rating.Again]
    first = plan([*others, failed(on=today, procedure=id, mode=mode)], LIBRARY, today + DAY)[0]
    assert (first.procedure, first.mode, first.failed) == (id, "practise", True)
    assert first.why == "You missed a critical step yesterday: Lock the wheels."


def test_a_failure_comes_up_the_next_day_however_well_it_was_known_before() -> None:
    before = [attempt(mode="selftest", on=MONDAY + day * DAY) for day in (0, 8, 60, 365)]
    known = card(before)
    assert known is not None
    assert known.due.date() > MONDAY + 730 * DAY
    (due,) = plan([*before, failed(on=MONDAY + 730 * DAY)], BED, MONDAY + 731 * DAY)
    assert (due.since, due.failed) == (MONDAY + 731 * DAY, True)


@given(HISTORIES, st.integers(0, 120))
def test_the_plan_is_most_overdue_and_least_known_first_and_new_last(results: list[Result], ago: int) -> None:
    due = plan(results, LIBRARY, MONDAY + ago * DAY)
    assert len(due) <= AT_MOST
    for one, other in pairwise(due):
        assert (not one.since, not one.failed) <= (not other.since, not other.failed)
        if one.since and other.since and one.failed == other.failed:
            assert one.since <= other.since
            if one.since == other.since:
                assert (one.known or 0) <= (other.known or 0)


@given(HISTORIES, st.integers(0, 120))
def test_the_plan_is_the_same_in_whatever_order_attempts_come(results: list[Result], ago: int) -> None:
    # Of attempts at one procedure that began in the same second, which came first is not known.
    assume(len({(one.procedure, one.begun) for one in results}) == len(results))
    today = MONDAY + ago * DAY
    assert plan(results[::-1], LIBRARY, today) == plan(results, LIBRARY, today)


@given(HISTORIES, st.integers(0, 120))
def test_attempts_that_do_not_count_change_no_date(results: list[Result], ago: int) -> None:
    today = MONDAY + ago * DAY
    counted = [one for one in results if one.counts]
    with_all = [(due.procedure, due.since, due.known) for due in plan(results, LIBRARY, today)]
    assert with_all == [(due.procedure, due.since, due.known) for due in plan(counted, LIBRARY, today)]


# What is new


def test_never_practised_comes_up_and_hand_washing_before_all_else() -> None:
    assert [(due.procedure, due.why, due.mode) for due in plan([], LIBRARY, MONDAY)] == [
        ("wash-hands", "Never practised yet.", "practise"),
        ("feed", "Never practised yet.", "practise"),
        ("make-bed", "Never practised yet.", "practise"),
    ]


def test_hand_washing_is_in_the_library() -> None:
    assert FIRST in library.shipped()


def test_an_attempt_that_was_broken_off_leaves_a_procedure_new() -> None:
    broken = attempt(complete=False, passed=False)
    assert only([broken], MONDAY) == "Begun, but never yet finished and judged."
    assert only([attempt(judged=False, passed=False)], MONDAY) == "Begun, but never yet finished and judged."


def test_what_is_due_comes_before_what_is_new() -> None:
    assert [due.procedure for due in plan([attempt(procedure="turn")], LIBRARY, MONDAY + 9 * DAY)] == [
        "turn",
        "wash-hands",
        "feed",
    ]


# Why, and in which mode


def test_the_reason_names_what_was_missed_and_when() -> None:
    assert only([failed()], MONDAY + DAY) == "You missed a critical step yesterday: Lock the wheels."
    assert only([failed()], MONDAY + 2 * DAY) == "You missed a critical step on Monday: Lock the wheels."
    assert only([failed()], MONDAY + 6 * DAY) == "You missed a critical step on Monday: Lock the wheels."
    assert only([failed()], MONDAY + 7 * DAY) == "You missed a critical step 7 days ago: Lock the wheels."


def test_the_reason_names_two_critical_steps_and_counts_the_others() -> None:
    missing = [step(f"s{place}", f"Do part {place}.", critical=True, done=False) for place in range(4)]
    many = attempt(*missing, passed=False)
    assert only([many], MONDAY + 2 * DAY) == (
        "You missed 4 critical steps on Monday: Do part 0; Do part 1; and 2 more."
    )


def test_the_reason_tells_a_critical_step_that_was_wrong_from_one_that_was_missed() -> None:
    wrong = attempt(*steps(3), step(critical=True, right=False), passed=False)
    assert only([wrong], MONDAY + 2 * DAY) == "You got a critical step wrong on Monday: Lock the wheels."


def test_the_reason_tells_how_many_steps_were_lacking() -> None:
    few = attempt(*steps(2), FAULTY, WRONG, step(needed=False, done=False), passed=False)
    assert only([few], MONDAY + 2 * DAY) == "Not passed on Monday: 2 of 4 steps were right, 80 % are needed."


def test_the_reason_of_a_success_tells_when_and_the_chance() -> None:
    # By the published curve, as above: 0.7845 after nine days with a stability of 2.3065 days.
    assert only([attempt()], MONDAY + 9 * DAY) == (
        "Last passed 9 days ago; estimated chance that you still know it: about 80 %."
    )
    assert ", with the coach's help; " in only([attempt(mode="practise")], MONDAY + DAY)
    assert ", with faults or cues; " in only([attempt(*steps(8), CUED, CUED)], MONDAY + DAY)


def test_an_estimated_chance_is_never_called_certain() -> None:
    """Relearned after a year it comes again the next day, when FSRS has a chance of 0.985 for it."""
    known = [attempt(mode="selftest", on=MONDAY + days * DAY) for days in (0, 3, 20, 90, 300)]
    again = [failed(MONDAY + 301 * DAY), attempt(mode="practise", on=MONDAY + 302 * DAY)]
    told = only([*known, *again], MONDAY + 303 * DAY)
    assert told.endswith("estimated chance that you still know it: about 95 %.")


@pytest.mark.parametrize(
    ("last", "mode"),
    [
        (failed(), "practise"),
        (failed(mode="selftest"), "practise"),
        (attempt(mode="practise"), "rehearse"),
        (attempt(*steps(8), CUED, CUED), "rehearse"),
        (attempt(), "selftest"),
        (attempt(*steps(8), FAULTY, LATE, mode="selftest"), "selftest"),
        (attempt(mode="selftest"), "selftest"),
    ],
)
def test_the_mode_is_practise_after_a_failure_then_rehearse_then_selftest(last: Result, mode: str) -> None:
    (due,) = plan([last], BED, MONDAY + 30 * DAY)
    assert due.mode == mode


def test_practise_alone_leaves_a_procedure_due_every_day() -> None:
    week = [attempt(mode="practise", on=MONDAY + day * DAY) for day in range(5)]
    for days in range(1, 6):
        (due,) = plan(week[:days], BED, MONDAY + days * DAY)
        assert (due.mode, due.since) == ("rehearse", MONDAY + days * DAY)


def test_a_success_on_the_day_of_a_failure_counts() -> None:
    results = [failed(hour=9), attempt(mode="selftest", hour=10)]
    assert plan(results, BED, MONDAY) == ()
    (due,) = plan(results, BED, MONDAY + 30 * DAY)
    assert not due.failed


# The next weeks


@given(HISTORIES, st.integers(0, 120))
def test_the_agenda_begins_with_the_plan_and_has_each_procedure_once(results: list[Result], ago: int) -> None:
    today = MONDAY + ago * DAY
    days = agenda(results, LIBRARY, today, 28)
    assert tuple(due for day, due in days if day == today) == plan(results, LIBRARY, today)
    assert [day for day, _ in days] == sorted(day for day, _ in days)
    assert len({due.procedure for _, due in days}) == len(days)
    for day, due in days:
        assert today <= day <= today + 28 * DAY
        assert due.since is None or due.since <= day
        assert sum(other == day for other, _ in days) <= AT_MOST
    placed_ids = {due.procedure for _, due in days}
    for id, attempts in placed(results).items():
        made = card(attempts)
        if made is not None and made.due.date() <= today + 28 * DAY:
            assert id in placed_ids


def test_the_agenda_puts_what_is_too_much_for_a_day_on_the_next() -> None:
    days = agenda([], LIBRARY, MONDAY, 28)
    assert [(day, due.procedure) for day, due in days] == [
        (MONDAY, "wash-hands"),
        (MONDAY, "feed"),
        (MONDAY, "make-bed"),
        (MONDAY + DAY, "shave"),
        (MONDAY + DAY, "turn"),
    ]

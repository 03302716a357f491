"""The debrief: a function of the journal, tested on journals made by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.narrated import procedure, utterance
from voicecoach.coaching import wording
from voicecoach.coaching.debrief import Debrief, debrief, spoken
from voicecoach.events import Asked, Begun, Cued, Ended, Event, Followed, Read, Remarked, Unfollowed
from voicecoach.procedure import library
from voicecoach.procedure.model import Procedure
from voicecoach.speaking.voice import Voice

WALK = procedure("gait-belt-walk")
WASH = procedure("wash-hands")


def begun(of: Procedure, mode: str = "rehearse") -> Begun:
    return Begun(0.0, "test", "2026-11-25T09:15:00+00:00", mode, "typed", of.plain())


def followed(step: str, at: float) -> Followed:
    return Followed(at + 2.0, step, at, at + 2.0, 1, step, 0.9)


def journal(of: Procedure, steps: list[str], *more: Event, why: str = "finished") -> list[Event]:
    """Steps reported ten seconds apart, and what else happened, until the end."""
    reports: list[Event] = [followed(step, 10.0 * place) for place, step in enumerate(steps, 1)]
    return [begun(of), *reports, *more, Ended(10.0 * len(steps) + 20.0, why)]


def ids(of: Procedure, *without: str) -> list[str]:
    return [step.id for step in of.steps if step.id not in without]


def missed(result: Debrief) -> list[str]:
    return [line.step for line in result.missed]


# The verdict


def test_all_done_is_passed_and_says_so() -> None:
    result = debrief(journal(WALK, ids(WALK)))
    assert (result.passed, result.missed, result.out_of_order, result.mishaps) == (True, (), (), ())
    assert (
        result.why
        == f"Passed: every critical step and {len(WALK.steps)} of {len(WALK.steps)} steps were done."
    )
    assert (result.procedure, result.title, result.mode) == (WALK.id, WALK.title, "rehearse")
    assert result.complete
    assert result.caution == wording.CAUTION


@pytest.mark.parametrize("step", [step.id for step in WALK.steps if step.critical])
def test_without_one_critical_step_it_is_not_passed_whatever_the_share(step: str) -> None:
    result = debrief(journal(WALK, ids(WALK, step)))
    assert not result.passed
    assert missed(result) == [step]
    assert result.why == "Not passed yet: a critical step is missing."


@given(st.sets(st.sampled_from([step.id for step in WALK.steps])))
def test_the_verdict_is_every_critical_step_and_the_share(left_out: set[str]) -> None:
    result = debrief(journal(WALK, ids(WALK, *left_out)))
    critical = {step.id for step in WALK.steps if step.critical}
    share = 1 - len(left_out) / len(WALK.steps)
    assert result.passed == (not critical & left_out and share >= WALK.pass_.share)
    assert set(missed(result)) == left_out
    # Critical steps come first, and each kind in the usual order.
    kinds = [line.critical for line in result.missed]
    assert kinds == sorted(kinds, reverse=True)
    usual = ids(WALK)
    for critical_ones in (True, False):
        places = [usual.index(line.step) for line in result.missed if line.critical is critical_ones]
        assert places == sorted(places)


def test_a_share_too_small_is_named() -> None:
    critical = [step.id for step in WALK.steps if step.critical]
    result = debrief(journal(WALK, critical))
    assert not result.passed
    assert (
        result.why == f"Not passed yet: {len(critical)} of {len(WALK.steps)} steps were done, 80% are needed."
    )


@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
def test_the_share_is_the_procedures_own(share: float) -> None:
    own = Procedure.model_validate(WALK.plain() | {"pass": {"share": share}})
    by_half = [step.id for step in own.steps if step.critical]
    assert len(by_half) / len(own.steps) >= 0.5
    assert debrief(journal(own, by_half)).passed == (share <= 0.5)


def test_a_step_for_some_cases_is_needed_only_where_it_was_done() -> None:
    intake = procedure("fluid-intake")
    without = debrief(journal(intake, ids(intake, "convert")))
    assert (without.passed, missed(without)) == (True, [])
    assert [line.needed for line in without.lines if line.step == "convert"] == [False]
    with_it = debrief(journal(intake, ids(intake)))
    assert [line.needed for line in with_it.lines if line.step == "convert"] == [True]


# Order


def test_a_step_said_after_what_needed_it_is_out_of_order_and_not_missed() -> None:
    steps = ids(WALK, "lock-wheels")
    steps.insert(steps.index("dizzy"), "lock-wheels")
    result = debrief(journal(WALK, steps))
    assert [(need.step, step.step) for need, step in result.out_of_order] == [("lock-wheels", "sit-edge")]
    assert (missed(result), result.passed) == ([], True)


def test_what_is_missing_makes_no_pair() -> None:
    assert debrief(journal(WALK, ids(WALK, "lock-wheels", "belt"))).out_of_order == ()


def test_two_steps_that_nothing_orders_make_no_pair() -> None:
    steps = ["call-light", "shoes", *ids(WALK, "call-light", "shoes")]
    assert debrief(journal(WALK, steps)).out_of_order == ()


# Reports


def test_a_report_taken_back_counts_for_nothing() -> None:
    gone = Unfollowed(300.0, "belt", "oh no i forgot the belt")
    assert missed(debrief(journal(WALK, ids(WALK), gone))) == ["belt"]
    again = followed("belt", 310.0)
    result = debrief(journal(WALK, ids(WALK), gone, again))
    assert missed(result) == []
    assert [line.at for line in result.lines if line.step == "belt"] == [310.0]


def test_a_second_report_does_not_move_the_first() -> None:
    result = debrief(journal(WALK, ids(WALK), followed("lock-wheels", 500.0)))
    assert result.out_of_order == ()


def test_a_step_done_after_a_cue_about_it_was_prompted() -> None:
    cue = Cued(105.0, 1, "missed", ("shoes",), 1, "What is on her feet?")
    events: list[Event] = [
        begun(WALK),
        followed("greet", 100.0),
        cue,
        followed("shoes", 110.0),
        Ended(120.0, "finished"),
    ]
    prompted = {line.step: line.prompted for line in debrief(events).lines}
    assert prompted["shoes"]
    assert not prompted["greet"]
    assert not prompted["belt"]


# Times


def test_a_step_lasts_until_the_next_is_reported_and_the_last_until_nobody_speaks() -> None:
    spoken = utterance(1, "the last words", 40.0)
    events: list[Event] = [
        begun(WASH),
        followed("water-on", 10.0),
        followed("wet", 17.5),
        spoken,
        Ended(60.0, "finished"),
    ]
    seconds = {line.step: line.seconds for line in debrief(events).lines}
    assert seconds["water-on"] == pytest.approx(7.5)
    assert seconds["wet"] == pytest.approx(spoken.end - 17.5, abs=0.1)
    assert seconds["soap"] is None


def test_a_timed_step_says_how_long_it_must_last() -> None:
    result = debrief(journal(WASH, ids(WASH)))
    assert {line.step: line.needed_seconds for line in result.lines if line.needed_seconds} == {
        "lather": 20.0
    }


def test_a_clock_that_another_step_starts_runs_from_there() -> None:
    rub = procedure("hand-rub")
    result = debrief(journal(rub, ids(rub)))
    line = next(line for line in result.lines if line.step == "until-dry")
    spent = 10.0 * (ids(rub).index("until-dry") - ids(rub).index("palmful"))
    assert line.needed_seconds == 20.0
    # It ends with its own last word, since nothing was said or done after it.
    assert line.seconds == pytest.approx(spent + 2.0)


# What else happened


def test_mishaps_are_named_once_each_in_the_words_of_the_procedure() -> None:
    mishaps = [Remarked(at, "mishap", "touch-sink", 1, "oops") for at in (20.0, 30.0)]
    other = [
        Remarked(40.0, "avoiding", "touch-sink", 2, "not touching"),
        Remarked(41.0, "mishap", "", 3, "oops"),
    ]
    result = debrief(journal(WASH, ids(WASH), *mishaps, *other))
    assert result.mishaps == (WASH.avoided("touch-sink").do,)
    assert result.passed


def test_readings_are_shown_as_they_were_said() -> None:
    pressure = procedure("blood-pressure")
    reads = [Read(90.0, "record", (118.0, 76.0), "mmHg", ""), Read(95.0, "record", (120.0, 80.0), "", "")]
    readings = [
        [value.text for value in debrief(journal(pressure, ids(pressure), *reads[:number])).readings]
        for number in (1, 2)
    ]
    assert readings == [["blood pressure: 118 over 76 mmHg"], ["blood pressure: 120 over 80"]]


def test_what_was_before_starting_over_does_not_count() -> None:
    before = [followed(step, 5.0) for step in ids(WASH)]
    mishap = Remarked(6.0, "mishap", "touch-sink", 1, "oops")
    restart = Asked(8.0, "restart", "start over")
    events: list[Event] = [
        begun(WASH),
        *before,
        mishap,
        restart,
        followed("water-on", 10.0),
        Ended(20.0, "finished"),
    ]
    result = debrief(events)
    assert [line.step for line in result.lines if line.at is not None] == ["water-on"]
    assert result.mishaps == ()
    assert not result.passed


@pytest.mark.parametrize(
    ("why", "complete"),
    [
        ("finished", True),
        ("source ended", True),
        ("time is up", True),
        ("device lost", True),
        ("interrupted", False),
    ],
)
def test_an_attempt_that_was_interrupted_is_not_complete(why: str, complete: bool) -> None:
    assert debrief(journal(WASH, ["water-on"], why=why)).complete is complete


def test_a_journal_that_breaks_off_has_a_debrief_of_what_is_there() -> None:
    whole = journal(WASH, ids(WASH))
    for length in range(1, len(whole)):
        result = debrief(whole[:length])
        assert not result.complete
        assert [line.step for line in result.lines if line.at is not None] == ids(WASH)[: length - 1]
        assert len(result.missed) == len(WASH.steps) - length + 1


def test_the_debrief_is_in_the_usual_order_however_it_was_said() -> None:
    assert [line.step for line in debrief(journal(WASH, ids(WASH)[::-1])).lines] == ids(WASH)


@pytest.mark.parametrize("events", [[], [Ended(1.0, "finished")], [followed("wet", 1.0), begun(WASH)]])
def test_what_is_no_attempt_is_refused(events: list[Event]) -> None:
    with pytest.raises(ValueError, match="does not begin"):
        debrief(events)


def test_the_spoken_debrief_stays_below_half_a_minute_whatever_went_wrong() -> None:
    voice = Voice()
    for name in library.shipped():
        of = procedure(name)
        lines = tuple(
            replace(line, wrong=("That was 8 seconds. It takes 20 seconds.",))
            for line in debrief(journal(of, ids(of))).lines
        )
        worst = replace(
            debrief(journal(of, [])),
            judged=True,
            missed=lines,
            wrong=lines,
            out_of_order=((lines[0], lines[1]),),
        )
        assert len(voice.render(spoken(worst))) / voice.rate < 30

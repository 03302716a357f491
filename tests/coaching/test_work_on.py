"""What to work on: the most important first, with why it matters."""

from __future__ import annotations

import pytest

from tests.coaching.test_debrief import begun, followed, ids, journal
from tests.narrated import procedure
from voicecoach.coaching.debrief import debrief
from voicecoach.coaching.work_on import AT_MOST, work_on
from voicecoach.events import Cued, Ended, Event, Heard, Mistaken, Remarked, Word
from voicecoach.procedure.model import Procedure

WALK = procedure("gait-belt-walk")
WASH = procedure("wash-hands")
SIDE = Mistaken(5.0, "walk", "side", "right", "left")
NAME = Mistaken(5.0, "", "resident", "Mrs. Fenn", "Mrs. Marlow")
MISHAP = Remarked(6.0, "mishap", "touch-sink", 1, "oops")


def points(events: list[Event], of: Procedure = WALK) -> tuple[str, ...]:
    return work_on(debrief(events), of)


def test_where_all_was_well_there_is_nothing() -> None:
    assert points(journal(WALK, ids(WALK))) == ()


@pytest.mark.parametrize("step", ids(WALK))
def test_a_step_left_out_is_named_with_why_it_matters(step: str) -> None:
    (point,) = points(journal(WALK, ids(WALK, step)))
    what = "critical step" if WALK.step(step).critical else "step"
    assert point == f"{WALK.step(step).do}: this {what} was missing. {WALK.step(step).why}"


def test_critical_steps_left_out_come_before_all_else() -> None:
    left_out = ("greet", "shoes", "belt")
    steps = [step for step in ids(WALK) if step not in left_out]
    first, second, third = points(journal(WALK, steps, SIDE, NAME))
    assert first.startswith(WALK.step("shoes").do)
    assert second.startswith(WALK.step("belt").do)
    assert (
        third
        == f"{WALK.step('walk').do}: not right. You said right. It is the left side. {WALK.step('walk').why}"
    )


def test_then_come_what_was_not_right_what_was_out_of_order_and_the_rest() -> None:
    steps = ids(WALK, "lock-wheels", "greet")
    steps.insert(steps.index("dizzy"), "lock-wheels")
    wrong, late, missing = points(journal(WALK, steps, SIDE, NAME))
    assert wrong.startswith(f"{WALK.step('walk').do}: not right.")
    assert late == (
        f"{WALK.step('lock-wheels').do}: this came too late; it belongs before “{WALK.step('sit-edge').do}”. "
        f"{WALK.step('lock-wheels').why}"
    )
    assert missing.startswith(f"{WALK.step('greet').do}: this step was missing.")


def test_a_step_too_early_belongs_after_what_it_needs() -> None:
    (point,) = points(journal(WALK, ["clean-hands-end", *ids(WALK, "clean-hands-end")]))
    assert point.startswith("Clean the hands: this came too early; it belongs after “Help the resident back")


def test_a_mishap_comes_before_other_steps_and_a_name_after_them() -> None:
    left_out = next(step.id for step in WASH.steps if not step.critical)
    mishap, missing = points(journal(WASH, ids(WASH, left_out), MISHAP), WASH)
    assert (
        mishap == f"{WASH.avoided('touch-sink').do}: this must not happen. {WASH.avoided('touch-sink').why}"
    )
    assert missing.startswith(f"{WASH.step(left_out).do}: this step was missing.")
    missing, name = points(journal(WALK, ids(WALK, "greet"), NAME))
    assert "was missing" in missing
    assert name.startswith("You said Mrs. Fenn. This is Mrs. Marlow. ")


def test_what_was_done_after_a_reminder_comes_last() -> None:
    cue = Cued(5.0, 1, "missed", ("shoes",), 1, "What is on her feet?")
    reports = [followed(step, 10.0 * place) for place, step in enumerate(ids(WALK), 1)]
    events: list[Event] = [begun(WALK), cue, *reports, Ended(300.0, "finished")]
    shoes = WALK.step("shoes")
    assert points(events) == (f"{shoes.do}: done only after a reminder; next time by yourself. {shoes.why}",)


def test_one_step_is_one_thing_to_work_on() -> None:
    steps = ids(WALK, "walk")
    late = [*steps, "walk"]
    first, *others = points(journal(WALK, late, SIDE, NAME))
    assert first.startswith(f"{WALK.step('walk').do}: not right.")
    assert not any(other.startswith(WALK.step("walk").do) for other in others)


def test_there_are_at_most_three() -> None:
    assert len(points(journal(WALK, []))) == AT_MOST == 3


def test_where_too_little_was_understood_nothing_is_said() -> None:
    mumbled = [Heard(9.0, n, 8.0, 9.0, (Word("mumble", 8.0, 9.0, 0.05),) * 6) for n in range(1, 9)]
    told = debrief(journal(WALK, [], *mumbled))
    assert not told.judged
    assert work_on(told, WALK) == ()

"""When the coach speaks up, how strongly, and when it holds back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import pytest

from tests.narrated import procedure
from voicecoach.coaching import wording
from voicecoach.coaching.coach import PATIENCE, STRONGEST, Coach
from voicecoach.events import Cued, Event, Outgoing, Withdrawn

WALK = procedure("gait-belt-walk")
MODES = ("practise", "rehearse", "selftest")
CRITICAL_BEFORE_SITTING = ("bed-low", "lock-wheels")


def cues(events: Iterable[Event], *of: str) -> list[tuple[str, tuple[str, ...], int]]:
    """Kind, subject and strength of the cues, of some kinds or of all."""
    return [(e.kind, e.about, e.strength) for e in events if isinstance(e, Cued) and (not of or e.kind in of)]


class Bedside:
    """A coach to whom steps are reported as sure, unless said otherwise."""

    def __init__(self, mode: str, name: str = "gait-belt-walk") -> None:
        self.coach = Coach(procedure(name), mode)
        self.now = 0.0

    def report(self, *steps: str, likely: Mapping[str, float] | None = None) -> list[Outgoing]:
        """Each step in an utterance of its own, that takes two seconds."""
        out: list[Outgoing] = []
        for step in steps:
            self.now += 2.0
            self.coach.quiet(self.now)
            out += self.coach.reported(self.now, step, self.now - 1.0)
            out += self.settle(likely)
        return out

    def settle(self, likely: Mapping[str, float] | None = None) -> list[Outgoing]:
        """An utterance ends; each step is as likely as told, else sure or out of the question."""
        sure = {step.id: float(step.id in self.coach.done) for step in self.coach.procedure.steps}
        return self.coach.settle(self.now, sure | dict(likely or {}))

    def hear_cues(self, out: Iterable[Outgoing]) -> None:
        """The cues are spoken to their end."""
        for _ in (event for event in out if isinstance(event, Cued)):
            self.now += 1.0
            self.coach.voiced(self.now)


def before(step: str, *without: str) -> list[str]:
    """The steps before one in the usual order, without some."""
    ids = [each.id for each in WALK.steps]
    return [id for id in ids[: ids.index(step)] if id not in without]


# Who is understood


@pytest.mark.parametrize("mode", ["practise", "rehearse"])
def test_nothing_is_called_missing_until_the_student_is_understood_again(mode: str) -> None:
    bedside = Bedside(mode)
    assert cues(bedside.coach.understood(bedside.now, clear=False)) == [("unclear", (), 0)]
    assert cues(bedside.report(*before("sit-edge", "lock-wheels"), "sit-edge")) == []
    assert bedside.coach.understood(bedside.now, clear=False) == []
    assert bedside.coach.before_finish(bedside.now) == []
    assert bedside.coach.understood(bedside.now, clear=True) == []
    assert cues(bedside.settle()) == [("missed", ("lock-wheels",), 1)]


def test_in_selftest_nobody_is_told_how_well_they_are_understood() -> None:
    assert Bedside("selftest").coach.understood(0.0, clear=False) == []


# Who speaks when


@pytest.mark.parametrize("mode", MODES)
def test_steps_in_order_are_followed_without_a_word(mode: str) -> None:
    assert Bedside(mode).report(*(step.id for step in WALK.steps)) == []


@pytest.mark.parametrize("mode", MODES)
def test_steps_that_nothing_orders_are_no_fault_in_any_order(mode: str) -> None:
    steps = ["call-light", "shoes", "privacy", "lock-wheels", "clean-hands", "greet", "bed-low", "sit-edge"]
    assert Bedside(mode).report(*steps) == []


@pytest.mark.parametrize(("mode", "speaks"), [("practise", True), ("rehearse", True), ("selftest", False)])
def test_a_missed_step_is_cued_when_a_step_that_needs_it_begins(mode: str, speaks: bool) -> None:
    bedside = Bedside(mode)
    assert bedside.report(*before("sit-edge", "lock-wheels")) == []
    out = bedside.report("sit-edge")
    assert cues(out) == ([("missed", ("lock-wheels",), 1)] if speaks else [])
    if speaks:
        assert isinstance(out[0], Cued)
        assert out[0].text == WALK.step("lock-wheels").cue.nudge


@pytest.mark.parametrize("mode", ["practise", "rehearse"])
def test_a_step_that_is_not_critical_is_cued_too(mode: str) -> None:
    # Nothing needs `belt-check`, so that it can only be missed at the end; `wipe-drain` is needed.
    bedside = Bedside(mode, "drainage-bag")
    bedside.report("clean-hands", "gloves-on", "barrier", "container", "open-drain", "close-drain")
    assert cues(bedside.report("stow-drain")) == [("missed", ("wipe-drain",), 1)]


def test_a_step_for_some_cases_only_is_never_cued() -> None:
    bedside = Bedside("practise", "fluid-intake")
    steps = [step.id for step in bedside.coach.procedure.steps if step.when is None]
    assert bedside.report(*steps) == []


@pytest.mark.parametrize("mode", ["practise", "rehearse"])
def test_at_most_one_missed_cue_an_utterance_and_critical_steps_first(mode: str) -> None:
    bedside = Bedside(mode, "drainage-bag")
    out = bedside.report("close-drain", "stow-drain")
    assert cues(out[:1]) == [("missed", ("open-drain",), 1)]
    per_utterance = [bedside.report(step) for step in ("level", "rinse-container", "gloves-off", "record")]
    assert all(len(cues(out, "missed")) <= 1 for out in per_utterance)


@pytest.mark.parametrize(("mode", "speaks"), [("practise", True), ("rehearse", False), ("selftest", False)])
def test_a_mishap_is_spoken_of_in_practise_alone(mode: str, speaks: bool) -> None:
    coach = Coach(procedure("wash-hands"), mode)
    out = coach.happened(3.0, "touch-sink")
    assert cues(out) == ([("mishap", ("touch-sink",), 0)] if speaks else [])
    assert coach.happened(4.0, "") == []


# Strength


@pytest.mark.parametrize("mode", ["practise", "rehearse"])
def test_a_cue_grows_stronger_with_each_step_begun_in_spite_of_it_and_then_stops(mode: str) -> None:
    bedside = Bedside(mode, "wash-hands")
    out = bedside.report("water-on", "soap")
    assert cues(out) == [("missed", ("wet",), 1)]
    # `hands-low` needs wet hands as `soap` does; what does not need them says nothing new.
    assert cues(bedside.report("hands-low")) == [("missed", ("wet",), 2)]
    out = bedside.report("lather", "nails", "rinse", "dry", "water-off", "discard-towel")
    texts = [event.text for event in out if isinstance(event, Cued) and event.about == ("wet",)]
    assert texts == [bedside.coach.procedure.step("wet").cue.step]
    assert cues(bedside.settle()) == []


def test_practise_reminds_sooner_than_rehearse() -> None:
    steps_until_reminded = {}
    for mode in ("practise", "rehearse"):
        bedside = Bedside(mode)
        bedside.report(*before("sit-edge", "lock-wheels"), "sit-edge")
        steps = ["dizzy", "belt", "belt-check", "signal", "stand"]
        reminded = [bool(cues(bedside.report(step), "missed")) for step in steps]
        steps_until_reminded[mode] = reminded.index(True) + 1
    assert steps_until_reminded["practise"] < steps_until_reminded["rehearse"]


def test_the_words_are_those_of_the_strength() -> None:
    for step in WALK.steps:
        coach = Coach(WALK, "practise")
        for number, strength in enumerate((1, 2, 3, 3, 3), 1):
            coach.start_over()
            for other in WALK.steps[: WALK.steps.index(step)]:
                coach.done[other.id] = 1
            for _ in range(number):
                out = coach.lead(float(number))
            assert isinstance(out[0], Cued)
            assert (out[0].strength, out[0].text) == (strength, WALK.step(out[0].about[0]).cue.of(strength))


# Late


@pytest.mark.parametrize("mode", ["practise", "rehearse"])
def test_a_cued_step_done_late_is_thanked_for_and_its_cue_withdrawn(mode: str) -> None:
    bedside = Bedside(mode)
    bedside.hear_cues(bedside.report(*before("dizzy", "lock-wheels")))
    out = bedside.report("lock-wheels")
    assert [type(event) for event in out] == [Withdrawn, Cued]
    assert isinstance(out[0], Withdrawn)
    assert out[0].about == "lock-wheels"
    assert cues(out) == [("thanks", ("lock-wheels",), 0)]
    assert bedside.report("dizzy", "belt", "belt-check", "signal", "stand") == []


@pytest.mark.parametrize("mode", ["practise", "rehearse"])
def test_a_step_remembered_before_any_cue_is_told_to_belong_earlier(mode: str) -> None:
    bedside = Bedside(mode)
    bedside.report(*before("sit-edge", "lock-wheels"))
    # While it is not yet sure that she sits, nothing is said.
    assert bedside.report("sit-edge", likely={"sit-edge": 0.65}) == []
    out = bedside.report("lock-wheels")
    assert cues(out) == [("order", ("lock-wheels",), 0)]
    assert [event.text for event in out if isinstance(event, Cued)] == [wording.LATE]


def test_selftest_says_nothing_of_what_comes_late() -> None:
    assert Bedside("selftest").report(*before("dizzy", "lock-wheels"), "lock-wheels", "dizzy") == []


# Doubt


@pytest.mark.parametrize("mode", ["practise", "rehearse"])
@pytest.mark.parametrize(
    "likely", [{"lock-wheels": 0.2}, {"sit-edge": 0.75}, {"lock-wheels": 0.5, "sit-edge": 0.9}]
)
def test_there_is_no_cue_while_there_is_doubt(mode: str, likely: dict[str, float]) -> None:
    bedside = Bedside(mode)
    assert bedside.report(*before("dizzy", "lock-wheels"), likely=likely) == []
    # Once the doubt is gone, it comes.
    assert cues(bedside.settle()) == [("missed", ("lock-wheels",), 1)]


@pytest.mark.parametrize("mode", ["practise", "rehearse"])
def test_a_report_taken_back_leaves_the_step_open(mode: str) -> None:
    bedside = Bedside(mode)
    assert bedside.report(*before("sit-edge")) == []
    bedside.coach.retracted("lock-wheels")
    assert cues(bedside.report("sit-edge")) == [("missed", ("lock-wheels",), 1)]


def test_what_only_a_report_taken_back_needed_is_not_missing() -> None:
    bedside = Bedside("rehearse")
    bedside.report(*before("sit-edge", "lock-wheels"))
    bedside.report("sit-edge", likely={"sit-edge": 0.65})
    bedside.coach.retracted("sit-edge")
    assert bedside.settle() == []


# Silence


def test_after_silence_practise_leads_on_stronger_each_time_and_then_waits() -> None:
    bedside = Bedside("practise")
    bedside.report("greet")
    led = []
    while (at := bedside.coach.leads_at) is not None:
        assert at == pytest.approx(bedside.now + PATIENCE)
        bedside.now = at
        out = bedside.coach.lead(at)
        # While the cue is being spoken nobody leads on.
        assert bedside.coach.leads_at is None
        bedside.hear_cues(out)
        led += cues(out)
    assert led == [("lead", ("clean-hands",), strength) for strength in (1, 2, STRONGEST)]
    bedside.report("clean-hands")
    assert bedside.coach.leads_at == pytest.approx(bedside.now + PATIENCE)


def test_what_is_missing_is_led_to_before_what_comes_next() -> None:
    bedside = Bedside("practise")
    bedside.hear_cues(bedside.report(*before("dizzy", "lock-wheels")))
    assert cues(bedside.coach.lead(bedside.now)) == [("lead", ("lock-wheels",), 2)]


@pytest.mark.parametrize("mode", ["rehearse", "selftest"])
def test_in_the_other_modes_silence_is_left_alone(mode: str) -> None:
    bedside = Bedside(mode)
    bedside.report("greet")
    assert bedside.coach.leads_at is None


def test_practise_does_not_lead_on_before_anybody_spoke_or_when_all_is_done() -> None:
    bedside = Bedside("practise")
    assert bedside.coach.leads_at is None
    bedside.report(*(step.id for step in WALK.steps))
    assert bedside.coach.leads_at is None
    assert bedside.coach.lead(99.0) == []


def test_a_step_that_takes_time_is_given_its_time() -> None:
    bedside = Bedside("practise", "wash-hands")
    bedside.report("water-on", "wet", "soap", "lather")
    assert bedside.coach.leads_at == pytest.approx(bedside.now + PATIENCE + 20)


# Requests and the end


def test_what_is_next_is_the_step_itself_and_a_hint_is_less() -> None:
    bedside = Bedside("rehearse")
    bedside.report("greet")
    assert cues(bedside.coach.answer(5.0, "hint")) == [("answer", ("clean-hands",), 2)]
    assert cues(bedside.coach.answer(6.0, "hint")) == [("answer", ("clean-hands",), 3)]
    assert cues(Bedside("rehearse").coach.answer(7.0, "next")) == [("answer", ("greet",), 3)]


def test_say_that_again_repeats_the_last_words() -> None:
    coach = Coach(WALK, "rehearse")
    (said,) = coach.answer(1.0, "repeat")
    assert isinstance(said, Cued)
    assert said.text == wording.NOTHING_YET
    (hint,) = coach.answer(2.0, "hint")
    (again,) = coach.answer(3.0, "repeat")
    assert isinstance(hint, Cued)
    assert isinstance(again, Cued)
    assert (again.text, again.cue) == (hint.text, hint.cue + 1)


def test_how_am_i_doing_counts_steps_and_what_was_passed_over() -> None:
    bedside = Bedside("rehearse")
    bedside.report(*before("dizzy", *CRITICAL_BEFORE_SITTING))
    (answer,) = bedside.coach.answer(9.0, "standing")
    assert isinstance(answer, Cued)
    done = len(before("dizzy", *CRITICAL_BEFORE_SITTING))
    assert answer.text == f"{done} of {len(WALK.steps)} steps so far. 2 critical steps are missing."


def test_nothing_is_left_when_all_is_done() -> None:
    bedside = Bedside("practise")
    bedside.report(*(step.id for step in WALK.steps))
    (answer,) = bedside.coach.answer(50.0, "next")
    assert isinstance(answer, Cued)
    assert (answer.about, answer.text) == ((), wording.NOTHING_LEFT)


@pytest.mark.parametrize("request_", ["next", "hint", "repeat", "standing", "pause", "begin"])
def test_selftest_answers_nothing(request_: str) -> None:
    assert Coach(WALK, "selftest").answer(1.0, request_) == []


@pytest.mark.parametrize(("mode", "asks"), [("practise", True), ("rehearse", False), ("selftest", False)])
def test_before_the_end_practise_asks_once_for_a_critical_step_that_is_missing(mode: str, asks: bool) -> None:
    bedside = Bedside(mode)
    bedside.report(*before("call-light"), "clean-hands-end")
    out = bedside.coach.before_finish(bedside.now)
    assert cues(out) == ([("missed", ("call-light",), 1)] if asks else [])
    assert bedside.coach.before_finish(bedside.now + 1) == []


def test_before_the_end_a_step_that_is_not_critical_is_not_asked_for() -> None:
    bedside = Bedside("practise")
    bedside.report(*(step.id for step in WALK.steps if step.critical))
    assert not [out for out in bedside.coach.before_finish(bedside.now) if isinstance(out, Cued)]


def test_starting_over_forgets_all_but_the_numbers_of_cues() -> None:
    bedside = Bedside("rehearse")
    first = bedside.report(*before("dizzy", "lock-wheels"))
    bedside.coach.start_over()
    second = bedside.report(*before("dizzy", "lock-wheels"))
    assert cues(first) == cues(second) == [("missed", ("lock-wheels",), 1)]
    assert [event.cue for event in (*first, *second) if isinstance(event, Cued)] == [1, 2]


@pytest.mark.parametrize("mode", MODES)
def test_the_closing_words_come_in_every_mode(mode: str) -> None:
    assert cues(Coach(WALK, mode).close(60.0, "Passed.")) == [("closing", (), 0)]

"""Following a whole attempt: orders that obey the procedure give no fault, what is left out is reported."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import Phase, given, note, settings
from hypothesis import strategies as st

from tests.narrated import Narrated, procedure
from voicecoach.coaching.debrief import Debrief, debrief
from voicecoach.events import Cued, Word
from voicecoach.following.expectation import Expectation, Standing
from voicecoach.following.tracker import WIDTH, Tracker
from voicecoach.following.trust import trust
from voicecoach.following.weights import weights
from voicecoach.procedure import library
from voicecoach.procedure.order import needs, ready

Spoken = list[tuple[str, str]]
"""Step ids in the order in which they are said, each with the phrase."""

reproducible = settings(
    derandomize=True,
    deadline=None,
    database=None,
    max_examples=12,
    phases=(Phase.explicit, Phase.generate, Phase.shrink),
)
"""Twelve attempts at each procedure for each property."""


@st.composite
def allowed(draw: st.DrawFn, name: str) -> Spoken:
    """The steps of a procedure in an order that it allows, each in a phrase of its own.

    A step that is needed only in some cases may be left out.
    """
    table = needs(procedure(name))
    said: Spoken = []
    passed: set[str] = set()
    while waiting := ready(table, passed):
        step = procedure(name).step(draw(st.sampled_from(waiting)))
        passed.add(step.id)
        if step.when is None or draw(st.booleans()):
            said.append((step.id, draw(st.sampled_from(step.say))))
    return said


@st.composite
def one_left_out(draw: st.DrawFn, name: str) -> tuple[str, Spoken]:
    """A critical step, and an allowed order of all from which it is left out."""
    step = draw(st.sampled_from([step.id for step in procedure(name).steps if step.critical]))
    return step, [(id, phrase) for id, phrase in draw(allowed(name)) if id != step]


def rehearsed(name: str, said: Spoken) -> tuple[Debrief, list[Cued]]:
    """The debrief of a rehearsal, and its cues about something missed or out of order."""
    attempt = Narrated(name, "rehearse")
    attempt.say_all(phrase for _, phrase in said)
    attempt.stop()
    note(f"{name}: {said}")
    cues = [e for e in attempt.events if isinstance(e, Cued) and e.kind in ("missed", "order")]
    return debrief(attempt.events), cues


@pytest.mark.parametrize("name", library.shipped())
def test_an_order_that_obeys_the_procedure_gives_no_fault(name: str) -> None:
    @given(allowed(name))
    @reproducible
    def hold(said: Spoken) -> None:
        result, cues = rehearsed(name, said)
        assert [line.step for line in result.missed] == []
        assert [(need.step, step.step) for need, step in result.out_of_order] == []
        assert [(cue.kind, cue.about) for cue in cues] == []
        assert result.passed

    hold()


@pytest.mark.parametrize("name", library.shipped())
def test_a_critical_step_left_out_is_reported_as_that_step(name: str) -> None:
    @given(one_left_out(name))
    @reproducible
    def hold(case: tuple[str, Spoken]) -> None:
        step, said = case
        result, cues = rehearsed(name, said)
        assert [line.step for line in result.missed] == [step]
        assert {cue.about for cue in cues} <= {(step,)}
        assert not result.passed

    hold()


@pytest.mark.parametrize("name", library.shipped())
def test_the_usual_order_gives_no_fault_whatever_the_phrases(name: str) -> None:
    steps = procedure(name).steps
    phrases = st.tuples(*(st.sampled_from(step.say) for step in steps))

    @given(phrases)
    @settings(reproducible, max_examples=6)
    def hold(said: tuple[str, ...]) -> None:
        result, cues = rehearsed(name, [(step.id, text) for step, text in zip(steps, said, strict=True)])
        assert (result.missed, result.out_of_order, cues) == ((), (), [])

    hold()


# The tracker alone, on a procedure of three steps of which the second needs the first.


def tracker() -> Tracker:
    table = {"one": (), "two": ("one",), "three": ()}
    return Tracker(Expectation(table, [0, 1, 2], weights()))


odds = st.lists(st.floats(-20, 20), min_size=4, max_size=4).map(np.array)


@given(st.lists(odds, max_size=12))
@settings(reproducible, max_examples=60)
def test_probabilities_are_probabilities_whatever_is_heard(clauses: list[np.ndarray]) -> None:
    tracked = tracker()
    for clause in clauses:
        chances = tracked.weigh(clause)
        assert chances.shape == (4,)
        assert np.all(chances >= 0)
        assert np.isclose(chances.sum(), 1)
        done = tracked.done()
        assert np.all((done >= 0) & (done <= 1 + 1e-9))
        assert len(tracked._hypotheses) <= WIDTH


@given(st.lists(odds, max_size=12), st.integers(0, 2), st.sampled_from([0.1, 0.5, 0.9]))
@settings(reproducible, max_examples=60)
def test_a_denial_makes_a_step_less_likely_by_just_that_belief_and_no_other(
    clauses: list[np.ndarray], step: int, belief: float
) -> None:
    tracked = tracker()
    for clause in clauses:
        tracked.weigh(clause)
    before = tracked.done()
    tracked.deny(step, belief)
    expected = before.copy()
    expected[step] *= 1 - belief
    # Hypotheses that are as good as impossible may fall out of those kept.
    assert np.allclose(tracked.done(), expected, atol=1e-3)


def test_a_clear_clause_reports_its_step_and_a_clear_filler_none() -> None:
    tracked = tracker()
    assert tracked.weigh(np.array([30.0, 0.0, 0.0, 0.0])).argmax() == 0
    before = tracked.done()
    assert tracked.weigh(np.array([-30.0, -30.0, -30.0, 0.0])).argmax() == 3
    assert np.allclose(tracked.done(), before, atol=1e-6)
    assert before[0] > 0.99


def test_a_clause_of_which_nothing_was_understood_is_most_likely_what_comes_next() -> None:
    tracked = tracker()
    tracked.weigh(np.array([30.0, 0.0, 0.0, 0.0]))
    # Taken at its word, this is the third step; not understood at all, it is the second.
    clause = np.array([0.0, 0.0, 30.0, 0.0])
    assert tracked.weigh(clause, trust=0.0).argmax() == 1
    again = tracker()
    again.weigh(np.array([30.0, 0.0, 0.0, 0.0]))
    assert again.weigh(clause, trust=1.0).argmax() == 2


def test_where_all_was_about_other_things_a_weak_clause_reports_nothing() -> None:
    weak = np.array([2.5, 0.0, 0.0, 0.0])
    assert tracker().weigh(weak).argmax() == 0
    astray = tracker()
    for _ in range(8):
        astray.weigh(np.array([-30.0, -30.0, -30.0, 0.0]))
    assert astray.weigh(weak).argmax() == 3
    # A clear report still is one, and brings the student back.
    assert astray.weigh(np.array([40.0, 0.0, 0.0, 0.0])).argmax() == 0


@given(st.lists(st.floats(0, 1), min_size=1, max_size=6), st.floats(0, 1))
@settings(reproducible, max_examples=60)
def test_a_clause_is_trusted_the_more_the_surer_its_words_are(confidences: list[float], other: float) -> None:
    def trusted(*sure: float) -> float:
        return trust([Word("soap", 0.0, 0.3, one) for one in sure])

    assert 0 <= trusted(*confidences) <= 1
    less, more = sorted((confidences[0], other))
    assert trusted(less, *confidences[1:]) <= trusted(more, *confidences[1:])
    assert trusted(1.0, 1.0) == 1.0


def test_the_same_clauses_give_the_same_probabilities_to_the_last_bit() -> None:
    random = np.random.default_rng(5)
    clauses = random.normal(0, 5, size=(30, 4))
    one, other = tracker(), tracker()
    assert all(np.array_equal(one.weigh(clause), other.weigh(clause)) for clause in clauses)
    assert np.array_equal(one.done(), other.done())


def test_a_standing_remembers_what_was_done_and_what_last() -> None:
    assert Standing().report(2).report(0) == Standing(frozenset({0, 2}), 0)

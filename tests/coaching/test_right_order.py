"""The order done beside the right one that is nearest to it."""

from __future__ import annotations

from itertools import combinations, permutations

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.coaching.test_debrief import ids, journal
from tests.narrated import procedure
from tests.procedure.examples import plain_step
from tests.procedure.examples import procedure as made
from voicecoach.coaching.debrief import debrief
from voicecoach.coaching.right_order import Compared, compared
from voicecoach.procedure.model import Procedure
from voicecoach.procedure.order import needs

WALK = procedure("gait-belt-walk")
GLOVES = procedure("gown-gloves")


def of(procedure: Procedure, done: list[str]) -> Compared:
    return compared(procedure, debrief(journal(procedure, done)))


def column(both: Compared, *states: str) -> list[str]:
    return [row.step for row in both.rows if row.state in states]


def graph(procedure: Procedure, steps: list[str]) -> nx.DiGraph:
    """What needs what among some steps, as networkx has it."""
    wanted = nx.DiGraph()
    wanted.add_nodes_from(steps)
    table = needs(procedure)
    wanted.add_edges_from((need, step) for step in steps for need in table[step] if need in steps)
    return wanted


def right(procedure: Procedure, order: list[str]) -> bool:
    """Whether an order is a topological one of the needs."""
    place = {step: number for number, step in enumerate(order)}
    return all(place[need] < place[step] for need, step in graph(procedure, order).edges)


@pytest.mark.parametrize("of_", [WALK, GLOVES])
@given(data=st.data())
def test_the_right_column_is_right_and_the_left_as_done_whatever_was_done(
    of_: Procedure, data: st.DataObject
) -> None:
    done = data.draw(st.lists(st.sampled_from(ids(of_)), unique=True))
    both = of(of_, done)
    assert column(both, "kept", "done") == done
    needed = column(both, "kept", "belongs", "missing")
    assert sorted(needed) == sorted({*done, *(step.id for step in of_.steps if step.when is None)})
    assert right(of_, [step for step in needed if step in done])
    assert sorted(one.step for one in both.moved) == sorted(column(both, "belongs"))
    assert sorted(column(both, "done")) == sorted(column(both, "belongs"))


@pytest.mark.parametrize("of_", [WALK, GLOVES])
@given(data=st.data())
def test_something_is_moved_if_and_only_if_something_was_out_of_order(
    of_: Procedure, data: st.DataObject
) -> None:
    done = data.draw(st.permutations(ids(of_)))
    told = debrief(journal(of_, done))
    assert bool(compared(of_, told).moved) == bool(told.out_of_order)


def test_of_few_steps_no_more_are_moved_than_must_be() -> None:
    # By brute force over all right orders, as networkx lists them: the longest run that keeps its order.
    small = made(
        plain_step("a"),
        plain_step("b", after=["a"]),
        plain_step("c", after=["b"]),
        plain_step("d", after=["a"]),
        plain_step("e"),
    )
    worse = 0
    for done in permutations("abcde"):
        kept = max(
            max(len(some) for some in _subsequences(order) if _in_order(some, done))
            for order in nx.all_topological_sorts(graph(small, list(done)))
        )
        worse += 5 - len(of(small, list(done)).moved) < kept
    assert worse == 0


def _subsequences(order: list[str]) -> list[tuple[str, ...]]:
    return [some for length in range(len(order) + 1) for some in combinations(order, length)]


def _in_order(some: tuple[str, ...], done: tuple[str, ...]) -> bool:
    return list(some) == [step for step in done if step in some]


def test_steps_that_nothing_orders_stand_where_the_student_did_them() -> None:
    done = ["call-light", "shoes", *ids(WALK, "call-light", "shoes")]
    both = of(WALK, done)
    assert [(row.step, row.state) for row in both.rows] == [(step, "kept") for step in done]


def test_a_step_that_came_too_late_belongs_before_what_needed_it() -> None:
    done = ids(WALK, "lock-wheels")
    done.insert(done.index("dizzy"), "lock-wheels")
    both = of(WALK, done)
    assert [(one.step, one.late, one.other) for one in both.moved] == [("lock-wheels", True, "sit-edge")]
    place = [row.step for row in both.rows].index("lock-wheels")
    assert [(row.step, row.state) for row in both.rows[place : place + 3]] == [
        ("lock-wheels", "belongs"),
        ("sit-edge", "kept"),
        ("lock-wheels", "done"),
    ]


def test_a_step_that_came_too_early_belongs_after_what_it_needs() -> None:
    done = ["clean-hands-end", *ids(WALK, "clean-hands-end")]
    (moved,) = of(WALK, done).moved
    assert (moved.step, moved.late, moved.other) == ("clean-hands-end", False, "sit-back")


def test_the_last_step_said_first_is_one_fault_and_not_all_others() -> None:
    done = [ids(GLOVES)[-1], *ids(GLOVES)[:-1]]
    assert GLOVES.steps[-1].last
    assert [(one.step, one.late) for one in of(GLOVES, done).moved] == [(done[0], False)]


@pytest.mark.parametrize("left_out", ids(WALK))
def test_what_is_missing_stands_where_it_is_usual(left_out: str) -> None:
    both = of(WALK, ids(WALK, left_out))
    assert [row.step for row in both.rows] == ids(WALK)
    assert [row.state for row in both.rows if row.step == left_out] == ["missing"]


def test_what_is_missing_stands_before_what_needs_it_wherever_that_was_done() -> None:
    done = ["sit-edge", *ids(WALK, "sit-edge", "bed-low", "lock-wheels")]
    needed = column(of(WALK, done), "kept", "belongs", "missing")
    assert needed.index("bed-low") < needed.index("sit-edge") > needed.index("lock-wheels")


def test_a_step_only_needed_in_some_cases_is_not_missing() -> None:
    intake = procedure("fluid-intake")
    both = of(intake, ids(intake, "convert"))
    assert "convert" not in [row.step for row in both.rows]


def test_where_nothing_was_done_all_is_missing() -> None:
    both = of(WALK, [])
    assert [(row.step, row.state) for row in both.rows] == [(step, "missing") for step in ids(WALK)]
    assert both.moved == ()

"""The partial order against networkx, and against a second computation of the faults."""

from __future__ import annotations

import itertools

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.procedure.examples import SHIPPED, graph, plain_step, procedure, reproducible, required, shipped
from voicecoach.procedure.model import Procedure
from voicecoach.procedure.order import cycle, faults, needs, ready

Table = dict[str, tuple[str, ...]]
NAMES = "abcdefgh"


@st.composite
def tables(draw: st.DrawFn, ring: bool = True, largest: int = 8) -> Table:
    """What each step needs; without `ring`, drawn so that there is an order."""
    ids = draw(st.permutations(NAMES[: draw(st.integers(1, largest))]))
    made = {}
    for place, id in enumerate(ids):
        possible = [other for other in ids if other != id] if ring else list(ids[:place])
        wanted = draw(st.sets(st.sampled_from(possible), max_size=4)) if possible else set()
        made[id] = tuple(other for other in ids if other in wanted)
    return {id: made[id] for id in sorted(made)}


@st.composite
def procedures(draw: st.DrawFn) -> Procedure:
    """Procedures with a partial order, and some with a first, a last and steps of certain cases only."""
    table = draw(tables(ring=False))
    ids = sorted(table)
    first, last = draw(st.sampled_from([None, *ids])), draw(st.sampled_from([None, *ids]))
    cases = draw(st.sets(st.sampled_from(ids)))
    steps = []
    for id in ids:
        more = {"first": id == first, "last": id == last} | ({"when": "sometimes"} if id in cases else {})
        steps.append(plain_step(id, after=list(table[id]), **more))
    return procedure(*steps)


@reproducible
@given(table=tables())
def test_a_ring_is_found_where_networkx_finds_one(table: Table) -> None:
    ring = cycle(table)
    assert bool(ring) is not nx.is_directed_acyclic_graph(graph(table))
    if ring:
        assert ring[0] == ring[-1]
        assert len(set(ring)) == len(ring) - 1
        assert all(need in table[id] for id, need in itertools.pairwise(ring))


@reproducible
@given(table=tables(ring=False))
def test_no_ring_where_there_is_an_order(table: Table) -> None:
    assert cycle(table) == ()


@pytest.mark.parametrize("length", [1, 2, 3, 5000])
def test_one_ring(length: int) -> None:
    # the long one would exhaust the stack of a recursive search
    table: Table = {f"s{n}": (f"s{(n + 1) % length}",) for n in range(length)}
    assert sorted(cycle(table)[1:]) == sorted(table)
    table["s0"] = ()
    assert cycle(table) == ()


def test_a_need_outside_the_table_makes_no_ring() -> None:
    assert cycle({"a": ("z",), "b": ("a", "z")}) == ()


@reproducible
@given(made=procedures())
def test_needs_are_those_of_a_graph_built_another_way(made: Procedure) -> None:
    expected = nx.DiGraph()
    expected.add_nodes_from(step.id for step in made.steps)
    for one, other in itertools.permutations(made.steps, 2):
        if one.id in other.after or one.first or (other.last and one.when is None):
            expected.add_edge(one.id, other.id)
    table = needs(made)
    assert list(table) == [step.id for step in made.steps]
    assert set(graph(table).edges) == set(expected.edges)
    assert set(nx.transitive_closure(graph(table)).edges) == set(nx.transitive_closure(expected).edges)
    usual = [step.id for step in made.steps]
    assert all(list(wanted) == sorted(wanted, key=usual.index) for wanted in table.values())


def test_first_last_and_cases() -> None:
    made = procedure(
        plain_step("wash", first=True),
        plain_step("pour", after=["wash"]),
        plain_step("ice", when="it is hot"),
        plain_step("serve", last=True),
        plain_step("smile"),
    )
    assert needs(made) == {
        "wash": (),
        "pour": ("wash",),
        "ice": ("wash",),
        "serve": ("wash", "pour", "smile"),
        "smile": ("wash",),
    }


def test_after_itself_and_after_nowhere_are_left_to_the_check() -> None:
    assert needs(procedure(plain_step("a", after=["a", "z"]))) == {"a": ()}


@reproducible
@given(table=tables(ring=False), data=st.data())
def test_ready_is_what_networkx_says(table: Table, data: st.DataObject) -> None:
    order = graph(table)
    done = data.draw(st.sets(st.sampled_from(sorted(table))))
    expected = [id for id in table if id not in done and set(order.predecessors(id)) <= done]
    assert list(ready(table, done)) == expected


@reproducible
@given(table=tables(ring=False), data=st.data())
def test_taking_what_is_ready_leads_through_every_step_in_a_valid_order(
    table: Table, data: st.DataObject
) -> None:
    order = graph(table)
    done: list[str] = []
    while possible := ready(table, done):
        done.append(data.draw(st.sampled_from(possible)))
        assert nx.ancestors(order, done[-1]) <= set(done), "what a need needs is done too"
    assert sorted(done) == sorted(table)
    assert faults(table, {id: float(at) for at, id in enumerate(done)}) == ()


@reproducible
@given(table=tables(largest=8))
def test_steps_in_a_ring_and_after_it_never_get_ready(table: Table) -> None:
    done: set[str] = set()
    while possible := ready(table, done):
        done.update(possible)
    order = graph(table)
    ringed = {id for part in nx.strongly_connected_components(order) if len(part) > 1 for id in part}
    stuck = ringed | {below for id in ringed for below in nx.descendants(order, id)}
    assert done == set(table) - stuck


@reproducible
@given(table=tables(), data=st.data())
def test_faults_against_a_second_computation(table: Table, data: st.DataObject) -> None:
    # few different times, so that some steps are reported at the same moment
    times = st.integers(0, 4).map(float)
    reported = data.draw(st.dictionaries(st.sampled_from(sorted(table)), times))
    # the second way: go through time, and blame each step for the needs that are reported only afterwards
    expected = set()
    for moment in sorted(set(reported.values())):
        now = {id for id, at in reported.items() if at == moment}
        still_to_come = {id for id, at in reported.items() if at > moment}
        expected |= {(need, id) for need, id in graph(table).out_edges(still_to_come) if id in now}
    found = faults(table, reported)
    assert set(found) == expected
    assert len(found) == len(expected)
    places = list(table)
    assert [id for _, id in found] == sorted((id for _, id in found), key=places.index)


@reproducible
@given(table=tables(ring=False, largest=5))
def test_the_orders_without_faults_are_the_topological_sorts(table: Table) -> None:
    without = {
        order
        for order in itertools.permutations(table)
        if not faults(table, {id: float(at) for at, id in enumerate(order)})
    }
    assert without == {tuple(order) for order in nx.all_topological_sorts(graph(table))}


def test_what_is_left_out_or_at_the_same_moment_is_not_out_of_order() -> None:
    table = {"a": (), "b": ("a",), "c": ("a", "b")}
    assert faults(table, {}) == ()
    assert faults(table, {"c": 1.0}) == ()
    assert faults(table, {"a": 1.0, "b": 1.0, "c": 1.0}) == ()
    assert faults(table, {"a": 3.0, "b": 2.0, "c": 1.0}) == (("a", "b"), ("a", "c"), ("b", "c"))
    assert faults(table, {"a": 3.0, "c": 1.0, "elsewhere": 0.0}) == (("a", "c"),)


@pytest.mark.parametrize("id", SHIPPED)
def test_shipped_procedures_have_an_order_and_the_usual_one_is_valid(id: str) -> None:
    made = shipped(id)
    table = needs(made)
    assert nx.is_directed_acyclic_graph(graph(table))
    usual = {step.id: float(at) for at, step in enumerate(made.steps)}
    assert faults(table, usual) == ()
    for step in made.steps:
        assert set(step.after) <= required(made, step.id)
        # put at the very beginning, it is at fault with everything it directly needs, and nothing else is
        moved = faults(table, usual | {step.id: -1.0})
        assert set(moved) == {(need, step.id) for need in table[step.id]}

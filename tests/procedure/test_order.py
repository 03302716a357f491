"""The partial order against networkx, the reference library for graphs."""

from __future__ import annotations

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st

from voicecoach.procedure import library, order

IDS = [f"s{number}" for number in range(8)]
TABLES = st.fixed_dictionaries(
    {id: st.lists(st.sampled_from(IDS), unique=True, max_size=3).map(tuple) for id in IDS}
)


def graph(table: order.Needs) -> nx.DiGraph[str]:
    """Edges from what is needed to what needs it."""
    made: nx.DiGraph[str] = nx.DiGraph()
    made.add_nodes_from(table)
    made.add_edges_from((need, id) for id, wanted in table.items() for need in wanted)
    return made


@given(TABLES)
def test_a_ring_is_found_where_networkx_finds_one(table: dict[str, tuple[str, ...]]) -> None:
    ring = order.cycle(table)
    assert bool(ring) != nx.is_directed_acyclic_graph(graph(table))
    assert all(need in table[id] for id, need in zip(ring, ring[1:], strict=False))
    assert not ring or ring[0] == ring[-1]


def test_the_shipped_orders_have_no_ring_and_their_usual_order_is_allowed() -> None:
    for name in library.shipped():
        procedure = library.find(name)
        table = order.needs(procedure)
        assert nx.is_directed_acyclic_graph(graph(table)), name
        usual = {step.id: float(place) for place, step in enumerate(procedure.steps)}
        assert order.faults(table, usual) == (), name


@given(st.data())
def test_what_is_ready_next_leads_through_the_whole_procedure(data: st.DataObject) -> None:
    table = order.needs(library.find(data.draw(st.sampled_from(["hand-rub", "wash-hands", "full-ppe"]))))
    whole = graph(table)
    done: list[str] = []
    while len(done) < len(table):
        now = order.ready(table, done)
        # networkx: all ancestors of a step that is ready have been done.
        assert all(nx.ancestors(whole, id) <= set(done) for id in now)
        done.append(data.draw(st.sampled_from(now)))
    assert order.faults(table, {id: float(place) for place, id in enumerate(done)}) == ()


@given(st.data())
def test_faults_are_the_edges_that_an_order_reverses(data: st.DataObject) -> None:
    table = order.needs(library.find("gait-belt-walk"))
    said = data.draw(st.permutations(list(table)))[: data.draw(st.integers(0, len(table)))]
    when = {id: float(place) for place, id in enumerate(said)}
    edges = {(need, id) for need, id in graph(table).edges if need in when and id in when}
    assert set(order.faults(table, when)) == {(need, id) for need, id in edges if when[need] > when[id]}

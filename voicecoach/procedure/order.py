"""The partial order of a procedure: which steps need which.

A step needs the steps in its `after`; every step needs the one that is `first`, and the one that is
`last` needs every step that is not bound to a case. Steps that nothing orders may come at any time.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

from voicecoach.procedure.model import Procedure

Needs = Mapping[str, tuple[str, ...]]
"""Step id to the ids it directly needs, in the usual order."""


def needs(procedure: Procedure) -> dict[str, tuple[str, ...]]:
    """What each step directly needs."""
    ids = [step.id for step in procedure.steps]
    first = {step.id for step in procedure.steps if step.first}
    last = {step.id for step in procedure.steps if step.last}
    bound = {step.id for step in procedure.steps if step.when is not None}
    table: dict[str, tuple[str, ...]] = {}
    for step in procedure.steps:
        wanted = set(step.after)
        if step.id not in first:
            wanted |= first
        if step.id in last:
            wanted |= set(ids) - last - bound
        table[step.id] = tuple(id for id in ids if id in wanted and id != step.id)
    return table


def cycle(table: Needs) -> tuple[str, ...]:
    """Ids of steps that need each other in a ring, first and last the same; empty where there is none."""
    done: set[str] = set()
    for start in table:
        path: list[str] = []
        on_path: set[str] = set()
        stack: list[tuple[str, bool]] = [(start, False)]
        while stack:
            id, leaving = stack.pop()
            if leaving:
                on_path.discard(path.pop())
                done.add(id)
            elif id in on_path:
                return (*path[path.index(id) :], id)
            elif id not in done:
                path.append(id)
                on_path.add(id)
                stack.append((id, True))
                stack.extend((wanted, False) for wanted in table.get(id, ()))
    return ()


def ready(table: Needs, done: Collection[str]) -> tuple[str, ...]:
    """Steps not done whose needs are all done, in the usual order."""
    return tuple(
        id for id, wanted in table.items() if id not in done and all(need in done for need in wanted)
    )


def faults(table: Needs, reported: Mapping[str, float]) -> tuple[tuple[str, str], ...]:
    """Pairs (required, step) of which `step` was reported first.

    `reported` maps step ids to when they were first reported; steps not in it were not reported, and
    make no pair: they are omitted, not out of order.
    """
    return tuple(
        (need, id)
        for id, wanted in table.items()
        for need in wanted
        if id in reported and need in reported and reported[need] > reported[id]
    )

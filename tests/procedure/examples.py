"""Procedures for these tests: small ones made of plain values, and those that come with voicecoach."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

import networkx as nx
from hypothesis import settings

from voicecoach.procedure import library
from voicecoach.procedure.model import Procedure
from voicecoach.procedure.order import faults, needs

reproducible = settings(derandomize=True, deadline=None, database=None, max_examples=60)

SHIPPED = (
    "bed-to-wheelchair",
    "blood-pressure",
    "drainage-bag",
    "dress-weak-arm",
    "fluid-balance",
    "fluid-intake",
    "full-ppe",
    "gait-belt-walk",
    "gown-gloves",
    "hand-rub",
    "meal-intake",
    "mouth-care",
    "pulse-breaths",
    "temperature",
    "wash-hands",
    "weigh-standing",
)
"""The procedures that must come with voicecoach."""


def plain_step(id: str, **more: Any) -> dict[str, Any]:
    """A step as plain values, with nothing but what it must have and `more`."""
    cue = {"nudge": f"What of {id}?", "hint": f"Look at {id}.", "step": f"Do {id}."}
    return {"id": id, "do": f"Do {id}", "why": "It matters.", "say": [f"doing {id}"], "cue": cue} | more


def plain_avoid(id: str, **more: Any) -> dict[str, Any]:
    """Something to be avoided as plain values, with nothing but what it must have and `more`."""
    return {"id": id, "do": f"Not {id}", "why": "It harms.", "say": [f"oops {id}"], "cue": "Mend it."} | more


def plain_procedure(*steps: dict[str, Any], **more: Any) -> dict[str, Any]:
    """A procedure of these steps as plain values."""
    return {"id": "tea", "title": "Make tea", "scene": "You make tea.", "steps": list(steps)} | more


def procedure(*steps: dict[str, Any], **more: Any) -> Procedure:
    """A procedure of these steps."""
    return Procedure.model_validate(plain_procedure(*steps, **more))


@cache
def shipped(id: str) -> Procedure:
    """One of the procedures that come with voicecoach; loading takes a while, so each is loaded once."""
    return library.as_shipped(id)


def graph(table: Mapping[str, tuple[str, ...]]) -> Any:
    """The order as a networkx graph, an edge from what is required to what requires it."""
    made = nx.DiGraph()
    made.add_nodes_from(table)
    made.add_edges_from((need, id) for id, wanted in table.items() for need in wanted)
    return made


def required(procedure: Procedure, id: str) -> set[str]:
    """Every step that must come before this one, however many steps lie between."""
    return set(nx.ancestors(graph(needs(procedure)), id))


def out_of_order(procedure: Procedure, *moments: str) -> tuple[tuple[str, str], ...]:
    """The faults of order when these are reported one after the other; `a+b` is two at one moment."""
    reported = {id: float(at) for at, moment in enumerate(moments) for id in moment.split("+")}
    unknown = set(reported) - {step.id for step in procedure.steps}
    assert not unknown, f"{procedure.id} has no step {unknown}"
    return faults(needs(procedure), reported)


def changed(text: str, *changes: tuple[str, str]) -> str:
    """A text with parts of it, each of which must stand in it once, replaced."""
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} must stand once in the text"
        text = text.replace(old, new)
    return text

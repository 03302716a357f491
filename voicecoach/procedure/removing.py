"""Taking steps out of a procedure without a change of the order among the others."""

from __future__ import annotations

from collections.abc import Collection

from voicecoach.procedure.model import Procedure
from voicecoach.procedure.order import Needs, needs


def without(procedure: Procedure, gone: Collection[str]) -> Procedure:
    """The procedure without steps or things to avoid; the order among all the others stays what it was.

    A step that needed one that is gone needs what that one needed, so far as it does not by another way.
    What else names one that is gone still does.
    """
    avoid = tuple(avoid for avoid in procedure.avoid if avoid.id not in gone)
    for id in (step.id for step in procedure.steps if step.id in gone):
        procedure = _bridged(procedure, id)
    return procedure.model_copy(update={"avoid": avoid})


def _bridged(procedure: Procedure, gone: str) -> Procedure:
    """The procedure without one step."""
    table = needs(procedure)
    after = {step.id: [id for id in step.after if id != gone] for step in procedure.steps if step.id != gone}

    def left() -> Procedure:
        steps = (
            step.model_copy(update={"after": tuple(after[step.id])})
            for step in procedure.steps
            if step.id != gone
        )
        return procedure.model_copy(update={"steps": tuple(steps)})

    for id in after:
        if gone in table[id]:
            # The nearest first: what these need is needed through them.
            for need in reversed(table[gone]):
                if need not in _before(needs(left()), id):
                    after[id] = [other for other in after if other in (*after[id], need)]
    return left()


def _before(table: Needs, id: str) -> set[str]:
    """All that must come before a step, however many steps lie between."""
    found: set[str] = set()
    waiting = [*table[id]]
    while waiting:
        if (need := waiting.pop()) not in found:
            found.add(need)
            waiting.extend(table[need])
    return found

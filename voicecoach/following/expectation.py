"""What may be reported next, from where the attempt stands, and how a clause then reads."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voicecoach.following.evidence import STAGES, Evidence
from voicecoach.following.weights import Weights
from voicecoach.procedure.order import Needs

Numbers = NDArray[np.float64]
STEP_FEATURES = ("content", "own", "lead", "report", "same", "done", "unmet", "next", "skipped", "back")
NONE_FEATURES = (
    "content", "lead", "none", "chat", "request", "later", "undone", "avoiding", "mishap", "avoid", "short",
)  # fmt: skip

FAR = 4
"""Open steps passed over that count: a clear report is taken however far from its usual place it comes."""
VERBATIM_OWN = 4.0
"""How much less the other steps' own likeness counts where a clause is one step's phrase word for word."""
CAUTION = 0.5
"""Added to the log-odds of nothing: a step taken by mistake costs more than one taken late."""


@dataclass(frozen=True, slots=True)
class Standing:
    """Where an attempt stands, by one hypothesis."""

    done: frozenset[int] = frozenset()
    """Places of the steps reported, in the usual order."""
    latest: int = -1
    """Place of the step reported last; -1 before the first."""

    def report(self, step: int) -> Standing:
        """Where it stands after that step."""
        return Standing(self.done | {step}, step)


def history(standing: Standing, needs: Sequence[Sequence[int]]) -> Numbers:
    """Features of each step from the standing: same, done, unmet, next, skipped, back; shape (steps, 6)."""
    table = np.zeros((len(needs), 6))
    open_after = 0
    for step, wanted in enumerate(needs):
        if step in standing.done:
            table[step, 0] = step == standing.latest
            table[step, 1] = step != standing.latest
            continue
        table[step, 2] = min(3, sum(need not in standing.done for need in wanted))
        if step < standing.latest:
            table[step, 5] = 1
        else:
            table[step, 3] = open_after == 0
            table[step, 4] = np.log1p(min(open_after, FAR))
            open_after += 1
    return table


def reading(evidence: Evidence, actions: Sequence[int]) -> tuple[Numbers, Numbers]:
    """Features that come from the clause: of each step (content, own, lead, report), and of nothing (all).

    `actions` numbers the action of each step: a step and the same one done again share most of what is
    said of them, so that their likeness is counted together, and `own` is the rest that tells them apart.
    """
    together = np.zeros(max(actions) + 2)
    np.add.at(together, list(actions), evidence.steps)
    together[-1] = evidence.none
    best = int(together.argmax())
    second = np.delete(together, best).max()
    leads = together - np.where(np.arange(len(together)) == best, second, together[best])
    content = together[list(actions)]
    report = evidence.stage[0] - evidence.stage[1:].max()
    own = evidence.steps - content
    if evidence.verbatim is not None:
        own[np.arange(len(own)) != evidence.verbatim] -= VERBATIM_OWN
    steps = np.column_stack([content, own, leads[list(actions)], np.full(len(actions), report)])
    stage = dict(zip(STAGES, evidence.stage, strict=True))
    none = [
        evidence.none, leads[-1], 1.0, stage["chat"], stage["request"], stage["later"], stage["undone"],
        stage["avoiding"], stage["mishap"], evidence.avoid.max(initial=0.0), 1 / len(evidence.clause.words),
    ]  # fmt: skip
    return steps, np.array(none)


class Expectation:
    """Turns evidence and standing into probabilities of what was reported."""

    def __init__(self, needs: Needs, actions: Sequence[int], weights: Weights) -> None:
        """`actions` numbers the action of each step from 0, the same for an action done again."""
        self.actions = tuple(actions)
        place = {id: index for index, id in enumerate(needs)}
        self.needs = [tuple(place[need] for need in wanted) for wanted in needs.values()]
        self._step_weights = np.array([getattr(weights, name) for name in STEP_FEATURES])
        self._none_weights = np.array([getattr(weights, name) for name in NONE_FEATURES])
        self._known: dict[Standing, Numbers] = {}

    def log_odds(self, evidence: Evidence) -> Numbers:
        """What the clause itself speaks for; shape (steps + 1), the last for nothing."""
        steps, none = reading(evidence, self.actions)
        return np.append(steps @ self._step_weights[:4], none @ self._none_weights + CAUTION)

    def log_probabilities(self, log_odds: Numbers, standing: Standing) -> Numbers:
        """With where the attempt stands; shape (steps + 1), the last for nothing."""
        if standing not in self._known:
            self._known[standing] = np.append(history(standing, self.needs) @ self._step_weights[4:], 0.0)
        total = log_odds + self._known[standing]
        top = total.max()
        return np.asarray(total - top - np.log(np.exp(total - top).sum()))

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
NOTHING_UNHEARD = -3.0
"""Log odds that a clause of which no word is understood is about nothing."""
VERBATIM_OWN = 4.0
"""How much less the other steps' own likeness counts where a clause is one step's phrase word for word."""


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


def history(standings: Sequence[Standing], needs: NDArray[np.float32]) -> Numbers:
    """Features of each step from each standing: same, done, unmet, next, skipped, back.

    `needs` has a 1 where the step of the row needs that of the column; shape (standings, steps, 6).
    """
    count = needs.shape[0]
    done = np.zeros((len(standings), count), dtype=bool)
    for row, standing in zip(done, standings, strict=True):
        row[list(standing.done)] = True
    latest = np.array([standing.latest for standing in standings])[:, None]
    places = np.arange(count)
    ahead = ~done & (places > latest)
    passed_over: NDArray[np.int64] = np.cumsum(ahead, axis=1) - ahead
    table = np.empty((*done.shape, 6))
    table[..., 0] = done & (places == latest)
    table[..., 1] = done & (places != latest)
    table[..., 2] = ~done * np.minimum(3, ~done @ needs.T)
    table[..., 3] = ahead & (passed_over == 0)
    table[..., 4] = ahead * np.log1p(np.minimum(passed_over, FAR))
    table[..., 5] = ~done & (places < latest)
    return table


def reading(evidence: Sequence[Evidence], actions: Sequence[int]) -> tuple[Numbers, Numbers]:
    """Features that come from each clause: of each step (content, own, lead, report), and of nothing (all).

    `actions` numbers the action of each step: a step and the same one done again share most of what is
    said of them, so that their likeness is counted together, and `own` is the rest that tells them apart.
    Shapes (clauses, steps, 4) and (clauses, 11).
    """
    likeness = np.stack([one.steps for one in evidence])
    together = np.zeros((len(evidence), max(actions) + 2))
    np.add.at(together.T, np.array(actions), likeness.T)
    together[:, -1] = [one.none for one in evidence]
    second, best = np.partition(together, -2, axis=1)[:, -2:].T[..., None]
    leads = together - np.where(together == best, second, best)
    content = together[:, list(actions)]
    own = likeness - content
    for row, one in zip(own, evidence, strict=True):
        if one.verbatim is not None:
            row[np.arange(len(row)) != one.verbatim] -= VERBATIM_OWN
    stage = np.stack([one.stage for one in evidence])
    report = np.broadcast_to((stage[:, 0] - stage[:, 1:].max(axis=1))[:, None], content.shape)
    steps = np.stack([content, own, leads[:, list(actions)], report], axis=-1)
    staged = dict(zip(STAGES, stage.T, strict=True))
    none = np.column_stack([
        together[:, -1], leads[:, -1], np.ones(len(evidence)), staged["chat"], staged["request"],
        staged["later"], staged["undone"], staged["avoiding"], staged["mishap"],
        [one.avoid.max(initial=0.0) for one in evidence], [1 / len(one.clause.words) for one in evidence],
    ])  # fmt: skip
    return steps, none


class Expectation:
    """Turns evidence and standing into probabilities of what was reported."""

    def __init__(self, needs: Needs, actions: Sequence[int], weights: Weights) -> None:
        """`actions` numbers the action of each step from 0, the same for an action done again."""
        self.actions = tuple(actions)
        self.needs = needed(needs)
        self._step_weights = np.array([getattr(weights, name) for name in STEP_FEATURES])
        self._none_weights = np.array([getattr(weights, name) for name in NONE_FEATURES])

    @property
    def steps(self) -> int:
        """Number of steps."""
        return len(self.actions)

    def log_odds(self, evidence: Sequence[Evidence]) -> Numbers:
        """What each clause itself speaks for; shape (clauses, steps + 1), the last for nothing."""
        steps, none = reading(evidence, self.actions)
        return np.column_stack([steps @ self._step_weights[:4], none @ self._none_weights])

    def log_probabilities(
        self, log_odds: Numbers, standings: Sequence[Standing], trust: float = 1.0, astray: float = 0.0
    ) -> Numbers:
        """A clause with where the attempt stands; shape (standings, steps + 1), the last for nothing.

        `trust` is the probability that the clause was heard well enough to be understood. If it was not,
        all that is known is that something was said, which then is most likely what comes next. `astray`
        are the log odds by which nothing is likelier than usual.
        """
        unheard = np.zeros((len(standings), self.steps + 1))
        unheard[:, :-1] = history(standings, self.needs) @ self._step_weights[4:]
        unheard[:, -1] = astray
        understood = np.exp(_normal(unheard + log_odds))
        unheard[:, -1] += NOTHING_UNHEARD
        return np.asarray(np.log(trust * understood + (1 - trust) * np.exp(_normal(unheard)) + 1e-300))


def _normal(log_odds: Numbers) -> Numbers:
    """Log odds as log probabilities, each row by itself."""
    less = log_odds - log_odds.max(axis=1, keepdims=True)
    return np.asarray(less - np.log(np.exp(less).sum(axis=1, keepdims=True)))


def needed(needs: Needs) -> NDArray[np.float32]:
    """Which step needs which, as a table of ones; shape (steps, steps)."""
    place = {id: index for index, id in enumerate(needs)}
    table = np.zeros((len(needs), len(needs)), np.float32)
    for row, wanted in zip(table, needs.values(), strict=True):
        row[[place[need] for need in wanted]] = 1
    return table

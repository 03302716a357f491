"""Keeps several hypotheses of what has been done, and tells what is sure.

Each clause may report one of the steps or nothing. A hypothesis is a standing and its probability;
each clause is weighed with what each hypothesis expects, so that an unclear clause is understood by
its place, and a clear one that comes later can still change how an unclear one was read.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voicecoach.following.expectation import Expectation, Standing

WIDTH = 24
"""Hypotheses kept."""
BRANCH = 4
"""Readings of a clause that each hypothesis is carried on with."""
FEW = 0.45
"""Share of the clauses about the procedure from which the student is astray, talking about other things."""
ASTRAY = 4.0
"""How much likelier nothing is for each unit of the log odds of that share below those of FEW."""
MOST = 5.0
"""The same at most: a clear report is one whatever was talked about before."""
BEGINNING = 0.5
"""The same before anything was said."""
LATELY = 1 / 5
"""What one more clause counts in the share of late."""


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """One way to understand all that was said."""

    standing: Standing
    """What has been done."""
    weight: float
    """Log probability, less that of the best hypothesis."""


class Tracker:
    """The hypotheses of one attempt."""

    def __init__(self, expectation: Expectation) -> None:
        self._expectation = expectation
        self._hypotheses = [Hypothesis(Standing(), 0.0)]
        self._share = BEGINNING
        """Of the clauses of late, how many were about the procedure."""

    def weigh(self, log_odds: NDArray[np.float64], trust: float = 1.0) -> NDArray[np.float64]:
        """Take a clause; the probability that it reports each step, or (last) nothing new or nothing at all.

        `log_odds` is what `Expectation.log_odds` makes of the clause, `trust` the probability that it was
        heard well enough for that.
        """
        standings = [hypothesis.standing for hypothesis in self._hypotheses]
        weights = np.array([[hypothesis.weight] for hypothesis in self._hypotheses])
        # Where little of late was about the procedure, this is not likely to be, either.
        astray = min(MOST, ASTRAY * max(0.0, _log_odds(FEW) - _log_odds(self._share)))
        chances = weights + self._expectation.log_probabilities(log_odds, standings, trust, astray)
        grown: dict[Standing, float] = {}
        likeliest = np.argsort(-chances, axis=1, kind="stable")[:, :BRANCH]
        for before, places, row in zip(standings, likeliest.tolist(), chances, strict=True):
            for place in places:
                standing = before.report(place) if place < self._expectation.steps else before
                grown[standing] = float(np.logaddexp(grown.get(standing, -np.inf), row[place]))
        self._keep(grown)
        reported = np.exp(chances).sum(axis=0)
        # By the clause taken at its word, or whoever talks on and on unintelligibly would seem to go on well.
        at_its_word = self._expectation.log_probabilities(log_odds, standings[:1])
        self._share += LATELY * (1 - float(np.exp(at_its_word[0, -1])) - self._share)
        return np.asarray(reported / reported.sum())

    def done(self) -> NDArray[np.float64]:
        """Probability that each step has been reported; shape (steps)."""
        chances = np.zeros(self._expectation.steps)
        for hypothesis in self._hypotheses:
            chances[list(hypothesis.standing.done)] += np.exp(hypothesis.weight)
        total = sum(np.exp(hypothesis.weight) for hypothesis in self._hypotheses)
        return np.asarray(chances / total)

    def deny(self, step: int, belief: float) -> None:
        """Take that the student says a step is not done, which is true with probability `belief`."""
        grown: dict[Standing, float] = {}
        for hypothesis in self._hypotheses:
            standing = hypothesis.standing
            if step not in standing.done:
                grown[standing] = float(np.logaddexp(grown.get(standing, -np.inf), hypothesis.weight))
                continue
            kept = hypothesis.weight + np.log1p(-belief)
            grown[standing] = float(np.logaddexp(grown.get(standing, -np.inf), kept))
            without = Standing(standing.done - {step}, standing.latest)
            grown[without] = float(
                np.logaddexp(grown.get(without, -np.inf), hypothesis.weight + np.log(belief))
            )
        self._keep(grown)

    def _keep(self, grown: dict[Standing, float]) -> None:
        """Keep the best; equal ones in a fixed order, so that a replay is exact."""

        def rank(item: tuple[Standing, float]) -> tuple[float, Sequence[int], int]:
            return (-item[1], sorted(item[0].done), item[0].latest)

        best = sorted(grown.items(), key=rank)[:WIDTH]
        top = best[0][1]
        self._hypotheses = [Hypothesis(standing, weight - top) for standing, weight in best]


def _log_odds(share: float) -> float:
    """Log odds of a share, which may be all or nothing."""
    return math.log(max(share, 1e-9)) - math.log(max(1 - share, 1e-9))

"""Exact chances: of passing a procedure from those of its steps, and a test of procedures drawn at random.

Both are linear in the chance of each single step. So the chance that comes of expected chances is the
expected chance, and needs no simulation. All is computed for many rows at once, each row being one set of
chances.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import comb

import numpy as np
from numpy.typing import NDArray

from voicecoach.procedure.model import Procedure

Chances = NDArray[np.float64]
"""Numbers from 0 to 1."""
ARISES = 0.5
"""How often the case comes up in which a step with `when` is needed: even odds, since nothing the student
does decides it. common practice, no source"""


@dataclass(frozen=True, slots=True)
class Rule:
    """What it takes to pass a procedure, as the debrief judges it."""

    critical: tuple[bool, ...]
    """Of each step, whether the procedure is not passed without it."""
    always: tuple[bool, ...]
    """Of each step, whether it is needed in every case."""
    share: float
    """Share of the needed steps that must be right, 0 to 1."""

    def may_lack(self, needed: int) -> int:
        """How many of so many needed steps may be lacking."""
        return max(
            lacking
            for lacking in range(needed + 1)
            if not needed or (needed - lacking) / needed >= self.share
        )


def rule(procedure: Procedure) -> Rule:
    """The rule of a procedure."""
    return Rule(
        tuple(step.critical for step in procedure.steps),
        tuple(step.when is None for step in procedure.steps),
        procedure.pass_.share,
    )


def passing(steps: Chances, rule: Rule) -> Chances:
    """The chance of passing a procedure, of each row of chances that its steps are right.

    Steps are taken to go right or wrong independently of each other. Step by step the chance of each number
    that is lacking is carried along, as for a Poisson binomial distribution, and beside it how many of the
    steps with `when` were needed. What passes no more is dropped: a critical step that lacks, and one too
    many.
    """
    always, cases = sum(rule.always), len(rule.always) - sum(rule.always)
    may_lack = [rule.may_lack(always + extra) for extra in range(cases + 1)]
    most = max(may_lack)
    # By row, by steps needed in some cases only, and by steps lacking.
    chances = np.zeros((len(steps), cases + 1, most + 1))
    chances[:, 0, 0] = 1.0
    for place, critical in enumerate(rule.critical):
        right = steps[:, place, None, None]
        well, badly = chances * right, np.zeros_like(chances)
        if not critical:
            badly[:, :, 1:] = chances[:, :, :-1] * (1 - right)
        if rule.always[place]:
            chances = well + badly
        else:
            chances = chances * (1 - ARISES)
            chances[:, 1:] += ARISES * (well + badly)[:, :-1]
    allowed = np.arange(most + 1) <= np.array(may_lack)[:, None]
    return np.asarray((chances * allowed).sum(axis=(1, 2)), dtype=np.float64)


def drawn(procedures: Chances, items: int, must_pass: int, always: int | None) -> Chances:
    """The chance of passing a test, of each row of chances that the procedures of the pool are passed.

    `items` of them are drawn without replacement, every choice as likely, the one at place `always` in
    each; None where there is no such. At least `must_pass` of those drawn must be passed. The sum over all
    choices of the product of their chances is an elementary symmetric polynomial of them, here carried
    along with the number that is not passed. ValueError where more are drawn than there are.
    """
    others = [place for place in range(procedures.shape[1]) if place != always]
    free = items - (always is not None)
    if not 0 <= free <= len(others):
        raise ValueError(f"{items} items cannot be drawn of {procedures.shape[1]}")
    most = items - must_pass
    # By row, by how many have been drawn, and by how many of these are not passed.
    sums = np.zeros((len(procedures), free + 1, most + 1))
    sums[:, 0, 0] = 1.0
    for place in others:
        sums[:, 1:] += _tried(sums[:, :-1], procedures[:, place])
    last = sums[:, free:]
    if always is not None:
        last = _tried(last, procedures[:, always])
    return np.asarray(last.sum(axis=(1, 2)) / comb(len(others), free), dtype=np.float64)


def _tried(sums: Chances, chance: Chances) -> Chances:
    """What becomes of the sums when one more procedure, with that chance in each row, is tried."""
    passed = chance[:, None, None]
    tried = sums * passed
    tried[:, :, 1:] += sums[:, :, :-1] * (1 - passed)
    return tried


def each(chances: Chances, value: float) -> Chances:
    """A row for each of some chances, in which that one alone is of another value."""
    rows = np.tile(chances, (len(chances), 1))
    np.fill_diagonal(rows, value)
    return rows

"""Readiness: the chance of passing a skills test today, and what would raise it most; no finding.

The test draws its items at random without replacement from a pool of procedures, as 42 CFR 483.154(b)(2)
describes; hand washing is always among them where the pool has it (common practice, no source). What a
State takes to pass is its own (42 CFR 483.154(e)); here it is the rule of each procedure, as the debrief
has it: every critical step done and right, and a share of all needed ones. Order does not decide, as it
does not there.

*History.* A step went well where it was done, right, and without a cue, since nobody cues in a test. Only
attempts alone count (`fading.ALONE`), and newer ones weigh more (`fading.weights`).

*Model.* Each step goes well with a chance of its own, of which is known what a beta distribution says: the
weights of the attempts in which it went well or not, added to those of a prior that is worth one attempt.
Its mean is how often the student's steps go well at all, added to `_SHARED` steps of no student in
particular, all critical steps of a procedure going well together with even odds; for a procedure never done
alone it is that or less, so that such a procedure is at best a toss of a coin. Jeffreys' prior, Beta(1/2,
1/2), for each step would say in effect that much is known against a procedure of many steps: ten attempts
without a fault would leave one of eight critical steps at (10.5 / 11)^8, 0.69. That a prior for many
parameters must be judged by what it says of all of them together, see J. O. Berger, J. M. Bernardo and D.
Sun, Overall objective priors, Bayesian Analysis 10, 2015.

*Chances.* Exact (`chances`) for the expected chance of each step, steps and procedures being independent.
The interval comes of draws from the beta distributions, always the same ones. Who is better than the record
shows in one step is mostly so in the others of the procedure, and in other procedures, most of all who is
still learning: the record lags behind. Therefore draws of steps, and then of procedures, are put in such an
order that they go together (R. L. Iman and W. J. Conover, A distribution-free approach to inducing rank
correlation among input variables, Communications in Statistics B 11, 1982). With steps drawn independently
the interval held the true chance of simulated learners in 62 to 100 %, by how they learn and how much they
had practised; so it does in 90 to 100 %, being half as wide again or more (`tests.benchmarks.record`).

More good attempts never lower the chance: an added one weighs at least what it takes from those before it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from voicecoach.procedure.model import Procedure
from voicecoach.records.chances import Chances, Rule, drawn, each, passing, rule
from voicecoach.records.fading import ALONE, weights
from voicecoach.records.progress import in_time
from voicecoach.records.results import Result, StepResult

ITEMS = 5
"""Procedures in a test: common practice, no source."""
HANDS = "wash-hands"
"""The procedure that is always among them."""
LEVEL = 0.9
"""How much of the draws lies within the interval, in their middle."""
TOO_WIDE = 0.5
"""An interval wider than that says too little to name a chance."""
DRAWS = 2000
SEED = 483_154
TOGETHER = 0.8
"""Correlation of the draws of two procedures, as normal scores."""
STEPS_TOGETHER = 0.3
"""Correlation of the draws of two steps of a procedure, likewise."""
_SHARED = 10
"""Steps of no student in particular that the student's own are added to: as many as a short procedure has."""


@dataclass(frozen=True, slots=True)
class Chance:
    """A chance and how sure it is."""

    value: float
    """0 to 1."""
    low: float
    """Lower end of the interval, 0 to 1."""
    high: float
    """Upper end."""

    @property
    def known(self) -> bool:
        """False where there is too little practice to say."""
        return self.high - self.low <= TOO_WIDE


@dataclass(frozen=True, slots=True)
class ProcedureReadiness:
    """One procedure of the pool."""

    procedure: str
    title: str
    alone: int
    """Attempts alone that count."""
    chance: Chance
    """Of passing it."""
    gain: float
    """By how much the chance of passing the test would rise if this procedure were passed surely, 0 to 1."""


@dataclass(frozen=True, slots=True)
class StepReadiness:
    """One step of a procedure of the pool."""

    procedure: str
    title: str
    step: str
    do: str
    critical: bool
    of: int
    """Attempts alone in which it was needed."""
    missed: int
    """In how many of these it was not done."""
    wrong: int
    """Done but not right."""
    prompted: int
    """Right, but after a cue."""
    chance: float
    """That it goes well, 0 to 1."""
    gain: float
    """By how much the chance of passing the test would rise if this step went well surely, 0 to 1."""

    @property
    def well(self) -> int:
        """In how many attempts alone it was done, right and without a cue."""
        return self.of - self.missed - self.wrong - self.prompted


@dataclass(frozen=True, slots=True)
class Readiness:
    """How ready a student is for a skills test."""

    items: int
    """Procedures that the test draws."""
    must_pass: int
    """How many of these must be passed."""
    hands: bool
    """Whether hand washing is always among them."""
    chance: Chance
    """Of passing the test."""
    procedures: tuple[ProcedureReadiness, ...]
    """The pool, what would raise the chance most first."""
    steps: tuple[StepReadiness, ...]
    """All steps of the pool, what would raise the chance most first."""

    @property
    def tried(self) -> tuple[StepReadiness, ...]:
        """The steps of procedures that were done alone; of the others there is nothing to tell."""
        alone = {one.procedure for one in self.procedures if one.alone}
        return tuple(one for one in self.steps if one.procedure in alone)


@dataclass(frozen=True, slots=True)
class _Item:
    """A procedure of the pool with what is known of it."""

    procedure: Procedure
    rule: Rule
    alone: int
    histories: tuple[tuple[StepResult, ...], ...]
    """Of each step what became of it in the attempts alone in which it was needed."""
    well: Chances
    """Of each step the first parameter of its beta distribution."""
    badly: Chances
    """The second."""


def readiness(
    results: Sequence[Result], pool: Sequence[Procedure], items: int = ITEMS, must_pass: int | None = None
) -> Readiness:
    """How ready a student is, from all that came of the student's attempts.

    The test draws `items` procedures, or all where the pool has fewer, of which `must_pass` must be passed,
    or all. Attempts at procedures that are not in the pool have no part. ValueError where it is empty.
    """
    if not pool:
        raise ValueError("the pool is empty")
    known = _known(results, pool)
    items = min(items, len(pool))
    must_pass = items if must_pass is None else min(must_pass, items)
    always = next((place for place, one in enumerate(known) if one.procedure.id == HANDS), None)

    def test(chances: Chances) -> Chances:
        return drawn(chances, items, must_pass, always)

    expected = [one.well / (one.well + one.badly) for one in known]
    chances = np.array([passing(its[None], one.rule)[0] for its, one in zip(expected, known, strict=True)])
    chance = float(test(chances[None])[0])
    draws = _draws(known)
    # The chance of the test is linear in that of each procedure: so much it rises from 0 to 1.
    slopes = test(each(chances, 1.0)) - test(each(chances, 0.0))
    procedures, steps = [], []
    for place, one in enumerate(known):
        its = _interval(float(chances[place]), draws[:, place])
        slope, id, title = float(slopes[place]), one.procedure.id, one.procedure.title
        procedures.append(ProcedureReadiness(id, title, one.alone, its, slope * (1 - its.value)))
        sure = passing(each(expected[place], 1.0), one.rule)
        steps += _steps(one, expected[place], slope * (sure - its.value))
    return Readiness(
        items=items,
        must_pass=must_pass,
        hands=always is not None,
        chance=_interval(chance, test(draws)),
        procedures=tuple(sorted(procedures, key=lambda one: (-one.gain, one.title))),
        steps=tuple(sorted(steps, key=lambda one: -one.gain)),
    )


def even_odds(rule: Rule) -> float:
    """The chance of each critical step with which all go well in one of two; of each step where none is."""
    return float(2 ** (-1 / (sum(rule.critical) or len(rule.critical))))


def went_well(step: StepResult) -> bool:
    """Whether a step went as it must in a test: done, right, and without a cue."""
    return step.done and step.right and step.unprompted


def _known(results: Sequence[Result], pool: Sequence[Procedure]) -> list[_Item]:
    """What is known of each procedure of the pool, by id."""
    alone: dict[str, list[Result]] = {procedure.id: [] for procedure in pool}
    for one in in_time([one for one in results if one.procedure in alone]):
        if one.counts and one.mode in ALONE:
            alone[one.procedure].append(one)
    items = [_item(procedure, alone[procedure.id]) for procedure in sorted(pool, key=lambda one: one.id)]
    well = sum(float(item.well.sum()) for item in items)
    badly = sum(float(item.badly.sum()) for item in items)
    return [_with_prior(item, well, badly) for item in items]


def _item(procedure: Procedure, results: list[Result]) -> _Item:
    """A procedure with the weights of what was seen alone, still without a prior."""
    histories: dict[str, list[StepResult]] = {step.id: [] for step in procedure.steps}
    for one in results:
        for step in one.steps:
            if step.needed and step.step in histories:
                histories[step.step].append(step)
    fading = [np.array(weights(len(history))) for history in histories.values()]
    well = [np.array([went_well(step) for step in history], dtype=bool) for history in histories.values()]
    return _Item(
        procedure=procedure,
        rule=rule(procedure),
        alone=len(results),
        histories=tuple(map(tuple, histories.values())),
        well=np.array([weight[its].sum() for weight, its in zip(fading, well, strict=True)]),
        badly=np.array([weight[~its].sum() for weight, its in zip(fading, well, strict=True)]),
    )


def _with_prior(item: _Item, well: float, badly: float) -> _Item:
    """A procedure with the prior added; `well` and `badly` are the weights of all the student's steps."""
    even = even_odds(item.rule)
    mean = (well + _SHARED * even) / (well + badly + _SHARED)
    if not item.alone:
        mean = min(mean, even)
    return replace(item, well=item.well + mean, badly=item.badly + (1 - mean))


def _draws(known: list[_Item]) -> Chances:
    """Chances of passing each procedure that may be, a row for each draw."""
    chance = np.random.default_rng(SEED)
    draws = np.empty((DRAWS, len(known)))
    for place, one in enumerate(known):
        steps = chance.beta(one.well, one.badly, size=(DRAWS, len(one.well)))
        draws[:, place] = passing(_together(chance, steps, STEPS_TOGETHER), one.rule)
    return _together(chance, draws, TOGETHER)


def _together(chance: np.random.Generator, draws: Chances, correlation: float) -> Chances:
    """The same draws in each column, in an order in which the columns go together so much."""
    common, own = chance.standard_normal((len(draws), 1)), chance.standard_normal(draws.shape)
    ranks = (correlation**0.5 * common + (1 - correlation) ** 0.5 * own).argsort(axis=0).argsort(axis=0)
    return np.take_along_axis(np.sort(draws, axis=0), ranks, axis=0)


def _interval(value: float, draws: Chances) -> Chance:
    """A chance with the middle of its draws."""
    low, high = np.quantile(draws, [(1 - LEVEL) / 2, (1 + LEVEL) / 2])
    return Chance(value, float(low), float(high))


def _steps(one: _Item, chances: Chances, gains: Chances) -> list[StepReadiness]:
    """The steps of a procedure, with their gains."""
    told = []
    for step, history, chance, gain in zip(
        one.procedure.steps, one.histories, chances.tolist(), gains.tolist(), strict=True
    ):
        done = [result for result in history if result.done]
        right = [result for result in done if result.right]
        told.append(
            StepReadiness(
                procedure=one.procedure.id,
                title=one.procedure.title,
                step=step.id,
                do=step.do,
                critical=step.critical,
                of=len(history),
                missed=len(history) - len(done),
                wrong=len(done) - len(right),
                prompted=sum(not result.unprompted for result in right),
                chance=chance,
                gain=gain,
            )
        )
    return told

"""What progress and readiness cost, and how true readiness comes.

python -m tests.benchmarks.record [--attempts N] [--learners N] [--json]

Cost: the attempts of one student at all procedures that come with voicecoach, 10 000 by default, each
figure beside that of plain loops that come to the same: steps looked for one by one in every attempt, and
draws made one by one.

Learners: invented students whose true chance is known. Each practises every procedure so often, at
random, or only half of them. They learn in one of three ways: they know a step or not, and learn it while
they practise (knowledge tracing: A. T. Corbett and J. R. Anderson, User Modeling and User-Adapted
Interaction 4, 1995); each step goes better with each attempt (the power law of practice: A. Newell and P.
S. Rosenbloom, in Cognitive Skills and their Acquisition, 1981); or a step goes better and worse by
chance. How far draws go together was chosen by other learners, of these kinds and of two more. The chance
is then compared with the true one: the mean of both, how far apart they are (root mean square), how often
the interval holds the true chance and how often that lies below it, with other half-lives, and with draws
that go together less. How fast they learn and how often they slip is invented, so that this shows which
way of counting is better, not how good it is with people.
"""

from __future__ import annotations

import json
import random
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import count, pairwise
from math import comb
from typing import Annotated, Any
from unittest.mock import patch

import numpy as np
import typer
from rich.console import Console
from rich.table import Table
from scipy.special import expit

from voicecoach.procedure import library
from voicecoach.procedure.model import Procedure
from voicecoach.records import fading
from voicecoach.records import readiness as room
from voicecoach.records.chances import ARISES, Chances, drawn, passing, rule
from voicecoach.records.progress import progress
from voicecoach.records.readiness import DRAWS, HANDS, ITEMS, SEED, readiness
from voicecoach.records.results import Result, StepResult

BEGINNING = datetime(2026, 9, 1, 9, tzinfo=UTC)
PRACTICE = ((1, 0), (3, 0), (6, 0), (12, 0), (4, 8))
"""How often each procedure is practised, on average, and how many are not at all."""
WAYS = ((2, 0.8, 0.3), (3, 0.8, 0.3), (4, 0.8, 0.3), (2, 0.6, 0.0), (2, 0.0, 0.0))
"""Half-lives, and how much draws of procedures and of steps go together."""


def shipped() -> list[Procedure]:
    """The procedures that come with voicecoach, by id."""
    return [library.as_shipped(id) for id in library.shipped()]


def attempt(number: int, its: Procedure, right: Sequence[bool], needed: Sequence[bool]) -> Result:
    """An attempt alone in which these steps were done and right, an hour after the one before."""
    steps = tuple(
        StepResult(one.id, one.do, one.critical, need, need and good, True, True, need and good, 5.0, None)
        for one, good, need in zip(its.steps, right, needed, strict=True)
    )
    begun = (BEGINNING + timedelta(hours=number)).isoformat()
    return Result(
        f"{number}",
        "s07",
        its.id,
        its.title,
        "selftest",
        begun,
        90.0,
        True,
        True,
        True,
        its.pass_.share,
        steps,
        (),
        9,
    )


# Cost


def practised(pool: Sequence[Procedure], attempts: int) -> list[Result]:
    """So many attempts, at one procedure after the other."""
    chance = random.Random(1)
    made = []
    for number in range(attempts):
        its = pool[number % len(pool)]
        right = [chance.random() < 0.85 for _ in its.steps]
        made.append(
            attempt(number, its, right, [one.when is None or chance.random() < 0.5 for one in its.steps])
        )
    return made


def plain_progress(results: Sequence[Result]) -> dict[tuple[str, str], tuple[int, ...]]:
    """How often each step was needed, done, in order, unprompted, right and good, each looked for by
    itself."""
    found: dict[tuple[str, str], tuple[int, ...]] = {}
    for procedure, step in dict.fromkeys((one.procedure, step.step) for one in results for step in one.steps):
        its = [
            result
            for one in results
            if one.counts and one.procedure == procedure
            for result in one.steps
            if result.step == step and result.needed
        ]
        done = [one for one in its if one.done]
        found[procedure, step] = (
            len(its),
            len(done),
            sum(one.in_order for one in done),
            sum(one.unprompted for one in done),
            sum(one.right for one in done),
            sum(one.good for one in its),
        )
    return found


def plain_interval(results: Sequence[Result], pool: Sequence[Procedure]) -> tuple[float, float]:
    """The interval of the chance of a test, nothing going together, by draws made one by one."""
    chance = random.Random(SEED)
    known = room._known(results, pool)
    tests = []
    for _ in range(DRAWS):
        passed = {one.procedure.id: _plain_passing(chance, one) for one in known}
        # Sums of the products of so many of the other procedures.
        sums = [1.0] + [0.0] * (ITEMS - 1)
        for id, its in passed.items():
            if id != HANDS:
                sums = [sums[0], *(more + fewer * its for fewer, more in pairwise(sums))]
        tests.append(passed[HANDS] * sums[-1] / comb(len(passed) - 1, ITEMS - 1))
    tests.sort()
    return tests[DRAWS // 20], tests[-DRAWS // 20]


def _plain_passing(chance: random.Random, one: Any) -> float:
    """A chance of passing a procedure that may be, by steps needed in some cases and steps lacking."""
    rule, states = one.rule, {(0, 0): 1.0}
    for place, (well, badly) in enumerate(zip(one.well.tolist(), one.badly.tolist(), strict=True)):
        right = chance.betavariate(well, badly)
        after: dict[tuple[int, int], float] = {}
        for (extra, lacking), likely in states.items():
            arises = 1.0 if rule.always[place] else ARISES
            more = extra + (not rule.always[place])
            ways = [((more, lacking), arises * right)]
            if not rule.critical[place]:
                ways.append(((more, lacking + 1), arises * (1 - right)))
            if not rule.always[place]:
                ways.append(((extra, lacking), 1 - arises))
            for state, part in ways:
                after[state] = after.get(state, 0.0) + likely * part
        states = after
    always = sum(rule.always)
    return sum(
        likely for (extra, lacking), likely in states.items() if lacking <= rule.may_lack(always + extra)
    )


def seconds(work: Callable[[], object]) -> float:
    """The shortest of three times that it takes."""
    times = []
    for _ in range(3):
        began = time.perf_counter()
        work()
        times.append(time.perf_counter() - began)
    return min(times)


def cost(attempts: int) -> dict[str, float]:
    """Seconds that progress and readiness take, and how many times as long plain loops take."""
    pool = shipped()
    results = practised(pool, attempts)
    ours = seconds(lambda: progress(results)), seconds(lambda: readiness(results, pool))
    plain = seconds(lambda: plain_progress(results)), seconds(lambda: plain_interval(results, pool))
    return {
        "progress_s": ours[0],
        "progress_ratio": plain[0] / ours[0],
        "readiness_s": ours[1],
        "readiness_ratio": plain[1] / ours[1],
    }


# Learners


@dataclass(frozen=True, slots=True)
class Learner:
    """An invented student."""

    results: tuple[Result, ...]
    chance: float
    """The true chance of passing a test after these attempts."""


Course = Callable[[int], Iterator[Chances]]
"""For so many steps the chance of each, before the first attempt and after each."""


def knowing(chance: np.random.Generator) -> Course:
    """Knows a step or not."""
    learns, knows = chance.uniform(0.1, 0.6), chance.uniform(0.3, 0.95)
    slips, guesses, forgets = chance.uniform(0.002, 0.03), chance.uniform(0.05, 0.4), chance.uniform(0, 0.02)

    def course(steps: int) -> Iterator[Chances]:
        known = chance.random(steps) < knows
        while True:
            yield np.where(known, 1 - slips, guesses)
            changed = chance.random(steps)
            known = np.where(known, changed >= forgets, changed < learns)

    return course


def growing(chance: np.random.Generator) -> Course:
    """Has better odds of each step after each attempt."""
    ability, learns = chance.normal(1.0, 1.0), 1.5 * chance.lognormal(-0.3, 0.6)

    def course(steps: int) -> Iterator[Chances]:
        first = ability + chance.normal(0, 0.5) + chance.normal(0, 1.0, steps)
        for attempts in count():
            yield expit(first + learns * np.log1p(attempts))

    return course


def drifting(chance: np.random.Generator) -> Course:
    """Is sometimes better and sometimes worse."""
    ability, drifts, learns = chance.normal(2.5, 1.0), chance.uniform(0.05, 0.5), chance.normal(0.1, 0.1)

    def course(steps: int) -> Iterator[Chances]:
        odds = ability + chance.normal(0, 0.5) + chance.normal(0, 1.0, steps)
        while True:
            yield expit(odds)
            odds = odds + chance.normal(learns, drifts, steps)

    return course


KINDS = (knowing, growing, drifting)


def learner(
    chance: np.random.Generator,
    pool: Sequence[Procedure],
    often: float,
    left_out: int,
    kind: Callable[[np.random.Generator], Course] = knowing,
) -> Learner:
    """A student who practises each procedure so often on average, but for some that are left out."""
    student = kind(chance)
    unpractised = chance.choice(len(pool), left_out, replace=False)
    results: list[Result] = []
    true = np.empty((1, len(pool)))
    for place, its in enumerate(pool):
        course = student(len(its.steps))
        likely = next(course)
        for _ in range(0 if place in unpractised else chance.poisson(often)):
            right = chance.random(len(likely)) < likely
            needed = [one.when is None or chance.random() < 0.5 for one in its.steps]
            results.append(attempt(len(results), its, right.tolist(), needed))
            likely = next(course)
        true[:, place] = passing(likely[None], rule(its))
    hands = [one.id for one in pool].index(HANDS)
    return Learner(tuple(results), float(drawn(true, ITEMS, ITEMS, hands)[0]))


def truth(
    learners: Sequence[Learner], pool: Sequence[Procedure], way: tuple[float, float, float]
) -> dict[str, float]:
    """How the chance compares with the true one, with that half-life and draws going together so much."""
    half_life, together, steps = way
    with (
        patch.object(fading, "HALF_LIFE", half_life),
        patch.object(room, "TOGETHER", together),
        patch.object(room, "STEPS_TOGETHER", steps),
    ):
        found = [readiness(one.results, pool).chance for one in learners]
    true = np.array([one.chance for one in learners])
    value, low, high = (np.array([getattr(one, part) for one in found]) for part in ("value", "low", "high"))
    return {
        "chance": float(value.mean()),
        "true": float(true.mean()),
        "apart": float(np.sqrt(((value - true) ** 2).mean())),
        "held": float(((low <= true) & (true <= high)).mean()),
        "below": float((true < low).mean()),
        "wide": float((high - low).mean()),
    }


def all_truth(number: int) -> dict[str, dict[str, float]]:
    """The same for so many learners of each kind and practice, by kind, practice and way."""
    pool = shipped()
    found = {}
    for place, kind in enumerate(KINDS):
        for often, left_out in PRACTICE:
            chance = np.random.default_rng([often, left_out, place])
            learners = [learner(chance, pool, often, left_out, kind) for _ in range(number)]
            for way in WAYS if kind is knowing else WAYS[:1]:
                never = f", {left_out} never" if left_out else ""
                half_life, together, steps = way
                which = f"half-life {half_life}, together {together} and {steps}"
                name = f"{kind.__name__}, {often} times{never}; {which}"
                found[name] = truth(learners, pool, way)
    return found


def main(
    attempts: Annotated[
        int, typer.Option(min=1, help="How many attempts the cost is measured with.")
    ] = 10_000,
    learners: Annotated[int, typer.Option(min=0, help="How many of each practice; 0 for none.")] = 0,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> None:
    """Print what it costs, and how true it comes for invented learners."""
    spent = cost(attempts)
    true = all_truth(learners) if learners else {}
    if as_json:
        print(json.dumps({"attempts": attempts, **spent, "learners": true}))
        return
    table = Table(f"{attempts} attempts", "s", "plain loops take")
    for name in ("progress", "readiness"):
        table.add_row(name, f"{spent[f'{name}_s']:.2f}", f"{spent[f'{name}_ratio']:.1f} times as long")
    Console().print(table)
    if true:
        figures = ("chance", "true", "apart", "held", "below", "wide")
        table = Table("practice", *figures)
        for name, its in true.items():
            table.add_row(name, *(f"{its[figure]:.3f}" for figure in figures))
        Console(width=110).print(table)


if __name__ == "__main__":
    typer.run(main)

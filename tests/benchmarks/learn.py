"""Learn `voicecoach/following/weights.yaml` from labelled narrations: `python -m tests.benchmarks.learn`.

Maximum likelihood with a small ridge of the choice, at each labelled clause that reports one step or
none, between all steps and nothing, given what was reported before. Newton's method with halved steps;
no random start. Learned from `tests/narrations/tuned` and, where present, `../shared/narrations`;
never from `tests/narrations/aside`. Prints the share of clauses read right when each procedure in turn
is left out of learning.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tests.benchmarks.following import OWN, SHARED, as_text
from tests.benchmarks.narrations import Narration, read_folder, shipped
from voicecoach.following import weights
from voicecoach.following.clauses import Clause
from voicecoach.following.evidence import Judge
from voicecoach.following.expectation import NONE_FEATURES, STEP_FEATURES, Standing, history, needed, reading
from voicecoach.following.meaning import meanings
from voicecoach.following.samples import samples
from voicecoach.procedure.order import needs

NAMES = list(dict.fromkeys(STEP_FEATURES + NONE_FEATURES))
STEP_PLACES = [NAMES.index(name) for name in STEP_FEATURES]
NONE_PLACES = [NAMES.index(name) for name in NONE_FEATURES]
RIDGE = 0.05

Choice = tuple[NDArray[np.float64], int]
"""Features of each option, shape (options, features), and the right option."""


def choices(narration: Narration, judge: Judge) -> list[Choice]:
    """The choices that a narration teaches."""
    procedure = shipped(narration.procedure)
    table = needs(procedure)
    ids = list(table)
    standing = Standing()
    out: list[Choice] = []
    clauses = [Clause(heard.words) for heard in as_text(narration)[0]]
    steps, none = reading(judge.evidence(clauses), procedure.same_action)
    for labelled, of_steps, of_none in zip(narration.clauses, steps, none, strict=True):
        if len(labelled.steps) <= 1:
            features = np.zeros((len(ids) + 1, len(NAMES)))
            features[:-1, STEP_PLACES] = np.hstack([of_steps, history([standing], needed(table))[0]])
            features[-1, NONE_PLACES] = of_none
            out.append((features, ids.index(labelled.steps[0]) if labelled.steps else len(ids)))
        for step in labelled.steps:
            standing = standing.report(ids.index(step))
    return out


def loss(data: list[Choice], values: NDArray[np.float64]) -> float:
    """Negative log likelihood with the ridge."""
    total = RIDGE / 2 * float(values @ values)
    for features, right in data:
        odds = features @ values
        total += float(np.logaddexp.reduce(odds) - odds[right])
    return total


def learn(data: list[Choice]) -> NDArray[np.float64]:
    """The weights of least loss, shape (features)."""
    values = np.zeros(len(NAMES))
    now = loss(data, values)
    while True:
        slope = -RIDGE * values
        curve = RIDGE * np.eye(len(NAMES))
        for features, right in data:
            odds = features @ values
            chances = np.exp(odds - np.logaddexp.reduce(odds))
            mean = chances @ features
            slope += features[right] - mean
            curve += (features * chances[:, None]).T @ features - np.outer(mean, mean)
        step = np.linalg.solve(curve, slope)
        while loss(data, values + step) > now and np.abs(step).max() > 1e-9:
            step /= 2
        values = values + step
        before, now = now, loss(data, values)
        if before - now < 1e-4:
            return values


def share_right(data: list[Choice], values: NDArray[np.float64]) -> float:
    """Share of the choices that the weights get right."""
    return sum(int((features @ values).argmax()) == right for features, right in data) / len(data)


def main() -> None:
    narrations = read_folder(OWN / "tuned") + (read_folder(SHARED) if SHARED.is_dir() else [])
    by_procedure: dict[str, list[Choice]] = {}
    for id in sorted({narration.procedure for narration in narrations}):
        judge = Judge(shipped(id), samples(), meanings)
        mine = [narration for narration in narrations if narration.procedure == id]
        by_procedure[id] = [choice for narration in mine for choice in choices(narration, judge)]
        print(f"{id}: {len(by_procedure[id])} clauses")
    everything = [choice for data in by_procedure.values() for choice in data]
    left_out = [
        share_right(
            data, learn([choice for other in by_procedure if other != id for choice in by_procedure[other]])
        )
        for id, data in by_procedure.items()
    ]
    values = learn(everything)
    print(f"right, learned from all: {share_right(everything, values):.3f}")
    print(f"right, procedure left out: {np.mean(left_out):.3f}")
    header = "# Log-odds of each feature, learned by tests/benchmarks/learn.py; see weights.py.\n"
    lines = "".join(f"{name}: {value:.3f}\n" for name, value in zip(NAMES, values, strict=True))
    Path(weights.__file__).with_name("weights.yaml").write_text(header + lines, "utf-8")


if __name__ == "__main__":
    main()

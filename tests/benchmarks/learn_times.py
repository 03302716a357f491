"""Learn `voicecoach/following/spell_weights.yaml`: `python -m tests.benchmarks.learn_times [--sound]`.

Maximum likelihood with a ridge of the choice, after each utterance, between all spells that a timed step may
have lasted, given which of them are right by the labels of `tests/narrations/timed`: never of those aside.
With --sound also as `sphinx` hears two voices speak one in two of them, which is how the weights were
learned. Prints the share of verdicts right when each file in turn is left out of learning.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import numpy as np
import typer
from numpy.typing import NDArray
from scipy.optimize import minimize

from tests.benchmarks.following import one_in
from tests.benchmarks.measuring import TEXT, Heeded, Task, heed, on_stderr
from tests.benchmarks.narrations import shipped
from tests.benchmarks.times import FILES, Truth, read
from voicecoach.attempt import Attempt
from voicecoach.coaching.clock import SLACK, Clock
from voicecoach.events import Begun
from voicecoach.following import lasting
from voicecoach.following.moments import Spell
from voicecoach.following.spell_signs import NAMES, Numbers
from voicecoach.following.spells import spells
from voicecoach.procedure.model import Procedure

TUNED = tuple(FILES[0].with_name(f"{name}.jsonl") for name in ("tuned", "tuned_more", "tuned_latest"))
VOICES = ("joe", "slt")
RIDGE = 1.0
NEAR = 1.0
"""Seconds by which a moment may be off to be right."""
FAR = 6.0
"""Seconds by which the nearest spell may be off, both ends together, to teach anything."""
END = 2.0
"""What the choice at the end of an attempt counts; all those before it together count 1."""


@dataclass(frozen=True, slots=True)
class Choice:
    """What is to be chosen of one step after one utterance, or at the end of the attempt."""

    features: Numbers
    """Of each spell."""
    right: NDArray[np.bool_]
    lasted: NDArray[np.bool_]
    """Whether each spell is over and lasted long enough."""
    verdict: bool
    """Whether the step lasted."""
    weight: float


def choices(procedure: Procedure, truths: Sequence[Truth], heeded: Heeded) -> Iterator[Choice]:
    """The choices that a narration teaches."""
    heard, spans = heeded
    begun = Begun(0.0, "", "", "rehearse", "typed", procedure.plain(), "clock")
    attempt = Attempt(begun)
    attempt.take(begun)
    for utterance in heard:
        attempt.take(utterance)
        yield from _choices(attempt.clock, truths, spans, utterance.end, END / 2 / len(heard))
    yield from _choices(attempt.clock, truths, spans, spans[-1][1], END, ended=True)


def _choices(
    clock: Clock,
    truths: Sequence[Truth],
    spans: Sequence[tuple[float, float]],
    now: float,
    weight: float,
    ended: bool = False,
) -> Iterator[Choice]:
    sought = {one.step: one for one in clock.sought}
    for truth in truths:
        start, end = (spans[place][which == "end"] for place, which in (truth.begin, truth.end))
        found, features = spells(clock.clauses(), sought[truth.step], now, ended)
        right = _right(found, Spell(start, end), now, ended)
        if right.any():
            needed = sought[truth.step].seconds - SLACK
            lasted = np.array([one.over and one.end - one.start >= needed for one in found])
            yield Choice(features, right, lasted, truth.lasted, weight)


def _right(found: Sequence[Spell], truth: Spell, now: float, ended: bool) -> NDArray[np.bool_]:
    """Which of the spells found are right at this moment."""
    off = np.array([abs(one.start - truth.start) for one in found])
    if ended or now > truth.end + 0.15:
        late = np.array([abs(one.end - truth.end) for one in found])
        right = (off < NEAR) & (late < NEAR)
        return right if right.any() else (off + late == (off + late).min()) & (off + late < FAR)
    right = np.array([not one.over for one in found]) & (off < NEAR)
    if now > truth.start - 0.2 and right.any():
        return right
    return np.array([one.none for one in found])


def learn(data: Sequence[Choice]) -> Numbers:
    """The weights of least loss, shape (features)."""
    features = np.concatenate([one.features for one in data])
    right = np.concatenate([one.right for one in data])
    weight = np.array([one.weight for one in data])
    sizes = [len(one.right) for one in data]
    starts, choice = np.cumsum([0, *sizes[:-1]]), np.repeat(np.arange(len(data)), sizes)

    def loss(values: Numbers) -> tuple[float, Numbers]:
        odds = features @ values
        likely = np.exp(odds - np.maximum.reduceat(odds, starts)[choice])
        total = np.add.reduceat(likely, starts)
        of_right = np.add.reduceat(likely * right, starts)
        pull = (likely / total[choice] - likely * right / of_right[choice]) * weight[choice]
        lost = float(weight @ (np.log(total) - np.log(of_right)))
        return lost + RIDGE / 2 * float(values @ values), features.T @ pull + RIDGE * values

    return np.asarray(minimize(loss, np.zeros(len(NAMES)), jac=True, method="L-BFGS-B").x)


def share_right(data: Sequence[Choice], values: Numbers) -> float:
    """Share of the verdicts at the end of the attempts that are right, each step taken alone."""
    ends = [one for one in data if one.weight == END]
    best = [(one, int((one.features @ values).argmax())) for one in ends]
    return sum(bool(one.lasted[place]) is one.verdict for one, place in best) / len(ends)


def _tasks(file: Path, sound: bool) -> Iterator[tuple[Task, tuple[Truth, ...]]]:
    truths = dict(read(file))
    yield from ((Task(narration, TEXT), truths[narration]) for narration in truths)
    for voice in VOICES if sound else ():
        for narration in one_in(2, list(truths)):
            yield Task(narration, "sphinx", voice), truths[narration]


def main(sound: Annotated[bool, typer.Option("--sound", help="Also as it is heard.")] = False) -> None:
    """Learn the weights and write them."""
    by_file: dict[Path, list[Choice]] = {}
    for file in TUNED:
        by_file[file] = []
        for task, truths in _tasks(file, sound):
            by_file[file] += choices(shipped(task.narration.procedure), truths, heed(task))
            on_stderr(f"{task.narration.id} {task.hear} {task.voice}")
    for file, data in by_file.items():
        rest = [choice for other, some in by_file.items() if other != file for choice in some]
        print(f"{file.stem}, left out: {share_right(data, learn(rest)):.3f}")
    everything = [choice for data in by_file.values() for choice in data]
    values = learn(everything)
    print(f"all, learned from all: {share_right(everything, values):.3f}")
    header = (
        "# Log odds of each feature of a spell, learned by tests/benchmarks/learn_times.py; see spells.py.\n"
    )
    lines = "".join(f"{name}: {value:.3f}\n" for name, value in zip(NAMES, values, strict=True))
    Path(lasting.__file__).with_name("spell_weights.yaml").write_text(header + lines, "utf-8")


if __name__ == "__main__":
    typer.run(main)

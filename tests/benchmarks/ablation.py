"""What each part of following adds: the figures as text without it.

    python -m tests.benchmarks.ablation [--narrations FOLDER] [--cores N]

Each part is taken out of the running program, and nothing is learned again. The narrations are those that
may be tuned on: parts are chosen by this, so that the ones aside must not be looked at.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any
from unittest import mock

import typer
from rich.console import Console
from rich.table import Table

from tests.benchmarks.following import OWN, SHARED
from tests.benchmarks.measuring import as_text, follow, on_stderr
from tests.benchmarks.narrations import Narration, read_folder
from tests.benchmarks.scoring import Outcome, figures
from voicecoach.following import clauses, evidence, follower, tracker
from voicecoach.following.evidence import Judge
from voicecoach.following.normal import stems
from voicecoach.following.weights import Weights, weights
from voicecoach.procedure.model import Procedure

SHOWN = ("step_f1", "verdict_accuracy", "omitted_precision", "order_recall", "false_report_rate")
Swap = tuple[object, str, Any]
"""Where something stands, its name there, and what takes its place."""

_learn = Judge.__init__


def _from_half(judge: Judge, procedure: Procedure, *rest: Any) -> None:
    """Learn from every other phrase of each step."""
    steps = tuple(step.model_copy(update={"say": step.say[::2]}) for step in procedure.steps)
    _learn(judge, procedure.model_copy(update={"steps": steps}), *rest)


def _without(*names: str) -> Callable[[], Weights]:
    """The weights, some of them 0."""
    return lambda: replace(weights(), **dict.fromkeys(names, 0.0))


PARTS: Mapping[str, Sequence[Swap]] = {
    "everything": (),
    "half of the phrases": ((Judge, "__init__", _from_half),),
    "no meaning of words": ((follower, "meanings", None),),
    "no sound of words": ((evidence, "sounded", stems),),
    "no stage": (
        (follower, "weights", _without("report", "chat", "request", "later", "undone", "avoiding", "mishap")),
    ),
    "no place in the order": ((follower, "weights", _without("unmet", "next", "skipped", "back")),),
    "one hypothesis": ((tracker, "WIDTH", 1),),
    "no cuts": ((clauses, "borders", lambda words: [0, len(words)] if words else [0]),),
    "no cuts but at openers": ((clauses, "UNOPENED", 1e9),),
    "cuts ask for no likeness": ((follower, "UNLIKE", 0.0),),
}


def swap(part: str) -> None:
    """Take a part out, for as long as this process lives."""
    for where, name, other in PARTS[part]:
        mock.patch.object(where, name, other).start()


def as_read(narration: Narration) -> Outcome:
    """Follow a narration as text."""
    return follow(narration, as_text(narration))


def main(
    narrations: Annotated[list[Path] | None, typer.Option(help="Folders of narrations.")] = None,
    cores: Annotated[int, typer.Option(help="How many cores to use.")] = os.cpu_count() or 1,
) -> None:
    """Print the figures without each part."""
    folders = narrations or [folder for folder in (SHARED, OWN / "tuned") if folder.is_dir()]
    read = sorted((one for folder in folders for one in read_folder(folder)), key=lambda one: one.procedure)
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    table = Table("without", *SHOWN)
    for part in PARTS:
        with ProcessPoolExecutor(cores, initializer=swap, initargs=(part,)) as pool:
            its = figures(pool.map(as_read, read, chunksize=4))
        table.add_row(part, *(f"{its[name]:.3f}" for name in SHOWN))
        on_stderr(f"without {part}: {its['step_f1']:.3f}")
    Console().print(table)


if __name__ == "__main__":
    typer.run(main)

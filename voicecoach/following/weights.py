"""Weights of all evidence, learned from labelled narrations by `tests/benchmarks/learn.py`."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import yaml

from voicecoach.procedure.text import LOADER


@dataclass(frozen=True, slots=True)
class Weights:
    """A weight for each feature of a label; the log-odds of a label are the sum of weight times feature."""

    content: float
    """Likeness to the phrases of the label, and of the same action done again."""
    own: float
    """Steps: likeness to its own phrases less that of the whole action."""
    lead: float
    """Likeness to the label's phrases less that of the best other action."""
    report: float
    """Steps: how like a report the clause is, less the most like other stage."""
    same: float
    """Steps: the one reported last, spoken of once more."""
    done: float
    """Steps: another one reported before."""
    unmet: float
    """Steps: number of steps it needs that are not done, at most 3."""
    next: float
    """Steps: the first open step after the latest one in the usual order."""
    skipped: float
    """Steps further on: log of 1 + the number of open steps passed over, at most 4."""
    back: float
    """Steps not done that stand before the latest one in the usual order."""
    none: float
    """Nothing: always."""
    chat: float
    """Nothing: how like chat the clause is."""
    request: float
    """Nothing: how like a request to the coach it is."""
    later: float
    """Nothing: how like a step that comes later it is."""
    undone: float
    """Nothing: how like a step left undone it is."""
    avoiding: float
    """Nothing: how like keeping from something it is."""
    mishap: float
    """Nothing: how like a mishap it is."""
    avoid: float
    """Nothing: likeness to the phrases of what is to be avoided."""
    short: float
    """Nothing: 1 over the number of words."""


@cache
def weights() -> Weights:
    """The weights that come with voicecoach."""
    return Weights(
        **yaml.load(files("voicecoach.following").joinpath("weights.yaml").read_text("utf-8"), LOADER)
    )

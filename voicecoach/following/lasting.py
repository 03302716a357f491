"""Which spells the timed steps lasted most likely, all of them taken together."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
import yaml

from voicecoach.following.moments import Said, Sought, Spell
from voicecoach.following.spell_signs import NAMES, Numbers
from voicecoach.following.spells import spells
from voicecoach.procedure.text import LOADER

_WIDTH = 60
"""Spells of one step that are looked at together with those of the others."""
_HOPELESS = 10.0
"""Log odds by which a spell may be less likely than the likeliest to be looked at."""
_KEPT = 300
"""Ways to put spells together that are kept."""
_DISORDER = 4.0
"""What it costs, in log odds, that two timed steps were done in another than the usual order."""
_KNOWN = 8.0
"""How much less likely, in log odds, it is then that a step that was reported was not done."""
_ENOUGH = 0.4
"""How likely it must be that a step lasted long enough for it to be taken so: nobody is accused wrongly."""

Chances = Mapping[Spell, float]
"""How likely each spell of one step is."""


@dataclass(frozen=True, slots=True)
class Belief:
    """What is believed of one timed step."""

    over: float
    """The chance that it was done and is over."""
    running: float
    """The chance that it was begun and goes on."""
    spell: Spell
    """The likeliest spell, of those that are over if any is."""
    short: float
    """The chance that it is over and was too short."""


@cache
def weights() -> Numbers:
    """The weight of each feature, learned by `tests/benchmarks/learn_times.py`."""
    text = files("voicecoach.following").joinpath("spell_weights.yaml").read_text("utf-8")
    learned = yaml.load(text, LOADER)
    # A new one has none until it is learned.
    return np.array([float(learned.get(name, 0.0)) for name in NAMES])


def together(options: Sequence[tuple[Sequence[Spell], Numbers]]) -> list[Chances]:
    """How likely each spell of each step is, given the log odds of all, where no two steps overlap.

    The steps stand in their usual order.
    """
    ways: list[tuple[float, tuple[Spell, ...]]] = [(0.0, ())]
    for found, log_odds in options:
        # That a step was not done fits all the rest; it comes last.
        likely = np.flatnonzero(log_odds[:-1] > log_odds.max() - _HOPELESS)
        best = likely[np.argsort(-log_odds[likely], kind="stable")][:_WIDTH]
        places = [*best.tolist(), len(found) - 1]
        grown = [
            (weight + float(log_odds[place]) - _disorder(way, found[place]), (*way, found[place]))
            for weight, way in ways
            for place in places
            if not any(found[place].overlaps(other) for other in way)
        ]
        ways = sorted(grown, key=lambda one: -one[0])[:_KEPT]
    weighed = np.exp(np.array([weight for weight, _ in ways]) - max(weight for weight, _ in ways))
    out: list[dict[Spell, float]] = [{} for _ in options]
    for chance, (_, way) in zip((weighed / weighed.sum()).tolist(), ways, strict=True):
        for chances, spell in zip(out, way, strict=True):
            chances[spell] = chances.get(spell, 0.0) + chance
    return list(out)


def believed(
    said: Sequence[Said],
    steps: Sequence[Sought],
    now: float,
    ended: bool,
    timely: bool,
    slack: float,
    known: Collection[str] = (),
) -> dict[str, Belief]:
    """What is believed of timed steps, in their usual order, by what was said until `now`.

    A step lasted long enough that is at most `slack` seconds too short. Those that are `known` were done.
    """
    options = []
    for sought in steps:
        found, features = spells(said, sought, now, ended, timely)
        log_odds = features @ weights()
        log_odds[-1] -= _KNOWN if sought.step in known else 0.0
        options.append((found, log_odds))
    return {
        sought.step: _belief(chances, sought.seconds - slack)
        for sought, chances in zip(steps, together(options), strict=True)
    }


def _disorder(way: Sequence[Spell], spell: Spell) -> float:
    """What it costs that a spell begins before that of a step that comes first."""
    return _DISORDER if any(spell.start < before.start < math.inf for before in way) else 0.0


def _belief(chances: Chances, seconds: float) -> Belief:
    """What is believed of a step that must last so many seconds."""
    over = {spell: chance for spell, chance in chances.items() if spell.over}
    lasted = {spell: chance for spell, chance in over.items() if spell.end - spell.start >= seconds}
    all_over, enough = sum(over.values()), sum(lasted.values())
    running = {spell: chance for spell, chance in chances.items() if not spell.over and not spell.none}
    short = {spell: chance for spell, chance in over.items() if spell not in lasted}
    best = lasted if enough >= _ENOUGH * all_over else short
    likely = (best if over else running) or {Spell(): 1.0}
    return Belief(
        all_over, sum(running.values()), max(likely, key=lambda spell: likely[spell]), all_over - enough
    )

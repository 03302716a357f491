"""A case: an invented resident, a weak side, a room, and the true values that the student will find.

The same number of the same procedure always draws the same case.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from voicecoach.procedure.model import Item, Procedure, Truth

OUNCE = 30.0
"""Milliliters to the fluid ounce in charting: common practice, no source. 29.5735 exactly by NIST SP 811."""
ROOMS = range(101, 140)
"""Numbers of rooms, invented."""
_HAIR = 1e-6
"""Grains by which a number may miss a multiple that it is."""
OTHER_SIDE = {"left": "right", "right": "left", "": ""}


@dataclass(frozen=True, slots=True)
class Share:
    """How much of an item was served and is left; of an output, how much it measured."""

    of: str
    """What it is, for example orange juice."""
    kind: str
    """drink, dish or output."""
    served: float
    """In the unit of the case's cups; of a dish its share of the meal."""
    left: float
    """The same; of an output what was measured, and of a dish the share of it that is left, 0 to 1."""


@dataclass(frozen=True, slots=True)
class Case:
    """What one attempt is about."""

    number: int
    """What it was drawn by."""
    resident: str
    """For example Mrs. Pruitt; empty where the procedure names none."""
    room: str
    """For example 112."""
    weak: str
    """left or right; empty where no side is weak."""
    ounces: bool = False
    """True where the cups are marked in ounces."""
    values: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    """The true value of each reading, by the id of its step, in its unit."""
    shares: Mapping[str, tuple[Share, ...]] = field(default_factory=dict)
    """The items of each reading that is worked out from some, by the id of its step."""

    @property
    def strong(self) -> str:
        """The other side than the weak one."""
        return OTHER_SIDE[self.weak]

    def plain(self) -> dict[str, Any]:
        """The case as plain values, for a journal; `read` takes them back."""
        return asdict(self)


def is_drawn(procedure: Procedure) -> bool:
    """Whether anything in the procedure differs from case to case."""
    readings = (step.reading for step in procedure.steps)
    return bool(procedure.residents or procedure.weak or any(one and one.truth for one in readings))


def draw(procedure: Procedure, number: int) -> Case:
    """The case of that number."""
    chance = random.Random(f"{procedure.id} {number}")
    resident = chance.choice(procedure.residents) if procedure.residents else ""
    weak = chance.choice(procedure.weak) if procedure.weak else ""
    resident, weak = procedure.met or resident, procedure.met_weak or weak
    room = str(chance.choice(ROOMS))
    ounces = chance.random() < 0.5 and any(
        step.reading.truth.ounces for step in procedure.steps if step.reading and step.reading.truth
    )
    values: dict[str, tuple[float, ...]] = {}
    shares: dict[str, tuple[Share, ...]] = {}
    for step in procedure.steps:
        if step.reading is None or (truth := step.reading.truth) is None:
            continue
        if truth.items:
            in_ounces = ounces and truth.ounces
            shares[step.id] = tuple(_share(item, truth.grain, in_ounces, chance) for item in truth.items)
            values[step.id] = (total(shares[step.id], step.reading.unit, in_ounces),)
        else:
            values[step.id] = _value(truth, chance)
    return Case(number, resident, room, weak, ounces, values, shares)


def written(procedure: Procedure) -> Case:
    """What stands for the case where none is drawn: what the phrases name, some room, and no true values."""
    resident = procedure.residents[0] if procedure.residents else ""
    return Case(0, resident, str(ROOMS[0]), procedure.weak[0] if procedure.weak else "")


def read(plain: Mapping[str, Any]) -> Case:
    """The case of plain values, as a journal has them."""
    shares = {step: tuple(Share(**share) for share in some) for step, some in plain.get("shares", {}).items()}
    values = {step: tuple(value) for step, value in plain.get("values", {}).items()}
    return Case(**{**plain, "values": values, "shares": shares})


def fitted(procedure: Procedure, case: Case) -> Procedure:
    """The procedure as it is in a case: its scene told, and what only this case needs needed."""
    scene = procedure.scene
    for name in ("resident", "weak", "strong", "room"):
        scene = scene.replace(f"{{{name}}}", getattr(case, name))
    steps = tuple(
        step.model_copy(update={"when": None}) if step.when_ounces and case.ounces else step
        for step in procedure.steps
    )
    return procedure.model_copy(update={"scene": scene, "steps": steps})


def total(shares: tuple[Share, ...], unit: str, ounces: bool = False) -> float:
    """What items come to: milliliters drunk, less outputs; for `%` the share of the meal that was eaten."""
    if unit == "%":
        dishes = [share for share in shares if share.kind == "dish"]
        eaten = sum(dish.served * (1 - dish.left) for dish in dishes)
        return 100 * eaten / sum(dish.served for dish in dishes)
    drunk = sum(share.served - share.left for share in shares if share.kind == "drink")
    passed = sum(share.left for share in shares if share.kind == "output")
    return (drunk - passed) * (OUNCE if ounces else 1.0)


def _share(item: Item, grain: float, ounces: bool, chance: random.Random) -> Share:
    """What is left of an item. Cups marked in ounces hold whole ones, and what is left is whole ounces."""
    if not ounces:
        return Share(item.of, item.kind, item.holds, _between(*item.left, grain, chance))
    least, most = (bound / OUNCE for bound in item.left)
    return Share(item.of, item.kind, round(item.holds / OUNCE), _between(least, most, 1.0, chance))


def _value(truth: Truth, chance: random.Random) -> tuple[float, ...]:
    pairs = zip(truth.least, truth.most, strict=True)
    return tuple(_between(least, most, truth.grain, chance) for least, most in pairs)


def multiples(least: float, most: float, grain: float) -> range:
    """How many grains lie between two bounds, both included: 2 to 5 for the tenths of 0.2 to 0.5."""
    # A bound such as 99.1 is no exact number of tenths in binary.
    return range(math.ceil(least / grain - _HAIR), math.floor(most / grain + _HAIR) + 1)


def _between(least: float, most: float, grain: float, chance: random.Random) -> float:
    """A multiple of `grain` between two bounds, both included; ValueError where there is none."""
    grains = multiples(least, most, grain)
    if not grains:
        raise ValueError(f"no multiple of {grain:g} lies from {least:g} to {most:g}")
    return round(chance.randrange(grains.start, grains.stop) * grain, 6)

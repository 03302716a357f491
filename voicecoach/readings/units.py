"""Units of readings: what can be turned into what, and how they are said."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from voicecoach.procedure.case import OUNCE

if TYPE_CHECKING:
    from pint import UnitRegistry

TRADE_OUNCE = OUNCE
"""Milliliters to the fluid ounce in charting: common practice, no source; 21 CFR 101.9(b)(5)(viii) has it for
labels."""

_KINDS = {
    "volume": "mL L dL oz cup tsp tbsp pt qt gal",
    "weight": "lb kg g mg st",
    "temperature": "degF degC degrees",
    "length": "in ft cm mm m",
    "pressure": "mmHg kPa",
    "pulse": "beats/min",
    "breathing": "breaths/min",
    "share": "%",
}
_KIND = {unit: kind for kind, units in _KINDS.items() for unit in units.split()}
_ASKED_FOR = ("volume", "weight", "temperature", "length")
_SPOKEN = {
    "mL": "milliliters", "L": "liters", "dL": "deciliters", "oz": "ounces", "cup": "cups", "tsp": "teaspoons",
    "tbsp": "tablespoons", "pt": "pints", "qt": "quarts", "gal": "gallons", "lb": "pounds", "kg": "kilograms",
    "g": "grams", "mg": "milligrams", "st": "stone", "degF": "degrees Fahrenheit", "degC": "degrees Celsius",
    "in": "inches", "ft": "feet", "cm": "centimeters", "mm": "millimeters", "m": "meters",
    "mmHg": "millimeters of mercury", "kPa": "kilopascals", "beats/min": "beats a minute",
    "breaths/min": "breaths a minute", "%": "percent",
}  # fmt: skip
_NAMES = {"oz": "fluid_ounce", "lb": "pound", "in": "inch", "st": "stone", "%": "percent", "m": "meter"}
"""Names in the registry of units that it does not know by our spelling, or otherwise: its `oz` weighs."""


@cache
def _registry() -> UnitRegistry[Any]:
    # Imported here, since it takes about 0.3 s, and an attempt without other units never needs it.
    from pint import UnitRegistry

    registry: UnitRegistry[Any] = UnitRegistry()
    registry.define("beats = [beats]")
    registry.define("breaths = [breaths]")
    return registry


def convert(value: float, unit: str, to: str) -> float:
    """A value in another unit, by the exact factors. ValueError where they measure different things."""
    if unit == to:
        return value
    if not same_kind(unit, to) or "degrees" in (unit, to):
        raise ValueError(f"{unit!r} does not turn into {to!r}")
    registry = _registry()
    return float(registry.Quantity(value, _NAMES.get(unit, unit)).to(_NAMES.get(to, to)).magnitude)


def same_kind(unit: str, other: str) -> bool:
    """Whether two units measure the same, such as mL and oz; `degrees` may be those of either scale."""
    return unit == other or (unit in _KIND and _KIND[unit] == _KIND.get(other))


def needed(unit: str) -> bool:
    """Whether a value is worth nothing without its unit: volumes, weights, temperatures and lengths."""
    return _KIND.get(unit) in _ASKED_FOR


def spoken(unit: str) -> str:
    """A unit as it is said, in the plural: `milliliters`."""
    return _SPOKEN.get(unit, unit)


def written(unit: str) -> str:
    """A unit as people write it: `F` for degF."""
    return {"degF": "F", "degC": "C"}.get(unit, unit)


def exact_ounce() -> float:
    """Milliliters to the US fluid ounce, 29.5735."""
    return convert(1.0, "oz", "mL")

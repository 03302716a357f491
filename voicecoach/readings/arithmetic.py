"""How totals come about, written out: `240 - 60 = 180, 120 - 30 = 90; 180 + 90 = 270 mL`."""

from __future__ import annotations

from collections.abc import Sequence

from voicecoach.procedure.case import Share, total
from voicecoach.readings.units import TRADE_OUNCE


def worked_out(shares: Sequence[Share], unit: str, ounces: bool) -> str:
    """The sum behind a total: what was drunk, less what came out, or the share of a meal that was eaten.

    `ounces`: the shares are in fluid ounces, thirty milliliters each.
    """
    if unit == "%":
        return _eaten(shares)
    drinks = [share for share in shares if share.kind == "drink"]
    outputs = [share.left for share in shares if share.kind == "output"]
    parts = []
    if drinks:
        drunk = [share.served - share.left for share in drinks]
        each = ", ".join(
            f"{number(share.served)} - {number(share.left)} = {number(rest)}"
            for share, rest in zip(drinks, drunk, strict=True)
        )
        parts.append(f"in {each}" if outputs else each)
        if len(drinks) > 1:
            parts.append(_added(drunk))
    if outputs:
        parts.append(f"out {_added(outputs)}")
        taken_in = sum(share.served - share.left for share in drinks)
        parts.append(f"{number(taken_in)} - {number(sum(outputs))} = {number(taken_in - sum(outputs))}")
    said = "; ".join(parts)
    if not ounces:
        return f"{said} {unit}"
    whole = number(total(tuple(shares), unit))
    return f"{said} oz, {whole} x {number(TRADE_OUNCE)} = {number(total(tuple(shares), unit, ounces))} {unit}"


def number(value: float) -> str:
    """A number with at most two decimals."""
    return f"{round(value, 2) + 0.0:.10g}"


def _eaten(shares: Sequence[Share]) -> str:
    """The share of a meal that was eaten, dish by dish: `rice 20 x 0.5 = 10`."""
    dishes = [share for share in shares if share.kind == "dish"]
    meal = sum(dish.served for dish in dishes)
    weights = [100 * dish.served / meal for dish in dishes]
    eaten = [weight * (1 - dish.left) for weight, dish in zip(weights, dishes, strict=True)]
    each = ", ".join(
        f"{dish.of} {number(weight)} x {number(1 - dish.left)} = {number(part)}"
        for dish, weight, part in zip(dishes, weights, eaten, strict=True)
    )
    return f"{each}; {_added(eaten)} %" if len(dishes) > 1 else f"{each} %"


def _added(values: Sequence[float]) -> str:
    """The sum of values: `180 + 90 = 270`; of one alone, that."""
    if len(values) == 1:
        return number(values[0])
    return f"{' + '.join(map(number, values))} = {number(sum(values))}"

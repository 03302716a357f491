"""Judging a recorded value by the true one of the case, with the arithmetic as the student would do it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from voicecoach.events import Read
from voicecoach.procedure.case import Case, Share
from voicecoach.procedure.model import Reading, Step
from voicecoach.readings.arithmetic import number, worked_out
from voicecoach.readings.units import TRADE_OUNCE, convert, exact_ounce, needed, spoken, written

_HAIR = 1e-6
"""By how much numbers may differ that are the same but for how a computer holds them."""
_LAST_PLACE = 0.05
"""By how much a value turned into another unit and rounded to a tenth may be off, in that unit."""


@dataclass(frozen=True, slots=True)
class Judgement:
    """What a recorded value is worth."""

    verdict: str
    """right; unrounded, where it is near enough but not the mark that the scale asks for; or wrong."""
    expected: tuple[float, ...]
    """What should have been recorded, in the reading's unit."""
    why: str
    """One or two sentences with the arithmetic, for the debrief."""
    spoken: str
    """The same in short, to be said aloud."""


def judged(step: Step, read: Read, case: Case) -> Judgement | None:
    """How a recorded value compares with the true one; None where the case has no true value for the step."""
    reading, truth = step.reading, case.values.get(step.id)
    if reading is None or not truth:
        return None
    expected = tuple(round(_mark_above(value, reading), 6) for value in truth)
    recorded = f"You recorded {_pair(read.values)} {written(read.unit)}".strip()
    fault = _fault(reading, read)
    if fault:
        return Judgement("wrong", expected, f"{recorded}; {fault}.", f"{_capital(fault)}.")
    shares = case.shares.get(step.id, ())
    found = _how_found(reading, truth, shares, case.ounces)
    if read.unit in ("", reading.unit):
        verdict = _verdict(reading, read.values, truth, _exact(shares, case.ounces))
        turned = ""
    else:
        verdict, turned = _in_other_unit(reading, read, truth)
    why = f"{recorded}; {found}{turned}. {_how_far(reading, read, truth, verdict)}".strip()
    return Judgement(verdict, expected, why, _aloud(reading, expected, verdict, found))


def _fault(reading: Reading, read: Read) -> str:
    """Why a value is wrong whatever the true one is; empty where it is not."""
    units = (reading.unit, *reading.also)
    if len(read.values) != 1 + reading.pair:
        return f"{'two numbers are' if reading.pair else 'one number is'} needed"
    if not read.unit:
        return "no unit was said" if needed(reading.unit) else ""
    if read.unit == "degrees" and read.unit not in units:
        return "neither Fahrenheit nor Celsius was said"
    if read.unit not in units:
        return f"it is recorded in {' or '.join(spoken(unit) for unit in units)}"
    return ""


def _verdict(
    reading: Reading, values: Sequence[float], truth: Sequence[float], exact: tuple[float, float] | None
) -> str:
    """On values in the reading's own unit; `exact` is another true total and how far off it may be."""
    verdicts = [_one(reading, value, true) for value, true in zip(values, truth, strict=True)]
    if exact and abs(values[0] - exact[0]) <= exact[1] + _HAIR:
        return "right"
    return max(verdicts, key=("right", "unrounded", "wrong").index)


def _one(reading: Reading, value: float, true: float) -> str:
    near = abs(value - true) <= reading.within + _HAIR
    if reading.between_marks == "up" and reading.scale:
        mark = _mark_above(true, reading)
        if abs(value - mark) <= _HAIR:
            return "right"
        return "unrounded" if near or abs(value - mark) <= reading.within + _HAIR else "wrong"
    if not near:
        return "wrong"
    return "right" if reading.scale is None or _on_a_mark(value, reading.scale) else "unrounded"


def _in_other_unit(reading: Reading, read: Read, truth: Sequence[float]) -> tuple[str, str]:
    """On values in another unit, in which the scale has no marks, and what the true ones are in it."""
    verdict, turned = "right", []
    for value, true in zip(read.values, truth, strict=True):
        asked = [convert(true, reading.unit, read.unit)]
        off = [abs(convert(value, read.unit, reading.unit) - true)]
        if (read.unit, reading.unit) == ("oz", "mL"):
            asked.insert(0, true / TRADE_OUNCE)
            off.append(abs(value * TRADE_OUNCE - true))
        rounded = min(abs(value - one) for one in asked) <= _LAST_PLACE + _HAIR
        if min(off) > reading.within + _HAIR and not rounded:
            verdict = "wrong"
        turned.append(f"{number(true)} {written(reading.unit)} is {asked[0]:.1f} {written(read.unit)}")
    return verdict, f", and {', '.join(turned)}"


def _exact(shares: Sequence[Share], ounces: bool) -> tuple[float, float] | None:
    """The total by the exact ounce, and how far it is off where each item is rounded; None without ounces."""
    if not ounces or not shares or any(share.kind == "dish" for share in shares):
        return None
    drunk = sum(share.served - share.left if share.kind == "drink" else -share.left for share in shares)
    return drunk * exact_ounce(), 0.5 * len(shares)


def _mark_above(value: float, reading: Reading) -> float:
    """The mark that a level has reached or is below; the value itself where it is not recorded like that."""
    if reading.between_marks != "up" or not reading.scale:
        return value
    return round(math.ceil(value / reading.scale - _HAIR) * reading.scale, 6)


def _on_a_mark(value: float, scale: float) -> bool:
    return abs(value / scale - round(value / scale)) * scale <= _HAIR


def _pair(values: Sequence[float]) -> str:
    return " over ".join(map(number, values))


def _how_found(reading: Reading, truth: Sequence[float], shares: Sequence[Share], ounces: bool) -> str:
    """How the true value comes about: `the level lay between 100 and 125, so 125`, or the sum behind it."""
    if shares:
        return worked_out(shares, reading.unit, ounces)
    if reading.between_marks == "up" and reading.scale:
        above = _mark_above(truth[0], reading)
        if abs(above - truth[0]) <= _HAIR:
            return f"the level lay on {number(above)}"
        return (
            f"the level lay between {number(above - reading.scale)} and {number(above)}, so {number(above)}"
        )
    return f"it was {_pair(truth)}{' ' + written(reading.unit) if needed(reading.unit) else ''}"


def _how_far(reading: Reading, read: Read, truth: Sequence[float], verdict: str) -> str:
    """A sentence on how far off it is and may be, where that is what decides, or that it is off the marks."""
    if reading.between_marks:
        return ""
    if verdict == "unrounded" and reading.scale:
        return f"It is recorded in steps of {number(reading.scale)}."
    turned = [convert(value, read.unit or reading.unit, reading.unit) for value in read.values]
    if (read.unit, reading.unit) == ("oz", "mL"):
        turned = [value * TRADE_OUNCE for value in read.values]
    off = max(abs(value - true) for value, true in zip(turned, truth, strict=True))
    if verdict == "wrong":
        return (
            f"That is {number(off)} {written(reading.unit)} off, and up to {number(reading.within)} may be."
        )
    if off > reading.within + _HAIR and read.unit in ("", reading.unit):
        return f"By the exact ounce of {exact_ounce():.2f} {reading.unit} it is right."
    near = off > _HAIR and read.unit in ("", reading.unit)
    return f"{number(off)} off is near enough." if near else ""


def _aloud(reading: Reading, expected: Sequence[float], verdict: str, found: str) -> str:
    """What is said of the verdict, in one short sentence."""
    value = f"{_pair(expected)} {spoken(reading.unit)}".replace("-", "minus ")
    if verdict == "right":
        return f"Right, {value}."
    if reading.between_marks:
        return f"{_capital(found)}."
    if verdict == "unrounded" and reading.scale:
        return f"Near enough, but record it in steps of {number(reading.scale)}."
    return f"It was {value}."


def _capital(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]

"""What a case draws, fixed by a local rule: the same resident, side or true value for every student."""

from __future__ import annotations

import re
from typing import Any

from voicecoach.procedure.local_rules import nearest
from voicecoach.procedure.model import Procedure, Reading


def misfit(procedure: Procedure, key: object, value: Any) -> str:
    """Why this cannot be fixed for every case; empty where it can be."""
    for name, possible in (("resident", procedure.residents), ("weak", procedure.weak)):
        if key == name:
            if not possible:
                return "a case of this procedure has none"
            return "" if value in possible else f"one of {', '.join(possible)} is expected"
    readings = {
        step.id: step.reading for step in procedure.steps if step.reading is not None and step.reading.truth
    }
    if key not in readings:
        return f"this has no value in a case, {nearest(key, ('resident', 'weak', *readings))}"
    reading = readings[str(key)]
    items = [item.of for item in reading.truth.items] if reading.truth else []
    return _items_misfit(items, value) if items else _value_misfit(reading, value)


def _value_misfit(reading: Reading, value: Any) -> str:
    """Why this is no value of a reading; empty where it is one."""
    numbers = _numbers(value, reading.unit)
    if len(numbers) != (2 if reading.pair else 1):
        example = "122/78" if reading.pair else "76"
        return f"{value!r} does not fit, a value in {reading.unit} such as {example} is expected"
    if reading.pair and numbers[0] <= numbers[1]:
        return f"{value!r} does not fit, the higher number first is expected"
    if reading.sense and not reading.sense[0] <= numbers[0] <= reading.sense[1]:
        return f"{value!r} makes no sense, {reading.sense[0]:g} to {reading.sense[1]:g} is expected"
    return ""


def _items_misfit(items: list[str], value: Any) -> str:
    """Why this does not say how much is left of some items; empty where it does."""
    if not isinstance(value, dict) or not value:
        what = ", ".join(f"{item}: ..." for item in items)
        return f"this is worked out, so how much is left of each is expected, `{{{what}}}`"
    for item, left in value.items():
        if item not in items:
            return f"there is no {item!r}, {nearest(item, tuple(items))}"
        if len(_numbers(left, "mL")) != 1:
            return f"{left!r} of {item} does not fit, how much is left is expected, as a number"
    return ""


def _numbers(value: Any, unit: str) -> tuple[float, ...]:
    """A number, or two as in `122/78`, with or without the unit; empty where it is something else."""
    number = r"(\d+(?:\.\d+)?)"
    found = re.fullmatch(rf"{number}(?:\s*/\s*{number})?\s*(?:{re.escape(unit)})?", str(value).strip())
    return tuple(float(part) for part in found.groups() if part) if found else ()


def fixed_step(step: dict[str, Any], fixed: Any) -> dict[str, Any]:
    """The plain values of a step whose true value is always the same."""
    reading = step["reading"]
    truth = reading["truth"]
    if isinstance(fixed, dict):
        left = {item: _numbers(value, "mL")[0] for item, value in fixed.items()}
        items = [
            item | {"left": [left[item["of"]]] * 2} if item["of"] in left else item for item in truth["items"]
        ]
        truth = truth | {"items": items}
    else:
        value = [*_numbers(fixed, reading["unit"])]
        truth = truth | {"least": value, "most": value}
    return step | {"reading": reading | {"truth": truth}}

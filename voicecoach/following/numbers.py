"""Numbers and units in words: what a student says when a value is read or recorded.

`one twenty over eighty`, `three fifty`, `a hundred and twenty five`, `two point five`, `one oh six`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

_ONES = {
    word: value
    for value, word in enumerate(
        "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen "
        "sixteen seventeen eighteen nineteen".split()
    )
} | {"oh": 0, "o": 0}
_TENS = {
    word: 10 * place
    for place, word in enumerate("twenty thirty forty fifty sixty seventy eighty ninety".split(), start=2)
}
_DIGITS = frozenset(word for word, value in _ONES.items() if value <= 9)
_BETWEEN = (["over"], ["on"], ["by"], ["slash"])
_UNITS = {
    "milliliter": "mL", "milliliters": "mL", "millilitres": "mL", "ml": "mL", "mils": "mL", "cc": "mL",
    "ccs": "mL", "ounce": "oz", "ounces": "oz", "beats": "beats/min", "breaths": "breaths/min",
    "respirations": "breaths/min", "mercury": "mmHg", "pounds": "lb", "pound": "lb", "kilograms": "kg",
    "kilos": "kg", "inches": "in", "degrees": "degrees", "percent": "%", "liters": "L", "liter": "L",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Amount:
    """A number, or a pair such as systolic over diastolic, with its unit."""

    values: tuple[float, ...]
    """One number, or two where `over` stands between."""
    unit: str
    """The unit said, in the spelling of procedures; empty where none was said."""


def amounts(text: str) -> list[Amount]:
    """The numbers said in a text, in order."""
    tokens = re.findall(r"[0-9]+(?:\.[0-9]+)?|[a-z]+(?:'[a-z]+)*", text.lower().replace("/", " slash "))
    found: list[tuple[int, int, float]] = []
    place = 0
    while place < len(tokens):
        length, value = _number(tokens[place:])
        if length:
            found.append((place, place + length, value))
        place += max(length, 1)
    out: list[Amount] = []
    paired = False
    for index, (_, end, value) in enumerate(found):
        after = found[index + 1] if index + 1 < len(found) else None
        if paired:
            paired = False
        elif after and tokens[end : after[0]] in _BETWEEN:
            out.append(Amount((value, after[2]), _unit(tokens[after[1] :])))
            paired = True
        else:
            out.append(Amount((value,), _unit(tokens[end:])))
    return out


def _unit(tokens: Sequence[str]) -> str:
    """The unit that stands right after a number, unless it begins something new: `ninety two breaths are`."""
    if not tokens or tokens[1:2] in (["is"], ["are"]):
        return ""
    return _UNITS.get(tokens[0], "")


def _number(tokens: Sequence[str]) -> tuple[int, float]:
    """How many words at the beginning make a number, and the number; 0 words where none does."""
    if tokens[0][0].isdigit():
        return 1, float(tokens[0])
    length, value = _thousands(tokens)
    if not length and tokens[0] != "point":
        return 0, 0.0
    digits = 0
    while tokens[length + 1 + digits : length + 2 + digits] and tokens[length + 1 + digits] in _DIGITS:
        digits += 1
    if tokens[length : length + 1] != ["point"] or not digits:
        return length, value
    decimals = "".join(str(_ONES[token]) for token in tokens[length + 1 : length + 1 + digits])
    return length + 1 + digits, float(f"{value:.0f}.{decimals}")


def _thousands(tokens: Sequence[str]) -> tuple[int, float]:
    """A whole number: `a thousand and one`, or what is below a thousand."""
    length, value = (1, 1.0) if tokens[0] == "a" else _below_hundred(tokens)
    if length and tokens[length : length + 1] == ["thousand"]:
        more, rest = _rest(tokens[length + 1 :], _hundreds)
        return length + 1 + more, 1000 * value + rest
    return _hundreds(tokens)


def _hundreds(tokens: Sequence[str]) -> tuple[int, float]:
    """`a hundred and five`, `one oh five`, `one twenty five`, or what is below a hundred."""
    if not tokens:
        return 0, 0.0
    alone = {"a": (1, 1.0), "hundred": (0, 1.0)}
    length, value = alone.get(tokens[0]) or _below_hundred(tokens)
    if tokens[length : length + 1] == ["hundred"]:
        more, rest = _rest(tokens[length + 1 :], _below_hundred)
        return length + 1 + more, 100 * value + rest
    length, value = _below_hundred(tokens)
    if not 1 <= value <= 19:
        return length, value
    if tokens[length : length + 1] in (["oh"], ["o"]):
        ones = _ONES.get(tokens[length + 1], 0) if len(tokens) > length + 1 else 0
        return (length + 2, 100 * value + ones) if 1 <= ones <= 9 else (length, value)
    more, rest = _below_hundred(tokens[length:])
    # `eleven twelve` is somebody counting, not 1112.
    if rest >= 10 and rest != value + 1:
        return length + more, 100 * value + rest
    return length, value


def _rest(tokens: Sequence[str], below: Callable[[Sequence[str]], tuple[int, float]]) -> tuple[int, float]:
    """What follows `hundred` or `thousand`: `and twenty five`, `twenty five` or nothing."""
    joined = 1 if tokens[:1] == ["and"] else 0
    length, value = below(tokens[joined:])
    return (joined + length, value) if length else (0, 0.0)


def _below_hundred(tokens: Sequence[str]) -> tuple[int, float]:
    """A number from 0 to 99 at the beginning."""
    if not tokens:
        return 0, 0.0
    if tokens[0] in _TENS:
        ones = _ONES.get(tokens[1], 0) if len(tokens) > 1 else 0
        return (2, float(_TENS[tokens[0]] + ones)) if 1 <= ones <= 9 else (1, float(_TENS[tokens[0]]))
    if tokens[0] in _ONES and tokens[0] not in ("oh", "o"):
        return 1, float(_ONES[tokens[0]])
    return 0, 0.0

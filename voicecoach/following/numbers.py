"""Numbers and units in words: what a student says when a value is read or recorded.

`one twenty over eighty`, `three fifty`, `a hundred and twenty five`, `two point five`, `one oh six`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from voicecoach.following.normal import words

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
    tokens = words(text)
    found: list[tuple[int, int, float]] = []
    place = 0
    while place < len(tokens):
        length, value = _number(tokens[place:])
        if length:
            found.append((place, place + length, value))
        place += max(length, 1)
    out: list[Amount] = []
    skip = False
    for index, (_, end, value) in enumerate(found):
        if skip:
            skip = False
            continue
        after = found[index + 1] if index + 1 < len(found) else None
        if after and tokens[end : after[0]] in (["over"], ["on"], ["by"]):
            out.append(Amount((value, after[2]), _unit(tokens[after[1] :])))
            skip = True
        else:
            out.append(Amount((value,), _unit(tokens[end:])))
    return out


def _unit(tokens: Sequence[str]) -> str:
    """The unit that stands right after a number, unless it begins something new: `ninety two breaths are`."""
    if not tokens or tokens[1:2] in (["is"], ["are"], ["at"]):
        return ""
    return _UNITS.get(tokens[0], "")


def _number(tokens: Sequence[str]) -> tuple[int, float]:
    """How many words at the beginning make a number, and the number; 0 words where none does."""
    if tokens[0].isdigit():
        return 1, float(tokens[0])
    place, groups = 0, []
    if tokens[0] == "a" and tokens[1:2] == ["hundred"]:
        groups, place = [100.0], 2
        place, groups = _rest(tokens, place, groups)
        return place, sum(groups)
    length, value = _below_hundred(tokens)
    if not length:
        return 0, 0.0
    place = length
    if tokens[place : place + 1] == ["hundred"]:
        place, groups = _rest(tokens, place + 1, [100 * value])
        total = sum(groups)
    elif tokens[place : place + 1] == ["thousand"]:
        more, rest = _number(tokens[place + 1 :]) if tokens[place + 1 :] else (0, 0.0)
        place, total = place + 1 + more, 1000 * value + rest
    else:
        # `one twenty` is 120 and `one oh six` 106, but `twenty one` is done above and `one two` is counting.
        more, rest = _below_hundred(tokens[place:]) if tokens[place:] and 1 <= value <= 20 else (0, 0.0)
        oh = tokens[place : place + 1] in (["oh"], ["o"])
        if oh and len(tokens) > place + 1 and tokens[place + 1] in _ONES:
            place, total = place + 2, 100 * value + _ONES[tokens[place + 1]]
        elif more and rest >= 10:
            place, total = place + more, 100 * value + rest
        else:
            total = value
    return _point(tokens, place, total)


def _rest(tokens: Sequence[str], place: int, groups: list[float]) -> tuple[int, list[float]]:
    """What follows `hundred`: `and twenty five`, `twenty five` or nothing."""
    skip = 1 if tokens[place : place + 1] == ["and"] else 0
    more, rest = _below_hundred(tokens[place + skip :])
    return (place + skip + more, [*groups, rest]) if more else (place, groups)


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


def _point(tokens: Sequence[str], place: int, total: float) -> tuple[int, float]:
    """`point five` after a number."""
    if tokens[place : place + 1] != ["point"]:
        return place, total
    digits = ""
    end = place + 1
    while end < len(tokens) and tokens[end] in _ONES and _ONES[tokens[end]] <= 9:
        digits += str(_ONES[tokens[end]])
        end += 1
    return (end, total + float("0." + digits)) if digits else (place, total)

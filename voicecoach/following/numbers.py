"""Numbers and units in words: what a student says when a value is read or recorded.

`one twenty over eighty`, `three fifty`, `a hundred and twenty five`, `one two five`, `two point five`,
`one fifty two and a half pounds`, `98.6`, `1,200 mL`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from voicecoach.following.normal import FILLERS
from voicecoach.following.signs import without_signs
from voicecoach.following.unit_words import RATES, unit_at

_SMALL = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen "
    "sixteen seventeen eighteen nineteen".split()
)
_ONES = {word: value for value, word in enumerate(_SMALL)} | {"oh": 0, "o": 0, "niner": 9}
_TENS = {
    word: 10 * place
    for place, word in enumerate("twenty thirty forty fifty sixty seventy eighty ninety".split(), start=2)
}
_DIGITS = {word: value for word, value in _ONES.items() if value <= 9} | {str(n): n for n in range(10)}
_BETWEEN = (["over"], ["between"], ["on"], ["by"], ["slash"], ["upon"], ["on", "top", "of"])
_LOOSE = frozenset(
    "about like maybe even flat exactly a the probably i think say again now still both times".split()
)
"""Words that may stand beside `over` in a pair: `one hundred even over about sixty`."""
_PARTS = {
    "half": 0.5, "halves": 0.5, "quarter": 0.25, "quarters": 0.25, "fourth": 0.25, "fourths": 0.25,
    "third": 1 / 3, "thirds": 1 / 3, "tenth": 0.1, "tenths": 0.1,
}  # fmt: skip
_OPERATORS = frozenset(("times", "minus", "plus", "less"))
_OF_PART = frozenset(
    "of the a an her his their my your it is only gone eaten today so that's and but".split()
)
"""Words after which `a third` and the like are numbers; they are none in `the quarter past`."""
_NOT_OF_HALF = frozenset("past after full empty hour minute way through dozen inch sitting open".split())
"""Words after which `half` is none."""
_PERIODS = frozenset("second seconds sec minute minutes min hour hours day days week weeks".split())
_NUMBER_IS = re.compile(rf"\b({'|'.join((*_ONES, *_TENS, 'hundred', 'half', 'quarter'))})'s\b")
"""As in `sixty seven's her pulse`."""
_POINT = ("point", "dot", "decimal", "comma")
_ADJECTIVES = frozenset("ounce milliliter millilitre liter litre ml oz cc".split())
"""Units in the singular, as in `one four ounce glass`, which is no 14."""
_TOKEN = re.compile(r"\d+:\d\d|\d+(?:\.\d+)?|\.\d+|[a-z]+(?:'[a-z]+)*")


@dataclass(frozen=True, slots=True)
class Amount:
    """A number, or a pair such as systolic over diastolic, with its unit."""

    values: tuple[float, ...]
    """One number, or two where `over` stands between."""
    unit: str
    """The unit said, in the spelling of procedures; empty where none was said."""


@dataclass(frozen=True, slots=True)
class Placed:
    """An amount and where it stands among the words."""

    amount: Amount
    start: int
    """Index of its first word."""
    end: int
    """Index of the word after it and its unit."""
    between: str = ""
    """The word between the two numbers of a pair."""


def amounts(text: str) -> list[Amount]:
    """The numbers said in a text, in order."""
    return [placed.amount for placed in paired(said(text))]


def said(text: str) -> list[str]:
    """The words of a text as numbers are read from them: signs written out, hesitations left out."""
    plain = _NUMBER_IS.sub(r"\1 is", without_signs(text.lower().replace("’", "'")))
    tokens = _TOKEN.findall(plain)
    return [token for token in tokens if token not in FILLERS or token == "oh"]


def paired(words: Sequence[str]) -> list[Placed]:
    """The amounts among words, two numbers with `over` between them as one."""
    out: list[Placed] = []
    singles = _pairs_apart(single(words), words)
    index = 0
    while index < len(singles):
        upper = singles[index]
        lower = singles[index + 1] if index + 1 < len(singles) else None
        between = [word for word in words[upper.end : lower.start] if word not in _LOOSE] if lower else []
        if lower and between in _BETWEEN:
            values = upper.amount.values + lower.amount.values
            unit = lower.amount.unit or upper.amount.unit
            out.append(Placed(Amount(values, unit), upper.start, lower.end, between[0]))
            index += 2
        else:
            out.append(upper)
            index += 1
    return out


def _pairs_apart(singles: Sequence[Placed], words: Sequence[str]) -> list[Placed]:
    """The same numbers, `eighty one thirty over eighty two` as 80 and 130 over 82: an upper one is higher."""
    out = list(singles)
    for index, (one, upper, lower) in enumerate(zip(singles, singles[1:], singles[2:], strict=False)):
        (first,), (second,), (third,) = one.amount.values, upper.amount.values, lower.amount.values
        over = one.end == upper.start and list(words[upper.end : lower.start]) in _BETWEEN
        if over and 20 < first < 100 and first % 10 and one.end - one.start == 2 and 10 <= second <= third:
            out[index] = Placed(Amount((first - first % 10,), ""), one.start, one.end - 1)
            out[index + 1] = Placed(Amount((first % 10 * 100 + second,), ""), one.end - 1, upper.end)
    return out


def single(words: Sequence[str]) -> list[Placed]:
    """The numbers among words, each with its unit."""
    numbers: list[tuple[int, int, float]] = []
    place = 0
    while place < len(words):
        last = numbers[-1] if numbers else (0, 0, 0.0)
        length, value = _number(
            words[place:],
            operator=words[place - 1] if place and words[place - 1] in _OPERATORS else "",
            joined=bool(numbers)
            and (list(words[last[1] : place]) in _BETWEEN or _said_again(words[place:], numbers)),
            counting=last[1] == place and 1 <= last[2] <= 9,
        )
        if list(words[place : place + 2]) in (["a", "liter"], ["a", "litre"]) and not 0 < last[2] < 1:
            length, value = 1, 1.0
        if length:
            numbers.append((place, place + length, value))
        place += max(length, 1)
    out: list[Placed] = []
    for index, (start, end, value) in enumerate(numbers):
        after = numbers[index + 1] if index + 1 < len(numbers) else None
        length, unit = _unit_after(words[end : after[0]] if after else words[end:], value)
        lasts = after is not None and bool(set(words[after[1] : after[1] + 2]) & _PERIODS)
        if after and unit in RATES and not lasts and not unit_at(words[after[1] :])[0]:
            between = list(words[end + length : after[0]])
            if between in ([], ["is"], ["are"], ["was"], ["were"]):
                # The noun of the next number: `seventy six breaths sixteen`.
                length, unit = 0, ""
        if after and end + length == after[0] and words[end] == words[max(0, start - 2)] == "in":
            # `in kilos seventy two in pounds one sixty`
            length, unit = 0, ""
        more, part = _and_part(words[end + length :]) if unit and value == int(value) else (0, 0.0)
        signed = _signed(words, start, value + part, out)
        value = -value - part if signed else value + part
        out.append(Placed(Amount((value,), unit), start - signed, end + length + more))
    return out


def in_words(number: int) -> str:
    """A whole number from 0 to 999 as it is said: `three hundred fifty`."""
    if number < 20:
        return _SMALL[number]
    if number < 100:
        tens = next(word for word, value in _TENS.items() if value == number // 10 * 10)
        return f"{tens} {_SMALL[number % 10]}" if number % 10 else tens
    hundreds = f"{_SMALL[number // 100]} hundred"
    return f"{hundreds} {in_words(number % 100)}" if number % 100 else hundreds


def _said_again(words: Sequence[str], numbers: Sequence[tuple[int, int, float]]) -> bool:
    """Whether the digits at the beginning repeat a number: `twelve that's one two`."""
    digits = [str(_DIGITS[word]) for word in words[: _run(words)]]
    return len(digits) > 1 and float("".join(digits)) in [value for _, _, value in numbers]


def _signed(words: Sequence[str], start: int, value: float, earlier: Sequence[Placed]) -> bool:
    """Whether the number is below zero; `minus` right after another number takes away.

    Not in `eight fifty minus nine hundred minus fifty`, where the last is the result, nor in `plus fifty
    minus fifty`, where it puts right.
    """
    sign = words[start - 1] if start else ""
    if sign != "minus" or not earlier or start - 1 > earlier[-1].end:
        return sign in ("minus", "negative")
    last = earlier[-1]
    before = words[last.start - 1] if last.start else ""
    if before in ("plus", "positive"):
        return last.amount.values == (value,)
    result = earlier[-2].amount.values[0] - last.amount.values[0] if len(earlier) > 1 else 0.0
    return before == "minus" and result == -value


def _unit_after(words: Sequence[str], value: float) -> tuple[int, str]:
    """How many words right after a number are its unit, and the unit."""
    between = ("in", "of", "full", "them", "those", *(("a", "an") if value < 1 else ()))
    skipped = next((index for index, word in enumerate(words) if word not in between), len(words))
    length, unit = unit_at(words[skipped:])
    if not length or (skipped and len(words[skipped]) == 1):
        return 0, ""
    return skipped + length, unit


def _number(words: Sequence[str], operator: str, joined: bool, counting: bool) -> tuple[int, float]:
    """How many words at the beginning make a number, and the number; 0 words where none does.

    `operator`: `times` or the like where that stands before it. `joined`: it is the second of a pair.
    `counting`: a digit stands before it, of which it is no part.
    """
    for whole in (_part, _military):
        length, value = whole(words)
        if length:
            return length, value
    length, value = _operand(words, operator)
    if not length:
        length, value = _whole(words, joined, counting)
    digits, decimals = _decimals(words[length:])
    if digits and (length or words[0] in _POINT):
        return length + digits, float(f"{value:.0f}.{decimals}")
    more, part = _and_part(words[length:]) if length else (0, 0.0)
    return length + more, value + part


def _operand(words: Sequence[str], operator: str) -> tuple[int, float]:
    """What is reckoned with where the result follows at once: `times thirty two hundred seventy`."""
    length, value = _below_hundred(words)
    further = words[length : length + 1]
    ends = bool(further) and (further[0] == "hundred" or _below_hundred(further)[1] >= 10)
    if operator and ends and length == 2:
        return 1, float(_TENS[words[0]])
    return (length, value) if operator == "times" and ends and 2 <= value <= 4 else (0, 0.0)


def _decimals(words: Sequence[str]) -> tuple[int, str]:
    """How many words at the beginning are a point and what follows it, and its digits: `point oh two`."""
    if not words or words[0] not in _POINT:
        return 0, ""
    digits = _run(words[1:])
    if words[1 + digits : 2 + digits] and words[1 + digits] in _POINT:
        # The same is said again: `ninety eight point seven nine eight point seven`.
        digits = min(digits, 1)
    if digits > 1 and set(words[1 + digits : 2 + digits]) & _PERIODS:
        # `one point eight two hours later`
        digits -= 1
    if digits:
        return 1 + digits, "".join(str(_DIGITS[word]) for word in words[1 : 1 + digits])
    length, value = _below_hundred(words[1:])
    if not length and words[1:] and words[1].isdigit():
        length, value = 1, float(words[1])
    return (1 + length, f"{value:.0f}") if length else (0, "")


def _part(words: Sequence[str]) -> tuple[int, float]:
    """A part of a whole at the beginning: `half a cup`, `three quarters`, `a third of the meal`."""
    count, at = 1, 0
    if words[0] in ("a", "one", "1") or (words[0] == "the" and words[1:2] in (["half"], ["quarter"])):
        at = 1
    elif words[1:2] and words[1] in _PARTS and words[1].endswith("s") and _DIGITS.get(words[0], 0):
        return 2, _DIGITS[words[0]] * _PARTS[words[1]]
    if words[at : at + 1] not in (["half"], ["quarter"], ["third"], ["fourth"]):
        return 0, 0.0
    rest = words[at + 1 :]
    if at == 0 and words[0] != "half":
        return 0, 0.0
    half = words[at] == "half" and bool(rest) and rest[0] not in _NOT_OF_HALF
    if rest and not half and rest[0] not in _OF_PART and not unit_at(rest)[0]:
        return 0, 0.0
    return at + 1, count * _PARTS[words[at]]


def _and_part(words: Sequence[str]) -> tuple[int, float]:
    """What is added to a whole number: `and a half`, `and three quarters`, `and six tenths`."""
    if words[:1] != ["and"] or len(words) == 1:
        return 0, 0.0
    for length in (2, 1):
        count, name = (words[1], words[2:3]) if length == 2 else ("a", words[1:2])
        if not name or name[0] not in _PARTS or (length == 1 and name[0] != "half"):
            continue
        if count == "a":
            return 1 + length, _PARTS[name[0]]
        if _DIGITS.get(count, 0):
            return 1 + length, _DIGITS[count] * _PARTS[name[0]]
    return 0, 0.0


def _military(words: Sequence[str]) -> tuple[int, float]:
    """A time of day before ten at the beginning: `oh six thirty`, `zero three hundred`."""
    if words[0] not in ("oh", "o", "zero") or not 1 <= _ONES.get(words[1] if words[1:] else "", 0) <= 9:
        return 0, 0.0
    hours = 100.0 * _ONES[words[1]]
    if words[2:3] == ["hundred"]:
        return 3, hours
    length, minutes = _below_hundred(words[2:])
    further = _below_hundred(words[2 + length :])[1] >= 10 or words[2 + length : 3 + length] == ["hundred"]
    if length == 2 and further:
        # `oh six thirty one twenty eight over seventy`
        length, minutes = 1, float(_TENS[words[2]])
    return (2 + length, hours + minutes) if 10 <= minutes < 60 else (0, 0.0)


def _run(words: Sequence[str]) -> int:
    """How many single digits stand at the beginning."""
    length = 0
    while length < len(words) and words[length] in _DIGITS:
        length += 1
    return length


def _whole(words: Sequence[str], joined: bool, counting: bool) -> tuple[int, float]:
    """A whole number at the beginning, or one written with a point."""
    length = 0 if counting else _said_digits(words, joined)
    if length:
        return length, float("".join(str(_DIGITS[word]) for word in words[:length]))
    if re.fullmatch(r"\d*\.\d+|[1-9]\d{2,}|0", words[0]):
        return 1, float(words[0])
    return _thousands(words) if words else (0, 0.0)


def _said_digits(words: Sequence[str], joined: bool) -> int:
    """How many words at the beginning are one number said digit by digit: `one two five`.

    `one two three four` is somebody counting, and so is `three two one`.
    """
    length = _run(words)
    after = words[length : length + 1]
    if after and (after[0] in ("hundred", "thousand") or after[0] in _TENS or _ONES.get(after[0], 0) >= 10):
        length -= 1
    values = [_DIGITS[word] for word in words[: max(length, 0)]]
    if not 2 <= length <= 4 or values[0] == 0:
        return 0
    if after == ["point"] or joined or 0 in values:
        return length
    steps = [later - earlier for earlier, later in pairwise(values)]
    counting = max(steps.count(1), steps.count(-1) - (length == 2)) > len(steps) / 2
    one_of_such = length == 2 and bool(after) and after[0] in _ADJECTIVES
    return 0 if counting or one_of_such else length


def _thousands(words: Sequence[str]) -> tuple[int, float]:
    """A whole number: `a thousand and one`, or what is below a thousand."""
    length, value = (1, 1.0) if words[0] == "a" else _below_hundred(words)
    if length and words[length : length + 1] == ["thousand"]:
        more, rest = _rest(words[length + 1 :], _hundreds)
        return length + 1 + more, 1000 * value + rest
    return _hundreds(words)


def _hundreds(words: Sequence[str]) -> tuple[int, float]:
    """`a hundred and five`, `one oh five`, `one twenty five`, or what is below a hundred."""
    if not words:
        return 0, 0.0
    alone = {"a": (1, 1.0), "hundred": (0, 1.0)}
    length, value = alone.get(words[0]) or _below_hundred(words)
    if words[length : length + 1] == ["hundred"]:
        more, rest = _rest(words[length + 1 :], _below_hundred)
        return length + 1 + more, 100 * value + rest
    length, value = _below_hundred(words)
    if not 1 <= value <= 19 or words[0].isdigit():
        return length, value
    if words[length : length + 1] in (["oh"], ["o"]):
        ones = _ONES.get(words[length + 1], 0) if len(words) > length + 1 else 0
        return (length + 2, 100 * value + ones) if 1 <= ones <= 9 else (length, value)
    more, rest = _below_hundred(words[length:])
    if more == 2 and words[length + 2 : length + 3] == ["hundred"]:
        # `one eighty three hundred thirty` are 180 and 330.
        more, rest = 1, rest // 10 * 10
    # `eleven twelve` and `ten twenty thirty` are somebody counting, `sixteen sixteen` one who says it twice.
    further = _below_hundred(words[length + more :])[1]
    if rest >= 10 and rest not in (value, value + 1) and not (value == 10 and further - rest == rest - value):
        return length + more, 100 * value + rest
    return length, value


def _rest(words: Sequence[str], below: Callable[[Sequence[str]], tuple[int, float]]) -> tuple[int, float]:
    """What follows `hundred` or `thousand`: `and twenty five`, `twenty five`, `oh five` or nothing."""
    joined = 1 if words[:1] in (["and"], ["oh"]) else 0
    length, value = below(words[joined:])
    if words[joined + length : joined + length + 1] == ["hundred"]:
        # `sixteen hundred four hundred`
        length, value = 0, 0.0
    # In `between one hundred and one twenty five`, `two hundred one ninety` another number begins,
    # in `and six tenths` a part.
    if (words[:1] == ["and"] or 0 < value < 10) and _hundreds(words[joined:])[1] >= 100 > value:
        return 0, 0.0
    if words[joined + length : joined + length + 1] and words[joined + length] in _PARTS:
        return 0, 0.0
    return (joined + length, value) if length else (0, 0.0)


def _below_hundred(words: Sequence[str]) -> tuple[int, float]:
    """A number from 0 to 99 at the beginning."""
    if not words:
        return 0, 0.0
    if words[0] in _TENS:
        ones = _ONES.get(words[1], 0) if len(words) > 1 else 0
        return (2, float(_TENS[words[0]] + ones)) if 1 <= ones <= 9 else (1, float(_TENS[words[0]]))
    if words[0] in _ONES and words[0] not in ("oh", "o"):
        return 1, float(_ONES[words[0]])
    if re.fullmatch(r"\d\d?", words[0]):
        return 1, float(words[0])
    return 0, 0.0

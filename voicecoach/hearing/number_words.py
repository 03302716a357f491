"""Numbers in words: the ways to say one, and where phrases have one."""

from __future__ import annotations

from collections.abc import Sequence

NUMBER = "<number>"
"""Stands for any number in a phrase."""

_SMALL = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen "
    "seventeen eighteen nineteen".split()
)
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
_LARGE = ("hundred", "thousand")
_DIGITS = frozenset(_SMALL[:10])

WORDS = frozenset((*_SMALL, *_TENS, *_LARGE))
"""The words that numbers are made of."""
JOINING = frozenset(("and", "oh", "over", "point"))
"""Words that join one of `WORDS` to another."""


def ways(number: int) -> tuple[str, ...]:
    """How a whole number from 0 to 9999 is said: `one oh six`, `a hundred and six`, `one hundred six`, ..."""
    if number < 100:
        return (usual(number), _digits(number)) if number > 20 else (usual(number),)
    hundreds, rest = divmod(number, 100)
    said = _counted(hundreds, "hundred", rest) if hundreds % 10 else []
    if number >= 1000:
        said += _counted(number // 1000, "thousand", number % 1000)
    if number < 1000:
        said.append(_digits(number))
    return (*said, *short(number))


def short(number: int) -> tuple[str, ...]:
    """A whole number below 10000 said without `hundred`, `one oh six` or `twelve fifty`; empty for others."""
    hundreds, rest = divmod(number, 100)
    return (f"{usual(hundreds)} {'oh ' if rest < 10 else ''}{usual(rest)}",) if hundreds and rest else ()


def usual(number: int) -> str:
    """The plain way to say a whole number from 0 to 9999: `one hundred six`."""
    if number < 20:
        return _SMALL[number]
    if number < 100:
        return _TENS[number // 10 - 2] + (f" {_SMALL[number % 10]}" if number % 10 else "")
    size, large = (1000, "thousand") if number >= 1000 else (100, "hundred")
    return f"{usual(number // size)} {large}" + (f" {usual(number % size)}" if number % size else "")


def classed(phrase: str) -> tuple[str, ...]:
    """The words of a phrase with `NUMBER` in place of each number.

    A single word below ten, as in `two fingers`, stays where other words stand beside it.
    """
    words = phrase.split()
    out: list[str] = []
    place = 0
    while place < len(words):
        length = _length(words[place:])
        is_number = length > 1 or (length == 1 and (words[place] not in _DIGITS or len(words) == 1))
        out.append(NUMBER if is_number else words[place])
        place += max(length, 1) if is_number else 1
    return tuple(out)


def alone(phrase: str) -> bool:
    """Whether a phrase is a number and nothing else."""
    return classed(phrase) == (NUMBER,)


def _digits(number: int) -> str:
    return " ".join(_SMALL[int(digit)] for digit in str(number))


def _counted(count: int, large: str, rest: int) -> list[str]:
    """So many hundreds or thousands, and what is left over."""
    rests = [""]
    if rest >= 100:
        rests = [f" {more}" for more in _counted(rest // 100, "hundred", rest % 100)]
    elif rest:
        rests = [f" {usual(rest)}", f" and {usual(rest)}"]
    said = [f"{usual(count)} {large}{more}" for more in rests]
    return [*said, f"a {large}{rests[-1]}"] if count == 1 else said


def _length(words: Sequence[str]) -> int:
    """How many words at the beginning make a number, or several numbers in a row."""
    length = 1 if words[0] == "a" and words[1:2] and words[1] in _LARGE else 0
    while length < len(words):
        before, word, after = words[:length][-1:], words[length], words[length + 1 : length + 2]
        joined = after and after[0] in WORDS and (
            word == "point"
            or (word == "oh" and before and before[0] in WORDS)
            or (word == "and" and before and before[0] in _LARGE)
        )  # fmt: skip
        if word not in WORDS and not joined:
            break
        length += 1
    return length

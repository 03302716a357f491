"""Counting aloud: `one two three`, `one thousand one`, `two mississippi`, one by one or many in a row.

A recognizer drops and mishears some of the numbers, so a count is the longest chain of numbers that follow
one another, and one that was not heard where there was time to say it was not left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median

from voicecoach.events import Word
from voicecoach.following.normal import FILLERS

_ONES = {
    word: value
    for value, word in enumerate(
        "one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen "
        "seventeen eighteen nineteen".split(),
        start=1,
    )
}
_TENS = {
    word: 10 * place
    for place, word in enumerate("twenty thirty forty fifty sixty seventy eighty ninety".split(), start=2)
}
_BESIDE = FILLERS | frozenset(
    "mississippi hippopotamus alligator elephant steamboat second seconds and okay ok so now then".split()
)
"""Words between numbers that are counted."""
_FILLING = _BESIDE | {"one", "a", "thousand"}
"""Words with which a second is filled."""
_FEWEST = 3
"""Numbers that make a count."""
_FARTHEST = 10.0
"""Seconds between two numbers of one count at most."""
_ROOM = 1.6
"""Share of the usual time between two numbers from which there was time for another that was not heard."""
_FIRST = 2
"""The highest number with which a count begins."""
_ONE = 1.2
"""Seconds that a number lasts at most."""
_MISHEARD = 4
"""How much higher a number may be than the one before where others between them were misheard."""
_STEPS = {1: 1.0, 2: 0.5, 3: 0.2, 0: 0.4, 5: 0.3, 10: 0.3}
"""What a number adds to a chain, by how much it is higher than the one before."""
_SILENT = 0.1
"""The same where it comes after so long a silence that others may have been counted in it."""


@dataclass(frozen=True, slots=True)
class Number:
    """A number that may belong to a count."""

    value: int
    start: float
    """Seconds at which it begins."""
    end: float
    alone: bool = False
    """True where no other is said in the same breath."""


@dataclass(frozen=True, slots=True)
class Count:
    """A count from its first number to its last."""

    reached: int
    """The last number; 0 where nothing was counted."""
    start: float
    """Seconds at which the first number begins."""
    end: float
    """Seconds at which the last ends."""
    slips: tuple[str, ...]
    """What went wrong: `14 left out`, `7 twice`."""


NO_COUNT = Count(0, 0.0, 0.0, ())


def counted(words: Sequence[Word]) -> tuple[Number, ...]:
    """The numbers of an utterance that may belong to a count, since nearly nothing else is said in it.

    None where it is about something else, as `that is seventy six for the minute` is.
    """
    spoken = [word for word in words if word.text not in FILLERS]
    found: list[Number] = []
    others: list[str] = []
    place = 0
    while place < len(spoken):
        length, value = _counted([word.text for word in spoken[place : place + 5]])
        if length:
            found.append(Number(value, spoken[place].start, spoken[place + length - 1].end))
        elif spoken[place].text not in _BESIDE:
            others.append(spoken[place].text)
        place += max(length, 1)
    # Whoever fills each second with a word may take any: `one potato two potato`.
    filled = len(found) > 1 and len(set(others)) == 1 and len(others) <= len(found)
    # Where numbers follow one another, what is between them may be one that was misheard.
    most = len(found) // (4 if count(found) is NO_COUNT else 2)
    if len(others) > most and not filled:
        return ()
    return tuple(replace(number, alone=len(found) == 1) for number in found)


def goes_on_counting(numbers: Sequence[Number], start: float, end: float) -> bool:
    """Whether the numbers said then are part of a count; one alone is a result."""
    said = [number for number in numbers if start - 1e-3 <= number.start < end]
    if len(said) != 1:
        return bool(said)
    place = numbers.index(said[0])
    before, after = numbers[:place][-1:], numbers[place + 1 : place + 2]
    near = [pair for pair in ((*before, said[0]), (said[0], *after)) if len(pair) == 2]
    begins = said[0].value <= _FIRST and not (before and said[0].start - before[0].end <= _FARTHEST)
    return begins or any(
        later.start - number.end <= _FARTHEST and abs(later.value - number.value) in _STEPS
        for number, later in near
    )


def goes_between(numbers: Sequence[Number], start: float, end: float) -> bool:
    """Whether words that are no number stand where one was left out of a count, and are as short as one."""
    before = next((number for number in reversed(numbers) if number.end <= start + 1e-3), None)
    after = next((number for number in numbers if number.start >= end - 1e-3), None)
    if before is None or after is None or end - start > _ONE:
        return False
    return 1 < after.value - before.value <= _MISHEARD and after.start - before.end <= _FARTHEST


def count(numbers: Iterable[Number], words: Sequence[Word] = ()) -> Count:
    """The longest count in numbers that were heard one after the other, upwards or down to nothing.

    A number is not taken to be left out where others of the `words` are, which may be it, misheard.
    """
    heard = tuple(numbers)
    up = _chain(heard)
    down = [_down(number) for number in _chain([_down(number) for number in heard])]
    chain = max(up, down, key=len)
    if len({number.value for number in chain}) < _FEWEST:
        return NO_COUNT
    reached = max(number.value for number in chain)
    return Count(reached, chain[0].start, chain[-1].end, _slips(chain, words) if chain is up else ())


def _down(number: Number) -> Number:
    return replace(number, value=-number.value)


def _chain(heard: Sequence[Number]) -> list[Number]:
    """The longest chain of numbers, each of which follows the one before."""
    best: list[tuple[float, int]] = []
    for place, number in enumerate(heard):
        options = [(1.0, -1)]
        for before in range(place):
            step = _step(heard[before], number)
            if step is not None:
                options.append((best[before][0] + step, before))
        best.append(max(options))
    chain: list[Number] = []
    place = max(range(len(best)), key=lambda place: best[place][0], default=-1)
    while place >= 0:
        chain.insert(0, heard[place])
        place = best[place][1]
    return chain


def _step(before: Number, number: Number) -> float | None:
    """What a number adds to a chain after another; None where it cannot follow it."""
    if number.start - before.end <= _FARTHEST:
        return _STEPS.get(number.value - before.value)
    # Who counts silently for a while goes on aloud, some numbers in a row.
    return _SILENT if number.value > before.value and not number.alone else None


def _slips(chain: Sequence[Number], words: Sequence[Word]) -> tuple[str, ...]:
    """What is said twice, and what is left out: not heard where there was no time to say it."""
    if median(later.value - number.value for number, later in pairwise(chain)) > 1:
        return ()  # counted by fives or tens
    usual = median(later.start - number.start for number, later in pairwise(chain))
    heard = {number.value for number in chain}
    slips = []
    for number, later in pairwise(chain):
        if later.value == number.value and (number.value - 1 in heard or number is chain[0]):
            slips.append(f"{number.value} twice")
        at_once = later.start - number.start < _ROOM * usual and not _is_between(words, number, later)
        if later.value > number.value + 1 and at_once and not _said_instead(chain, later.value):
            slips += [f"{value} left out" for value in range(number.value + 1, later.value)]
    return tuple(slips)


def _said_instead(chain: Sequence[Number], value: int) -> bool:
    """Whether a number stands twice, the first time most likely for the one before it, which was misheard."""
    return sum(number.value == value for number in chain) > 1


def _is_between(words: Sequence[Word], number: Number, later: Number) -> bool:
    """Whether a word is said between two numbers that is none of those with which a second is filled."""
    return any(
        number.end - 1e-3 <= word.start < later.start - 1e-3 and word.text not in _FILLING for word in words
    )


def _counted(words: Sequence[str]) -> tuple[int, int]:
    """How many words at the beginning count one number, and the number; 0 words where none does."""
    if words[:2] in (["one", "thousand"], ["a", "thousand"]):
        length, value = _number(words[2:])
        return (2 + length, value) if length else (0, 0)
    length, value = _number(words)
    return (length + 2, value) if words[length : length + 2] == ["one", "thousand"] else (length, value)


def _number(words: Sequence[str]) -> tuple[int, int]:
    """How many words at the beginning make a number from 1 to 99, and the number."""
    if not words:
        return 0, 0
    if words[0].isdigit():
        return 1, int(words[0])
    if words[0] in _TENS:
        # `twenty one thousand` is twenty and the words that fill a second, as `five one thousand` is five.
        alone = len(words) == 1 or words[1:3] == ["one", "thousand"]
        ones = 10 if alone else _ONES.get(words[1], 10)
        return (2, _TENS[words[0]] + ones) if ones < 10 else (1, _TENS[words[0]])
    return (1, _ONES[words[0]]) if words[0] in _ONES else (0, 0)

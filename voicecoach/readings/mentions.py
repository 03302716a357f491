"""Numbers in what a student says, each with the words around it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from voicecoach.following.numbers import Amount, Placed

_CLAUSE = re.compile(r"\b(?:and|but|so|now|today|today's|then|because|while) ")
"""What begins another clause."""
_ONE_THOUSAND = re.compile(r"\b(?:one|two|three|four|five|six|seven|eight|nine|ten) one thousand\b")
"""How seconds are counted: `one one thousand two one thousand`."""


@dataclass(frozen=True, slots=True)
class Mention:
    """A number, and what is said around it; each text has a space after every word."""

    placed: Placed
    words: Sequence[str]
    """All that was said."""
    earlier: Placed | None
    """The number before it."""
    later: Placed | None
    """The number after it."""
    lead: str
    """The words since the number before."""
    near: str
    """Those of them that belong to its clause."""
    trail: str
    """The words up to the next number."""
    counting: bool
    """True where somebody counts aloud with it: `one breath two breaths three breaths`."""

    @property
    def amount(self) -> Amount:
        """The number itself."""
        return self.placed.amount

    @property
    def value(self) -> float:
        """The number, or the first of two."""
        return self.amount.values[0]

    @property
    def after(self) -> str:
        """All words after it."""
        return text(self.words[self.placed.end :])

    @property
    def before_earlier(self) -> str:
        """All words before the number before it; empty where there is none."""
        return text(self.words[: self.earlier.start]) if self.earlier else ""

    @property
    def after_later(self) -> str:
        """All words after the next number; empty where there is none."""
        return text(self.words[self.later.end :]) if self.later else ""


def mentions(words: Sequence[str], placed: Sequence[Placed]) -> list[Mention]:
    """The numbers, each with its neighbours. `one` alone is a word as any other: `the last one`."""
    placed = [place for place in placed if words[place.start : place.end] not in (["one"], ["1"])]
    counted = _counted_aloud(words, placed)
    out = []
    for index, place in enumerate(placed):
        earlier = placed[index - 1] if index else None
        later = placed[index + 1] if index + 1 < len(placed) else None
        lead = text(words[earlier.end if earlier else 0 : place.start])
        trail = text(words[place.end : later.start if later else len(words)])
        near = _CLAUSE.split(lead)[-1]
        out.append(Mention(place, words, earlier, later, lead, near, trail, place.start in counted))
    return out


def text(words: Sequence[str]) -> str:
    """Words as a text, with a space after each."""
    return "".join(f"{word} " for word in words)


def _counted_aloud(words: Sequence[str], placed: Sequence[Placed]) -> frozenset[int]:
    """Where numbers begin that are three or more in a row, each greater by one, a word between at most."""
    runs: list[list[Placed]] = []
    for place in placed:
        last = runs[-1][-1] if runs else None
        if last and place.amount.values[0] == last.amount.values[0] + 1 and place.start - last.end <= 1:
            runs[-1].append(place)
        else:
            runs.append([place])
    seconds = len(_ONE_THOUSAND.findall(text(words))) > 1
    return frozenset(place.start for run in runs if len(run) > 2 or seconds for place in run)

"""Cutting an utterance into clauses, each of which can report a step.

Nobody speaks punctuation, so an utterance is first cut at every word that may begin a clause, and the
pieces are then joined again wherever the evidence for one step is stronger in one clause than in two. A
clause of which even the best label fits badly may hold two reports with no such word between them
(`tie it at the neck tie it at the waist`), and is cut wherever that pays well.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from voicecoach.events import Word

OPENERS = frozenset(
    "and then now so next but while okay ok also after before until because when once where which "
    "that's i i'm i've i'll he she he's she's it it's they they're we we're we'll you your here here's "
    "there there's let let's".split()
)
"""Words that may begin a clause."""
JOINERS = frozenset("and then now so next but okay ok also".split())
"""Openers that stay together: `and then i` opens one clause."""
BROKEN_OFF = frozenset(
    "and then so but or because a an the my his her your their its this to of on in with for at from into "
    "i i'm i'll we we're is are".split()
)
"""Words after which more is to come."""
PAUSE = 0.35
"""Seconds of silence between two words at which a clause may begin whatever the word."""
LONGEST = 8
"""Pieces that one clause may hold at most."""
UNOPENED = 8.0
"""What a cut before a word that opens no clause must gain on top of the cost of others."""
SHORTEST = 3
"""Words that each clause has at least after such a cut."""

Fitness = Callable[[Sequence["Clause"]], Sequence[tuple[float, str]]]
"""How well the best label of each clause fits, as a log probability, and that label."""


@dataclass(frozen=True, slots=True)
class Clause:
    """A piece of an utterance that can report a step."""

    words: tuple[Word, ...]

    @property
    def text(self) -> str:
        """What was said."""
        return " ".join(word.text for word in self.words)


def goes_on(text: str) -> bool:
    """Whether words break off where more is to come."""
    return text.rpartition(" ")[2] in BROKEN_OFF


def borders(words: Sequence[Word]) -> list[int]:
    """Indexes at which a clause may begin, and the number of words at the end."""
    cuts = [0]
    for index in range(1, len(words)):
        word, before = words[index], words[index - 1]
        alone = index - cuts[-1] < 2 and word.text not in JOINERS
        opens = word.text in OPENERS and before.text not in JOINERS and not alone
        if opens or word.start - before.end > PAUSE:
            cuts.append(index)
    return [*cuts, len(words)] if words else [0]


def cut(words: tuple[Word, ...], fitness: Fitness, cost: float) -> list[Clause]:
    """The clauses of an utterance.

    A cut pays where the fitness of its parts, each counted by its words, gains more than `cost`.
    Neighbours with the same label are one clause.
    """
    opened = _cut_at_openers(words, fitness, cost)
    return [part for clause in opened for part in _cut_anywhere(clause, fitness, cost + UNOPENED)]


def _cut_anywhere(clause: Clause, fitness: Fitness, cost: float) -> list[Clause]:
    """The clause in two or more wherever that gains more than `cost`."""
    count = len(clause.words)
    ((fit, _),) = fitness([clause])
    # No fitness is above 0, so that a clause that fits well has nothing to gain.
    if count < 2 * SHORTEST or -fit * count <= cost:
        return [clause]
    places = range(SHORTEST, count - SHORTEST + 1)
    pairs = [(Clause(clause.words[:place]), Clause(clause.words[place:])) for place in places]
    fits = fitness([part for pair in pairs for part in pair])
    gains = [
        -fit * count + left * len(pair[0].words) + right * len(pair[1].words) if one != other else 0.0
        for pair, (left, one), (right, other) in zip(pairs, fits[::2], fits[1::2], strict=True)
    ]
    if max(gains) <= cost:
        return [clause]
    best = pairs[gains.index(max(gains))]
    return [part for half in best for part in _cut_anywhere(half, fitness, cost)]


def _cut_at_openers(words: tuple[Word, ...], fitness: Fitness, cost: float) -> list[Clause]:
    """The clauses of an utterance, cut at its borders alone."""
    marks = borders(words)
    spans = [
        (start, end)
        for start in range(len(marks) - 1)
        for end in range(start + 1, min(start + LONGEST, len(marks) - 1) + 1)
    ]
    if not spans:
        return []
    clauses = [Clause(words[marks[start] : marks[end]]) for start, end in spans]
    fits = fitness(clauses)
    ending: list[list[int]] = [[] for _ in marks]
    for place, (_, stop) in enumerate(spans):
        ending[stop].append(place)
    best: list[tuple[float, int, str]] = [(0.0, -1, "")]
    for places in ending[1:]:
        options = []
        for place in places:
            start, (fit, label) = spans[place][0], fits[place]
            same = start > 0 and best[start][2] == label
            total = best[start][0] + fit * len(clauses[place].words) - (0.0 if same else cost)
            options.append((total, place, label))
        best.append(max(options))
    return _traced(best, spans, clauses)


def _traced(
    best: list[tuple[float, int, str]], spans: list[tuple[int, int]], clauses: list[Clause]
) -> list[Clause]:
    """The chosen clauses from first to last, neighbours with the same label joined."""
    chosen: list[tuple[str, Clause]] = []
    end = len(best) - 1
    while end > 0:
        _, place, label = best[end]
        clause = clauses[place]
        if chosen and chosen[-1][0] == label:
            clause = Clause(clause.words + chosen.pop()[1].words)
        chosen.append((label, clause))
        end = spans[place][0]
    return [clause for _, clause in reversed(chosen)]

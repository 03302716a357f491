"""Plain followers to compare with: the nearest phrase, one clause at a time, no order, no stage.

*nearest-phrase* is the nearest by letters and words, *nearest-meaning* the nearest by sentence embeddings.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from functools import cache

from rapidfuzz import fuzz, process

from tests.benchmarks import minilm
from tests.benchmarks.narrations import SECONDS_A_WORD, Narration, shipped
from tests.benchmarks.scoring import Outcome, SpokenCue, Taken, figures
from voicecoach.procedure.order import needs

Transcript = list[str]
"""What was heard at each clause of a narration."""
Nearest = list[tuple[str, float]]
"""For each clause the nearest step and how near it is, 0 to 100."""
THRESHOLDS = range(20, 100, 4)


def nearest_phrase(narration: Narration, transcript: Transcript) -> Nearest:
    """The step whose phrase is nearest to each clause by token-set ratio, and that ratio, 0 to 100.

    Of a step and the same action done again, the first open one in the usual order is meant.
    """
    phrases = _phrases(narration)
    texts = [phrase for phrase, _ in phrases]
    nearest = []
    for heard in transcript:
        _, ratio, place = process.extractOne(heard, texts, scorer=fuzz.token_set_ratio)
        nearest.append((phrases[place][1], float(ratio)))
    return nearest


def nearest_meaning(narration: Narration, transcript: Transcript) -> Nearest:
    """The step whose phrase is nearest to each clause by the cosine of embeddings, times 100."""
    phrases = _phrases(narration)
    likeness = minilm.embeddings(transcript) @ minilm.kept([phrase for phrase, _ in phrases]).T
    return [
        (phrases[int(row.argmax())][1], max(0.0, 100 * float(row.max())) if heard else 0.0)
        for heard, row in zip(transcript, likeness, strict=True)
    ]


@cache
def matchers() -> dict[str, Callable[[Narration, Transcript], Nearest]]:
    """The matchers that are installed; what is not is named on stderr, once."""
    if minilm.installed():
        return {"nearest-phrase": nearest_phrase, "nearest-meaning": nearest_meaning}
    print(f"left out nearest-meaning: it needs {', '.join(minilm.NEEDED)}", file=sys.stderr)
    return {"nearest-phrase": nearest_phrase}


def at_best(found: Sequence[tuple[Narration, Nearest, float]]) -> dict[str, float]:
    """The figures at the threshold at which step F1 is best, and that threshold.

    `found` are the narrations, what is nearest in each, and the seconds that finding it cost.
    """
    tried = {
        threshold: figures(outcome(one, nearest, threshold, spent) for one, nearest, spent in found)
        for threshold in THRESHOLDS
    }
    best = max(tried, key=lambda threshold: tried[threshold]["step_f1"])
    return tried[best] | {"threshold": float(best)}


def _phrases(narration: Narration) -> list[tuple[str, str]]:
    """Each phrase of the procedure and its step."""
    return [(phrase, step.id) for step in shipped(narration.procedure).steps for phrase in step.say]


def outcome(narration: Narration, nearest: Nearest, threshold: float, seconds: float) -> Outcome:
    """The outcome of taking the nearest step wherever it is near enough."""
    procedure = shipped(narration.procedure)
    table = needs(procedure)
    taken: dict[str, Taken] = {}
    cues: list[SpokenCue] = []
    for place, (nearest_step, ratio) in enumerate(nearest):
        if ratio < threshold:
            continue
        action = procedure.step(nearest_step).again or nearest_step
        twins = [step.id for step in procedure.steps if (step.again or step.id) == action]
        step = next((id for id in twins if id not in taken), twins[-1])
        if step in taken:
            continue
        taken[step] = Taken(step, place, place, float(place))
        cues.extend(SpokenCue(need, place) for need in table[step] if need not in taken)
    minutes = sum(clause.gap + SECONDS_A_WORD * len(clause.say.split()) for clause in narration.clauses) / 60
    once = tuple({cue.step: cue for cue in reversed(cues)}.values())
    return Outcome(narration, tuple(taken.values()), (), once, minutes, seconds)

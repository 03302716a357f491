"""A plain follower to compare with: the nearest phrase, one clause at a time, no order, no stage."""

from __future__ import annotations

from rapidfuzz import fuzz, process

from tests.benchmarks.narrations import SECONDS_A_WORD, Narration, shipped
from tests.benchmarks.scoring import Outcome, SpokenCue, Taken
from voicecoach.procedure.order import needs

Transcript = list[str]
"""What was heard at each clause of a narration."""


def nearest_phrase(narration: Narration, transcript: Transcript) -> list[tuple[str, float]]:
    """The step whose phrase is nearest to each clause by token-set ratio, and that ratio, 0 to 100.

    Of a step and the same action done again, the first open one in the usual order is meant.
    """
    procedure = shipped(narration.procedure)
    phrases = [(phrase, step.id) for step in procedure.steps for phrase in step.say]
    texts = [phrase for phrase, _ in phrases]
    nearest = []
    for heard in transcript:
        _, ratio, place = process.extractOne(heard, texts, scorer=fuzz.token_set_ratio)
        nearest.append((phrases[place][1], float(ratio)))
    return nearest


def outcome(
    narration: Narration, nearest: list[tuple[str, float]], threshold: float, seconds: float
) -> Outcome:
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

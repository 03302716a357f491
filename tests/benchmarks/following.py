"""How well narrations are followed: `python -m tests.benchmarks.following [--narrations FOLDER] [--sound] [--json]`.

Each narration goes through the real core in `rehearse`, as text or as sound spoken by a synthetic voice
and heard by the real recognizer, and is compared with its labels. Beside it stands a plain
nearest-phrase matcher, given the threshold at which its own step F1 is best.
"""

from __future__ import annotations

import time
from pathlib import Path

from tests.benchmarks import baseline
from tests.benchmarks.narrations import SECONDS_A_WORD, Narration
from tests.benchmarks.scoring import Outcome, SpokenCue, Taken, figures
from voicecoach.attempt import Attempt
from voicecoach.events import (
    Begun,
    Cued,
    Elapsed,
    Followed,
    Heard,
    Outgoing,
    Stopped,
    Unfollowed,
    Voiced,
    Word,
)
from voicecoach.procedure.library import find

OWN = Path(__file__).parents[1] / "narrations"
SHARED = Path(__file__).parents[3] / "shared" / "narrations"
CUE_SECONDS = 2.5
"""How long a cue is taken to sound."""


def utterances(narration: Narration) -> list[Heard]:
    """A narration as text: each clause an utterance, each word the same length."""
    heard = []
    now = 0.0
    for number, clause in enumerate(narration.clauses, start=1):
        now += clause.gap
        words = []
        for word in clause.say.split():
            words.append(Word(word, round(now, 3), round(now + SECONDS_A_WORD, 3)))
            now += SECONDS_A_WORD
        heard.append(Heard(round(now, 3), number, words[0].start, words[-1].end, tuple(words)))
    return heard


def follow(narration: Narration, heard: list[Heard], places: list[int], minutes: float) -> Outcome:
    """Follow a narration with the core.

    `places` holds for each utterance the place of the labelled clause in which it was said.
    """
    procedure = find(narration.procedure)
    begun = Begun(0.0, narration.id, "", "rehearse", "typed", procedure.plain())
    attempt = Attempt(begun)
    place_of = {utterance.utterance: place for utterance, place in zip(heard, places, strict=True)}
    taken: dict[str, Taken] = {}
    withdrawn: list[int] = []
    cues: list[SpokenCue] = []

    def note(events: tuple[Outgoing, ...], place: int) -> None:
        for event in events:
            match event:
                case Followed():
                    taken[event.step] = Taken(
                        event.step, place, place_of.get(event.utterance, place), event.start
                    )
                case Unfollowed():
                    withdrawn.append(taken.pop(event.step).spoken_at)
                case Cued(kind="missed" | "order"):
                    cues.append(SpokenCue(event.about[0], place))
                case _:
                    pass
            if isinstance(event, Cued):
                attempt.take(Voiced(event.at + CUE_SECONDS, event.cue, event.at))

    attempt.take(begun)
    seconds = 0.0
    for utterance, place in zip(heard, places, strict=True):
        while attempt.wakes_at is not None and attempt.wakes_at < utterance.start:
            note(attempt.take(Elapsed(attempt.wakes_at)), place)
        began = time.perf_counter()
        out = attempt.take(utterance)
        seconds += time.perf_counter() - began
        note(out, place)
    attempt.take(Stopped(heard[-1].at if heard else 0.0, "source ended"))
    return Outcome(narration, tuple(taken.values()), tuple(withdrawn), tuple(cues), minutes, seconds)


def as_text(narration: Narration) -> Outcome:
    """Follow the words of a narration."""
    heard = utterances(narration)
    return follow(narration, heard, list(range(len(heard))), heard[-1].end / 60)


def compare(
    narrations: list[Narration], outcomes: list[Outcome], transcripts: list[list[str]]
) -> dict[str, object]:
    """The figures of a condition, and the baseline's on the same words at its best threshold."""
    rows = []
    for narration, transcript in zip(narrations, transcripts, strict=True):
        began = time.perf_counter()
        rows.append((narration, baseline.nearest_phrase(narration, transcript), began))
    spent = [time.perf_counter() - began for *_, began in rows[-1:]]
    tried = {
        threshold: figures(
            baseline.outcome(narration, nearest, threshold, spent[0] if spent else 0.0)
            for narration, nearest, _ in rows
        )
        for threshold in range(40, 100, 4)
    }
    best = max(tried, key=lambda threshold: tried[threshold]["step_f1"])
    result: dict[str, object] = dict(figures(outcomes))
    result["baselines"] = {"nearest-phrase": tried[best] | {"threshold": float(best)}}
    return result

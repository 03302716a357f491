"""Narrations performed, heard, followed and compared with their labels, one by one and on all cores."""

from __future__ import annotations

import os
import sys
import time
from bisect import bisect_right
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from typing import Any

from rapidfuzz.distance import Levenshtein

from tests.benchmarks import baseline
from tests.benchmarks.attempts import attend
from tests.benchmarks.narrations import SECONDS_A_WORD, Narration, shipped
from tests.benchmarks.scoring import Outcome, SpokenCue, Taken, figures
from voicecoach.events import Cued, Followed, Heard, Unfollowed, Word

TEXT = "text"
"""Stands for the recognizer where a narration is read as text."""
Span = tuple[float, float]
"""Seconds at which a labelled clause begins and ends."""
Heeded = tuple[list[Heard], list[Span]]
"""What was heard of a narration, and when its clauses were said."""


@dataclass(frozen=True, slots=True)
class Task:
    """One narration to be measured in one way."""

    narration: Narration
    hear: str
    """The recognizer, or `text`."""
    voice: str = ""
    condition: str = "clean"


@dataclass(frozen=True, slots=True)
class Measured:
    """What came of one task."""

    task: Task
    outcome: Outcome
    """Of voicecoach's follower."""
    nearest: dict[str, tuple[baseline.Nearest, float]]
    """Of each plain follower: what is nearest to each clause, and the seconds that cost."""
    wrong_words: int
    """Words to be changed, put in or left out to get from what was heard to what was said."""
    words: int
    """Words said."""


def as_text(narration: Narration) -> Heeded:
    """A narration as text: each clause an utterance, each word the same length."""
    heard: list[Heard] = []
    now = 0.0
    for number, clause in enumerate(narration.clauses, start=1):
        now += clause.gap
        words = []
        for word in clause.say.split():
            words.append(Word(word, round(now, 3), round(now + SECONDS_A_WORD, 3)))
            now += SECONDS_A_WORD
        heard.append(Heard(round(now, 3), number, words[0].start, words[-1].end, tuple(words)))
    return heard, [(utterance.start, utterance.end) for utterance in heard]


def heed(task: Task) -> Heeded:
    """A narration as text, or as it was performed and heard."""
    if task.hear == TEXT:
        return as_text(task.narration)
    from tests.benchmarks import spoken  # needs the voices of the test extra

    return spoken.hear(task.narration, task.hear, task.voice, task.condition)


def follow(narration: Narration, heeded: Heeded) -> Outcome:
    """Follow a narration with the core."""
    heard, spans = heeded
    starts = [start for start, _ in spans]
    attended = attend(narration.id, shipped(narration.procedure), heard, spans[-1][1])
    taken: dict[str, Taken] = {}
    withdrawn: list[int] = []
    cues: list[SpokenCue] = []
    for moment, event in attended.events:
        now = _place(starts, moment)
        match event:
            case Followed():
                said = _place(starts, (event.start + event.end) / 2)
                taken[event.step] = Taken(event.step, now, said, event.start)
            case Unfollowed():
                withdrawn.append(taken.pop(event.step).spoken_at)
            case Cued() if event.kind in ("missed", "order"):
                cues.append(SpokenCue(event.about[0], now))
            case _:
                pass
    minutes = spans[-1][1] / 60
    return Outcome(narration, tuple(taken.values()), tuple(withdrawn), tuple(cues), minutes, attended.seconds)


def transcript(heeded: Heeded) -> list[str]:
    """What was heard at each labelled clause."""
    heard, spans = heeded
    starts = [start for start, _ in spans]
    words: list[list[str]] = [[] for _ in spans]
    for utterance in heard:
        for word in utterance.words:
            words[_place(starts, (word.start + word.end) / 2)].append(word.text)
    return [" ".join(said) for said in words]


def measure(task: Task) -> Measured:
    """Perform, hear and follow one narration."""
    heeded = heed(task)
    heard = transcript(heeded)
    nearest = {}
    for name, matcher in baseline.matchers().items():
        began = time.perf_counter()
        found = matcher(task.narration, heard)
        nearest[name] = (found, time.perf_counter() - began)
    said = " ".join(clause.say for clause in task.narration.clauses).split()
    wrong = Levenshtein.distance(said, " ".join(heard).split())
    return Measured(task, follow(task.narration, heeded), nearest, wrong, len(said))


def measure_all(tasks: Sequence[Task], cores: int, tell: Callable[[str], None]) -> list[Measured]:
    """Measure on so many cores; each that is done is told of."""
    # Each process has a core to itself; libraries that take all cores would only be in each other's way.
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    done = []
    with ProcessPoolExecutor(cores) as pool:
        for count, one in enumerate(pool.map(measure, tasks), start=1):
            done.append(one)
            task = one.task
            tell(f"{count} of {len(tasks)}: {task.narration.id} {task.hear} {task.voice} {task.condition}")
    return done


def on_stderr(line: str) -> None:
    """Tell of progress."""
    print(line, file=sys.stderr, flush=True)


def summary(measured: Sequence[Measured]) -> dict[str, Any]:
    """The figures over some narrations, and those of the plain followers under `baselines`."""
    result: dict[str, Any] = dict(figures(one.outcome for one in measured))
    result["word_error_rate"] = sum(one.wrong_words for one in measured) / sum(one.words for one in measured)
    names = measured[0].nearest
    result["baselines"] = {
        name: baseline.at_best([(one.task.narration, *one.nearest[name]) for one in measured])
        for name in names
    }
    return result


def _place(starts: Sequence[float], at: float) -> int:
    """The labelled clause that was the latest to begin by a moment."""
    return max(0, bisect_right(starts, at) - 1)

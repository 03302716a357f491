"""How well narrations are followed.

    python -m tests.benchmarks.following [--narrations FOLDER] [--sound] [--json]

Each narration goes through the real core in `rehearse`, as text or as sound spoken by a synthetic voice
and heard by the real recognizer, and is compared with its labels. Beside it stands a plain
nearest-phrase matcher on the same words, given the threshold at which its own step F1 is best.
"""

from __future__ import annotations

import json
import sys
import time
from bisect import bisect_right
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.console import Console
from rich.table import Table

from tests.benchmarks import baseline
from tests.benchmarks.narrations import SECONDS_A_WORD, Narration, read_folder, shipped
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

OWN = Path(__file__).parents[1] / "narrations"
SHARED = Path(__file__).parents[3] / "shared" / "narrations"
CUE_SECONDS = 2.5
"""How long a cue is taken to sound."""
Span = tuple[float, float]
"""Seconds at which a labelled clause begins and ends."""
Heeded = tuple[list[Heard], list[Span]]
"""What was heard of a narration, and when its clauses were said."""


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


def as_sound(narration: Narration) -> Heeded:
    """A narration spoken by a synthetic voice and heard by `sphinx`."""
    from tests.benchmarks import spoken  # needs the voice of the test extra

    return spoken.hear(narration)


def follow(narration: Narration, heeded: Heeded) -> Outcome:
    """Follow a narration with the core."""
    heard, spans = heeded
    starts = [start for start, _ in spans]
    begun = Begun(0.0, narration.id, "", "rehearse", "typed", shipped(narration.procedure).plain())
    attempt = Attempt(begun)
    taken: dict[str, Taken] = {}
    withdrawn: list[int] = []
    cues: list[SpokenCue] = []

    def place(at: float) -> int:
        return max(0, bisect_right(starts, at) - 1)

    def note(events: Iterable[Outgoing], now: int) -> None:
        for event in events:
            match event:
                case Followed():
                    said = place((event.start + event.end) / 2)
                    taken[event.step] = Taken(event.step, now, said, event.start)
                case Unfollowed():
                    withdrawn.append(taken.pop(event.step).spoken_at)
                case Cued():
                    if event.kind in ("missed", "order"):
                        cues.append(SpokenCue(event.about[0], now))
                    attempt.take(Voiced(event.at + CUE_SECONDS, event.cue, event.at))
                case _:
                    pass

    note(attempt.take(begun), 0)
    seconds = 0.0
    for utterance in heard:
        while attempt.wakes_at is not None and attempt.wakes_at < utterance.start:
            note(attempt.take(Elapsed(attempt.wakes_at)), place(attempt.wakes_at))
        began = time.perf_counter()
        out = attempt.take(utterance)
        seconds += time.perf_counter() - began
        note(out, place((utterance.words[-1].end if utterance.words else utterance.end) - 0.1))
    attempt.take(Stopped(spans[-1][1], "source ended"))
    return Outcome(
        narration, tuple(taken.values()), tuple(withdrawn), tuple(cues), spans[-1][1] / 60, seconds
    )


def transcript(heeded: Heeded) -> list[str]:
    """What was heard at each labelled clause."""
    heard, spans = heeded
    starts = [start for start, _ in spans]
    words: list[list[str]] = [[] for _ in spans]
    for utterance in heard:
        for word in utterance.words:
            words[max(0, bisect_right(starts, (word.start + word.end) / 2) - 1)].append(word.text)
    return [" ".join(said) for said in words]


def compare(narrations: list[Narration], heeded: list[Heeded]) -> dict[str, Any]:
    """The figures of a condition, and the baseline's on the same words at its best threshold."""
    result: dict[str, Any] = dict(figures(map(follow, narrations, heeded)))
    nearest = []
    for narration, one in zip(narrations, heeded, strict=True):
        began = time.perf_counter()
        found = baseline.nearest_phrase(narration, transcript(one))
        nearest.append((narration, found, time.perf_counter() - began))
    tried = {
        threshold: figures(baseline.outcome(one, found, threshold, spent) for one, found, spent in nearest)
        for threshold in range(40, 100, 4)
    }
    best = max(tried, key=lambda threshold: tried[threshold]["step_f1"])
    result["baselines"] = {"nearest-phrase": tried[best] | {"threshold": float(best)}}
    return result


def main(
    narrations: Annotated[list[Path] | None, typer.Option(help="Folders of narrations.")] = None,
    sound: Annotated[bool, typer.Option("--sound", help="Also as sound; takes a while.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> None:
    """Print the figures of each folder: as text, and with --sound as sound too."""
    folders = narrations or [folder for folder in (SHARED, OWN / "tuned", OWN / "aside") if folder.is_dir()]
    conditions: dict[str, dict[str, Any]] = {}
    for folder in folders:
        read = read_folder(folder)
        name = "" if len(folders) == 1 else f"{folder.parent.name}/{folder.name} "
        conditions[f"{name}text"] = compare(read, [as_text(narration) for narration in read])
        if sound:
            with ProcessPoolExecutor() as pool:
                heeded = []
                for count, one in enumerate(pool.map(as_sound, read), start=1):
                    heeded.append(one)
                    print(f"{folder.name}: heard {count} of {len(read)}", file=sys.stderr)
            conditions[f"{name}sound-clean"] = compare(read, heeded)
    if as_json:
        print(json.dumps(conditions, indent=1))
    else:
        Console(width=200).print(_table(conditions))


def _table(conditions: dict[str, dict[str, Any]]) -> Table:
    table = Table("figure")
    columns = []
    for name, result in conditions.items():
        columns += [result, *result["baselines"].values()]
        table.add_column(name, justify="right")
        for other in result["baselines"]:
            table.add_column(f"{name}, {other}", justify="right")
    for figure in columns[0]:
        if figure != "baselines":
            table.add_row(figure, *(f"{column[figure]:.3f}" for column in columns))
    return table


if __name__ == "__main__":
    typer.run(main)

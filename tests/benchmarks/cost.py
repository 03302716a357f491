"""What a clause costs by the length of a procedure: `OMP_NUM_THREADS=1 python -m tests.benchmarks.cost`.

Procedures of 20, 100 and 500 steps are put together from the steps of those shipped, each step after the one
before, with six phrases a step; where a step is needed again it has other phrases. Then thirty steps on end
are narrated in phrases that the procedure does not have. Beside it stands the cost of the nearest phrase by
rapidfuzz over the same phrases, in the same run. The median of the clauses.
"""

from __future__ import annotations

import time
from itertools import count
from statistics import median

from rapidfuzz import fuzz, process
from rich.console import Console
from rich.table import Table

from tests.narrated import utterance
from voicecoach.following.follower import Follower
from voicecoach.procedure import library
from voicecoach.procedure.model import Procedure, Step

SIZES = (20, 100, 500)
SAID = 30
"""Steps narrated."""
_PHRASES = 6
"""Phrases of a step; the one after them is narrated."""


def put_together(steps: int) -> tuple[Procedure, list[str]]:
    """A procedure of so many steps, and a narration of it, a phrase a step."""
    shipped = [library.find(id) for id in library.shipped()]
    kinds = [step for procedure in shipped for step in procedure.steps]
    made: list[Step] = []
    narrated: list[str] = []
    for place in count():
        if len(made) == steps:
            break
        step, first = kinds[place % len(kinds)], place // len(kinds) * (_PHRASES + 1)
        say = step.say[first : first + _PHRASES]
        narrated.append(step.say[first + _PHRASES])
        after = (made[-1].id,) if made else ()
        plain = step.model_dump(by_alias=True, include={"do", "why", "cue"})
        made.append(Step.model_validate(plain | {"id": f"step-{place}", "say": say, "after": after}))
    return Procedure(id="long", title="Long", scene="A long one.", steps=tuple(made)), narrated


def milliseconds(procedure: Procedure, said: list[str]) -> tuple[float, float]:
    """The median cost of a clause in following, and that of the nearest phrase."""
    follower = Follower(procedure)
    following, nearest = [], []
    for number, text in enumerate(said):
        began = time.perf_counter()
        follower.hear(utterance(number, text, 10.0 * number))
        following.append(time.perf_counter() - began)
        began = time.perf_counter()
        process.extractOne(text, procedure.phrases, scorer=fuzz.token_set_ratio)
        nearest.append(time.perf_counter() - began)
    return 1000 * median(following), 1000 * median(nearest)


def main() -> None:
    table = Table("steps", "ms a clause", "nearest phrase, ms", "ratio")
    for size in SIZES:
        procedure, narrated = put_together(size)
        ours, nearest = milliseconds(procedure, narrated[:SAID])
        table.add_row(str(size), f"{ours:.2f}", f"{nearest:.2f}", f"{ours / nearest:.0f}")
    Console().print(table)


if __name__ == "__main__":
    main()

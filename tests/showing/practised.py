"""Attempts of an invented student over some weeks, for the pages of progress; and some that are hard to
show."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import timedelta
from functools import cache

from tests.records.made_results import MONDAY, attempt, step
from voicecoach.procedure import library
from voicecoach.procedure.model import Procedure
from voicecoach.records.results import Result

HARD = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "$\\frac{x}$ & 100 %",
    "x" * 200,
    "洗手 غسل اليدين",
    "\x1b[31mred\x1b[0m\n\u202eback",
)
"""Texts that may break a page or a plot."""


@cache
def pool() -> tuple[Procedure, ...]:
    """The procedures that come with voicecoach."""
    return tuple(map(library.as_shipped, library.shipped()))


@cache
def results(student: str = "s07") -> tuple[Result, ...]:
    """Some attempts a day at three of the procedures for three weeks, better and better."""
    chance = random.Random(2)
    made = []
    for day in range(21):
        for hour, id in enumerate(("wash-hands", "gait-belt-walk", "fluid-intake"), 9):
            its = next(one for one in pool() if one.id == id)
            steps = []
            for one in its.steps:
                needed = one.when is None or chance.random() < 0.5
                done = needed and chance.random() < 0.7 + day / 70
                right = done and chance.random() < 0.95
                timed = one.time.at_least if one.time else None
                prompted = done and chance.random() < 0.1
                plain = step(
                    one.id,
                    one.do,
                    critical=one.critical,
                    needed=needed,
                    done=done,
                    right=right,
                    unprompted=not prompted,
                )
                steps.append(replace(plain, needed_seconds=timed, seconds=21.5 if done else None))
            passed = all(one.right for one in steps if one.critical and one.needed)
            made.append(
                attempt(
                    *steps,
                    on=MONDAY + timedelta(days=day),
                    mode=("practise", "rehearse", "selftest")[min(day, 2 - day % 2)],
                    procedure=id,
                    title=its.title,
                    student=student,
                    passed=passed,
                    complete=day % 10 != 7,
                    hour=hour,
                )
            )
    return tuple(made)


def hard() -> tuple[Result, ...]:
    """Attempts whose texts are hard to show."""
    steps = [
        step(f"step-{place}", text, critical=True, done=place % 2 == 0) for place, text in enumerate(HARD)
    ]
    return tuple(
        attempt(*steps, procedure=f"hard-{place}", title=text, hour=place, passed=False)
        for place, text in enumerate(HARD)
    )

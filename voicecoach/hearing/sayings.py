"""What students say when they record a reading or keep the time of a step, for recognizers to expect.

The texts are those of `tests/readings/tuned*.yaml` and `tests/narrations/timed/tuned*.jsonl`, gathered by
`python -m tests.benchmarks.sayings`, with `N` for any number.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import files

import yaml

from voicecoach.procedure.text import LOADER

TIMED = "timed"
"""What is said in a procedure with timed steps; all others are units."""


@cache
def sayings(of: str) -> tuple[str, ...]:
    """What is said when a value in the unit `of` is recorded, or of `TIMED`; none of other units."""
    text = files("voicecoach.hearing").joinpath("sayings.yaml").read_text("utf-8")
    return tuple(yaml.load(text, LOADER).get(of, ()))


def with_number(saying: str, number: str) -> str:
    """A saying with each `N` replaced by a number in words."""
    return " ".join(number if word == "N" else word for word in saying.split())

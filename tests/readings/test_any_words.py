"""Whatever is said while a value is awaited, nothing breaks, and no value comes in a unit not said."""

from __future__ import annotations

from pathlib import Path

import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from voicecoach.procedure.model import Reading
from voicecoach.readings.taking import completed, doubt, found, question, recorded

_PLAIN = yaml.safe_load(Path(__file__).with_name("tuned.yaml").read_text("utf-8"))
READINGS = [Reading.model_validate(reading) for reading in _PLAIN["readings"].values()]
HEARD = (
    "to too for ate won owe i'm pointed points beets mel emil of or ever over point oh in out than if".split()
)
WORDS = sorted({word for one in _PLAIN["said"] for word in one["say"].lower().split()} | {*HEARD})
"""Every word that students say there, and some that are heard for others."""


@given(st.lists(st.sampled_from(WORDS), max_size=9).map(" ".join), st.sampled_from(READINGS))
@settings(derandomize=True, deadline=None, database=None, max_examples=3000)
def test_words_in_any_order_are_borne(said: str, reading: Reading) -> None:
    amount = found(reading, said)
    if amount:
        question(reading, amount, doubt(reading, amount) or "sense")
        completed(reading, amount, said)
    read = recorded(0.0, "step", reading, said)
    assert read is None or read.unit in ("", reading.unit, *reading.also)

"""What is heard of a recorded value, over the phrasings that the rules were tuned on."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from voicecoach.following.numbers import Amount
from voicecoach.procedure.model import Reading
from voicecoach.readings.taking import found, recorded

TUNED = [
    ("tuned", 200, 0.995),
    ("tuned_more", 400, 0.99),
    ("tuned_rounds", 790, 0.985),
    ("tuned_latest", 1800, 0.985),
]
"""Files, how many phrasings each has at least, and of what share exactly what was meant must be heard."""


def tuned(name: str) -> list[tuple[Reading, str, Amount | None]]:
    """The phrasings of a file: what is recorded, what was said, what was meant."""
    plain = yaml.safe_load((Path(__file__).parent / f"{name}.yaml").read_text(encoding="utf-8"))
    readings = {id: Reading.model_validate(reading) for id, reading in plain["readings"].items()}
    return [
        (
            readings[case["in"]],
            case["say"],
            None if case["values"] is None else Amount(tuple(map(float, case["values"])), case["unit"]),
        )
        for case in plain["said"]
    ]


@pytest.mark.parametrize(("name", "least", "share"), TUNED)
def test_what_was_meant_is_heard(name: str, least: int, share: float) -> None:
    phrasings = tuned(name)
    missed = [said for reading, said, meant in phrasings if found(reading, said) != meant]
    assert len(phrasings) >= least
    assert 1 - len(missed) / len(phrasings) >= share, missed


@pytest.mark.parametrize("name", [name for name, _, _ in TUNED])
def test_no_value_is_accepted_in_another_unit_than_it_was_meant_in(name: str) -> None:
    for reading, said, meant in tuned(name):
        read = recorded(0.0, "step", reading, said)
        if read is not None and meant is not None:
            assert read.unit in ("", meant.unit), said

"""What every shipped procedure has."""

from __future__ import annotations

import pytest

from voicecoach.hearing.pronunciation import without_pronunciation
from voicecoach.procedure import library

STEPS = {
    "bed-to-wheelchair": 20,
    "blood-pressure": 14,
    "drainage-bag": 18,
    "dress-weak-arm": 15,
    "fluid-intake": 8,
    "full-ppe": 11,
    "gait-belt-walk": 16,
    "gown-gloves": 15,
    "hand-rub": 8,
    "mouth-care": 16,
    "pulse-breaths": 10,
    "wash-hands": 10,
}
"""How many steps each has."""


def test_the_twelve_are_there() -> None:
    assert {name: len(library.find(name).steps) for name in library.shipped()} == STEPS


@pytest.mark.parametrize("name", STEPS)
def test_every_step_can_be_said_cued_and_heard(name: str) -> None:
    procedure = library.find(name)
    assert procedure.id == name
    for step in procedure.steps:
        assert len(step.say) >= 10, step.id
        assert len({step.cue.nudge, step.cue.hint, step.cue.step}) == 3, step.id
        assert step.cue.nudge.endswith("?"), step.id
    for avoid in procedure.avoid:
        assert len(avoid.say) >= 8, avoid.id
    words = {word for phrase in procedure.phrases for word in phrase.lower().split()}
    assert not without_pronunciation(words, procedure.pronounce)

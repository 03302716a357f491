"""Speech about other things: how it is cut, and what is counted."""

from __future__ import annotations

import numpy as np
import pytest

from tests.benchmarks.unrelated import PAUSE, Mistaken, Stretch, figures, stretches
from voicecoach.sound import RATE


def test_recordings_stay_whole_and_procedures_take_turns() -> None:
    recordings = [np.full(50 * RATE, 0.1) for _ in range(7)]
    made: list[Stretch] = stretches(iter(recordings), ["wash-hands", "hand-rub"])
    assert [one.procedure for one in made] == ["wash-hands", "hand-rub", "wash-hands"]
    assert [len(one.samples) / RATE for one in made] == pytest.approx(
        [3 * 50 + 3 * PAUSE + 1, 3 * 50 + 3 * PAUSE + 1, 50 + PAUSE + 1], abs=0.01
    )
    assert not made[0].samples[: round(PAUSE * RATE)].any()


def test_what_is_taken_is_counted_in_ten_minutes() -> None:
    result = figures(
        [
            Mistaken("wash-hands", 2.0, (("wet", "let"), ("soap", "so")), 3, 100),
            Mistaken("hand-rub", 3.0, (), 0, 150),
        ]
    )
    assert result["false_steps_per_10_min"] == pytest.approx(4.0)
    assert result["cues_per_10_min"] == pytest.approx(6.0)
    assert result["words_heard_per_min"] == pytest.approx(50.0)

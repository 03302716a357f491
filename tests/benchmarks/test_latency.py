"""The benchmarks of latency and endurance measure what they say."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.benchmarks import latency, soak
from tests.live.pulse import Recording
from voicecoach.procedure import library
from voicecoach.procedure.order import needs
from voicecoach.sound import RATE


def sound(*spans: tuple[float, float], seconds: float = 20.0) -> np.ndarray:
    """Noise in some spans, and silence around them."""
    samples = np.zeros(round(seconds * RATE), np.int16)
    for start, end in spans:
        part = slice(round(start * RATE), round(end * RATE))
        samples[part] = np.random.default_rng(2).integers(1000, 3000, part.stop - part.start)
    return samples


def test_sound_is_found_to_the_sample_and_short_pauses_are_part_of_it() -> None:
    assert latency.stretches(sound((1.0, 2.0), (2.5, 3.0), (6.0, 7.0))) == [
        pytest.approx((1.0, 3.0), abs=1e-3),
        pytest.approx((6.0, 7.0), abs=1e-3),
    ]
    assert latency.stretches(sound()) == []


def test_an_answer_is_counted_from_the_sentence_before_it() -> None:
    student = sound((1.0, 2.0), (6.0, 8.0), (12.0, 13.0))
    coach = sound((2.4, 4.0), (8.75, 9.5), (18.0, 19.0))
    # The last one comes too late to be an answer.
    assert latency.answers(Recording(student, coach)) == pytest.approx([0.4, 0.75], abs=1e-3)


def test_the_student_leaves_out_what_is_needed() -> None:
    for name in library.shipped():
        procedure = library.find(name)
        said = latency.faulty(procedure, 1)
        told = {step.id for step in procedure.steps for phrase in said if phrase in step.say}
        missing = {step.id for step in procedure.steps if step.when is None} - told
        needed = {need for all_needs in needs(procedure).values() for need in all_needs}
        assert missing & needed
        assert len(said) >= len(procedure.steps) / 2


def test_an_attempt_of_the_soak_loses_no_sentence(tmp_path: Path) -> None:
    said = soak.narrated("hand-rub", "joe", 3)
    heeded = soak.attempt("hand-rub", said, 3, tmp_path, soak.Elsewhere())
    assert heeded.lost == 0
    assert heeded.seconds > 20

"""The benchmark of timed steps: its narrations are in order, and its figures are what they say."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.benchmarks.measuring import TEXT, Task
from tests.benchmarks.narrations import shipped
from tests.benchmarks.times import FILES, Checked, Truth, check, figures, read
from tests.narrated import words
from voicecoach.events import Timed
from voicecoach.following.counting import counted

TRUTH = Truth("lather", (0, "start"), (1, "start"), True, 20, (), 20.0)
RIGHT = Checked(TRUTH, "one", 24.0, Timed(30.0, "lather", 1.0, 25.5, 20, (), 20.0), True, 10.0, 20.0)
MISSED = Checked(replace(TRUTH, lasted=False), "two", 8.0, None, None, None, 20.0)


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_the_narrations_are_in_order(file: object) -> None:
    seen = set()
    for narration, truths in read(file):  # type: ignore[arg-type]
        procedure = shipped(narration.procedure)
        steps = {step.id for step in procedure.steps}
        mishaps = {avoid.id for avoid in procedure.avoid}
        assert narration.id not in seen
        seen.add(narration.id)
        assert truths
        assert all(
            set(clause.steps) <= (mishaps if clause.stage == "mishap" else steps)
            for clause in narration.clauses
        )
        for truth in truths:
            assert procedure.step(truth.step).time
            (begins, _), (ends, _) = truth.begin, truth.end
            assert 0 <= begins <= ends < len(narration.clauses)


def test_what_is_aside_is_not_among_what_is_tuned() -> None:
    tuned, aside = (
        {
            clause.say
            for file in FILES
            if file.stem.startswith(kind)
            for one, _ in read(file)
            for clause in one.clauses
        }
        for kind in ("tuned", "aside")
    )
    # People count alike; whatever else has four words or more is said in one of them alone.
    assert not [text for text in aside & tuned if len(text.split()) > 3 and not counted(words(text))]


def test_the_figures_are_what_they_say() -> None:
    found = figures([RIGHT, RIGHT, MISSED])
    assert found["noticed"] == pytest.approx(2 / 3)
    assert found["off_median_s"] == pytest.approx(0.5)
    assert found["verdict"] == pytest.approx(2 / 3)
    assert found["too_short_found"] == 0.0
    assert found["counted"] == pytest.approx(2 / 3)
    assert found["plain_off_median_s"] == pytest.approx(14.0)
    assert found["plain_verdict"] == 0.0


def test_a_narration_is_checked_through_the_core() -> None:
    narration, truths = read(FILES[0])[0]
    (checked,) = check(Task(narration, TEXT), truths)
    assert checked.lasted is True
    assert checked.timed is not None
    assert checked.timed.end - checked.timed.start == pytest.approx(checked.seconds, abs=0.5)

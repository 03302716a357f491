"""Figures from outcomes made by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.benchmarks import baseline
from tests.benchmarks.intervals import f1_interval
from tests.benchmarks.measuring import Measured, Task, as_text, follow, measure, summary
from tests.benchmarks.narrations import LabelledClause, Narration
from tests.benchmarks.scoring import STAGES, Outcome, SpokenCue, Taken, figures, non_reports, step_counts

CLAUSES = (
    ("i look at my hands", ("inspect",), "done"),
    ("i will take the rub later", (), "later"),
    ("no i did not do that yet", (), "undone"),
    ("the weather is nice", (), "chat"),
    ("what was the next step", (), "ask"),
    ("my shoes hurt", (), "chat"),
    ("until my hands are dry", ("until-dry",), "done"),
)


def narration(id: str = "one") -> Narration:
    """A short one, in which two steps are reported."""
    clauses = tuple(LabelledClause(1.0, say, steps, stage) for say, steps, stage in CLAUSES)
    return Narration(id, "hand-rub", "free", clauses, frozenset(), frozenset(), frozenset())


def outcome(*taken: tuple[str, int], withdrawn: tuple[int, ...] = (), id: str = "one") -> Outcome:
    """Steps taken at the places of clauses, and reports taken back."""
    held = tuple(Taken(step, place, place, float(place)) for step, place in taken)
    return Outcome(narration(id), held, withdrawn, (), 1.0, 0.1)


def test_what_reports_no_step_is_counted_by_stage() -> None:
    result = figures([outcome(("inspect", 0), ("backs", 3), withdrawn=(1,))])
    rates = {stage: result[f"false_report_rate_{stage}"] for stage in STAGES}
    assert rates == {"later": 1.0, "undone": 0.0, "mishap": 0.0, "avoiding": 0.0, "ask": 0.0, "chat": 0.5}
    assert result["false_report_rate"] == pytest.approx(2 / 5)


def test_each_clause_without_a_report_is_named_with_its_stage() -> None:
    assert non_reports(outcome(("palms", 4))) == [
        ("later", False),
        ("undone", False),
        ("chat", False),
        ("ask", True),
        ("chat", False),
    ]


def test_a_cue_about_a_narration_without_a_fault_is_false_and_one_about_a_fault_speaks_of_it() -> None:
    cues = (SpokenCue("inspect", 6),)
    faultless = replace(outcome(), cues=cues)
    faulty = replace(
        faultless, narration=replace(narration("two"), order_faults=frozenset({("inspect", "until-dry")}))
    )
    result = figures([faultless, faulty])
    assert result["false_cues_faultless_per_10_min"] == 10 * 1 / 1.0
    assert result["faults_cued"] == 1.0


def test_steps_found_taken_and_reported() -> None:
    assert step_counts(outcome(("inspect", 1), ("palms", 3), ("until-dry", 2))) == (1, 3, 2)


def test_the_interval_is_the_same_each_time_and_holds_the_figure() -> None:
    counts = [(8, 10, 10), (9, 10, 12), (4, 8, 9), (10, 10, 10), (7, 9, 8), (6, 6, 11)]
    low, high = f1_interval(counts)
    assert (low, high) == f1_interval(counts)
    found, taken, reported = map(sum, zip(*counts, strict=True))
    assert 0 < low < 2 * found / (taken + reported) < high < 1
    assert f1_interval(counts, seed=1) != (low, high)


def test_the_interval_is_a_point_where_all_narrations_are_alike_or_there_is_nothing() -> None:
    assert f1_interval([(3, 4, 4)] * 5) == (0.75, 0.75)
    assert f1_interval([]) == (0.0, 0.0)


def test_the_interval_grows_narrower_with_more_narrations() -> None:
    few = [(8, 10, 10), (4, 8, 9)]
    low, high = f1_interval(few)
    many_low, many_high = f1_interval(few * 20)
    assert many_high - many_low < (high - low) / 2


def test_voices_of_one_narration_are_drawn_together() -> None:
    right, wrong = [("inspect", 0), ("until-dry", 6)], [("palms", 3)]
    together = figures([outcome(*right), outcome(*wrong)])
    apart = figures([outcome(*right), outcome(*wrong, id="two")])
    ends = (together["step_f1_low"], together["step_f1_high"])
    assert ends == pytest.approx((together["step_f1"], together["step_f1"]))
    assert apart["step_f1_low"] < apart["step_f1"] < apart["step_f1_high"]


def test_a_narration_as_text_is_measured_beside_a_plain_follower(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(baseline, "matchers", lambda: {"nearest-phrase": baseline.nearest_phrase})
    measured = measure(Task(narration(), "text"))
    assert isinstance(measured, Measured)
    result = summary([measured])
    assert result["word_error_rate"] == 0
    assert result["step_f1"] == figures([follow(narration(), as_text(narration()))])["step_f1"]
    assert 20 <= result["baselines"]["nearest-phrase"]["threshold"] < 100

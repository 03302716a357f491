"""Figures of how well narrations were followed, from what was taken and when."""

from __future__ import annotations

from collections.abc import Iterable
from collections.abc import Set as AbstractSet
from dataclasses import dataclass

from tests.benchmarks.intervals import f1_interval
from tests.benchmarks.narrations import Narration, shipped
from voicecoach.procedure.order import Needs, faults, needs

STAGES = ("later", "undone", "mishap", "avoiding", "ask", "chat")
"""Stages of clauses that report no step."""


@dataclass(frozen=True, slots=True)
class Taken:
    """A step that a follower took, and still holds at the end."""

    step: str
    at: int
    """Place of the clause at which it became sure."""
    spoken_at: int
    """Place of the clause that it points to as the report."""
    start: float
    """Where in the narration the report begins, to order by; seconds or places."""


@dataclass(frozen=True, slots=True)
class SpokenCue:
    """A cue that says a step is missing or late."""

    step: str
    at: int
    """Place of the latest clause when it was given."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a follower made of one narration."""

    narration: Narration
    taken: tuple[Taken, ...]
    """In the order taken, each step once."""
    withdrawn_at: tuple[int, ...]
    """Places of the clauses of reports that were taken and then taken back."""
    cues: tuple[SpokenCue, ...]
    minutes: float
    """Length of the narration."""
    seconds: float
    """Time that following it cost."""


def figures(outcomes: Iterable[Outcome]) -> dict[str, float]:
    """All figures over some narrations.

    A first report counts as found when it is taken at the labelled clause or the one next to it;
    everything else taken is false. A cue is false when no step that needs its step had been reported
    by then or the step itself had. A fault is cued when a cue speaks of the step left out or late.
    """
    outcomes = list(outcomes)
    steps = [step_counts(outcome) for outcome in outcomes]
    omitted = [0, 0, 0]
    order = [0, 0, 0]
    cued = [0, 0, 0]
    right_verdicts = verdicts = false_cues = clauses = 0
    for outcome in outcomes:
        narration = outcome.narration
        truth = narration.first_reports
        table = needs(shipped(narration.procedure))
        held = {item.step: item for item in outcome.taken}
        left_out = {step for step in table if step not in held}
        _count(omitted, left_out, set(narration.omitted))
        sequence = {item.step: item.start for item in outcome.taken}
        _count(order, set(faults(table, sequence)), set(narration.order_faults))
        _count(cued, {cue.step for cue in outcome.cues}, _faulty(narration, truth, table))
        right_verdicts += sum((step in truth) == (step in held) for step in table)
        verdicts += len(table)
        false_cues += sum(_is_false(cue, truth, table) for cue in outcome.cues)
        clauses += len(narration.clauses)
    minutes = sum(outcome.minutes for outcome in outcomes)
    faultless = [outcome for outcome in outcomes if _is_faultless(outcome.narration)]
    found, taken, reported = (sum(column) for column in zip((0, 0, 0), *steps, strict=True))
    precision, recall = _share(found, taken), _share(found, reported)
    low, high = f1_interval(_by_narration(outcomes, steps))
    return {
        "step_precision": precision,
        "step_recall": recall,
        "step_f1": _share(2 * precision * recall, precision + recall),
        "step_f1_low": low,
        "step_f1_high": high,
        "omitted_precision": _share(omitted[0], omitted[1]),
        "omitted_recall": _share(omitted[0], omitted[2]),
        "order_precision": _share(order[0], order[1]),
        "order_recall": _share(order[0], order[2]),
        "verdict_accuracy": _share(right_verdicts, verdicts),
        **_false_reports(outcomes),
        "false_cues_per_10_min": 10 * _share(false_cues, minutes),
        "false_cues_faultless_per_10_min": 10
        * _share(sum(len(one.cues) for one in faultless), sum(one.minutes for one in faultless)),
        "faults_cued": _share(cued[0], cued[2]),
        "ms_per_clause": 1000 * _share(sum(outcome.seconds for outcome in outcomes), clauses),
    }


def step_counts(outcome: Outcome) -> tuple[int, int, int]:
    """Steps found where they were reported, steps taken, and steps reported in one narration."""
    truth = outcome.narration.first_reports
    found = sum(item.step in truth and abs(truth[item.step] - item.at) <= 1 for item in outcome.taken)
    return found, len(outcome.taken), len(truth)


def non_reports(outcome: Outcome) -> list[tuple[str, bool]]:
    """The stage of each clause that reports no step, and whether it was taken for a report."""
    touched = {item.spoken_at for item in outcome.taken} | set(outcome.withdrawn_at)
    clauses = enumerate(outcome.narration.clauses)
    return [(clause.stage, place in touched) for place, clause in clauses if not clause.steps]


def _false_reports(outcomes: Iterable[Outcome]) -> dict[str, float]:
    """The share of clauses without a report that were taken for one: of all, and of each stage."""
    silent = [clause for outcome in outcomes for clause in non_reports(outcome)]
    rates = {"false_report_rate": _share(sum(taken for _, taken in silent), len(silent))}
    for stage in STAGES:
        taken = [taken for its, taken in silent if its == stage]
        rates[f"false_report_rate_{stage}"] = _share(sum(taken), len(taken))
    return rates


def _by_narration(
    outcomes: Iterable[Outcome], steps: Iterable[tuple[int, int, int]]
) -> list[tuple[int, int, int]]:
    """The counts of each narration, those of all voices that spoke it together."""
    summed: dict[str, tuple[int, int, int]] = {}
    for outcome, (found, taken, reported) in zip(outcomes, steps, strict=True):
        before = summed.get(outcome.narration.id, (0, 0, 0))
        summed[outcome.narration.id] = (before[0] + found, before[1] + taken, before[2] + reported)
    return list(summed.values())


def _count(counts: list[int], got: AbstractSet[object], wanted: AbstractSet[object]) -> None:
    """Add (right, got, wanted)."""
    counts[0] += len(got & wanted)
    counts[1] += len(got)
    counts[2] += len(wanted)


def _is_faultless(narration: Narration) -> bool:
    """Whether every step that is always needed was done, and in order: no cue is right then."""
    needed = {step.id for step in shipped(narration.procedure).steps if step.when is None}
    return not narration.order_faults and not narration.omitted & needed


def _faulty(narration: Narration, truth: dict[str, int], table: Needs) -> set[str]:
    """Steps that a cue should speak of: left out though something that was done needs them, or late."""
    needed = {need for id in truth for need in table[id]}
    return (needed & narration.omitted) | {required for required, _ in narration.order_faults}


def _is_false(cue: SpokenCue, truth: dict[str, int], table: Needs) -> bool:
    """Whether the step had been reported, or nothing that needs it had begun, when the cue came.

    A cue for a step remembered late comes with its report, and is right where something that needs
    it had begun before.
    """
    begun = [truth[id] for id, wanted in table.items() if cue.step in wanted and id in truth]
    needed = any(place <= cue.at for place in begun)
    own = truth.get(cue.step)
    missing = own is None or own >= cue.at or any(place < own for place in begun)
    return not (needed and missing)


def _share(part: float, whole: float) -> float:
    return part / whole if whole else 0.0

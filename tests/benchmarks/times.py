"""How well the clock of timed steps is kept.

    python -m tests.benchmarks.times [--folder FILE ...] [--sound] [--hear NAME] [--voice NAME ...]
        [--every N] [--cores N] [--wrong] [--json]

`tests/narrations/timed/*.jsonl` holds narrations of timed steps, each with `timed`: from when to when a step
lasted (the start or the end of a clause, as they are spoken), whether that is long enough, how far the
student counted aloud, what slipped, and the seconds that were said of it. Each goes through the real core,
as text and with --sound spoken by each voice. The baseline is a clock that runs from the report of the step
to the next report. Nothing was tuned on `aside` and `aside_latest`; --wrong names what came out wrong, and is
for the others alone.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from statistics import median, quantiles
from typing import Annotated, Any

import typer
from rich.console import Console
from rich.table import Table

from tests.benchmarks.attempts import attend
from tests.benchmarks.following import one_in
from tests.benchmarks.measuring import TEXT, Task, heed, on_stderr
from tests.benchmarks.narrations import LabelledClause, Narration, shipped
from voicecoach.coaching.clock import lasted
from voicecoach.events import Followed, Outgoing, Timed
from voicecoach.records.intervals import wilson

_NAMES = ("tuned", "tuned_more", "tuned_latest", "aside", "aside_latest")
FILES = tuple(Path(__file__).parents[1] / "narrations" / "timed" / f"{name}.jsonl" for name in _NAMES)


@dataclass(frozen=True, slots=True)
class Truth:
    """What is true of one timed step of a narration."""

    step: str
    begin: tuple[int, str]
    """Place of a clause, and `start` or `end`."""
    end: tuple[int, str]
    lasted: bool
    counted: int
    slips: tuple[str, ...]
    said: float
    """Seconds."""


@dataclass(frozen=True, slots=True)
class Checked:
    """One timed step, as it is and as it came out."""

    truth: Truth
    where: str
    """Narration, recognizer and voice."""
    seconds: float
    """How long it lasted."""
    timed: Timed | None
    """As it came out; None where it was not noticed."""
    lasted: bool | None
    plain: float | None
    """Seconds from its report to the next one, the baseline."""
    needed: float


def read(file: Path) -> list[tuple[Narration, tuple[Truth, ...]]]:
    """The narrations of a file with what is true of their timed steps."""
    out = []
    for line in file.read_text("utf-8").splitlines():
        data = json.loads(line)
        clauses = tuple(
            LabelledClause(one["gap"], one["say"], tuple(one["steps"]), one["stage"])
            for one in data["clauses"]
        )
        nothing: frozenset[Any] = frozenset()
        narration = Narration(
            data["id"], data["procedure"], data["style"], clauses, nothing, nothing, nothing
        )
        truths = tuple(
            Truth(step, tuple(one["begin"]), tuple(one["end"]), one["lasted"], one["counted"],
                  tuple(one["slips"]), one["said"])
            for step, one in data["timed"].items()
        )  # fmt: skip
        out.append((narration, truths))
    return out


def check(task: Task, truths: Iterable[Truth]) -> list[Checked]:
    """Perform, hear and follow a narration, and look at the clock of its timed steps."""
    heard, spans = heed(task)
    procedure = shipped(task.narration.procedure)
    events = [event for _, event in attend(task.narration.id, procedure, heard, spans[-1][1], "clock").events]
    timed = {event.step: event for event in events if isinstance(event, Timed)}
    out = []
    for truth in truths:
        begin, end = (spans[place][which == "end"] for place, which in (truth.begin, truth.end))
        one, step = timed.get(truth.step), procedure.step(truth.step)
        from_ = step.time.from_ if step.time else None
        out.append(
            Checked(
                truth,
                f"{task.narration.id} {truth.step} {task.hear} {task.voice}",
                end - begin,
                one,
                lasted(one, step, "clock") if one else None,
                _until_next(events, from_ or truth.step),
                max(step.time.at_least if step.time else 0.0, step.count.for_ if step.count else 0.0),
            )
        )
    return out


def figures(checked: list[Checked]) -> dict[str, float]:
    """The figures of some steps: seconds off, and shares of what came out right."""
    off = [abs(one.timed.end - one.timed.start - one.seconds) for one in checked if one.timed]
    right = sum(one.lasted is one.truth.lasted for one in checked)
    plain = [one for one in checked if one.plain is not None]
    short = [one for one in checked if not one.truth.lasted]
    counting = [one for one in checked if one.truth.counted]
    low, high = wilson(right, len(checked))
    return {
        "steps": len(checked),
        "noticed": len(off) / len(checked),
        "off_median_s": median(off),
        "off_p90_s": quantiles(off, n=10)[-1],
        "verdict": right / len(checked),
        "verdict_low": low,
        "verdict_high": high,
        "too_short_found": sum(one.lasted is False for one in short) / max(1, len(short)),
        "counted": _share(
            one.timed is not None and one.timed.counted == one.truth.counted for one in counting
        ),
        "slips": _share(one.timed is not None and one.timed.slips == one.truth.slips for one in counting),
        "said": _share(one.timed is not None and one.timed.said == one.truth.said for one in checked),
        "plain_off_median_s": median(abs(one.plain - one.seconds) for one in plain if one.plain is not None),
        "plain_verdict": _share(
            one.plain is not None and (one.plain >= one.needed) == one.truth.lasted for one in checked
        ),
    }


def _until_next(events: list[Outgoing], step: str) -> float | None:
    """Seconds from the report of a step to the next report; None where there are none."""
    starts = {event.step: event.start for event in events if isinstance(event, Followed)}
    if step not in starts:
        return None
    later = [start for start in starts.values() if start > starts[step]]
    return min(later) - starts[step] if later else None


def _share(right: Iterable[bool]) -> float:
    marks = list(right)
    return sum(marks) / max(1, len(marks))


def _check(job: tuple[Task, tuple[Truth, ...]]) -> tuple[Task, list[Checked]]:
    return job[0], check(*job)


def main(
    folder: Annotated[list[Path] | None, typer.Option("--folder", help="Files, instead of all.")] = None,
    sound: Annotated[bool, typer.Option("--sound", help="Also spoken by each voice; takes hours.")] = False,
    hear: Annotated[str, typer.Option(help="The recognizer for --sound.")] = "sphinx",
    voice: Annotated[list[str] | None, typer.Option(help="Voices, instead of all.")] = None,
    every: Annotated[int, typer.Option(min=1, help="Of the narrations, one in so many.")] = 1,
    cores: Annotated[int, typer.Option(help="How many cores to use.")] = os.cpu_count() or 1,
    wrong: Annotated[bool, typer.Option("--wrong", help="Name what came out wrong.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> None:
    """Print the figures of each file, as text and by each voice."""
    columns: dict[str, list[Checked]] = {}
    for file in folder or FILES:
        for task, checked in _measured(file, sound, hear, voice, every, cores):
            names = [f"{file.stem} {TEXT}"] if task.hear == TEXT else []
            if task.hear != TEXT:
                names = [f"{file.stem} {task.hear} all", f"{file.stem} {task.hear} {task.voice}"]
            for name in names:
                columns.setdefault(name, []).extend(checked)
    if wrong:
        for one in (one for name, some in columns.items() if " all" not in name for one in some):
            _name_wrong(one)
    table = {name: figures(checked) for name, checked in columns.items()}
    if as_json:
        print(json.dumps(table, indent=1))
    else:
        Console(width=40 + 12 * len(table)).print(_table(table))


def _measured(
    file: Path, sound: bool, hear: str, voice: list[str] | None, every: int, cores: int
) -> Iterator[tuple[Task, list[Checked]]]:
    truths = dict(read(file))
    jobs = [(Task(narration, TEXT), truths[narration]) for narration in one_in(every, list(truths))]
    if sound:
        from tests.benchmarks import voices  # needs the voices of the test extra

        speakers = voice or voices.installed()
        jobs += [(Task(job[0].narration, hear, speaker), job[1]) for speaker in speakers for job in jobs]
    with ProcessPoolExecutor(cores) as pool:
        for number, done in enumerate(pool.map(_check, jobs), start=1):
            on_stderr(f"{number} of {len(jobs)}")
            yield done


def _name_wrong(one: Checked) -> None:
    timed = one.timed
    is_off = timed is None or abs(timed.end - timed.start - one.seconds) > 1.5
    odd = timed and (timed.counted, timed.slips, timed.said) != (
        one.truth.counted,
        one.truth.slips,
        one.truth.said,
    )
    if is_off or odd or one.lasted is not one.truth.lasted:
        came = (
            f"{timed.end - timed.start:.1f} s, {timed.counted}, {timed.slips}, {timed.said}" if timed else "-"
        )
        true = f"{one.seconds:.1f} s, {one.truth.counted}, {one.truth.slips}, {one.truth.said}"
        print(f"{one.where}: {came}, is {true}{'' if one.lasted is one.truth.lasted else ' WRONG'}")


def _table(columns: dict[str, dict[str, float]]) -> Table:
    table = Table()
    table.add_column("figure", no_wrap=True)
    for name in columns:
        table.add_column(name.replace(" ", "\n"), justify="right")
    for figure in next(iter(columns.values())):
        table.add_row(figure, *(f"{column[figure]:.3f}" for column in columns.values()))
    return table


if __name__ == "__main__":
    typer.run(main)

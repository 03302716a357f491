"""How well readings are understood: values and units that a student records aloud.

    python -m tests.benchmarks.readings [--sound] [--human] [--voice NAME ...] [--every N] [--cores N]
        [--json] [--wrong]

Of the files in `tests/readings`, `tuned`, `tuned_latest`, `aside` and `aside_latest` hold what students say
and what they mean by it; the code is tuned on the first two and never on the others. Printed, with 95%
intervals, for each file as text and with --sound spoken clean by each voice and heard by sphinx, as in an
attempt at a procedure with that reading (without what is only ever typed, such as `118/76`):

- right: the share found with value and unit as labelled, or with nothing found where nothing is recorded
- wrong unit: how many are accepted with a unit that was not said; none may be
- wrong value: how many are accepted with another value than was said; the rest is asked again
- baseline: the share right of taking the last number that the wheel number-parser finds, whatever its unit

--human adds numbers said by people (`said_by_people.py`). --wrong names what of the tuned came out wrong.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from itertools import groupby
from pathlib import Path
from typing import Annotated, Any

import typer
import yaml
from rich.console import Console
from rich.table import Table

from tests.benchmarks.measuring import TEXT, on_stderr, transcript
from tests.benchmarks.narrations import LabelledClause, Narration
from voicecoach.procedure.model import Reading
from voicecoach.readings.taking import found, recorded
from voicecoach.records.intervals import wilson

FOLDER = Path(__file__).parents[1] / "readings"
FILES = {name: FOLDER / f"{name}.yaml" for name in ("tuned", "tuned_latest", "aside", "aside_latest")}
PROCEDURES = {
    "pulse": "pulse-breaths",
    "breaths": "pulse-breaths",
    "pressure": "blood-pressure",
    "urine": "drainage-bag",
    "intake": "fluid-intake",
    "weight": "weigh-standing",
    "temperature": "temperature",
    "meal": "meal-intake",
    "balance": "fluid-balance",
}
"""A procedure with each reading, whose student says it."""
_GAP = 1.5
"""Seconds between two that are spoken."""
_TYPED = re.compile(r"[0-9A-Z]")
"""What only typed text has."""
_ALL = "all"


@dataclass(frozen=True, slots=True)
class Said:
    """What a student says, and means."""

    of: str
    """The reading that is recorded."""
    say: str
    values: tuple[float, ...] | None
    """The value; None where nothing is recorded."""
    unit: str
    """As said; empty where none was."""


@dataclass(frozen=True, slots=True)
class Checked:
    """What came of it."""

    said: Said
    voice: str
    """Or `text`."""
    heard: str
    right: bool
    wrong_unit: bool
    """Accepted with a unit that was not said."""
    wrong_value: bool
    """Accepted with another value, or where nothing was recorded."""
    baseline: bool
    """Whether the baseline has the value."""


def read(file: Path) -> tuple[dict[str, Reading], list[Said]]:
    """The readings of a file, and what is said of them."""
    data = yaml.safe_load(file.read_text("utf-8"))
    readings = {name: Reading(**fields) for name, fields in data["readings"].items()}
    said = [Said(one["in"], one["say"], _values(one["values"]), one.get("unit", "")) for one in data["said"]]
    return readings, said


def check(reading: Reading, said: Said, voice: str, heard: str) -> Checked:
    """Compare what is made of the words heard with what was said."""
    amount = found(reading, heard)
    accepted = recorded(0.0, said.of, reading, heard)
    right = (
        said.values is None
        if amount is None
        else _same(amount.values, said.values) and amount.unit == said.unit
    )
    return Checked(
        said,
        voice,
        heard,
        right,
        wrong_unit=accepted is not None and accepted.unit not in ("", said.unit),
        wrong_value=accepted is not None and not _same(accepted.values, said.values),
        baseline=_same(_last_number(heard, reading.pair), said.values),
    )


def as_narrations(said: Iterable[Said]) -> list[tuple[Narration, list[Said]]]:
    """What is said, all of a procedure in a row."""
    spoken = sorted((one for one in said if not _TYPED.search(one.say)), key=lambda one: PROCEDURES[one.of])
    made = []
    for procedure, group in groupby(spoken, lambda one: PROCEDURES[one.of]):
        ones = list(group)
        clauses = tuple(LabelledClause(_GAP, one.say, (), "talk") for one in ones)
        made.append(
            (Narration(procedure, procedure, "free", clauses, frozenset(), frozenset(), frozenset()), ones)
        )
    return made


def hear(task: tuple[Narration, str]) -> list[str]:
    """What sphinx hears of each clause in a voice."""
    from tests.benchmarks import spoken  # needs the voices of the test extra

    narration, voice = task
    return transcript(spoken.hear(narration, "sphinx", voice))


def figures(checked: Sequence[Checked]) -> dict[str, Any]:
    """The shares, and by reading those right."""
    return _shares(checked) | {
        "by_reading": {
            name: _shares([one for one in checked if one.said.of == name])
            for name in dict.fromkeys(one.said.of for one in checked)
        }
    }


def _shares(checked: Sequence[Checked]) -> dict[str, Any]:
    right = sum(one.right for one in checked)
    low, high = wilson(right, len(checked))
    return {
        "said": len(checked),
        "right": right / len(checked),
        "right_low": low,
        "right_high": high,
        "wrong_unit": sum(one.wrong_unit for one in checked),
        "wrong_value": sum(one.wrong_value for one in checked),
        "baseline": sum(one.baseline for one in checked) / len(checked),
    }


def _values(values: Sequence[float] | None) -> tuple[float, ...] | None:
    return None if values is None else tuple(float(value) for value in values)


def _same(values: Sequence[float] | None, others: Sequence[float] | None) -> bool:
    if values is None or others is None:
        return values is None and others is None
    return len(values) == len(others) and all(
        abs(one - other) < 0.005 for one, other in zip(values, others, strict=True)
    )


@cache
def _number_parser() -> Any:
    if find_spec("number_parser") is None:
        on_stderr("left out the baseline: the wheel number-parser is not installed")
        return None
    import number_parser  # type: ignore[import-untyped]

    return number_parser.parse


def _last_number(heard: str, pair: bool) -> tuple[float, ...] | None:
    """The last number, or the last two of a pair, by a plain parser; None where there are none."""
    parse = _number_parser()
    numbers = re.findall(r"\d+(?:\.\d+)?", parse(heard).replace(" point ", ".")) if parse else []
    wanted = numbers[-2:] if pair else numbers[-1:]
    return tuple(map(float, wanted)) if len(wanted) == 1 + pair else None


def measure(file: Path, voices: Sequence[str], every: int, cores: int) -> list[Checked]:
    """All that is said in a file, one in so many, as text and in each voice."""
    readings, said = read(file)
    said = said[::every]
    checked = [check(readings[one.of], one, TEXT, one.say) for one in said]
    tasks = [(narration, ones, voice) for voice in voices for narration, ones in as_narrations(said)]
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    with ProcessPoolExecutor(cores) as pool:
        heard = pool.map(hear, [(narration, voice) for narration, _, voice in tasks])
        for (narration, ones, voice), texts in zip(tasks, heard, strict=True):
            on_stderr(f"{file.stem}: {narration.procedure} {voice}")
            checked += [
                check(readings[one.of], one, voice, text) for one, text in zip(ones, texts, strict=True)
            ]
    return checked


def main(
    sound: Annotated[bool, typer.Option("--sound", help="Also spoken by each voice.")] = False,
    human: Annotated[bool, typer.Option("--human", help="Also numbers said by people.")] = False,
    voice: Annotated[list[str] | None, typer.Option(help="Voices, instead of all.")] = None,
    every: Annotated[int, typer.Option(min=1, help="Of what is said, one in so many.")] = 1,
    cores: Annotated[int, typer.Option(help="How many cores to use.")] = os.cpu_count() or 1,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    wrong: Annotated[bool, typer.Option("--wrong", help="Name what of the tuned is wrong.")] = False,
) -> None:
    """Print the share of readings that is understood."""
    speakers: Sequence[str] = ()
    if sound:
        from tests.benchmarks import voices  # needs the voices of the test extra

        speakers = voice or voices.installed()
    result: dict[str, Any] = {}
    for name, file in FILES.items():
        checked = measure(file, speakers, every, cores)
        spoken = [one for one in checked if one.voice != TEXT]
        result[f"{name} {TEXT}"] = figures([one for one in checked if one.voice == TEXT])
        if spoken:
            result[f"{name} {_ALL}"] = figures(spoken)
        for speaker in speakers:
            result[f"{name} {speaker}"] = figures([one for one in spoken if one.voice == speaker])
        for one in checked:
            if wrong and name.startswith("tuned") and not one.right:
                print(f"{one.said.of} {one.voice}: {one.said.say} | {one.heard}")
    if human:
        from tests.benchmarks import said_by_people

        result["people"] = said_by_people.measure()
    if as_json:
        print(json.dumps(result, indent=1))
    else:
        _show(result)


def _show(result: dict[str, Any]) -> None:
    people = result.pop("people", None)
    first = next(iter(result.values()))
    table = Table("", *(name.replace(" ", "\n") for name in result))
    for figure in ("said", "right", "right_low", "right_high", "wrong_unit", "wrong_value", "baseline"):
        table.add_row(figure, *(f"{column[figure]:.3g}" for column in result.values()))
    table.add_section()
    for reading in first["by_reading"]:
        columns = (column["by_reading"].get(reading) for column in result.values())
        table.add_row(reading, *(f"{shares['right']:.3f}" if shares else "" for shares in columns))
    console = Console(width=40 + 8 * len(result))
    console.print(table)
    if people:
        console.print(people)


if __name__ == "__main__":
    typer.run(main)

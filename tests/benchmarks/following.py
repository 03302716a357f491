"""How well narrations are followed.

    python -m tests.benchmarks.following [--narrations FOLDER] [--sound] [--noise]
        [--hear NAME ...] [--voice NAME ...] [--condition NAME ...] [--every N]
        [--cores N] [--json] [--plot FILE]

Each narration goes through the real core in `rehearse`: as text; with --sound spoken by each voice
(`voices.py`) and heard by each recognizer; with --noise spoken by one voice, the voices in turn, in each
condition of a skills room (`rooms.py`). What comes of it is compared with the labels. Beside it stand
plain matchers of the nearest phrase on the same words (`baseline.py`), each given the threshold at which its
own step F1 is best, and for hearing, where named by --hear, `sphinx-general` and `whisper-plain`
(`plain_hearing.py`).

Columns: the folder, the recognizer, the condition, and the voice; `all` are all voices together. Step F1
has its 95% bootstrap interval over narrations. What was spoken and heard is kept in the temporary folder.
All of it takes many hours; --every 3 takes a third of the narrations, always the same ones, and --voice and
--condition are for a part. Needs the extra `bench`, and for some voices Debian's packages.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.console import Console
from rich.table import Table

from tests.benchmarks.measuring import TEXT, Measured, Task, as_text, follow, measure_all, on_stderr, summary
from tests.benchmarks.narrations import Narration, read_folder
from tests.benchmarks.rooms import condition as named_condition
from tests.benchmarks.rooms import possible, seed
from tests.benchmarks.scoring import figures

OWN = Path(__file__).parents[1] / "narrations"
SHARED = Path(__file__).parents[3] / "shared" / "narrations"
ALL_VOICES = "all"

__all__ = ["OWN", "SHARED", "as_text", "figures", "follow"]


def main(
    narrations: Annotated[list[Path] | None, typer.Option(help="Folders of narrations.")] = None,
    sound: Annotated[bool, typer.Option("--sound", help="Also spoken by each voice; takes hours.")] = False,
    noise: Annotated[bool, typer.Option("--noise", help="Also in each condition; takes hours.")] = False,
    hear: Annotated[list[str] | None, typer.Option(help="Recognizers: sphinx, whisper, ...")] = None,
    voice: Annotated[list[str] | None, typer.Option(help="Voices, instead of all.")] = None,
    condition: Annotated[list[str] | None, typer.Option(help="Conditions for --noise, not all.")] = None,
    every: Annotated[int, typer.Option(min=1, help="Of the narrations, one in so many.")] = 1,
    cores: Annotated[int, typer.Option(help="How many cores to use.")] = os.cpu_count() or 1,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    plot: Annotated[Path | None, typer.Option(help="PNG or SVG of step F1 by noise.")] = None,
) -> None:
    """Print the figures of each folder in each condition."""
    folders = narrations or [folder for folder in (SHARED, OWN / "tuned", OWN / "aside") if folder.is_dir()]
    for name in condition or ():
        named_condition(name)  # complains of an unknown one before the hours begin
    columns: dict[str, dict[str, Any]] = {}
    for folder in folders:
        read = one_in(every, read_folder(folder))
        tasks = [Task(narration, TEXT) for narration in read]
        if sound or noise:
            rooms = (condition or possible()) if noise else ()
            tasks += spoken_tasks(read, hear, voice, sound, rooms)
        name = "" if len(folders) == 1 else f"{folder.parent.name}/{folder.name} "
        for key, measured in columns_of(measure_all(tasks, cores, on_stderr), sound, noise).items():
            columns[f"{name}{key}"] = summary(measured)
    if plot is not None:
        from tests.benchmarks.plot import draw  # takes a second to import

        draw(columns, plot)
    if as_json:
        print(json.dumps(columns, indent=1))
    else:
        Console(width=60 + 12 * len(columns)).print(_table(columns))


def spoken_tasks(
    narrations: Sequence[Narration],
    hear: Sequence[str] | None,
    voice: Sequence[str] | None,
    sound: bool,
    conditions: Sequence[str],
) -> list[Task]:
    """All that is to be spoken and heard; a recognizer not installed is left out, and named on stderr.

    With `sound` in every voice, clean; in each of `conditions` in one voice.
    """
    from tests.benchmarks import plain_hearing, voices  # needs the voices of the test extra

    speakers = voice or voices.installed()
    if unknown := [name for name in speakers if name not in voices.installed()]:
        raise typer.BadParameter(f"no such voice here: {', '.join(unknown)}")
    ways: list[tuple[Narration, str, str]] = []
    if sound:
        ways += [(one, speaker, "clean") for speaker in speakers for one in narrations]
    ways += [(one, in_turn(one, speakers), name) for name in conditions for one in narrations]
    named = [plain_hearing.automatic() if name == "auto" else name for name in hear or ()]
    wanted = [name for name in named or plain_hearing.usual() if plain_hearing.can_hear(name)]
    return [Task(one, name, speaker, room) for one, speaker, room in dict.fromkeys(ways) for name in wanted]


def one_in(every: int, narrations: Sequence[Narration]) -> list[Narration]:
    """One narration in so many, by their names alone: those of 6 are among those of 3."""
    chosen = sorted(narrations, key=lambda one: seed(one.id))[: -(-len(narrations) // every)]
    return [one for one in narrations if one in chosen]


def in_turn(narration: Narration, speakers: Sequence[str]) -> str:
    """The voice that a narration has in noise, by its name alone."""
    return speakers[seed(narration.id) % len(speakers)]


def columns_of(measured: Iterable[Measured], sound: bool, noise: bool) -> dict[str, list[Measured]]:
    """What was measured, by the names of the columns in which it counts."""
    measured = list(measured)
    turns = {(one.task.narration.id, one.task.voice) for one in measured if one.task.condition != "clean"}
    columns: dict[str, list[Measured]] = {}
    for one in measured:
        task = one.task
        names = [TEXT] if task.hear == TEXT else []
        if task.hear != TEXT and sound and task.condition == "clean":
            names += [f"{task.hear} clean {ALL_VOICES}", f"{task.hear} clean {task.voice}"]
        # With all voices at hand, the clean sound beside the noise is that of the same voice.
        in_turn = task.condition != "clean" or not sound or (task.narration.id, task.voice) in turns
        if task.hear != TEXT and noise and in_turn:
            names.append(f"{task.hear} {task.condition} in-turn")
        for name in names:
            columns.setdefault(name, []).append(one)
    return columns


def _table(columns: dict[str, dict[str, Any]]) -> Table:
    """Rows are figures, first of voicecoach and then of each plain follower."""
    table = Table()
    table.add_column("figure", no_wrap=True)
    for name in columns:
        table.add_column(name.replace(" ", "\n"), justify="right")
    first = next(iter(columns.values()))
    for figure in first:
        if figure != "baselines":
            table.add_row(figure, *(f"{column[figure]:.3f}" for column in columns.values()))
    for other, its in first["baselines"].items():
        table.add_section()
        for figure in its:
            values = (f"{column['baselines'][other][figure]:.3f}" for column in columns.values())
            table.add_row(f"{other} {figure}", *values)
    return table


if __name__ == "__main__":
    typer.run(main)

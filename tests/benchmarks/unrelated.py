"""How often steps are taken from what people say about other things.

    python -m tests.benchmarks.unrelated [--hear NAME ...] [--cores N] [--json]

The speech is of people, not of synthetic voices, all of it from packages:

| what | from | licence |
|---|---|---|
| prompts of a telephone exchange (Allison Smith) | Debian's asterisk-core-sounds-en-wav | CC BY-SA 3.0 |
| numbers and letters (Allison Smith) | the same | the same |
| three readings of books and plays | the wheel moonshine-voice | MIT, as the wheel says |

Prompts and numbers are short, so they are joined with pauses of 0.7 s. The whole is cut into stretches of
two minutes, each heard as one attempt at one procedure, the procedures in turn. Debian's package is fetched
by apt-get into the temporary folder and unpacked there, not installed. What is not to be had is left out.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from importlib.util import find_spec
from pathlib import Path
from typing import Annotated

import numpy as np
import soundfile
import soxr
import typer
from numpy.typing import NDArray
from rich.console import Console
from rich.table import Table

from tests.benchmarks.attempts import attend
from tests.benchmarks.levels import Sound, at_level, pcm
from tests.benchmarks.narrations import shipped
from tests.benchmarks.voices import LEVEL
from voicecoach.events import Cued, Followed
from voicecoach.procedure import library
from voicecoach.sound import RATE

PAUSE = 0.7
"""Seconds between two recordings."""
STRETCH = 120.0
"""Seconds of an attempt, about."""
_PACKAGE = "asterisk-core-sounds-en-wav"
_UNPACKED = Path(tempfile.gettempdir()) / "voicecoach-asterisk"
_NO_SPEECH = ("silence", "beep", "beeperr", "ascending-2tone", "descending-2tone", "tt-monkeys")
_READINGS = ("beckett.wav", "endgame_nagg_nell.wav", "two_cities.wav")


@dataclass(frozen=True, slots=True)
class Stretch:
    """Sound heard as one attempt."""

    procedure: str
    samples: NDArray[np.int16]
    """Mono at 16 kHz."""


@dataclass(frozen=True, slots=True)
class Mistaken:
    """What came of one attempt."""

    procedure: str
    minutes: float
    steps: tuple[tuple[str, str], ...]
    """Each step taken and the words that it was taken from."""
    cues: int
    """Cues given, answers among them."""
    words: int
    """Words heard."""


def recordings() -> list[Path]:
    """The sound files that are to be had, always in the same order; what is not is said on stderr."""
    return [*_prompts(), *_readings()]


def _prompts() -> list[Path]:
    if not _UNPACKED.is_dir():
        try:
            _unpack()
        except (OSError, subprocess.CalledProcessError) as error:
            print(f"left out the telephone prompts: {_PACKAGE} cannot be had ({error})", file=sys.stderr)
            return []
    files = sorted(_UNPACKED.rglob("*.wav"))
    return [file for file in files if not {file.stem, file.parent.name} & set(_NO_SPEECH)]


def _unpack() -> None:
    with tempfile.TemporaryDirectory(dir=_UNPACKED.parent) as folder:
        subprocess.run(["apt-get", "download", "-qq", _PACKAGE], cwd=folder, check=True, capture_output=True)
        (package,) = Path(folder).glob("*.deb")
        unpacked = Path(folder, "unpacked")
        subprocess.run(["dpkg", "-x", str(package), str(unpacked)], check=True, capture_output=True)
        unpacked.rename(_UNPACKED)


def _readings() -> list[Path]:
    found = find_spec("moonshine_voice")
    if found is None or not found.submodule_search_locations:
        print("left out the readings: the wheel moonshine-voice is not installed", file=sys.stderr)
        return []
    folder = Path(found.submodule_search_locations[0]) / "assets"
    return [folder / name for name in _READINGS if (folder / name).is_file()]


def sound(file: Path) -> Sound:
    """A recording, mono at 16 kHz, its words as loud as a student's."""
    samples, rate = soundfile.read(file, dtype="float64", always_2d=True)
    return at_level(np.asarray(soxr.resample(samples.mean(axis=1), rate, RATE)), LEVEL)


def stretches(sounds: Iterator[Sound], procedures: Sequence[str]) -> list[Stretch]:
    """The sound in stretches of about two minutes, none cut within a recording, for procedures in turn."""
    silence = np.zeros(round(PAUSE * RATE))
    made: list[Stretch] = []
    parts: list[Sound] = []

    def close() -> None:
        ending = np.zeros(RATE)
        procedure = procedures[len(made) % len(procedures)]
        made.append(Stretch(procedure, pcm(np.concatenate([*parts, ending]))))
        parts.clear()

    for one in sounds:
        parts += [silence, one]
        if sum(map(len, parts)) >= STRETCH * RATE:
            close()
    if parts:
        close()
    return made


def attempt(hear: str, stretch: Stretch) -> Mistaken:
    """Hear and follow a stretch as one attempt."""
    from tests.benchmarks import spoken

    procedure = shipped(stretch.procedure)
    heard = spoken.hear_samples(stretch.samples, hear, procedure)
    until = len(stretch.samples) / RATE
    events = [event for _, event in attend("unrelated", procedure, heard, until).events]
    return Mistaken(
        stretch.procedure,
        until / 60,
        tuple((event.step, event.said) for event in events if isinstance(event, Followed)),
        sum(isinstance(event, Cued) for event in events),
        sum(len(one.words) for one in heard),
    )


def figures(mistaken: Sequence[Mistaken]) -> dict[str, float]:
    """Minutes of speech, and what was wrongly taken and said in ten of them."""
    minutes = sum(one.minutes for one in mistaken)
    return {
        "minutes": minutes,
        "attempts": float(len(mistaken)),
        "words_heard_per_min": sum(one.words for one in mistaken) / minutes,
        "false_steps_per_10_min": 10 * sum(len(one.steps) for one in mistaken) / minutes,
        "cues_per_10_min": 10 * sum(one.cues for one in mistaken) / minutes,
    }


def main(
    hear: Annotated[list[str] | None, typer.Option(help="Recognizers: sphinx, whisper, ...")] = None,
    cores: Annotated[int, typer.Option(help="How many cores to use.")] = os.cpu_count() or 1,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> None:
    """Print how many steps are taken and cues given in ten minutes, by recognizer."""
    from tests.benchmarks import plain_hearing

    files = recordings()
    if not files:
        sys.exit("There is no speech to be had here; see the head of this file for what to install.")
    cut = stretches(map(sound, files), sorted(library.shipped()))
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    result: dict[str, dict[str, float]] = {}
    named = [plain_hearing.automatic() if name == "auto" else name for name in hear or ()]
    for name in (one for one in named or plain_hearing.usual() if plain_hearing.can_hear(one)):
        with ProcessPoolExecutor(cores) as pool:
            mistaken = []
            for one in pool.map(partial(attempt, name), cut):
                mistaken.append(one)
                print(f"{name}: {len(mistaken)} of {len(cut)}, {one.procedure}", file=sys.stderr)
                for step, said in one.steps:
                    print(f"  took {step} from “{said}”", file=sys.stderr)
        result[name] = figures(mistaken)
    if as_json:
        print(json.dumps(result, indent=1))
    else:
        Console().print(_table(result))


def _table(result: dict[str, dict[str, float]]) -> Table:
    table = Table("figure", *result)
    for figure in next(iter(result.values()), {}):
        table.add_row(figure, *(f"{column[figure]:.2f}" for column in result.values()))
    return table


if __name__ == "__main__":
    typer.run(main)

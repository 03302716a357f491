"""How fast the coach answers, live, through a PulseAudio room on this machine.

A student goes through procedures with steps left out, in several voices; room and coach are recorded
together. `python -m tests.benchmarks.latency [--json]` takes about ten minutes and prints, over all cues
that a faulty step's sentence brought:

- cue_median_s, cue_p95_s: from the last sample of the sentence to the first sample of the cue
- compute_p95_s: of which from the end of the silence to the cue given to the loudspeaker
- ready_s: from the command to the first sample of the greeting, the slowest procedure, caches warm
- cpu_share: of one core, on average while the student speaks and listens
- rss_mb: the most memory that the process has held
"""

from __future__ import annotations

import json
import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import numpy as np
import typer
from numpy.typing import NDArray

from tests.benchmarks.measuring import on_stderr
from tests.benchmarks.voices import speak
from tests.live.pulse import Recording, Room, lacking, room
from voicecoach import session, sources
from voicecoach.attempt import Attempt
from voicecoach.coaching.wording import fixed_cues
from voicecoach.ear import Moment
from voicecoach.events import Event
from voicecoach.live import Live
from voicecoach.mouth import Mouth
from voicecoach.procedure import library
from voicecoach.procedure.model import Procedure
from voicecoach.procedure.order import needs
from voicecoach.records.journal import Journal
from voicecoach.session import Session
from voicecoach.showing.lines import Lines
from voicecoach.sound import RATE

VOICES = ("joe", "slt", "heart")
LISTENS = 4.0
"""Seconds that the student leaves after each sentence."""
SPOKEN = 3.0
"""Seconds after a sentence within which a cue can be its answer."""
_AUDIBLE = 60
"""Samples louder than this are sound; the room itself is silent."""
_APART = 0.8
"""Seconds of silence between two sentences or cues, at least."""


@dataclass(frozen=True, slots=True)
class Lag:
    """What one attempt measured."""

    cues: tuple[float, ...]
    """Seconds from the end of a faulty step's sentence to its cue."""
    computed: tuple[float, ...]
    """Seconds of computing for each cue that followed an utterance."""
    cpu_share: float
    rss_mb: float


def faulty(procedure: Procedure, seed: int) -> list[str]:
    """What a student says who leaves out every third step that a later one needs."""
    random_phrase = random.Random(seed)
    needed = {need for all_needs in needs(procedure).values() for need in all_needs}
    left_out = [step.id for step in procedure.steps if step.id in needed and step.when is None][1::3]
    steps = [step for step in procedure.steps if step.id not in left_out and step.when is None]
    return [random_phrase.choice(step.say) for step in steps]


def spoken(sentences: list[str], voice: str) -> NDArray[np.int16]:
    """The sentences with time to listen after each, mono at 16 kHz."""
    pause = np.zeros(round(LISTENS * RATE), np.int16)
    return np.concatenate([part for said in sentences for part in (speak(said, voice), pause)])


def stretches(samples: NDArray[np.int16]) -> list[tuple[float, float]]:
    """Seconds at which sound begins and ends, where silence lies between."""
    loud = np.flatnonzero(np.abs(samples.astype(np.int32)) > _AUDIBLE)
    if not len(loud):
        return []
    gaps = np.flatnonzero(np.diff(loud) > _APART * RATE)
    starts, ends = loud[np.append(0, gaps + 1)], loud[np.append(gaps, len(loud) - 1)]
    return [(start / RATE, end / RATE) for start, end in zip(starts, ends, strict=True)]


def answers(recording: Recording) -> list[float]:
    """Seconds from the end of each sentence to the cue that followed it, where one did."""
    ends = [end for _, end in stretches(recording.student)]
    found = []
    for begins, _ in stretches(recording.coach):
        before = [begins - end for end in ends if end < begins]
        if before and min(before) < SPOKEN:
            found.append(min(before))
    return found


def measure(room: Room, procedure: str, voice: str, seed: int) -> Lag:
    """One attempt by a student who leaves steps out, in a process of its own."""
    said = spoken(faulty(library.find(procedure), seed), voice)
    computed = room.folder / f"{procedure}-{voice}.json"
    with room.recorded() as recordings:
        coach = subprocess.Popen(
            [sys.executable, "-m", "tests.benchmarks.latency", "--attempt", procedure, "--to", str(computed)],
            env=room.environment,
            stdout=subprocess.DEVNULL,
        )
        _wait_for(computed.with_suffix(".ready"), coach)
        began, used = time.monotonic(), _cpu_seconds(coach.pid)
        room.say(said).wait()
        share = (_cpu_seconds(coach.pid) - used) / (time.monotonic() - began)
        rss = _peak_mb(coach.pid)
        coach.send_signal(2)
        coach.wait(timeout=60)
    return Lag(tuple(answers(recordings[0])), tuple(json.loads(computed.read_text())), share, rss)


def ready(room: Room, procedure: str) -> float:
    """Seconds from the real command to the first sample of the greeting."""
    journal = room.folder / f"ready-{procedure}-{time.monotonic_ns()}.jsonl"
    with room.recorded() as recordings:
        time.sleep(1.0)  # The recorder has to be under way.
        mark = room.say(np.full(RATE // 10, 9000, np.int16))
        mark.wait()
        coach = subprocess.Popen(
            [
                sys.executable, "-m", "voicecoach", "rehearse", procedure,
                "--hear", "sphinx", "--journal", str(journal),
            ],
            env=room.environment, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
        )  # fmt: skip
        while not (journal.is_file() and '"voiced"' in journal.read_text()):
            assert coach.poll() is None, f"the command for {procedure} has ended"
            time.sleep(0.02)
        coach.send_signal(2)
        coach.wait(timeout=60)
    (_, marked), *_ = stretches(recordings[0].student)
    (greeted, _), *_ = stretches(recordings[0].coach)
    # The mark ends a little before paplay does, which makes this look longer by that, never shorter.
    return greeted - marked


class _Watched:
    """What one attempt hears and says, to tell how soon after an utterance is over it answers."""

    def __init__(self, live: Live, core: Attempt) -> None:
        self._live = live
        self._core = core
        self._waits = 0.0
        self._ended: float | None = None
        """When the latest utterance ended and nothing more had to be waited for, on the audio clock."""
        self.computed: list[float] = []
        """Seconds from there to the cue, for each cue that answers an utterance."""

    def patience(self, said: str) -> float:
        """That of the core, noted."""
        self._waits = self._core.patience(said)
        return self._waits

    def noted(self, moments: Iterable[Moment]) -> Iterator[Moment]:
        """The moments, their utterances noted."""
        for moment in moments:
            if moment.heard:
                self._ended = moment.heard.end + self._waits
            yield moment

    def mouth(self) -> Mouth:
        """That of the room, its cues noted."""
        mouth = self._live.mouth
        say = mouth.say

        def noted(text: str, at: float) -> float:
            seconds = say(text, at)
            if self._ended is not None:
                self.computed.append(self._live.now - self._ended)
            self._ended = None
            return seconds

        vars(mouth)["say"] = noted
        return mouth


class _Quiet(Lines):
    """A screen that says when the greeting is over."""

    def __init__(self, file: Path) -> None:
        self._file = file

    def show(self, event: Event) -> None:
        """The first cue that has been said is the greeting."""
        if type(event).__name__ == "Voiced":
            self._file.touch()

    def notice(self, what: str) -> None:
        """Nobody reads it."""
        on_stderr(what)


def attempt(name: str, to: Path) -> None:
    """Run one attempt with the devices there are; writes the seconds of computing for each cue."""
    procedure = library.find(name)
    recognizer = sources.recognizer("sphinx", None, procedure)
    begun = session.begun(procedure, "rehearse", "sphinx")
    core, live = Attempt(begun), Live()
    watched = _Watched(live, core)
    mouth = watched.mouth()
    mouth.prepare(fixed_cues(procedure, "rehearse"))
    with session.interruptible() as interrupted, live:
        moments = watched.noted(live.hear(recognizer, watched.patience))
        kept = Journal(to.with_suffix(".jsonl"))
        Session(core, mouth, kept, _Quiet(to.with_suffix(".ready"))).run(begun, moments, interrupted)
    to.write_text(json.dumps(watched.computed))


def _wait_for(file: Path, process: subprocess.Popen[bytes]) -> None:
    while not file.exists():
        assert process.poll() is None, "the attempt has ended before it began"
        time.sleep(0.05)


def _cpu_seconds(pid: int) -> float:
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _peak_mb(pid: int) -> float:
    line = next(line for line in Path(f"/proc/{pid}/status").read_text().splitlines() if "VmHWM" in line)
    return int(line.split()[1]) / 1024


def main(
    as_json: Annotated[bool, typer.Option("--json", help="Print the figures as JSON.")] = False,
    one: Annotated[str, typer.Option("--attempt", hidden=True)] = "",
    to: Annotated[Path, typer.Option("--to", hidden=True)] = Path("computed.json"),
) -> None:
    """Measure how fast the coach answers."""
    if one:
        attempt(one, to)
        return
    if lacking():
        raise typer.BadParameter(lacking())
    names = library.shipped()
    with tempfile.TemporaryDirectory(prefix="vc") as folder, room(Path(folder)) as made:
        for name in names:  # Warm: files for the recognizer are made once.
            ready(made, name)
            on_stderr(f"warm: {name}")
        waits = {}
        for name in names:
            waits[name] = min(ready(made, name) for _ in range(2))
            on_stderr(f"{name}: ready in {waits[name]:.2f} s")
        lags = []
        for number, name in enumerate(names):
            lag = measure(made, name, VOICES[number % len(VOICES)], number)
            lags.append(lag)
            on_stderr(f"{name}: {lag}")
    cues = [cue for lag in lags for cue in lag.cues]
    figures = {
        "cues": len(cues),
        "cue_median_s": float(np.median(cues)),
        "cue_p95_s": float(np.quantile(cues, 0.95)),
        "compute_p95_s": float(np.quantile([one for lag in lags for one in lag.computed], 0.95)),
        "ready_s": max(waits.values()),
        "cpu_share": float(np.mean([lag.cpu_share for lag in lags])),
        "rss_mb": max(lag.rss_mb for lag in lags),
    }
    if as_json:
        print(json.dumps(figures, indent=1))
    else:
        for name, figure in figures.items():
            print(f"{name:15} {figure:.3g}")


if __name__ == "__main__":
    typer.run(main)

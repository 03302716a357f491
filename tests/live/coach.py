"""The real command in a process of its own, in a room of PulseAudio's."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.live.pulse import Room
from voicecoach import replay
from voicecoach.records import journal

PATIENCE = 40.0
"""Seconds that anything may take before the test gives up: the first time, models have to be made."""


class Running:
    """A command that runs; what it prints, and the journal that it keeps."""

    def __init__(self, room: Room, *arguments: str) -> None:
        self._room = room
        self._out = room.folder / f"out-{time.monotonic_ns()}.txt"
        self.data = room.folder / "data"
        with self._out.open("w") as out:
            self.process = subprocess.Popen(
                [sys.executable, "-u", "-m", "voicecoach", *arguments],
                env={**room.environment, "XDG_DATA_HOME": str(self.data)},
                stdin=subprocess.DEVNULL,
                stdout=out,
                stderr=subprocess.STDOUT,
            )

    @property
    def printed(self) -> str:
        """All that it has printed."""
        return self._out.read_text("utf-8")

    def journals(self) -> list[list[dict[str, Any]]]:
        """The events of each journal, the oldest first."""
        files = sorted(Path(self.data).rglob("*.jsonl"))
        return [[json.loads(line) for line in file.read_text().splitlines()] for file in files]

    def replays(self) -> bool:
        """Whether each journal, played again, is the same to the byte."""
        files = sorted(Path(self.data).rglob("*.jsonl"))
        return all(
            replay.difference(tuple(replay.replay(journal.read(file))), file) is None for file in files
        )

    def until(self, happened: Callable[[], bool], what: str) -> None:
        """Wait until something has happened."""
        deadline = time.monotonic() + PATIENCE
        while not happened():
            assert self.process.poll() is None, f"it ended before {what}: {self.printed}"
            assert time.monotonic() < deadline, f"no {what}: {self.printed}"
            time.sleep(0.05)

    def until_printed(self, text: str, times: int = 1) -> None:
        """Wait until it has printed a text so many times."""
        self.until(lambda: self.printed.count(text) >= times, text)

    def until_event(self, kind: str, **fields: Any) -> None:
        """Wait until the latest journal has an event of a kind, with such fields."""

        def happened() -> bool:
            events = self.journals()[-1:] or [[]]
            return any(event["event"] == kind and fields.items() <= event.items() for event in events[0])

        self.until(happened, f"{kind} {fields}")

    def stop(self) -> int:
        """Press Ctrl-C and wait; gives the exit code."""
        self.process.send_signal(2)
        return self.process.wait(PATIENCE)

    def close(self) -> None:
        """End it, whatever it is doing."""
        self.process.kill()
        self.process.wait()

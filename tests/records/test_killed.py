"""Killed at any event: what was heard before is in the journal, and the record counts it as broken off."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from voicecoach.events import Ended, Event, Heard
from voicecoach.records import journal, store
from voicecoach.records.results import result

SAID = """\
00:03 i get enough of the rub for all of both hands
00:12 rubbing palm to palm
00:20 and the backs of my hands
00:28 rubbing between the fingers
00:33 i am done
"""

KILLER = """\
import os, signal, sys
from voicecoach import cli
from voicecoach.records.journal import Journal, folder

really_write = Journal.write

def attempt(last):
    # One attempt in a process of its own, which is killed as soon as that line is on the disk.
    child = os.fork()
    if child:
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    written = 0
    def write(self, event):
        nonlocal written
        kept = really_write(self, event)
        written += 1
        if written == last:
            os.kill(os.getpid(), signal.SIGKILL)
        return kept
    Journal.write = write
    cli.main()

whole = attempt(0)
(path,) = folder().iterdir()
lines = path.read_bytes().count(b"\\n")
print(path.stem, whole, *(attempt(last) for last in range(1, lines + 1)))
"""
"""Goes through the same attempt again and again, killed one event later each time; prints the exit codes."""


@pytest.fixture
def environment(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> dict[str, str]:
    """That of a program whose data folder is the test's own, as this process has it, too."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    (tmp_path / "said.txt").write_text(SAID)
    return {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}


def arguments(source: str) -> list[str]:
    return ["rehearse", "hand-rub", "--hear", "typed", "--from", source]


def timeless(events: tuple[Event, ...]) -> tuple[Event, ...]:
    """Without the beginning, which has the name and the time of the attempt."""
    return events[1:]


def test_killed_at_any_event_all_before_is_kept_and_counts_as_broken_off(
    tmp_path: Path, environment: dict[str, str]
) -> None:
    killed = subprocess.run(
        [sys.executable, "-c", KILLER, *arguments(str(tmp_path / "said.txt"))],
        env=environment,
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert (killed.returncode, killed.stderr) == (0, "")
    name, *codes = killed.stdout.splitlines()[-1].split()
    whole = journal.read(journal.folder() / f"{name}.jsonl")
    assert [int(code) for code in codes] == [0] + [-signal.SIGKILL] * len(whole)
    assert sum(isinstance(event, Heard) for event in whole) == len(SAID.splitlines())

    kept = {path.stem: journal.read(path) for path in journal.folder().iterdir()}
    assert sorted(map(len, kept.values())) == [*range(1, len(whole)), len(whole), len(whole)]
    assert all(timeless(events) == timeless(whole)[: len(events) - 1] for events in kept.values())

    assert store.bring_up_to_date() == ()
    found = {one.attempt: one for one in store.results()}
    assert found == {attempt: result(events) for attempt, events in kept.items()}
    for attempt, events in kept.items():
        ended = any(isinstance(event, Ended) for event in events)
        assert found[attempt].complete is ended
        assert found[attempt].heard == sum(isinstance(event, Heard) for event in events)
    assert sum(one.complete for one in found.values()) >= 2


def test_killed_from_outside_while_it_listens_what_was_said_is_in_the_record(
    environment: dict[str, str],
) -> None:
    running = subprocess.Popen(
        [sys.executable, "-m", "voicecoach", *arguments("-")],
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        env=environment,
    )
    assert running.stdin is not None
    said = SAID.splitlines(keepends=True)[:3]
    running.stdin.writelines(said)
    running.stdin.flush()
    waited = time.monotonic()
    while sum(one.heard for one in store.results()) < len(said):
        # Meanwhile the record is read, as in another terminal.
        assert running.poll() is None
        assert time.monotonic() < waited + 60
        time.sleep(0.1)
    running.kill()
    assert running.wait() == -signal.SIGKILL
    (one,) = store.results()
    assert (one.heard, one.complete, one.procedure) == (3, False, "hand-rub")
    assert store.bring_up_to_date() == ()

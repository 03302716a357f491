"""Ctrl-C in the middle of an attempt."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

from voicecoach.events import Ended, Stopped
from voicecoach.records import journal


def test_ctrl_c_shows_what_there_is_and_keeps_the_journal(tmp_path: Path) -> None:
    kept = tmp_path / "one.jsonl"
    arguments = ["rehearse", "hand-rub", "--hear", "typed", "--journal", str(kept)]
    running = subprocess.Popen(
        [sys.executable, "-c", "from voicecoach.cli import main; main()", *arguments],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path), "PYTHONIOENCODING": "utf-8"},
    )
    assert running.stdin is not None
    running.stdin.write("00:03 rubbing palm to palm\n")
    running.stdin.flush()
    while '"heard"' not in (kept.read_text() if kept.exists() else ""):
        assert running.poll() is None, running.communicate()
        time.sleep(0.05)
    running.send_signal(signal.SIGINT)
    out, err = running.communicate(timeout=60)
    assert running.returncode == 130
    assert "Traceback" not in err
    assert "PASSED" in out
    events = journal.read(kept)
    assert isinstance(events[-1], Ended)
    assert next(event for event in events if isinstance(event, Stopped)).why == "interrupted"

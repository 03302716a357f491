"""Bad input to the real program, in a process of its own: a clear sentence, an exit code, nothing lost.

What stands in for a part here (a library that is missing, a disk that is full) does so where the operating
system or Python would, not inside voicecoach. Finer cases are beside the parts, and in test_cli.py.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from voicecoach import narration
from voicecoach.events import Ended, Heard, Stopped
from voicecoach.procedure import library
from voicecoach.records import journal
from voicecoach.sound import RATE, files

LINES = "".join(f"00:{second:02} rubbing palm to palm\n" for second in range(2, 60, 2))

NO_PORTAUDIO = 'raise OSError("PortAudio library not found")\n'
"""What the module sounddevice does where the library beneath it is missing."""
NO_DEVICE = """\
class PortAudioError(Exception): pass
def query_devices(device=None, kind=None): raise PortAudioError(f"Error querying device {device}")
"""
NO_SPEECH = 'raise ImportError("no speech library")\n'
CTRL_C = """\
import os, signal, time
os.kill(os.getpid(), signal.SIGINT)
time.sleep(60)
"""
ROOM = len(library.find("hand-rub").model_dump_json()) + 4000
"""Bytes on a small disk: the first line of a journal, which holds the procedure, and some more."""
SMALL_DISK = f"""\
import resource
resource.setrlimit(resource.RLIMIT_FSIZE, ({ROOM}, {ROOM}))
"""
"""Read by Python when it starts: no file may grow beyond that room."""

unix_only = pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such signal, limit or device")


@dataclass(frozen=True, slots=True)
class Left:
    """How the program left."""

    code: int
    out: str
    err: str


class Program:
    """The real program, in an empty folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._instead = folder / "instead"
        self._instead.mkdir()

    def stand_in(self, module: str, source: str) -> None:
        """Let Python find `source` where it looks for a module."""
        (self._instead / f"{module}.py").write_text(source)

    def start(self, *arguments: object, stdout: int = subprocess.PIPE) -> subprocess.Popen[str]:
        paths = [str(self._instead), *sys.path]
        own = {"PYTHONPATH": os.pathsep.join(paths), "PYTHONIOENCODING": "utf-8", "COLUMNS": "100"}
        return subprocess.Popen(
            [sys.executable, "-m", "voicecoach", *map(str, arguments)],
            cwd=self.folder,
            stdin=subprocess.DEVNULL,
            stdout=stdout,
            stderr=subprocess.PIPE,
            encoding="utf-8",
            env={**os.environ, **own, "XDG_DATA_HOME": str(self.folder / "data")},
        )

    def left(self, running: subprocess.Popen[str]) -> Left:
        out, err = running.communicate(timeout=120)
        assert "Traceback" not in f"{out}{err}"
        return Left(running.returncode, out or "", err)

    def run(self, *arguments: object) -> Left:
        return self.left(self.start(*arguments))

    def refused(self, *arguments: object) -> str:
        """The one sentence with which the program refuses; it has done and written nothing."""
        left = self.run(*arguments)
        assert (left.code, left.out) == (2, "")
        assert left.err.count("\n") == 1
        assert not (self.folder / "data").exists()
        return left.err


@pytest.fixture
def program(tmp_path: Path) -> Program:
    return Program(tmp_path)


def wait_until_heard(running: subprocess.Popen[str], kept: Path) -> None:
    while '"heard"' not in (kept.read_text("utf-8") if kept.exists() else ""):
        assert running.poll() is None, running.communicate()
        time.sleep(0.05)


def test_an_unknown_procedure(program: Program) -> None:
    said = program.refused("rehearse", "gait-bel")
    assert "'gait-bel'" in said
    assert "gait-belt-walk" in said


def test_a_broken_yaml(program: Program) -> None:
    (program.folder / "mine.yaml").write_text("id: mine\nsteps: [\n")
    assert program.refused("rehearse", "mine.yaml", "--hear", "typed").startswith("mine.yaml:3:")


@pytest.mark.parametrize(
    ("content", "what"),
    [(None, "There is no sound file"), (b"", "empty"), (b"only words", "not a sound file")],
)
def test_a_file_that_is_no_sound(program: Program, content: bytes | None, what: str) -> None:
    if content is not None:
        (program.folder / "said.wav").write_bytes(content)
    said = program.refused("rehearse", "hand-rub", "--hear", "sphinx", "--from", "said.wav")
    assert what in said
    assert "said.wav" in said


def test_a_silent_file(program: Program) -> None:
    files.write(program.folder / "said.wav", np.zeros(3 * RATE, np.int16))
    assert "silent" in program.refused("rehearse", "hand-rub", "--hear", "sphinx", "--from", "said.wav")


def test_a_wav_that_breaks_off_is_heard_as_far_as_it_goes(program: Program) -> None:
    whole = program.folder / "said.wav"
    files.write(whole, files.read(narration.SOUND).samples)
    # The header promises all of it; 13 s are there: the greeting and the hands.
    whole.write_bytes(whole.read_bytes()[: 44 + 13 * RATE * 2 + 1])
    left = program.run("rehearse", "gait-belt-walk", "--hear", "sphinx", "--from", whole, "--journal", "kept")
    assert (left.code, left.err) == (0, "")
    assert "breaks off before its end" in left.out
    assert "NOT PASSED" in left.out
    events = journal.read(program.folder / "kept")
    assert sum(isinstance(event, Heard) for event in events) >= 2
    assert isinstance(events[-1], Ended)


def test_a_folder_that_is_no_vosk_model(program: Program) -> None:
    (program.folder / "model").mkdir()
    (program.folder / "model" / "README").write_text("nothing here")
    files.write(program.folder / "said.flac", files.read(narration.SOUND).samples[: 10 * RATE])
    said = program.refused("rehearse", "hand-rub", "--model", "model", "--from", "said.flac")
    assert "model is not a Vosk model" in said


def test_no_portaudio_library(program: Program) -> None:
    program.stand_in("sounddevice", NO_PORTAUDIO)
    said = program.refused("rehearse", "hand-rub", "--hear", "sphinx")
    assert "PortAudio" in said
    assert "--hear typed" in said
    if sys.platform == "linux":
        assert "libportaudio2" in said


def test_no_input_device(program: Program) -> None:
    program.stand_in("sounddevice", NO_DEVICE)
    said = program.refused("rehearse", "hand-rub", "--hear", "sphinx")
    assert "There is no microphone" in said
    assert "--from FILE" in said


def test_no_speech_library(program: Program) -> None:
    program.stand_in("pyttsx3", NO_SPEECH)
    files.write(program.folder / "said.wav", files.read(narration.SOUND).samples[: 10 * RATE])
    left = program.run("rehearse", "gait-belt-walk", "--hear", "sphinx", "--from", "said.wav")
    assert (left.code, left.err) == (0, "")
    assert "The coach's words are shown instead." in left.out
    assert "coach: " in left.out


@unix_only
def test_ctrl_c_while_sound_is_heard(program: Program) -> None:
    kept = program.folder / "kept.jsonl"
    running = program.start(
        "rehearse", "gait-belt-walk", "--hear", "sphinx", "--from", narration.SOUND, "--journal", kept
    )
    wait_until_heard(running, kept)
    running.send_signal(signal.SIGINT)
    left = program.left(running)
    assert (left.code, left.err) == (130, "")
    assert "broken off" in left.out
    assert "NOT PASSED" in left.out
    assert str(kept) in left.out
    events = journal.read(kept)
    assert next(event for event in events if isinstance(event, Stopped)).why == "interrupted"
    assert isinstance(events[-1], Ended)


@unix_only
@pytest.mark.parametrize("module", ["pocketsphinx", "pyttsx3"])  # loaded with the program, and when it begins
def test_ctrl_c_before_it_has_begun(program: Program, module: str) -> None:
    program.stand_in(module, CTRL_C)
    left = program.run("rehearse", "gait-belt-walk", "--hear", "sphinx", "--from", narration.SOUND)
    assert (left.code, left.out) == (130, "")
    assert not (program.folder / "data").exists()


@unix_only
def test_a_journal_that_can_grow_no_more_keeps_what_it_has(program: Program) -> None:
    program.stand_in("sitecustomize", SMALL_DISK)
    (program.folder / "said.txt").write_text(LINES)
    kept = program.folder / "kept.jsonl"
    left = program.run("practise", "hand-rub", "--hear", "typed", "--from", "said.txt", "--journal", kept)
    assert left.code == 1
    assert "PASSED" in left.out
    assert "kept.jsonl could not be written" in left.err
    # Whole lines only, up to where there was room.
    assert kept.read_bytes().endswith(b"\n")
    assert any(isinstance(event, Heard) for event in journal.read(kept))


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no disk that is always full")
@pytest.mark.parametrize(
    "arguments", ["procedures", "schema", "rehearse hand-rub --hear typed --from said.txt"]
)
def test_output_to_a_full_disk(program: Program, arguments: str) -> None:
    (program.folder / "said.txt").write_text(LINES)
    with Path("/dev/full").open("w") as full:
        left = program.left(program.start(*arguments.split(), stdout=full.fileno()))
    assert left.code == 2
    assert left.err == "The disk is full; make room and try again.\n"

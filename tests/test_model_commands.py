"""`voicecoach models` as a user types it: what it prints, and what it says where something is wrong."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tests.hearing.test_unpacking import MODEL, foldered, zipped
from tests.hearing.test_vosk import model as model  # a fixture
from tests.hearing.test_vosk import needs_model
from voicecoach import cli, sources
from voicecoach.hearing import models, whisper_model
from voicecoach.sound import RATE, files

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path / "models"


@pytest.fixture
def run(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, home: Path
) -> Run:
    """Runs voicecoach with arguments: exit code, standard output, standard error.

    No model is tried out: those with `en` in their names are taken to be English, those with `bad` to fail.
    """
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setattr(models, "folder", lambda: home)
    monkeypatch.setattr(
        models, "knows_english", lambda place: None if "bad" in place.name else "en" in place.name
    )
    monkeypatch.setattr(whisper_model, "_NEEDED", ())

    def run(*arguments: object) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["voicecoach", *map(str, arguments)])
        with pytest.raises(SystemExit) as left:
            cli.main()
        printed = capsys.readouterr()
        assert "Traceback" not in printed.err
        return int(left.value.code or 0), printed.out, printed.err

    return run


def lines(code: int, out: str, err: str) -> list[list[str]]:
    """The words of each line printed where all went well; only that of a path may be wide."""
    assert (code, err) == (0, "")
    assert max(len(line) for line in out.splitlines() if os.sep not in line) <= 80
    return [line.split() for line in out.splitlines()]


def complaint(code: int, out: str, err: str) -> str:
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    return err


def test_without_models_it_says_what_each_recognizer_needs(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(whisper_model, "_NEEDED", ("no_such_package",))
    printed = lines(*run("models"))
    starts = [line[0] for line in printed if line]
    assert starts[:4] == ["recognizer", "sphinx", "vosk", "then:"]
    out = run("models")[1]
    assert "needs an English model, which you download as a zip" in out
    assert "voicecoach models install FILE" in out
    assert 'pip install "voicecoach[whisper]"' in out
    assert "--hear typed" in out
    assert "Without --hear, sphinx is taken now." in out
    assert "Vosk models" not in out


def test_models_are_listed_with_size_language_and_which_is_taken(run: Run, home: Path) -> None:
    for name in ("a-bad", "b-ko", "c-en", "d-en"):
        foldered(home / name, MODEL)
    printed = lines(*run("models"))
    assert ["vosk", "ready,", "with", "c-en"] in printed
    assert printed[-4:] == [
        ["a-bad", "1", "MB", "cannot", "be", "loaded"],
        ["b-ko", "1", "MB", "not", "English"],
        ["c-en", "1", "MB", "English", "taken,", "the", "first", "by", "name"],
        ["d-en", "1", "MB", "English"],
    ]
    assert "Without --hear, vosk is taken now." in run("models")[1]
    run("models", "choose", "d-en")
    printed = lines(*run("models"))
    assert ["vosk", "ready,", "with", "d-en"] in printed
    assert printed[-4] == ["d-en", "1", "MB", "English", "taken,", "being", "chosen"]


def test_a_long_name_of_a_model_is_whole_and_harmless(run: Run, home: Path) -> None:
    name = "vosk-model-" + "x" * 80 + "-\x1b[31m[bold]en"
    foldered(home / name, MODEL)
    out = run("models")[1]
    assert "\x1b" not in out
    assert "[bold]en" in "".join(out.split())


def test_from_a_zip_to_an_attempt_and_away_again(
    run: Run, home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = zipped(tmp_path / "small-en.zip", MODEL)
    printed = lines(*run("models", "install", path))
    assert printed[0] == ["Installed", "small-en:", "1", "MB,", "English."]
    assert printed[1][0] == "SHA-256"
    assert len(printed[1][1]) == 64
    assert printed[2:] == ["Without --hear, vosk is taken now, with small-en.".split()]

    zipped(tmp_path / "large-en.zip", MODEL)
    out = run("models", "install", "large-en.zip")[1]
    assert "with large-en.\nIt is the first by name; `voicecoach models choose NAME`" in out
    assert run("models", "choose", "small-en") == (
        0,
        "Without --hear, vosk is taken now, with small-en.\n",
        "",
    )

    asked: list[Path] = []

    def vosk(folder: Path, phrases: object) -> None:
        asked.append(folder)
        raise KeyboardInterrupt

    monkeypatch.setattr(sources, "Vosk", vosk)
    files.write(tmp_path / "said.wav", np.full(RATE, 1000, np.int16))
    for hear in ("auto", "vosk"):
        run("practise", "hand-rub", "--hear", hear, "--from", "said.wav")
    assert asked == [home / "small-en"] * 2

    out = run("models", "remove", "small-en")[1]
    assert out == "Removed small-en: 1 MB.\nWithout --hear, vosk is taken now, with large-en.\n"
    out = run("models", "remove", "large-en")[1]
    assert out.endswith("Without --hear, whisper is taken now.\n")
    assert list(home.iterdir()) == []


def test_a_model_that_is_not_english_is_installed_and_said_not_to_be_taken(run: Run, tmp_path: Path) -> None:
    out = run("models", "install", foldered(tmp_path / "small-ko", MODEL))[1]
    assert "Installed small-ko: 1 MB, not English." in out
    assert "too little English to be taken by itself" in out
    assert "Without --hear, whisper is taken now." in run("models")[1]
    files.write(tmp_path / "said.wav", np.full(RATE, 1000, np.int16))
    said = complaint(*run("practise", "hand-rub", "--hear", "vosk", "--from", "said.wav"))
    assert "(small-ko) none is an English one" in said


def test_what_cannot_be_done_is_said_in_a_sentence(run: Run, home: Path, tmp_path: Path) -> None:
    assert "There is no file none.zip" in complaint(*run("models", "install", "none.zip"))
    assert "'evil" not in complaint(*run("models", "install", tmp_path))
    said = complaint(*run("models", "install", zipped(tmp_path / "bad.zip", MODEL)))
    assert "cannot be loaded" in said
    foldered(home / "small-en", MODEL)
    assert "nearest are small-en" in complaint(*run("models", "choose", "small-ne"))
    assert "nearest are small-en" in complaint(*run("models", "remove", "../small-en"))
    said = complaint(*run("models", "install", zipped(tmp_path / "small-en.zip", MODEL)))
    assert "remove it first" in said


@needs_model
@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="the data folder cannot be set there")
def test_ctrl_c_in_the_middle_leaves_nothing(tmp_path: Path, model: Path) -> None:
    home = tmp_path / "voicecoach" / "models"
    running = subprocess.Popen(
        [sys.executable, "-c", "from voicecoach.cli import main; main()", "models", "install", str(model)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={
            **os.environ,
            "PYTHONPATH": os.pathsep.join(sys.path),
            "XDG_DATA_HOME": str(tmp_path),
        },
    )
    while not list(home.glob(".unfinished-*/model/*")):
        assert running.poll() is None, running.communicate()
        time.sleep(0.01)
    running.send_signal(signal.SIGINT)
    _, err = running.communicate(timeout=60)
    assert running.returncode
    assert "Traceback" not in err
    assert list(home.iterdir()) == []

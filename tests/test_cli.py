"""The commands as a user types them: what they print, and what they say where something is wrong."""

from __future__ import annotations

import errno
import io
import json
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from voicecoach import cli, ear, live, sources
from voicecoach.errors import Complaint
from voicecoach.events import Ended, Followed, Heard, Stopped, Word
from voicecoach.hearing import models
from voicecoach.mouth import Mouth
from voicecoach.procedure import library
from voicecoach.records import journal
from voicecoach.sound import RATE, files
from voicecoach.sound.microphone import Gap

Run = Callable[..., tuple[int, str, str]]

LINES = """\
00:05.0 i look at my hands and there is no dirt on them
00:12.0 a palmful of gel goes into my hand
00:18.0 rubbing palm to palm
"""


class Deaf:
    """Stands for a recognizer: hears one word in everything."""

    name = "sphinx"

    def __init__(self, *_: object) -> None:
        self._start = 0.0
        self._utterance = 0

    def begin(self, at: float) -> None:
        self._start, self._utterance = at, self._utterance + 1

    def feed(self, samples: NDArray[np.int16]) -> str:
        return "something"

    def end(self, at: float) -> Heard:
        return Heard(at, self._utterance, self._start, at, (Word("something", self._start, at),))


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Run:
    """Runs voicecoach with arguments in an empty folder: exit code, standard output, standard error."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.setattr(journal, "folder", lambda: tmp_path / "journals")

    def run(*arguments: object, typed: str = "") -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["voicecoach", *map(str, arguments)])
        monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
        with pytest.raises(SystemExit) as left:
            cli.main()
        printed = capsys.readouterr()
        assert "Traceback" not in printed.err
        return int(left.value.code or 0), printed.out, printed.err

    return run


@pytest.fixture
def lines(tmp_path: Path) -> Path:
    path = tmp_path / "lines.txt"
    path.write_text(LINES)
    return path


@pytest.fixture
def spoken(tmp_path: Path) -> Path:
    """A sound file with a second of something that is taken for a voice."""
    path = tmp_path / "spoken.wav"
    seconds = np.arange(RATE) / RATE
    voice = sum(np.sin(2 * np.pi * 150 * n * seconds) / n for n in range(1, 20))
    loud = (3000 * voice * (1 + np.sin(2 * np.pi * 4 * seconds))).astype(np.int16)
    silence = np.zeros(RATE, np.int16)
    files.write(path, np.concatenate([silence, loud, silence, silence]))
    return path


def complaint(code: int, out: str, err: str) -> str:
    """The sentence with which voicecoach left, having done nothing."""
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert err.strip().endswith((".", "yaml"))
    return err


def test_alone_it_says_in_five_lines_what_to_do_first(run: Run) -> None:
    code, out, _ = run()
    assert code == 0
    assert len(out.splitlines()) == 5
    assert max(map(len, out.splitlines())) <= 80
    assert "voicecoach demo" in out


def test_procedures_lists_all_with_titles_and_steps(run: Run) -> None:
    code, out, _ = run("procedures")
    assert code == 0
    for name in library.shipped():
        line = next(line for line in out.splitlines() if line.strip().startswith(name))
        procedure = library.find(name)
        assert procedure.title in line
        assert line.split()[-1] == str(len(procedure.steps))


def test_schema_is_json(run: Run) -> None:
    code, out, _ = run("schema")
    assert code == 0
    assert "steps" in json.loads(out)["properties"]


def test_an_unknown_procedure_gets_the_nearest_names(run: Run) -> None:
    assert "gait-belt-walk" in complaint(*run("practise", "gait-bell"))


def test_check_names_every_fault_with_its_line(run: Run, tmp_path: Path) -> None:
    good = library.folder() / "hand-rub.yaml"
    bad = tmp_path / "bad.yaml"
    bad.write_text(good.read_text().replace("critical: true", "critical: maybe", 1) + "\nwhat: is this\n")
    code, out, err = run("check", bad, good, tmp_path / "none.yaml")
    assert code == 2
    faults = [line for line in out.splitlines() if line.startswith(f"{bad}:")]
    assert len(faults) == 2
    assert all(int(fault.split(":")[1]) > 1 for fault in faults)
    assert f"{good}: {len(library.find('hand-rub').steps)} steps, no fault" in out
    assert "none.yaml" in err
    assert run("check", bad)[0] == 1
    assert run("check", good)[0] == 0


def test_check_advises_on_words_whose_sound_is_guessed(run: Run, tmp_path: Path) -> None:
    odd = tmp_path / "odd.yaml"
    text = (library.folder() / "hand-rub.yaml").read_text()
    odd.write_text(text.replace("    say:\n", "    say:\n      - zwibblefrotting the gel\n", 1))
    code, out, _ = run("check", odd)
    assert code == 0
    assert "zwibblefrotting" in out


def test_a_broken_yaml_says_where(run: Run, tmp_path: Path) -> None:
    (tmp_path / "broken.yaml").write_text("id: x\nsteps: [\n")
    code, _, err = run("rehearse", "broken.yaml", "--hear", "typed")
    assert code == 2
    assert "broken.yaml:" in err


def test_typed_lines_make_an_attempt_whose_journal_replays_to_the_byte(
    run: Run, lines: Path, tmp_path: Path
) -> None:
    kept = tmp_path / "one.jsonl"
    code, out, err = run("rehearse", "hand-rub", "--hear", "typed", "--from", lines, "--journal", kept)
    assert (code, err) == (0, "")
    assert "heard: rubbing palm to palm" in out
    assert "PASSED" in out
    assert str(kept) in out
    events = journal.read(kept)
    assert isinstance(events[-1], Ended)
    assert sum(isinstance(event, Heard) for event in events) == 3
    assert any(isinstance(event, Followed) for event in events)
    assert run("replay", kept) == (0, kept.read_text(), "")


def test_a_pipe_is_heard_like_a_file(run: Run, lines: Path, tmp_path: Path) -> None:
    run("rehearse", "hand-rub", "--hear", "typed", "--from", lines, "--journal", tmp_path / "one.jsonl")
    run("rehearse", "hand-rub", "--hear", "typed", "--journal", tmp_path / "two.jsonl", typed=LINES)
    one, two = journal.read(tmp_path / "one.jsonl"), journal.read(tmp_path / "two.jsonl")
    assert one[1:] == two[1:]


def test_a_replay_that_differs_says_from_which_line(run: Run, lines: Path, tmp_path: Path) -> None:
    kept = tmp_path / "one.jsonl"
    run("practise", "hand-rub", "--hear", "typed", "--from", lines, "--journal", kept)
    changed = kept.read_text().splitlines(keepends=True)
    at = next(number for number, line in enumerate(changed) if '"followed"' in line)
    changed[at] = changed[at].replace('"said": "', '"said": "not ')
    kept.write_text("".join(changed))
    code, out, err = run("replay", kept)
    assert code == 1
    assert out != kept.read_text()
    assert f"one.jsonl:{at + 1}:" in err


def test_a_journal_is_kept_in_the_folder_of_the_user(run: Run, lines: Path, tmp_path: Path) -> None:
    code, out, _ = run("selftest", "hand-rub", "--hear", "typed", "--from", lines)
    assert code == 0
    (kept,) = (tmp_path / "journals").iterdir()
    assert kept.name.endswith("-hand-rub.jsonl")
    assert kept.name in out


def test_no_journal_is_written_over(run: Run, lines: Path, tmp_path: Path) -> None:
    (tmp_path / "mine.jsonl").write_text("precious")
    said = complaint(
        *run("rehearse", "hand-rub", "--hear", "typed", "--from", lines, "--journal", "mine.jsonl")
    )
    assert "is there already" in said
    assert (tmp_path / "mine.jsonl").read_text() == "precious"


def test_lines_whose_times_go_backwards_are_refused_before_anything_begins(run: Run, tmp_path: Path) -> None:
    (tmp_path / "lines.txt").write_text("01:00 one\n00:10 two\n")
    assert "Line 2" in complaint(*run("rehearse", "hand-rub", "--hear", "typed", "--from", "lines.txt"))
    assert not (tmp_path / "journals").exists()


def test_lines_that_go_wrong_in_a_pipe_leave_what_was_heard(run: Run, tmp_path: Path) -> None:
    code, out, err = run(
        "rehearse", "hand-rub", "--hear", "typed", typed="01:00 rubbing palm to palm\n00:10 two\n"
    )
    assert code == 2
    assert "PASSED" in out
    assert "Line 2" in err
    (kept,) = (tmp_path / "journals").iterdir()
    assert any(isinstance(event, Heard) for event in journal.read(kept))


@pytest.mark.parametrize(
    ("name", "content", "what"),
    [
        ("none.wav", None, "no sound file"),
        ("empty.wav", b"", "empty"),
        ("text.wav", b"this is no sound at all, only words", "not a sound file"),
        ("silent.wav", "silence", "silent"),
    ],
)
def test_a_file_that_cannot_be_heard_is_refused(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, content: Any, what: str
) -> None:
    monkeypatch.setattr(sources, "Sphinx", Deaf)
    if content == "silence":
        files.write(tmp_path / name, np.zeros(RATE, np.int16))
    elif content is not None:
        (tmp_path / name).write_bytes(content)
    assert what in complaint(*run("rehearse", "hand-rub", "--hear", "sphinx", "--from", name))


def test_a_sound_file_is_heard_and_the_same_one_gives_the_same_journal(
    run: Run, spoken: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sources, "Sphinx", Deaf)
    for name in ("one.jsonl", "two.jsonl"):
        code, out, err = run("rehearse", "hand-rub", "--hear", "sphinx", "--from", spoken, "--journal", name)
        assert (code, err) == (0, "")
        assert "heard: something" in out
    one, two = ((tmp_path / name).read_text().splitlines() for name in ("one.jsonl", "two.jsonl"))
    assert one[1:] == two[1:]
    stopped = next(event for event in journal.read(tmp_path / "one.jsonl") if isinstance(event, Stopped))
    assert stopped.at == 4.0


def test_a_wav_that_breaks_off_is_heard_as_far_as_it_goes(
    run: Run, spoken: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sources, "Sphinx", Deaf)
    spoken.write_bytes(spoken.read_bytes()[:100_000])
    code, out, _ = run("rehearse", "hand-rub", "--hear", "sphinx", "--from", spoken)
    assert code == 0
    assert "breaks off" in out
    assert "heard: something" in out


def test_without_a_speech_library_the_words_are_shown(
    run: Run, spoken: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def voiceless() -> None:
        raise Complaint("There is no speech library on this machine.")

    monkeypatch.setattr(sources, "Sphinx", Deaf)
    monkeypatch.setattr(sources, "Voice", voiceless)
    code, out, _ = run("practise", "hand-rub", "--hear", "sphinx", "--from", spoken)
    assert code == 0
    assert "There is no speech library on this machine. The coach's words are shown instead." in out
    assert "coach: " in out


def test_a_microphone_is_heard_until_it_gives_no_more(
    run: Run, spoken: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Plugged:
        dropped = 0
        now = 0.0

        def __enter__(self) -> Plugged:
            return self

        def __exit__(self, *_: object) -> None:
            pass

        def __iter__(self) -> Iterator[NDArray[np.int16] | Gap]:
            sound = list(ear.blocks(files.read(spoken).samples))
            yield from sound[:10]
            self.dropped = 3
            yield from sound[10:]
            yield Gap("The plug was pulled.")

        def skip(self) -> None:
            pass

    def none() -> None:
        raise Complaint("There is no loudspeaker.")

    monkeypatch.setattr(sources, "Sphinx", Deaf)
    monkeypatch.setattr(live, "Microphone", Plugged)
    monkeypatch.setattr(live, "Loudspeaker", none)
    monkeypatch.setattr(sources, "default_device", lambda kind: (RATE, 1))
    code, out, err = run("practise", "hand-rub", "--hear", "sphinx")
    assert (code, err) == (0, "")
    assert "! There is no loudspeaker." in out
    assert out.count("Some sound was lost") == 1
    assert "heard: something" in out
    assert "! The plug was pulled." in out
    assert "coach: The plug was pulled. I wait." in out


def test_without_a_microphone_other_ways_are_named(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(kind: str) -> tuple[int, int]:
        raise Complaint("There is no microphone; connect one.")

    monkeypatch.setattr(sources, "default_device", missing)
    said = complaint(*run("practise", "hand-rub", "--hear", "sphinx"))
    assert said.startswith("There is no microphone; connect one.")
    assert "--hear typed" in said
    assert "--from FILE" in said


def test_a_folder_that_is_no_vosk_model_is_refused(run: Run, spoken: Path, tmp_path: Path) -> None:
    said = complaint(*run("practise", "hand-rub", "--model", tmp_path, "--from", spoken))
    assert "is not a Vosk model" in said
    said = complaint(*run("practise", "hand-rub", "--hear", "sphinx", "--model", tmp_path, "--from", spoken))
    assert "not both" in said


def test_vosk_without_a_model_asks_for_one(
    run: Run, spoken: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(models, "folder", lambda: tmp_path / "models")
    said = complaint(*run("practise", "hand-rub", "--hear", "vosk", "--from", spoken))
    assert "voicecoach models install FILE" in said
    assert "--model" in said


def test_sound_does_not_come_from_standard_input(run: Run) -> None:
    assert "--hear typed" in complaint(*run("practise", "hand-rub", "--from", "-"))


@pytest.mark.parametrize("content", [None, "", "\n ...\n"])
def test_a_text_file_without_words_is_refused(run: Run, tmp_path: Path, content: str | None) -> None:
    if content is not None:
        (tmp_path / "lines.txt").write_text(content)
    assert "lines.txt" in complaint(*run("practise", "hand-rub", "--hear", "typed", "--from", "lines.txt"))


def test_on_a_full_disk_the_debrief_is_shown_and_the_journal_is_said_not_to_be_whole(
    run: Run, lines: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(file: int, block: bytes) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "write", full)
    code, out, err = run("rehearse", "hand-rub", "--hear", "typed", "--from", lines)
    assert code == 1
    assert "PASSED" in out
    assert "the disk is full" in err


def test_what_is_no_journal_is_not_replayed(run: Run, lines: Path) -> None:
    assert "lines.txt" in complaint(*run("replay", lines))


def test_the_clock_at_a_terminal_is_real(monkeypatch: pytest.MonkeyPatch) -> None:
    class Typing(io.StringIO):
        def isatty(self) -> bool:
            return True

    monkeypatch.setattr(sys, "stdin", Typing("rubbing palm to palm\n"))
    monkeypatch.setattr(sources, "aloud", lambda: (Mouth(), ("no loudspeaker",)))
    monkeypatch.setattr(ear, "_TICK", 0.01)
    source = sources.choose("typed", None, None, library.find("hand-rub"))
    assert source.at_keyboard
    assert source.notices == ("no loudspeaker",)
    heard = [moment.heard for moment in source.listen(ExitStack(), lambda partial: 0.5) if moment.heard]
    assert [one.text for one in heard] == ["rubbing palm to palm"]

"""`voicecoach records` as a user types it: what it shows, what it asks, and what it leaves."""

from __future__ import annotations

import sys
from collections.abc import Callable
from io import StringIO
from pathlib import Path

import pytest
import typer
from rich.console import Console

from tests.records.small_journals import attempt, home, put
from voicecoach import cli, records_commands
from voicecoach.records import journal, store, students

__all__ = ["home"]

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, home: Path
) -> Run:
    """Runs voicecoach with arguments, and what is typed: exit code, standard output, standard error."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")

    def run(*arguments: str, typed: str = "") -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["voicecoach", *arguments])
        monkeypatch.setattr(sys, "stdin", StringIO(typed))
        with pytest.raises(SystemExit) as left:
            cli.main()
        printed = capsys.readouterr()
        assert "Traceback" not in printed.err
        return int(left.value.code or 0), printed.out, printed.err

    return run


@pytest.fixture(autouse=True)
def in_place(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lets `cli` have the commands."""
    if all(group.name != "records" for group in cli.app.registered_groups):
        cli.app.add_typer(records_commands.app, name="records")


@pytest.fixture
def kept(home: Path) -> Path:
    put(attempt("2026-11-25-091500-tea", "s07", "2026-11-25T23:15:00-05:00"))
    put(attempt("2026-11-24-091500-tea", "S07", "2026-11-24T09:15:00+00:00"))
    put(attempt("2026-11-26-091500-tea", "a1", "2026-11-26T09:15:00+00:00"))
    put(attempt("2026-11-20-091500-tea", None, "2026-11-20T09:15:00+00:00"))
    (home / "pages").mkdir()
    (home / "pages" / "2026-11-25-091500-tea.html").write_text("made tea")
    students.name("s07", "Quill Feather")
    return home


def test_of_nothing_it_says_that_there_is_nothing_and_where_it_would_be(run: Run, home: Path) -> None:
    assert run("records") == (0, f"Kept in {home}: no attempt.\n", "")


def test_where_nobody_gave_a_code_no_student_is_counted(run: Run, home: Path) -> None:
    put(attempt("a"))
    _, out, _ = run("records")
    assert out.endswith(f"\nKept in {home}: 1 attempt, no student named.\n")
    _, out, _ = run("records", "rebuild")
    assert out == "Made anew from the journals: 1 attempt, no student named.\n"


def test_the_overview_shows_students_by_code_and_names_only_when_asked(run: Run, kept: Path) -> None:
    code, out, err = run("records")
    assert (code, err) == (0, "")
    assert [line.split() for line in out.splitlines()] == [
        ["student", "attempts", "latest"],
        ["a1", "1", "2026-11-26"],
        ["S07", "2", "2026-11-25"],
        ["(no", "code)", "1", "2026-11-20"],
        [],
        f"Kept in {kept}: 4 attempts of 2 students.".split(),
    ]
    _, named, _ = run("records", "--names")
    assert named.splitlines()[2].split() == ["S07", "Quill", "Feather", "2", "2026-11-25"]
    for arguments in (["records", "rebuild"], ["records"]):
        assert "Quill" not in "".join(map(str, run(*arguments)))


def test_what_a_student_is_called_cannot_steer_the_terminal(run: Run, home: Path) -> None:
    put(attempt("a", "\x1b[2J[red]x"))
    _, out, _ = run("records")
    assert "\x1b" not in out
    assert "[2J[red]x" in out


def test_rebuilt_it_is_what_it_was(run: Run, kept: Path) -> None:
    before = run("records")
    store.file().write_bytes(b"damaged")
    assert run("records", "rebuild") == (0, "Made anew from the journals: 4 attempts of 2 students.\n", "")
    assert run("records") == before


def test_a_journal_that_cannot_be_used_is_named_and_the_rest_is_shown(run: Run, kept: Path) -> None:
    path = journal.folder() / "broken.jsonl"
    path.write_text("{}\n")
    for arguments in (["records"], ["records", "rebuild"]):
        code, out, err = run(*arguments)
        assert code == 0
        assert "4 attempts of 2 students" in out
        assert err.startswith(f"{path}:1:")
        assert err.count("\n") == 1


def test_a_bar_shows_on_a_terminal_how_many_journals_are_read(
    kept: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown = StringIO()
    console = Console(file=shown, force_terminal=True, width=80, legacy_windows=False)
    monkeypatch.setattr(records_commands, "_console", lambda: console)
    assert len(records_commands.gathered("s07")) == 2
    assert "Reading journals ..." in shown.getvalue()
    assert "4/4" in shown.getvalue()
    shown.truncate(0)
    assert len(records_commands.gathered(procedure="tea")) == 4
    assert "Reading" not in shown.getvalue()


def test_a_name_is_kept_shown_and_changed(run: Run, kept: Path) -> None:
    assert run("records", "name", "S07") == (0, "S07 is Quill Feather\n", "")
    assert run("records", "name", "s07", "Nib Inkwell") == (0, "s07 is Nib Inkwell\n", "")
    assert run("records", "name", "s99") == (0, "No name is kept of s99.\n", "")
    code, out, err = run("records", "name", "s 07", "X")
    assert (code, out) == (2, "")
    assert "cannot be a student's code" in err


def test_to_forget_is_asked_about_first(run: Run, kept: Path) -> None:
    code, out, _ = run("records", "forget", "s07", typed="n\n")
    assert code == 0
    assert out.startswith("Of s07 there is: 2 journals, 1 file made from them and the name.\n")
    assert str(kept / "pages" / "2026-11-25-091500-tea.html") in out
    assert out.endswith("Nothing is deleted.\n")
    assert len(store.results("s07")) == 2
    code, _, _ = run("records", "forget", "s07", typed="")
    assert code == 1
    assert len(store.results("s07")) == 2


@pytest.mark.parametrize(("arguments", "typed"), [((), "y\n"), (("--yes",), "")])
def test_who_is_forgotten_has_left_no_trace(
    run: Run, kept: Path, arguments: tuple[str, ...], typed: str
) -> None:
    code, out, err = run("records", "forget", "S07", *arguments, typed=typed)
    assert (code, err) == (0, "")
    assert "Nothing is left of S07." in out
    for path in kept.rglob("*"):
        if path.is_file():
            content = path.read_bytes().lower()
            assert b"s07" not in content
            assert b"quill" not in content
    _, out, _ = run("records", "--names")
    assert out.endswith(f"Kept in {kept}: 2 attempts of 1 student.\n")
    code, out, err = run("records", "forget", "s07", "--yes")
    assert (code, out) == (2, "")
    assert err == "Nothing is kept of a student s07; `voicecoach records` lists all.\n"


def test_the_help_names_every_command() -> None:
    commands = typer.main.get_command(records_commands.app)
    assert sorted(getattr(commands, "commands", {})) == ["forget", "name", "rebuild"]

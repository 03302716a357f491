"""`voicecoach progress` and `voicecoach readiness` as they are typed: what they say, and the page."""

from __future__ import annotations

import stat
from collections.abc import Callable
from pathlib import Path

import pytest
import typer

from tests.procedure.examples import procedure
from tests.records.small_journals import attempt, home, put
from tests.showing.pages_read import Reader
from voicecoach import progress_commands
from voicecoach.coaching.wording import CAUTION
from voicecoach.errors import Complaint
from voicecoach.events import Begun, Ended, Followed
from voicecoach.procedure import library

__all__ = ["home"]

Run = Callable[..., str]


@pytest.fixture
def run(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, home: Path
) -> Run:
    """Runs voicecoach with arguments; gives what is printed, its spaces and lines joined."""
    app = typer.Typer(rich_markup_mode=None)
    app.command()(progress_commands.progress)
    app.command()(progress_commands.readiness)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")

    def run(*arguments: object) -> str:
        app([*map(str, arguments)], standalone_mode=False)
        return " ".join(capsys.readouterr().out.split())

    return run


def rub_hands(name: str, wall: str, steps: int, student: str = "s07") -> None:
    """Keep an attempt at the hand rub in which so many of its steps were done."""
    rub = library.as_shipped("hand-rub")
    reports = [
        Followed(3.0 * place + 2, one.id, 3.0 * place, 3.0 * place + 2, place, one.id, 0.9)
        for place, one in enumerate(rub.steps[:steps], 1)
    ]
    begun = Begun(0.0, name, wall, "rehearse", "typed", rub.plain(), student=student)
    put([begun, *reports, Ended(90.0, "finished")])


def test_progress_shows_every_procedure_that_was_tried(run: Run) -> None:
    put(attempt("one", "s07"))
    put(attempt("two", "s07", steps=("fill",)))
    rub_hands("three", "2026-11-25T10:15:00+00:00", 8)
    told = run("progress", "--student", "s07")
    assert "Make tea" in told
    assert "Clean hands with an alcohol rub" in told
    assert told.endswith(CAUTION)


def test_progress_of_one_procedure_shows_its_steps(run: Run) -> None:
    put(attempt("one", "s07", "2026-11-24T09:15:00+00:00"))
    put(attempt("two", "s07", "2026-11-25T09:15:00+00:00", steps=("fill", "boil")))
    told = run("progress", "tea", "--student", "s07")
    # Both attempts count; pouring was done in one: Wilson's interval of 1 of 2 is 9 to 91 %.
    assert told.startswith("Make tea 2 attempts, 2 of them alone.")
    assert "3 Do pour 1 of 2 1 of 1 1 of 1 1 of 1 50% (9–91%)" in told


def test_without_a_student_only_attempts_without_a_code_are_shown(run: Run) -> None:
    put(attempt("one", "s07"))
    with pytest.raises(Complaint, match="There is no attempt without a student's code in the record"):
        run("progress")
    put(attempt("two"))
    assert "Make tea 1 of 1" in run("progress")


def test_what_is_not_there_is_said(run: Run) -> None:
    put(attempt("one", "s07"))
    with pytest.raises(Complaint, match="There is no attempt of s08 in the record"):
        run("progress", "--student", "s08")
    with pytest.raises(Complaint, match="There is no attempt of s08 in the record"):
        run("readiness", "--student", "s08")
    with pytest.raises(Complaint, match="There is no attempt at hand-rub of s07 in the record"):
        run("progress", "hand-rub", "--student", "s07")
    with pytest.raises(Complaint, match="There is no attempt at tea without a student's code"):
        run("progress", "tea")
    with pytest.raises(Complaint, match="nearest are"):
        run("progress", "hand-rob", "--student", "s07")
    with pytest.raises(Complaint, match="cannot be a student's code"):
        run("progress", "--student", "../x")


def test_readiness_of_nobody_yet_says_that_there_is_too_little(run: Run) -> None:
    told = run("readiness")
    assert "draws 5 of 16 procedures at random" in told
    assert "too little practised to say" in told
    assert told.endswith(CAUTION)


def test_readiness_names_what_was_missed(run: Run) -> None:
    for day in (23, 24, 25):
        rub_hands(f"attempt-{day}", f"2026-11-{day}T10:15:00+00:00", 7)
    told = run("readiness", "--student", "s07", "--items", 3, "--must-pass", 2)
    assert "draws 3 of 16 procedures at random, hand washing always among them, of which at least 2" in told
    last = library.as_shipped("hand-rub").steps[-1].do
    assert f"“{last}” (critical). Well in 0 of 3 attempts alone: missed 3 times." in told


def test_the_rules_of_the_class_count_in_readiness(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    easy = procedure({**_plain_step(), "critical": False}, id="wash-hands", title="Wash quickly")
    find = library.find
    monkeypatch.setattr(library, "find", lambda name: easy if name == "wash-hands" else find(name))
    assert "Wash quickly" in run("readiness")


def _plain_step() -> dict[str, object]:
    return library.as_shipped("wash-hands").plain()["steps"][0]  # type: ignore[no-any-return]


def test_the_page_has_progress_and_readiness_and_is_the_owners_alone(run: Run, tmp_path: Path) -> None:
    put(attempt("one", "s07"))
    rub_hands("two", "2026-11-25T10:15:00+00:00", 8)
    file = tmp_path / "mine.html"
    assert run("progress", "--student", "s07", "--page", file) == f"The page is {file}"
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    text = Reader(file.read_text("utf-8")).root.text
    for part in (
        "Student s07",
        "Readiness for a skills test",
        "Make tea",
        "Clean hands with an alcohol rub",
        CAUTION,
    ):
        assert part in text


def test_the_page_of_one_procedure_has_that_alone(run: Run, tmp_path: Path) -> None:
    put(attempt("one", "s07"))
    rub_hands("two", "2026-11-25T10:15:00+00:00", 8)
    (tmp_path / "pages").mkdir()
    file = tmp_path / "pages" / "progress.html"
    assert run("progress", "tea", "--student", "s07", "--page", "pages") == "The page is pages/progress.html"
    text = Reader(file.read_text("utf-8")).root.text
    assert "Make tea" in text
    assert "Clean hands" not in text
    assert "Readiness" not in text
    # A page is written over, since it can be made again at any time.
    assert run("progress", "--student", "s07", "--page", file) == f"The page is {file}"
    assert "Clean hands" in file.read_text("utf-8")


def test_no_other_file_is_written_over(run: Run, tmp_path: Path) -> None:
    put(attempt("one", "s07"))
    file = tmp_path / "precious.txt"
    file.write_text("precious")
    with pytest.raises(Complaint, match=r"is there already and holds no page; name another file with --page"):
        run("progress", "--student", "s07", "--page", file)
    assert file.read_text() == "precious"
    with pytest.raises(Complaint, match="cannot be written"):
        run("progress", "--student", "s07", "--page", tmp_path / "none" / "page.html")


def test_a_plot_is_not_loaded_by_other_commands() -> None:
    import subprocess
    import sys

    code = "import sys, voicecoach.progress_commands; print('matplotlib' in sys.modules)"
    assert (
        subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
        == "False\n"
    )

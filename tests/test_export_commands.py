"""`voicecoach export` as it is typed: what is written, where, and who can read it."""

from __future__ import annotations

import csv
import json
import stat
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from tests.records.small_journals import SOUP, attempt, home, put
from voicecoach import export_commands
from voicecoach.coaching.wording import CAUTION
from voicecoach.errors import Complaint
from voicecoach.records import forgetting, store

__all__ = ["home"]

Run = Callable[..., str]

FORMATS = {
    "csv": ("attempts.csv", "steps.csv"),
    "json": ("attempts.json",),
    "xapi": ("xapi.json",),
    "practice-record": ("practice-record.html",),
}


@pytest.fixture
def run(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, home: Path
) -> Run:
    """Runs the command with arguments; gives what is printed."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(export_commands, "_today", lambda: date(2026, 12, 1))
    put(attempt("tea-1", "s07"))
    put(attempt("tea-2", "s08", "2026-11-26T09:15:00+00:00", ("fill", "boil")))
    put(attempt("soup-1", None, "2026-11-27T09:15:00+00:00", ("chop",), of=SOUP))

    def run(*arguments: object) -> str:
        export_commands.app([*map(str, arguments)], standalone_mode=False)
        return capsys.readouterr().out

    return run


def attempts(file: Path) -> list[str]:
    with file.open(encoding="utf-8-sig", newline="") as lines:
        return [row["attempt"] for row in csv.DictReader(lines)]


@pytest.mark.parametrize("format", FORMATS)
def test_an_export_is_among_the_records_and_for_its_owner_alone(run: Run, home: Path, format: str) -> None:
    told = run(format)
    files = [home / "exports" / name for name in FORMATS[format]]
    assert told == "".join(f"Written: {file}\n" for file in files) + f"{CAUTION}\n"
    assert sorted((home / "exports").iterdir()) == sorted(files)
    assert stat.S_IMODE((home / "exports").stat().st_mode) == 0o700
    assert {stat.S_IMODE(file.stat().st_mode) for file in files} == {0o600}


@pytest.mark.parametrize("format", FORMATS)
def test_an_export_of_one_student_holds_nothing_of_others(run: Run, home: Path, format: str) -> None:
    run(format, "--student", "s07")
    files = [home / "exports" / f"s07-{name}" for name in FORMATS[format]]
    text = "".join(file.read_text(encoding="utf-8") for file in files)
    assert "Make tea" in text or "tea-1" in text
    for other in ("s08", "tea-2", "soup-1", "Make soup"):
        assert other not in text


def test_tables_go_to_a_folder_and_begin_with_the_mark_of_utf_8(run: Run, tmp_path: Path) -> None:
    run("csv", "--to", "tables/today")
    folder = tmp_path / "tables" / "today"
    assert (folder / "attempts.csv").read_bytes().startswith(b"\xef\xbb\xbfattempt,")
    assert attempts(folder / "attempts.csv") == ["tea-1", "tea-2", "soup-1"]
    assert attempts(folder / "steps.csv") == ["tea-1"] * 3 + ["tea-2"] * 3 + ["soup-1"] * 2


def test_json_holds_all_attempts(run: Run, tmp_path: Path) -> None:
    run("json", "--to", "all.json")
    told = json.loads((tmp_path / "all.json").read_text(encoding="utf-8"))["attempts"]
    assert [one["attempt"] for one in told] == [one.attempt for one in store.results()]


def test_statements_are_an_array(run: Run, tmp_path: Path) -> None:
    run("xapi", "--to", "statements.json")
    told = json.loads((tmp_path / "statements.json").read_text(encoding="utf-8"))
    assert [one["actor"]["account"]["name"] for one in told] == ["s07", "s08", "nobody"]


def test_a_record_of_practice_has_a_sheet_for_each_student(run: Run, tmp_path: Path) -> None:
    run("practice-record", "--to", "record.html")
    text = (tmp_path / "record.html").read_text(encoding="utf-8")
    assert text.count("<article") == 3
    assert "made with voicecoach on December 1, 2026" in text


def test_a_folder_takes_a_file_under_its_usual_name(run: Run, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    run("json", "--to", "out")
    assert (tmp_path / "out" / "attempts.json").is_file()


def test_an_older_export_is_replaced_and_closed_to_others(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "all.json"
    file.write_text("old")
    file.chmod(0o644)
    run("json", "--to", file)
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert json.loads(file.read_text(encoding="utf-8"))


@pytest.mark.parametrize("format", FORMATS)
def test_a_student_who_is_forgotten_is_forgotten_in_exports_too(run: Run, home: Path, format: str) -> None:
    run(format)
    run(format, "--student", "s08")
    forgetting.forget(forgetting.traces("s07"))
    left = [file for file in (home / "exports").rglob("*") if file.is_file()]
    assert {file.name.split("-", 1)[0] for file in left} == {"s08"}


@pytest.mark.parametrize("format", FORMATS)
def test_where_there_is_nothing_to_export_that_is_told_and_nothing_written(
    run: Run, home: Path, format: str
) -> None:
    with pytest.raises(Complaint, match="There is no attempt of s99 in the record"):
        run(format, "--student", "s99")
    assert not (home / "exports").exists()


@pytest.mark.parametrize("format", FORMATS)
def test_a_place_that_cannot_be_written_is_told(run: Run, tmp_path: Path, format: str) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(Complaint, match="cannot be"):
        run(format, "--to", "file/there")

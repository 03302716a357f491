"""`voicecoach next` as it is typed: what it says, and the calendar that it writes."""

from __future__ import annotations

import stat
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
import typer
from icalendar import Calendar

from tests.records.small_journals import attempt, home, put
from voicecoach import next_commands
from voicecoach.coaching.wording import CAUTION
from voicecoach.errors import Complaint
from voicecoach.procedure import library

__all__ = ["home"]

Run = Callable[..., str]

WEDNESDAY = datetime(2026, 11, 25, 20, 0, tzinfo=UTC)


@pytest.fixture
def run(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, home: Path
) -> Run:
    """Runs the command with arguments on a Wednesday, or another day; gives what is printed."""
    app = typer.Typer(rich_markup_mode=None)
    app.command()(next_commands.what_next)
    monkeypatch.chdir(tmp_path)

    def run(*arguments: object, now: datetime = WEDNESDAY) -> str:
        monkeypatch.setattr(next_commands, "_now", lambda: now)
        app([*map(str, arguments)], standalone_mode=False)
        return capsys.readouterr().out

    return run


NEW = f"""\
1  Wash hands at a sink
   Never practised yet.
   voicecoach practise wash-hands

2  Move a resident from bed to wheelchair
   Never practised yet.
   voicecoach practise bed-to-wheelchair

3  Measure blood pressure with a hand-pumped cuff
   Never practised yet.
   voicecoach practise blood-pressure

{CAUTION}
"""


def test_who_has_not_practised_begins_with_hand_washing(run: Run) -> None:
    assert run() == NEW


def test_what_was_failed_comes_first_with_the_reason_and_the_command(run: Run) -> None:
    put(attempt("first", "s07", "2026-11-23T09:15:00+00:00", ("boil", "pour")))
    told = run("--student", "s07")
    assert told.startswith(
        "1  Make tea\n"
        "   You missed a critical step on Monday: Do fill.\n"
        "   voicecoach practise FILE --student s07, with your own file of tea\n"
        "\n"
        "2  Wash hands at a sink\n"
        "   Never practised yet.\n"
        "   voicecoach practise wash-hands --student s07\n"
    )
    assert told.endswith(f"\n{CAUTION}\n")


def test_without_a_student_the_attempts_of_others_do_not_count(run: Run) -> None:
    put(attempt("first", "s07", "2026-11-23T09:15:00+00:00", ("boil", "pour")))
    assert run() == NEW


def test_the_calendar_is_read_back_and_is_for_its_owner_alone(run: Run, tmp_path: Path) -> None:
    put(attempt("first", None, "2026-11-23T09:15:00+00:00", ("boil", "pour")))
    told = run("--calendar", "practice.ics")
    file = tmp_path / "practice.ics"
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    events = Calendar.from_ical(file.read_bytes()).events
    assert len(events) == len(library.shipped()) + 1
    last = max(event.start for event in events)
    assert f"{len(events)} procedures, until {last:%A, %B} {last.day}: in practice.ics." in told
    assert str(events[0]["SUMMARY"]) == "Practise: Make tea"
    assert {event.start for event in events[:3]} == {WEDNESDAY.date()}
    assert all(event.DTSTAMP == WEDNESDAY for event in events)


def test_the_calendar_is_in_the_place_of_an_older_one(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "practice.ics"
    file.write_text("old")
    file.chmod(0o644)
    run("--calendar", file)
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert file.read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")


def test_where_nothing_is_due_the_next_day_is_told(
    run: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    put(attempt("first"))
    monkeypatch.setattr(library, "shipped", lambda: ())
    assert run() == f"Nothing is due today; next is Make tea on Friday, November 27.\n\n{CAUTION}\n"


def test_where_nothing_is_due_for_weeks_no_calendar_is_written(
    run: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(library, "shipped", lambda: ())
    assert run() == f"Nothing is due in the next four weeks.\n\n{CAUTION}\n"
    with pytest.raises(Complaint, match="nothing to put in"):
        run("--calendar", "practice.ics")
    assert not (tmp_path / "practice.ics").exists()


def test_a_place_that_cannot_be_written_is_told(run: Run) -> None:
    with pytest.raises(Complaint, match="cannot be written"):
        run("--calendar", "nowhere/practice.ics")


def test_what_is_no_code_is_refused(run: Run) -> None:
    with pytest.raises(Complaint, match="cannot be a student's code"):
        run("--student", "../s07")

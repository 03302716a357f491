"""Journals for the record, of a small procedure, made by hand and put where the program keeps its own."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest

from tests.procedure.examples import plain_avoid, plain_step, procedure
from voicecoach.events import Begun, Ended, Event, Followed, Remarked
from voicecoach.records import journal

TEA = procedure(
    plain_step("fill", critical=True),
    plain_step("boil", after=["fill"]),
    plain_step("pour", after=["boil"]),
    avoid=[plain_avoid("spill")],
)
SOUP = procedure(plain_step("chop"), plain_step("cook"), id="soup", title="Make soup")


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The data folder, which is not there yet; the temporary folder is another one."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    (tmp_path / "temporary").mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "temporary"))
    return tmp_path / "data" / "voicecoach"


def attempt(
    name: str,
    student: str | None = None,
    wall: str = "2026-11-25T09:15:00+00:00",
    steps: tuple[str, ...] = ("fill", "boil", "pour"),
    why: str = "finished",
    of: object = TEA,
) -> list[Event]:
    """An attempt with these steps, ten seconds apart, and a mishap where none of them is `pour`."""
    plain = (SOUP if of is SOUP else TEA).plain()
    reports: list[Event] = [
        Followed(10.0 * place + 2, step, 10.0 * place, 10.0 * place + 2, place, step, 0.9)
        for place, step in enumerate(steps, 1)
    ]
    if "pour" not in steps and of is not SOUP:
        reports.append(Remarked(70.0, "mishap", "spill", 9, "oops spill"))
    return [Begun(0.0, name, wall, "rehearse", "typed", plain, student=student), *reports, Ended(80.0, why)]


def text(events: list[Event]) -> bytes:
    """The journal of these events, as bytes."""
    return "".join(f"{journal.encode(event)}\n" for event in events).encode()


def put(events: list[Event], name: str = "") -> Path:
    """Put a journal into the folder of journals, under the name of its attempt unless another is given."""
    begun = events[0]
    assert isinstance(begun, Begun)
    path = journal.folder() / f"{name or begun.attempt}.jsonl"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text(events))
    path.chmod(0o600)
    return path

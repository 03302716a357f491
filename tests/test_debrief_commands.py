"""`voicecoach debrief` as a student types it: which attempt it takes, what it writes and what it leaves."""

from __future__ import annotations

import webbrowser
from collections.abc import Callable
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from tests.showing import example_attempts as examples
from tests.showing.pages_read import Reader
from voicecoach import debrief_commands
from voicecoach.errors import Complaint
from voicecoach.events import Event
from voicecoach.records import journal
from voicecoach.records.captions import captions
from voicecoach.showing.debrief_html import page

Run = Callable[..., str]


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The data folder, not yet there."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.chdir(tmp_path)
    return tmp_path / "data" / "voicecoach"


@pytest.fixture
def run(home: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs the command and gives what it printed; raises what it complains of."""
    app = typer.Typer()
    app.command()(debrief_commands.debrief)

    def run(*arguments: object) -> str:
        result = CliRunner().invoke(app, list(map(str, arguments)))
        if result.exception and not isinstance(result.exception, SystemExit):
            raise result.exception
        assert result.exit_code == 0, result.output
        return result.output

    return run


def put(path: Path, events: list[Event]) -> Path:
    """A journal in a file."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("".join(f"{journal.encode(event)}\n" for event in events), encoding="ascii")
    return path


def kept(name: str, events: list[Event]) -> Path:
    """A journal where the program keeps its own."""
    return put(journal.folder() / f"{name}.jsonl", events)


def test_without_a_name_the_latest_attempt_is_taken(run: Run, home: Path) -> None:
    newest = kept("2026-11-25-101500-wash-hands", examples.wash())
    kept("2026-11-24-221500-gait-belt-walk", examples.walk())
    file = home / "pages" / "2026-11-25-101500-wash-hands.html"
    assert run() == f"The debrief is {file}\n"
    assert file.read_text(encoding="utf-8") == page(journal.read(newest))
    assert "Wash hands at a sink" in Reader(file.read_text(encoding="utf-8")).root.find("h1")[0].text


def test_an_attempt_is_taken_by_its_name_or_the_path_of_its_journal(run: Run, home: Path) -> None:
    kept("2026-11-24-221500-gait-belt-walk", examples.walk())
    kept("2026-11-25-101500-wash-hands", examples.wash())
    elsewhere = put(home.parent / "mine.jsonl", examples.bag())
    run("2026-11-24-221500-gait-belt-walk")
    run(elsewhere)
    assert {file.name for file in (home / "pages").iterdir()} == {
        "2026-11-24-221500-gait-belt-walk.html",
        "mine.html",
    }


def test_pages_are_for_their_owner_alone(run: Run, home: Path) -> None:
    kept("one", examples.walk())
    run("--captions")
    assert (home / "pages").stat().st_mode & 0o777 == 0o700
    assert {file.stat().st_mode & 0o777 for file in (home / "pages").iterdir()} == {0o600}


def test_a_page_is_written_anew_and_nothing_else_is_left(run: Run, home: Path) -> None:
    kept("one", examples.walk())
    run()
    kept("one", examples.wash())
    run()
    (file,) = (home / "pages").iterdir()
    assert "Wash hands" in file.read_text(encoding="utf-8")


def test_the_page_goes_where_it_is_wanted(run: Run, tmp_path: Path, home: Path) -> None:
    kept("one", examples.walk())
    assert run("--to", tmp_path / "my page.html") == f"The debrief is {tmp_path / 'my page.html'}\n"
    assert run("one", "--to", "here.html") == "The debrief is here.html\n"
    assert (tmp_path / "here.html").read_bytes() == (tmp_path / "my page.html").read_bytes()
    assert run("--to", tmp_path) == f"The debrief is {tmp_path / 'one.html'}\n"
    assert not (home / "pages").exists()


def test_captions_are_written_beside_the_page(run: Run, tmp_path: Path, home: Path) -> None:
    events = journal.read(kept("one", examples.walk()))
    out = run("--captions")
    assert (
        out
        == f"The debrief is {home / 'pages' / 'one.html'}\nThe captions are {home / 'pages' / 'one.vtt'}\n"
    )
    assert (home / "pages" / "one.vtt").read_text(encoding="utf-8") == captions(events)
    run("--captions", "--to", tmp_path / "a.html")
    assert (tmp_path / "a.vtt").read_text(encoding="utf-8") == captions(events)


@pytest.mark.parametrize("opens", [True, False])
def test_the_browser_is_asked_to_open_the_file_and_nothing_else(
    run: Run, home: Path, monkeypatch: pytest.MonkeyPatch, opens: bool
) -> None:
    asked: list[str] = []

    def open(address: str) -> bool:
        asked.append(address)
        return opens

    monkeypatch.setattr(webbrowser, "open", open)
    kept("one", examples.walk())
    run()
    assert asked == []
    out = run("--open", "--to", "my page.html")
    assert asked == [(home.parents[1] / "my page.html").as_uri()]
    assert asked[0].startswith("file:///")
    assert ("No browser could be opened" in out) is not opens


# What goes wrong


def complaint(run: Run, *arguments: object) -> str:
    with pytest.raises(Complaint) as raised:
        run(*arguments)
    return str(raised.value)


def test_where_there_is_no_attempt_it_says_how_to_make_one(run: Run, home: Path) -> None:
    assert complaint(run) == "There is no attempt yet; voicecoach rehearse hand-rub makes the first."
    assert not home.exists(), "looking leaves nothing behind"


@pytest.mark.parametrize("name", ["two", "../one", "journals/one", "one.jsonl", ""])
def test_a_name_that_is_none_is_told(run: Run, name: str) -> None:
    kept("one", examples.walk())
    assert "There is no attempt or journal" in complaint(run, name)


def test_what_is_no_journal_is_told(run: Run, tmp_path: Path) -> None:
    (tmp_path / "text.txt").write_text("hello")
    assert "is no event of a journal" in complaint(run, "text.txt")


def test_a_journal_that_does_not_hold_together_is_told(run: Run, home: Path) -> None:
    whole = "".join(f"{journal.encode(event)}\n" for event in examples.walk())
    for old, new in [
        ('"step": "belt"', '"step": "boot"'),
        ('"id": "shoes"', '"id": "Shoes!"'),
        ('"room"', '"loom"'),
    ]:
        assert old in whole
        path = home.parent / "changed.jsonl"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(whole.replace(old, new), encoding="ascii")
        assert "does not hold together" in complaint(run, path)


def test_nothing_but_a_page_or_captions_is_written_over(run: Run, tmp_path: Path) -> None:
    path = kept("one", examples.walk())
    before = path.read_bytes()
    assert "is there already and holds no page" in complaint(run, "--to", path)
    assert path.read_bytes() == before
    (tmp_path / "a.vtt").write_text("notes")
    assert "is there already and holds no captions" in complaint(run, "--to", "a.html", "--captions")
    assert not (tmp_path / "a.html").exists(), "either both or none"
    assert "name the page" in complaint(run, "--to", "b.vtt", "--captions")


def test_where_it_cannot_be_written_it_says_so(run: Run, tmp_path: Path) -> None:
    kept("one", examples.walk())
    (tmp_path / "a.vtt").mkdir()
    for wanted in (["--to", "nowhere/page.html"], ["--to", "a.html", "--captions"]):
        assert "cannot be written" in complaint(run, *wanted)
    assert not (tmp_path / "a.html").exists()

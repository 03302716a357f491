"""Codes and names of students, and that nothing is left of one who is forgotten."""

from __future__ import annotations

import json
import sqlite3
import stat
import tempfile
from pathlib import Path

import pytest

from tests.records.small_journals import SOUP, attempt, home, put, text
from voicecoach.errors import Complaint
from voicecoach.records import database, forgetting, journal, store, students

__all__ = ["home"]

CODE = "qx7-Vault_9"
NAME = "Zoë O'Quillfeather"


# Codes


@pytest.mark.parametrize("code", ["s07", "S07", "7", "a-b_c", "x" * 40])
def test_a_code_of_letters_digits_hyphens_and_underscores_is_taken_as_it_is(code: str) -> None:
    assert students.check(code) == code


@pytest.mark.parametrize(
    "code",
    ["", " ", "s 07", "s07\n", "x" * 41, "../s07", "s.07", "<b>", "é", "٣", "-x", "_x", "s\x00"],
)
def test_another_code_is_refused_in_one_sentence(code: str) -> None:
    with pytest.raises(Complaint, match="letters, digits, - and _") as refused:
        students.check(code)
    assert "\n" not in str(refused.value)


def test_codes_are_the_same_in_small_and_capital_letters() -> None:
    assert students.key("S07") == students.key("s07") != students.key("s08")


# Names


def test_names_are_kept_apart_from_the_record_and_for_the_owner_alone(home: Path) -> None:
    put(attempt("a", CODE))
    students.name(CODE, f"  {NAME} ")
    store.results()
    assert students.names() == {students.key(CODE): NAME}
    holding = [path for path in home.rglob("*") if path.is_file() and NAME.encode() in path.read_bytes()]
    assert holding == [students.file()]
    assert stat.S_IMODE(students.file().stat().st_mode) == 0o600
    assert stat.S_IMODE(home.stat().st_mode) == 0o700


def test_a_later_name_takes_the_place_of_the_earlier_however_the_code_is_spelled(home: Path) -> None:
    students.name("s07", "One")
    students.name("s08", "Other")
    students.name("S07", "Two")
    assert students.names() == {"s07": "Two", "s08": "Other"}
    students.forget_name("s07")
    students.forget_name("s99")
    assert students.names() == {"s08": "Other"}


@pytest.mark.parametrize("name", ["", "   ", "x" * 101, "a\x1b[2Jb", "\ud800"])
def test_what_is_no_name_is_refused(home: Path, name: str) -> None:
    with pytest.raises(Complaint, match="name"):
        students.name("s07", name)
    assert not students.file().exists()


@pytest.mark.parametrize("content", ["{", "[]", '{"s07": 5}', "[" * 100_000, "\x00"])
def test_names_that_cannot_be_understood_are_never_written_over(home: Path, content: str) -> None:
    home.mkdir(parents=True)
    students.file().write_text(content)
    for use in (students.names, lambda: students.name("s07", "One"), lambda: students.forget_name("s07")):
        with pytest.raises(Complaint, match="cannot be understood"):
            use()
    assert students.file().read_text() == content


# Forgetting


def found(folder: Path, *words: str) -> list[str]:
    """The files in a folder in whose name or bytes one of the words is, in small or capital letters."""
    looked_for = [word.lower().encode() for word in words]
    return [
        str(path.relative_to(folder))
        for path in sorted(folder.rglob("*"))
        if any(word in str(path.relative_to(folder)).lower().encode() for word in looked_for)
        or (path.is_file() and any(word in path.read_bytes().lower() for word in looked_for))
    ]


def write(path: Path, content: str = "") -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(content)
    return path


@pytest.fixture
def kept(home: Path) -> Path:
    """Two attempts of the student, two of others and one of nobody, and what may be made of them."""
    for number, student in enumerate([CODE, CODE.lower(), "s08", "s09", None]):
        name = f"2026-11-25-09150{number}-tea"
        put(attempt(name, student, f"2026-11-25T09:15:0{number}+00:00"))
        write(home / "pages" / f"{name}.html", f"<p>{student} made tea at 9")
        write(home / "captions" / f"{name}.vtt", "WEBVTT")
    write(home / "exports" / "all.csv", "attempt,passed\n2026-11-25-091500-tea,yes\n")
    write(home / "exports" / "signed.html", "<td>Zoë O&#x27;Quillfeather</td>")
    write(home / "exports" / "names.txt", json.dumps({"name": NAME}))
    write(home / "exports" / "xapi.json", '{"name": "' + CODE.upper() + '"}')
    write(home / "exports" / f"progress-{CODE}.svg")
    write(home / "exports" / CODE / "deep" / "next.ics")
    write(home / "exports" / "s08.csv", "2026-11-25-091502-tea,s08")
    write(home / "journals" / "2026-11-25-091500-tea.jsonl.bak", "old")
    students.name(CODE, NAME)
    students.name("s08", "Somebody Else")
    store.results()
    return home


def test_every_trace_of_a_student_goes_and_all_of_the_others_stays(kept: Path) -> None:
    others = store.results("s08") + store.results("s09") + store.results("")
    assert found(kept, CODE, NAME) != []
    traces = forgetting.traces(CODE.upper())
    assert [path.name for path in traces.journals] == [
        "2026-11-25-091500-tea.jsonl",
        "2026-11-25-091501-tea.jsonl",
    ]
    assert traces.name
    forgetting.forget(traces)
    signs = [CODE, NAME, "O&#x27;Quillfeather", json.dumps(NAME)[1:-1], "091500-tea", "091501-tea"]
    assert found(kept, *signs) == []
    assert store.results("s08") + store.results("s09") + store.results("") == others == store.results()
    assert students.names() == {"s08": "Somebody Else"}
    left = [str(path.relative_to(kept)) for path in sorted(kept.rglob("*")) if path.is_file()]
    ours = [f"2026-11-25-09150{number}-tea" for number in (2, 3, 4)]
    assert left == sorted([
        *(f"captions/{name}.vtt" for name in ours), *(f"journals/{name}.jsonl" for name in ours),
        *(f"pages/{name}.html" for name in ours), "exports/s08.csv", "names.json", "records.db",
    ])  # fmt: skip


def test_nothing_is_left_in_the_free_pages_of_the_store(home: Path) -> None:
    for number in range(300):
        student = CODE if number % 3 else "s08"
        put(attempt(f"2026-11-25-{number:06d}-{student}", student))
    store.results()
    assert CODE.encode() in store.file().read_bytes()
    forgetting.forget(forgetting.traces(CODE))
    assert found(home, CODE) == []
    assert len(store.results()) == 100
    with sqlite3.connect(store.file()) as db:
        assert db.execute("PRAGMA freelist_count").fetchone() == (0,)
    db.close()


def test_what_is_taken_out_in_passing_is_overwritten_too(home: Path) -> None:
    for number in range(300):
        put(attempt(f"2026-11-25-{number:06d}-x", CODE if number % 3 else "s08"))
    store.results()
    for one in journal.folder().iterdir():
        if CODE.encode() in one.read_bytes():
            one.unlink()
    store.results()
    assert found(home, CODE) == []


def test_journals_that_are_damaged_or_cut_off_are_known_by_what_is_left_of_them(home: Path) -> None:
    whole = text(attempt("2026-11-25-091500-tea", CODE))
    first = whole.index(b"\n")
    assert whole[:first].endswith(b'"}')
    for number, content in enumerate([whole[:first], whole[: first - 1], whole[: first - 2], b"?" + whole]):
        (put(attempt("x"), f"broken-{number}")).write_bytes(content)
    put(attempt("other", "s08"), "other").write_bytes(b"?" + text(attempt("other", "s08")))
    forgetting.forget(forgetting.traces(CODE))
    assert found(home, CODE) == []
    assert [path.name for path in journal.folder().iterdir()] == ["other.jsonl"]


def test_a_journal_that_went_to_the_temporary_folder_goes_as_well(home: Path) -> None:
    temporary = Path(tempfile.gettempdir())
    put(attempt("a", "s08"))
    own = temporary / "2026-11-25-091500-tea-abc.jsonl"
    own.write_bytes(text(attempt("2026-11-25-091500-tea", CODE)))
    page = write(home / "pages" / "2026-11-25-091500-tea.html")
    other = temporary / "other.jsonl"
    other.write_bytes(text(attempt("b", "s08")))
    write(temporary / "else.jsonl", f'{{"student": "{CODE}"}}')
    forgetting.forget(forgetting.traces(CODE))
    assert not own.exists()
    assert not page.exists()
    assert other.exists()
    assert (temporary / "else.jsonl").exists()


def test_pages_of_others_stay_even_where_a_code_is_a_number_that_stands_in_them(home: Path) -> None:
    put(attempt("2026-11-25-091500-tea", "9"))
    put(attempt("2026-11-25-091501-tea", "s08"))
    page = write(home / "pages" / "2026-11-25-091501-tea.html", "9 steps")
    assert forgetting.traces("9").files == ()
    assert page.exists()


def test_a_name_within_another_word_is_no_trace(home: Path) -> None:
    put(attempt("a", CODE))
    students.name(CODE, "Ann")
    write(home / "exports" / "year.txt", "annual report of Joann and the s08x")
    assert forgetting.traces(CODE).files == ()
    own = write(home / "exports" / "one.txt", "of ANN: 5")
    assert forgetting.traces(CODE).files == (own,)


def test_what_is_not_made_from_journals_is_never_taken_for_a_trace(home: Path) -> None:
    put(attempt("a", CODE))
    own = [
        write(home / "rules.yaml", f"class: {CODE}"),
        write(home / "rules-aside.yaml", f"class: {CODE}"),
        write(home / "models" / "model-x" / "README", CODE),
    ]
    forgetting.forget(forgetting.traces(CODE))
    assert all(path.exists() for path in own)


def test_attempts_of_nobody_cannot_be_forgotten(home: Path) -> None:
    put(attempt("a", None))
    with pytest.raises(Complaint, match="code"):
        forgetting.traces("")


def test_a_name_alone_is_a_trace(home: Path) -> None:
    students.name(CODE, NAME)
    traces = forgetting.traces(CODE)
    assert (traces.journals, traces.files, traces.name) == ((), (), True)
    forgetting.forget(traces)
    assert found(home, CODE, NAME) == []


def test_what_could_not_be_deleted_is_found_again(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    really_unlink = Path.unlink

    def not_this(path: Path, missing_ok: bool = False) -> None:
        if path.name == "2026-11-25-091501-tea.jsonl":
            raise PermissionError(13, "Permission denied")
        really_unlink(path, missing_ok)

    with monkeypatch.context() as denied:
        denied.setattr(Path, "unlink", not_this)
        with pytest.raises(Complaint, match=r"091501-tea.jsonl cannot be deleted: Permission denied"):
            forgetting.forget(forgetting.traces(CODE))
    again = forgetting.traces(CODE)
    assert [path.name for path in again.journals] == ["2026-11-25-091501-tea.jsonl"]
    assert again.name
    forgetting.forget(again)
    assert found(kept, CODE, NAME) == []


def test_who_is_forgotten_while_another_program_reads_does_not_come_back(
    kept: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(attempt("2026-11-26-000000-soup", CODE, of=SOUP, steps=("chop",)))
    traces = forgetting.traces(CODE)
    put(attempt("2026-11-26-000000-soup", CODE, of=SOUP, steps=("chop", "cook")))
    really_changing = database.changing
    forgot: list[bool] = []

    def after_forgetting(db: sqlite3.Connection) -> object:
        if not forgot:
            forgot.append(True)
            forgetting.forget(traces)
        return really_changing(db)

    monkeypatch.setattr(store, "changing", after_forgetting)
    store.results()
    assert forgot == [True]
    assert found(kept, CODE, NAME) == []

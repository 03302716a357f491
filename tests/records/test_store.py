"""The store against the journals themselves: it holds what they hold, however it came to it."""

from __future__ import annotations

import os
import shutil
import sqlite3
import stat
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.records.small_journals import SOUP, TEA, attempt, home, put, text
from voicecoach.errors import Complaint
from voicecoach.events import Begun, Event, Followed
from voicecoach.records import journal, store, tables
from voicecoach.records.database import changing
from voicecoach.records.results import Result, StepResult, result

__all__ = ["home"]


def read_anew() -> list[Result]:
    """What the journals come to without any store, in order of time."""
    read: list[tuple[float, str, Result]] = []
    for path in journal.folder().glob("*.jsonl"):
        try:
            one = result(journal.read(path))
        except (Complaint, ValueError):
            continue
        begun = one.begun.replace("Z", "+00:00")
        read.append((tables._instant(replace(one, begun=begun)), path.name, one))
    return [one for *_, one in sorted(read, key=lambda entry: entry[:2])]


def names(results: list[Result]) -> list[str]:
    return [one.attempt for one in results]


def three() -> None:
    """Three attempts: of s07, of s08 and of nobody."""
    put(attempt("b", "s07", "2026-11-25T09:15:00+00:00"))
    put(attempt("a", "s08", "2026-11-26T09:15:00+00:00", ("boil", "fill"), "interrupted"))
    put(attempt("c", None, "2026-11-24T09:15:00+00:00", ("chop",), of=SOUP))


# What it holds


def test_results_are_what_the_journals_come_to_in_order_of_time(home: Path) -> None:
    three()
    found = store.results()
    assert found == read_anew()
    assert names(found) == ["c", "b", "a"]
    by_name = {one.attempt: one for one in found}
    assert [(step.step, step.in_order, step.seconds) for step in by_name["a"].steps] == [
        ("fill", False, 2.0), ("boil", True, 10.0), ("pour", True, None),
    ]  # fmt: skip
    assert by_name["a"].mishaps == (TEA.avoided("spill").do,)
    assert (by_name["a"].complete, by_name["b"].complete) == (False, True)
    assert type(by_name["b"].passed) is type(by_name["b"].steps[0].done) is bool
    assert by_name["c"].student == ""


def test_the_order_of_time_is_that_of_the_moments_and_not_of_the_clocks_on_the_wall(home: Path) -> None:
    put(attempt("later", wall="2026-11-25T09:00:00-05:00"))
    put(attempt("earlier", wall="2026-11-25T10:00:00+00:00"))
    put(attempt("first", wall="2026-11-25T10:30:00+02:00"))
    assert names(store.results()) == ["first", "earlier", "later"]


@pytest.mark.parametrize(
    ("student", "procedure", "expected"),
    [
        (None, None, ["c", "b", "a"]),
        ("s07", None, ["b"]),
        ("S07", None, ["b"]),
        ("", None, ["c"]),
        (None, "tea", ["b", "a"]),
        ("s08", "tea", ["a"]),
        ("s08", "soup", []),
        ("s0", None, []),
        ("%", None, []),
        ("s07' OR '1'='1", None, []),
    ],
)
def test_results_of_a_student_and_of_a_procedure(
    home: Path, student: str | None, procedure: str | None, expected: list[str]
) -> None:
    three()
    assert names(store.results(student, procedure)) == expected


def test_a_student_is_spelled_as_in_the_first_attempt_whatever_is_asked_for(home: Path) -> None:
    put(attempt("1", "Anna", "2026-11-25T09:00:00+00:00"))
    put(attempt("2", "ANNA", "2026-11-26T09:00:00+00:00", of=SOUP, steps=("chop",)))
    assert [one.student for one in store.results()] == ["Anna", "Anna"]
    assert [one.student for one in store.results("anna", "soup")] == ["Anna"]
    assert store.overview() == [store.Kept("Anna", 2, "2026-11-26T09:00:00+00:00")]


def test_the_overview_counts_the_attempts_of_each_student_and_has_nobody_last(home: Path) -> None:
    three()
    put(attempt("d", "s07", "2026-11-20T09:15:00+00:00"))
    assert store.overview() == [
        store.Kept("s07", 2, "2026-11-25T09:15:00+00:00"),
        store.Kept("s08", 1, "2026-11-26T09:15:00+00:00"),
        store.Kept("", 1, "2026-11-24T09:15:00+00:00"),
    ]


def test_without_any_journal_there_is_nothing_and_no_complaint(home: Path) -> None:
    assert (store.results(), store.overview(), store.bring_up_to_date()) == ([], [], ())


# Bringing up to date


def test_only_what_is_new_or_has_changed_is_read(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    three()
    store.results()
    read: list[str] = []
    really_read = journal.read

    def noting(path: Path) -> tuple[Event, ...]:
        read.append(path.stem)
        return really_read(path)

    monkeypatch.setattr(journal, "read", noting)
    store.results()
    assert read == []
    put(attempt("d"))
    put(attempt("b", "s07", steps=("fill",)))
    assert store.results() == read_anew()
    assert sorted(set(read)) == ["a", "b", "c", "d"]  # `read_anew` reads all
    read.clear()
    (journal.folder() / "a.jsonl").unlink()
    assert names(store.results()) == ["c", "b", "d"]
    assert read == []


def test_a_journal_counts_as_far_as_it_goes_and_grows(home: Path) -> None:
    whole = text(attempt("a", "s07"))
    path = put(attempt("a", "s07"))
    ends = _line_ends(whole)
    assert len(ends) == 5
    for lines, end in enumerate(ends):
        for cut in (end, end + 5):
            path.write_bytes(whole[:cut])
            (one,) = store.results()
            assert (sum(step.done for step in one.steps), one.complete) == (min(lines, 3), lines == 4)


def test_a_journal_in_which_nothing_is_yet_is_no_attempt_and_no_trouble(home: Path) -> None:
    path = put(attempt("a"))
    path.write_bytes(b"")
    assert (store.bring_up_to_date(), store.results()) == ((), [])
    put(attempt("a"))
    assert names(store.results()) == ["a"]


def _no_date(events: list[Event]) -> bytes:
    begun = events[0]
    assert isinstance(begun, Begun)
    return text([replace(begun, wall="yesterday"), *events[1:]])


def _half_a_letter(events: list[Event]) -> bytes:
    begun = events[0]
    assert isinstance(begun, Begun)
    return text([replace(begun, student="s\ud800"), *events[1:]])


def _other_procedure(events: list[Event]) -> bytes:
    begun = events[0]
    assert isinstance(begun, Begun)
    return text([replace(begun, procedure={"id": "tea"}), *events[1:]])


@pytest.mark.parametrize(
    "broken",
    [
        lambda events: b"\x89PNG\r\n\x1a\n",
        lambda events: text(events)[:200],
        lambda events: text(events).replace(b'"followed"', b'"swallowed"'),
        lambda events: text(events[1:]),
        lambda events: text([events[0], Followed(1.0, "no-such-step", 1.0, 2.0, 1, "", 0.9), *events[1:]]),
        lambda events: text(events).replace(b'"about": "spill"', b'"about": "no-such-thing"'),
        _no_date,
        _half_a_letter,
        _other_procedure,
    ],
)
def test_a_broken_journal_is_named_each_time_and_never_stops_the_rest(
    home: Path, broken: Callable[[list[Event]], bytes]
) -> None:
    three()
    content = broken(attempt("broken", "s09", steps=("fill",)))
    path = journal.folder() / "b2.jsonl"
    path.write_bytes(content)
    for bring in (store.bring_up_to_date, store.bring_up_to_date, store.rebuild):
        notices = bring()
        assert len(notices) <= 1
        assert all(str(path) in notice and notice.endswith("It is left out.") for notice in notices)
        # A step that is not known may be passed over, but then the attempt counts.
        assert len(notices) == 1 or "broken" in names(store.results())
        assert [name for name in names(store.results()) if name != "broken"] == ["c", "b", "a"]
    path.unlink()
    assert (store.bring_up_to_date(), names(store.results())) == ((), ["c", "b", "a"])


def test_a_journal_that_could_not_be_read_is_read_again_the_next_time(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    three()

    def locked(path: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    with monkeypatch.context() as denied:
        denied.setattr(Path, "read_bytes", locked)
        denied.setattr(store, "_edition", lambda: 7)
        assert [notice.count("Permission denied") for notice in store.bring_up_to_date()] == [1, 1, 1]
        denied.undo()
        denied.setattr(store, "_edition", lambda: 7)
        assert store.bring_up_to_date() == ()
        assert names(store.results()) == ["c", "b", "a"]


def test_other_things_in_the_folder_of_journals_do_no_harm(home: Path) -> None:
    three()
    (journal.folder() / "folder.jsonl").mkdir()
    (journal.folder() / "a.jsonl.bak").write_bytes(b"old")
    os.mkfifo(journal.folder() / "pipe.jsonl")
    shutil.copy(journal.folder() / "a.jsonl", journal.folder() / os.fsdecode(b"\xff.jsonl"))
    assert store.bring_up_to_date() == ()
    assert names(store.results()) == ["c", "b", "a", "a"]


def test_where_the_journals_should_be_is_no_folder_and_that_is_said(home: Path) -> None:
    three()
    store.results()
    shutil.rmtree(journal.folder())
    journal.folder().write_text("")
    with pytest.raises(Complaint, match="cannot be read"):
        store.results()


def test_it_tells_after_each_journal_how_far_it_is(home: Path) -> None:
    three()
    told: list[tuple[int, int]] = []
    store.rebuild(lambda done, total: told.append((done, total)))
    assert told == [(1, 3), (2, 3), (3, 3)]
    store.bring_up_to_date(lambda done, total: told.append((done, total)))
    assert len(told) == 3


def _line_ends(whole: bytes) -> list[int]:
    return [place for place, byte in enumerate(whole, 1) if byte == ord("\n")]


POOL = {
    name: text(attempt(name, student, f"2026-11-25T09:{minute}:00+00:00", steps))
    for name, student, minute, steps in [
        ("a", "s1", 10, ("fill", "boil", "pour")),
        ("b", "S1", 11, ("boil", "fill")),
        ("c", None, 10, ("pour",)),
        ("d", "s2", 12, ()),
    ]
}
ENDS = {
    name: [place for place, byte in enumerate(whole, 1) if byte == ord("\n")] for name, whole in POOL.items()
}
CHANGES = st.tuples(st.sampled_from(sorted(POOL)), st.integers(-1, 6), st.integers(-3, 3), st.booleans())


@settings(max_examples=40, derandomize=True, deadline=None, database=None)
@given(st.lists(CHANGES, max_size=8))
def test_brought_up_to_date_in_any_order_it_is_what_it_is_when_rebuilt(
    tmp_path_factory: pytest.TempPathFactory, changes: list[tuple[str, int, int, bool]]
) -> None:
    """Each change brings a journal to some of its lines, a few bytes more or less, or deletes it.

    After some of the changes the store is brought up to date.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_DATA_HOME", str(tmp_path_factory.mktemp("data")))
        journal.folder().mkdir(parents=True)
        for name, lines, more, look in changes:
            path = journal.folder() / f"{name}.jsonl"
            if lines < 0:
                path.unlink(missing_ok=True)
            else:
                size = max(0, ENDS[name][: lines + 1][-1] + more)
                path.write_bytes(POOL[name][:size])
            if look:
                store.bring_up_to_date()
        grown = store.bring_up_to_date(), store.results(), store.overview()
        rebuilt = store.rebuild(), store.results(), store.overview()
        assert grown == rebuilt
        spelled = {one.student for one in grown[1]} - {""}
        assert len({code.lower() for code in spelled}) == len(spelled)
        lowered = [replace(one, student=one.student.lower()) for one in grown[1]]
        assert lowered == [replace(one, student=one.student.lower()) for one in read_anew()]
        with sqlite3.connect(store.file()) as db:
            (left,) = db.execute(
                "SELECT count(*) FROM wordings WHERE id NOT IN (SELECT wording FROM steps)"
            ).fetchone()
        assert left == 0


# Who may read it


def test_only_the_owner_may_read_it(home: Path) -> None:
    before = os.umask(0)
    try:
        three()
        home.chmod(0o755)
        store.results()
    finally:
        os.umask(before)
    assert stat.S_IMODE(home.stat().st_mode) == 0o700
    assert stat.S_IMODE(store.file().stat().st_mode) == 0o600
    store.file().chmod(0o644)
    store.results()
    assert stat.S_IMODE(store.file().stat().st_mode) == 0o600


# How long it takes


def test_with_ten_thousand_attempts_looking_and_the_results_of_one_student_take_a_moment(home: Path) -> None:
    """The bars are 0.3 s each; the best of ten counts, since other programs run meanwhile."""
    steps = tuple(
        StepResult(
            f"step-{n}", f"Do the step with number {n}", n == 3, True, True, True, n != 5, True, 2.0 * n, None
        )
        for n in range(20)
    )
    journal.folder().mkdir(parents=True)
    states = {}
    for number in range(10_000):
        path = journal.folder() / f"{number}.jsonl"
        path.write_bytes(b"x" * (number % 50))
        seen = path.stat()
        states[path.name.encode()] = seen.st_size, seen.st_mtime_ns
    store.results()

    def fill(db: sqlite3.Connection) -> None:
        with changing(db):
            for number, (name, state) in enumerate(states.items()):
                begun = f"2026-{number % 12 + 1:02d}-{number % 28 + 1:02d}T09:{number % 60:02d}:00+00:00"
                longer = tuple(replace(step, seconds=float(number % 600) / 10) for step in steps[:8])
                one = Result(
                    str(number), f"s{number % 40:02d}", f"p{number % 12}", "Title", "rehearse", begun, 300.0,
                    True, True, True, 0.8, longer + steps[8:], (), 30,
                )  # fmt: skip
                tables.put(db, tables.Came(name, state, one))

    store._use(fill)
    looking, asking = [], []
    for _ in range(10):
        start = time.perf_counter()
        assert store.bring_up_to_date() == ()
        looking.append(time.perf_counter() - start)
        start = time.perf_counter()
        assert len(store.results("s07")) == 250
        asking.append(time.perf_counter() - start)
    assert min(looking) <= 0.3
    assert min(asking) <= 0.3

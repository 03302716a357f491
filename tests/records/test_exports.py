"""Tables and JSON of all that came of attempts: read back by other means, they hold the same."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Callable
from dataclasses import fields, replace
from io import StringIO
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.records.made_results import RESULTS, attempt, step
from voicecoach.coaching.wording import CAUTION
from voicecoach.records.exports import ATTEMPT_KEYS, STEP_KEYS, as_json, attempts_csv, steps_csv
from voicecoach.records.results import Result, StepResult

MANY = st.lists(RESULTS, max_size=4)

# RFC 4180, section 2, its grammar, but that any character may stand in a field (RFC 7111 takes UTF-8).
FIELD = r'(?:"(?:[^"]|"")*+"|[^",\r\n]*+)'
TABLE = re.compile(rf"(?:{FIELD}(?:,{FIELD})*+\r\n)++")


def rows(table: str) -> list[dict[str, str]]:
    """The rows of a table, by the csv module."""
    return list(csv.DictReader(StringIO(table, newline=""), strict=True))


def text(cell: str) -> str:
    """A text as it was before it was made safe."""
    return cell[1:] if cell.startswith("'") else cell


def lines(cell: str) -> tuple[str, ...]:
    """The texts that stand in a cell, one a line."""
    meant = {"n": "\n", "r": "\r", "\\": "\\"}
    return tuple(
        re.sub(r"\\(.)", lambda found: meant[found[1]], line) for line in (cell.split("\n") if cell else [])
    )


def value(cell: str, kind: str) -> Any:
    """What a cell stands for, by the type of the field."""
    if kind == "bool":
        return {"true": True, "false": False}[cell]
    if kind == "float | None":
        return float(cell) if cell else None
    read: dict[str, Callable[[str], Any]] = {"str": text, "float": float, "int": int}
    return read[kind](cell)


@given(MANY)
def test_tables_hold_all_that_results_hold(results: list[Result]) -> None:
    attempts, steps = rows(attempts_csv(results)), rows(steps_csv(results))
    read: list[Result] = []
    for row in attempts:
        plain = {
            field.name: value(row[field.name], str(field.type))
            for field in fields(Result)
            if field.name not in ("steps", "mishaps")
        }
        read.append(Result(**plain, mishaps=lines(text(row["mishaps"])), steps=()))
    assert read == [replace(one, steps=()) for one in results]
    expected = [(result, told) for result in results for told in result.steps]
    assert len(steps) == len(expected)
    for row, (result, told) in zip(steps, expected, strict=True):
        assert text(row["attempt"]) == result.attempt
        assert (text(row["student"]), row["procedure"]) == (result.student, result.procedure)
        read_back = {field.name: value(row[field.name], str(field.type)) for field in fields(StepResult)}
        assert StepResult(**read_back) == told


LINES = 'first line\nsecond, "third"\r\nlast'


def test_a_line_break_in_any_text_is_read_back_by_pandas_as_by_the_csv_module() -> None:
    # Its readers are others than Python's: one in C, one that splits lines itself.
    pandas = pytest.importorskip("pandas")
    odd = attempt(
        step(do=LINES), title=LINES, mishaps=("plain", LINES, "C:\\new"), procedure="a", student="s07"
    )
    for table, column in (
        (attempts_csv([odd, odd]), "title"),
        (attempts_csv([odd, odd]), "mishaps"),
        (steps_csv([odd, odd]), "do"),
    ):
        told = [row[column] for row in rows(table)]
        assert len(told) == 2
        assert pandas.read_csv(StringIO(table, newline=""), dtype=str)[column].tolist() == told
        with_python = pandas.read_csv(StringIO(table, newline=""), dtype=str, engine="python")
        assert with_python[column].tolist() == told
        assert (lines(told[0]) == odd.mishaps) if column == "mishaps" else told[0] == LINES


@given(MANY)
def test_tables_keep_to_rfc_4180(results: list[Result]) -> None:
    for table in (attempts_csv(results), steps_csv(results)):
        assert TABLE.fullmatch(table)
        # Section 2, 4: each line should contain the same number of fields.
        assert len({len(row) for row in csv.reader(StringIO(table, newline=""))}) == 1


@given(MANY)
def test_no_cell_is_taken_for_a_formula(results: list[Result]) -> None:
    """OWASP ASVS 5.0, requirement 1.2.10: a cell whose first character is = + - @, a tab or a null character
    has a single quote before it. None of our numbers is below zero."""
    for table in (attempts_csv(results), steps_csv(results)):
        for row in csv.reader(StringIO(table, newline="")):
            for cell in row:
                assert not cell.startswith(("=", "+", "-", "@", "\t", "\0"))


@pytest.mark.parametrize(
    "title",
    ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "\0=1", "＝1", "＋1", "－1", "＠A1", "'=1"],
)
def test_a_text_like_a_formula_has_an_apostrophe_before_it_and_no_other_has(title: str) -> None:
    (row,) = rows(attempts_csv([attempt(title=title, student="s=1")]))
    assert row["title"] == f"'{title}"
    assert row["student"] == "s=1"


def test_a_table_looks_like_this() -> None:
    late = step(in_order=False, critical=True)
    table = steps_csv([attempt(late, step("wash", 'Say "done", then wash', done=False))])
    assert table == (
        "attempt,student,procedure,step,do,critical,needed,done,in_order,unprompted,right,seconds,"
        "needed_seconds\r\n"
        "2026-11-23-090000-make-bed,s07,make-bed,lock,Lock the wheels,true,true,true,false,true,true,4.5,\r\n"
        '2026-11-23-090000-make-bed,s07,make-bed,wash,"Say ""done"", then wash",false,true,false,true,true,'
        "false,,\r\n"
    )


@given(st.lists(RESULTS, max_size=4))
def test_json_holds_all_that_results_hold(results: list[Result]) -> None:
    read = json.loads(as_json(results))["attempts"]
    steps = [tuple(StepResult(**step) for step in one.pop("steps")) for one in read]
    again = [
        Result(**one | {"mishaps": tuple(one["mishaps"]), "steps": told})
        for one, told in zip(read, steps, strict=True)
    ]
    assert again == results


def test_every_key_is_described_in_the_file_itself() -> None:
    made = json.loads(as_json([attempt()]))
    assert made["caution"] == CAUTION
    assert made["keys"]["attempts"].keys() == made["attempts"][0].keys()
    assert made["keys"]["steps"].keys() == made["attempts"][0]["steps"][0].keys()


def test_no_field_of_a_result_is_left_out() -> None:
    assert {*ATTEMPT_KEYS, "steps"} == {field.name for field in fields(Result)}
    assert list(STEP_KEYS) == [field.name for field in fields(StepResult)]

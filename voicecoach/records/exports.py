"""All that came of attempts, for a spreadsheet (CSV) and for other programs (JSON). Nothing is left out."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from io import StringIO
from typing import Any

from voicecoach.coaching.wording import CAUTION
from voicecoach.records.results import Result

ATTEMPT_KEYS = {
    "attempt": "name of the attempt",
    "student": "code of the student; empty where none was given",
    "procedure": "id of the procedure",
    "title": "the procedure for people",
    "mode": "practise, rehearse or selftest",
    "begun": "local date and time of the beginning, ISO 8601 with offset",
    "seconds": "how long it took",
    "passed": "whether it met the pass rule of the procedure; practice only, no evaluation",
    "judged": "false where too little was understood to say that it is not passed",
    "complete": "false where it was broken off",
    "share": "share of the needed steps that must be right to pass, 0 to 1",
    "mishaps": "what happened that must not",
    "heard": "number of utterances",
    "mock": "the mock test it was part of; empty where it was none",
}
"""What is told of an attempt, beside its steps: the key or column, and what it holds."""

STEP_KEYS = {
    "step": "id of the step",
    "do": "the step for people",
    "critical": "whether leaving it out fails the attempt",
    "needed": "false where the step was only needed in other cases and was not done",
    "done": "whether it was done",
    "in_order": "true where nothing that needs it was done before it; also where it was not done",
    "unprompted": "true where it was done without a cue about it",
    "right": "true where it was done, for long enough, with the right value, on the right side",
    "seconds": "how long it lasted; nothing where that is not known",
    "needed_seconds": "how long it must last; nothing where it is not timed",
}
"""What is told of a step in an attempt, likewise."""

_ON_ONE_LINE = str.maketrans({"\\": r"\\", "\n": r"\n", "\r": r"\r"})
_PREFIX = "'"
_FORMULA = (*"=+-@＝＋－＠\t\r\n\0", _PREFIX)
"""With what a text begins that a spreadsheet may take for a formula (OWASP ASVS 5.0, 1.2.10); the prefix."""


def attempts_csv(results: Iterable[Result]) -> str:
    r"""A table of attempts, a line each: RFC 4180 with a line of names, those of `ATTEMPT_KEYS`.

    Mishaps stand in one cell, one a line; within one, a line break is \n or \r and a backslash is \\. Yes or
    no is true or false; what is not known is empty. So that no spreadsheet takes a text for a formula, a text
    that begins with = + - @ (also their wide forms), a tab, a line break or an apostrophe has an apostrophe
    before it; without the first one it is as it was.
    """
    return _table(list(ATTEMPT_KEYS), (_attempt(result) for result in results))


def steps_csv(results: Iterable[Result]) -> str:
    """A table of steps, a line for each in each attempt, as `attempts_csv`.

    The first columns are the attempt's name, student and procedure, then those of `STEP_KEYS`.
    """
    whose = ("attempt", "student", "procedure")
    return _table(
        [*whose, *STEP_KEYS],
        (
            {key: getattr(result, key) for key in whose} | asdict(step)
            for result in results
            for step in result.steps
        ),
    )


def as_json(results: Iterable[Result]) -> str:
    """Attempts with their steps as JSON: `attempts`, and under `keys` what each of their keys holds."""
    attempts = [
        {key: getattr(result, key) for key in ATTEMPT_KEYS}
        | {"steps": [asdict(step) for step in result.steps]}
        for result in results
    ]
    keys = {"attempts": ATTEMPT_KEYS | {"steps": "every step, in the usual order"}, "steps": STEP_KEYS}
    made = {"caution": CAUTION, "keys": keys, "attempts": attempts}
    return json.dumps(made, ensure_ascii=False, allow_nan=False, indent=1) + "\n"


def _attempt(result: Result) -> dict[str, Any]:
    return {key: getattr(result, key) for key in ATTEMPT_KEYS} | {"mishaps": _lines(result.mishaps)}


def _lines(texts: Iterable[str]) -> str:
    """Texts as lines of a cell, each on one."""
    return "\n".join(text.translate(_ON_ONE_LINE) for text in texts)


def _table(columns: Sequence[str], rows: Iterable[dict[str, Any]]) -> str:
    text = StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows([_cell(row[column]) for column in columns] for row in rows)
    return text.getvalue()


def _cell(value: Any) -> str:
    """What stands in a cell, for the values of results."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _PREFIX + value if value.startswith(_FORMULA) else value
    return str(value)

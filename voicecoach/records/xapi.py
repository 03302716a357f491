"""Attempts as xAPI statements, for a learning record store: IEEE 9274.1.1-2023, xAPI 2.0.

Verbs and the type of activity are of ADL's vocabulary. All other names are our own, under `.example`
(RFC 2606), which belongs to nobody. A student appears as a code.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict
from datetime import UTC, datetime
from typing import Any
from urllib.parse import quote
from uuid import NAMESPACE_URL, UUID, uuid5

from voicecoach.coaching.wording import CAUTION
from voicecoach.records.results import Result, StepResult

VERSION = "2.0.0"
"""The version of xAPI that statements keep to."""

_ADL = "http://adlnet.gov/expapi"
_OWN = "https://voicecoach.example/xapi"
_STATEMENTS = uuid5(NAMESPACE_URL, f"{_OWN}/statements")
_LANGUAGE = "en-US"


def as_json(results: Iterable[Result]) -> str:
    """The statements of attempts as a JSON array, as a learning record store takes them."""
    made = [statement(result) for result in results]
    return json.dumps(made, ensure_ascii=False, allow_nan=False, indent=1) + "\n"


def statement(result: Result) -> dict[str, Any]:
    """The statement of an attempt: who passed, failed or only attempted which procedure.

    It has the same id each time, so that a store that is sent it twice keeps one. Passed and failed are only
    said of what the student did alone, in rehearse or selftest, to the end and judged. An attempt of which no
    student's code is known has an account of nobody.
    """
    return {
        "id": str(_id(result)),
        "version": VERSION,
        "timestamp": _timestamp(result.begun),
        "actor": {"objectType": "Agent", "account": _account(result.student)},
        "verb": _verb(result),
        "object": _activity("procedures", result.procedure, result.title),
        "result": _result(result),
        "context": _context(result),
    }


def _id(result: Result) -> UUID:
    """Made from the name of the attempt, which is unique on one machine, and from who began it when."""
    return uuid5(_STATEMENTS, f"{result.attempt}\n{result.student}\n{result.begun}")


def _timestamp(begun: str) -> str:
    """RFC 3339, to the millisecond; a time without an offset is taken for UTC."""
    moment = datetime.fromisoformat(begun)
    return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).isoformat(timespec="milliseconds")


def _account(student: str) -> dict[str, str]:
    # The home page keeps the student whose code is `nobody` and nobody in particular apart.
    if student:
        return {"homePage": f"{_OWN}/students", "name": student}
    return {"homePage": f"{_OWN}/without-code", "name": "nobody"}


def _verb(result: Result) -> dict[str, Any]:
    word = "attempted"
    if result.counts and result.mode != "practise":
        word = "passed" if result.passed else "failed"
    return {"id": f"{_ADL}/verbs/{word}", "display": {_LANGUAGE: word}}


def _result(result: Result) -> dict[str, Any]:
    """What came of it; the score is the share of needed steps that were done and right."""
    told: dict[str, Any] = {"completion": result.complete, "duration": _duration(result.seconds)}
    needed = [step for step in result.steps if step.needed]
    if result.counts:
        told["success"] = result.passed
        if needed:
            told["score"] = {"scaled": round(sum(step.right for step in needed) / len(needed), 4)}
    told["extensions"] = {
        f"{_OWN}/extensions/steps": [_step(step) for step in result.steps],
        f"{_OWN}/extensions/mishaps": list(result.mishaps),
    }
    return told


def _context(result: Result) -> dict[str, Any]:
    """Where it was done, how, and in which mock test, which groups the attempts of which it was made."""
    told: dict[str, Any] = {"platform": "voicecoach", "language": _LANGUAGE}
    if result.mock:
        test = _activity("mock-tests", result.mock, f"Mock test {result.mock}")
        told["contextActivities"] = {"grouping": [test]}
    told["extensions"] = {f"{_OWN}/extensions/mode": result.mode, f"{_OWN}/extensions/caution": CAUTION}
    return told


def _activity(kind: str, name: str, title: str) -> dict[str, Any]:
    """What is done, by its name among those of its kind; a mock test only simulates a test."""
    return {
        "objectType": "Activity",
        "id": f"{_OWN}/{kind}/{quote(name, safe='')}",
        "definition": {"type": f"{_ADL}/activities/simulation", "name": {_LANGUAGE: title}},
    }


def _step(step: StepResult) -> dict[str, Any]:
    return {key: value for key, value in asdict(step).items() if value is not None}


def _duration(seconds: float) -> str:
    """ISO 8601, to the hundredth of a second, the precision that xAPI compares."""
    return f"PT{f'{seconds:.2f}'.rstrip('0').rstrip('.')}S"

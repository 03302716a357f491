"""Statements of attempts against what the xAPI standard requires, and as another program reads them."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from pydantic import TypeAdapter
from ralph.models.xapi.base.statements import BaseXapiStatement

from tests.records.made_results import RESULTS, TEXTS, attempt, failed, step, steps
from tests.records.xapi_shape import STATEMENT
from voicecoach.coaching.wording import CAUTION
from voicecoach.records.results import Result
from voicecoach.records.xapi import as_json, statement

VALIDATOR = Draft202012Validator(STATEMENT, format_checker=Draft202012Validator.FORMAT_CHECKER)
OWN = "https://voicecoach.example/xapi"


def verb(result: Result) -> str:
    return str(statement(result)["verb"]["id"]).removeprefix("http://adlnet.gov/expapi/verbs/")


def empty(value: Any) -> bool:
    """Whether something outside of extensions is null or an empty object."""
    if isinstance(value, dict):
        return not value or any(empty(part) for key, part in value.items() if key != "extensions")
    return value is None


@given(RESULTS)
def test_a_statement_has_the_shape_that_the_standard_requires(result: Result) -> None:
    made = json.loads(json.dumps(statement(result), allow_nan=False))
    VALIDATOR.validate(made)
    # XAPI-00001: nothing is null, and no object empty, but in extensions.
    assert not empty(made)


@given(RESULTS)
def test_a_learning_record_store_reads_a_statement(result: Result) -> None:
    """Against the models of Ralph, a learning record store, which take the version before, 1.0.3."""
    read = BaseXapiStatement.model_validate(statement(result) | {"version": "1.0.3"})
    assert read.timestamp == datetime.fromisoformat(result.begun)
    assert read.result is not None
    assert read.result.duration == timedelta(seconds=round(result.seconds, 2))


@given(RESULTS)
def test_the_duration_is_as_long_as_the_attempt(result: Result) -> None:
    """ISO 8601 as pydantic reads it; the standard compares durations to the hundredth of a second."""
    told = statement(result)["result"]["duration"]
    assert abs(TypeAdapter(timedelta).validate_python(told).total_seconds() - result.seconds) <= 0.0051


@pytest.mark.parametrize(
    "spoil",
    [
        lambda made: made.pop("actor"),
        lambda made: made.pop("verb"),
        lambda made: made.pop("object"),
        lambda made: made.update(id="AA97B177-9383-4934-8543-0F91A7A028368"),
        lambda made: made.update(id="ma97b177-9383-4934-8543-0f91a7a02836"),
        lambda made: made.update(timestamp="01/011/2015"),
        lambda made: made.update(timestamp="2008-09-15T15:53:00.601-00:00"),
        lambda made: made.update(version="1.0.3"),
        lambda made: made.update(Actor=made["actor"]),
        lambda made: made["actor"]["account"].update(name={"key": "should fail"}),
        lambda made: made["actor"]["account"].pop("homePage"),
        lambda made: made["actor"].update(mbox="mailto:pat@voicecoach.example"),
        lambda made: made["verb"].update(id="ab=c://should.fail"),
        lambda made: made["verb"].update(display="attended"),
        lambda made: made["verb"]["display"].update({"en-US": None}),
        lambda made: made["object"].pop("id"),
        lambda made: made["object"].update(objectType="activity"),
        lambda made: made["result"].update(success="true"),
        lambda made: made["result"].update(completion="false"),
        lambda made: made["result"].update(duration="PA1H0M0S"),
        lambda made: made["result"].update(duration="P4W1D"),
        lambda made: made["result"]["score"].update(scaled=1.01),
        lambda made: made["result"]["score"].update(scaled="1"),
        lambda made: made["result"]["extensions"].update({"steps": []}),
        lambda made: made["context"].update(language="should fail"),
        lambda made: made["context"]["contextActivities"].clear(),
        lambda made: made["context"]["contextActivities"].update(shouldFail=[made["object"]]),
        lambda made: made["context"]["contextActivities"].update(grouping="should fail"),
        lambda made: made["context"]["contextActivities"]["grouping"][0].pop("id"),
    ],
)
def test_the_shape_refuses_what_the_conformance_tests_expect_to_be_refused(
    spoil: Callable[[dict[str, Any]], object],
) -> None:
    """Mostly examples of the conformance tests for 2.0 (adlnet/lrs-conformance-test-suite)."""
    made = json.loads(json.dumps(statement(replace(attempt(), mock="2026-11-23-0312"))))
    assert VALIDATOR.is_valid(made)
    spoil(made)
    assert not VALIDATOR.is_valid(made)


@pytest.mark.parametrize(
    "duration", ["PT1H0M0.1S", "PT4H35M59.14S", "PT16559.14S", "P3Y1M29DT4H35M59.14S", "P3Y", "P4W"]
)
def test_the_shape_takes_the_durations_that_the_conformance_tests_expect_to_be_taken(duration: str) -> None:
    made = statement(attempt())
    made["result"]["duration"] = duration
    assert VALIDATOR.is_valid(made)


def test_a_statement_looks_like_this() -> None:
    """The id must never change, or what was sent once to a learning record store would be there twice."""
    missing = step(critical=True, done=False)
    result = attempt(*steps(3), missing, passed=False, mishaps=("Water was spilled",))
    assert statement(result) == {
        "id": "d0aaf969-38c1-551a-8051-e018dd5a3e58",
        "version": "2.0.0",
        "timestamp": "2026-11-23T09:00:00.000+00:00",
        "actor": {"objectType": "Agent", "account": {"homePage": f"{OWN}/students", "name": "s07"}},
        "verb": {"id": "http://adlnet.gov/expapi/verbs/failed", "display": {"en-US": "failed"}},
        "object": {
            "objectType": "Activity",
            "id": f"{OWN}/procedures/make-bed",
            "definition": {
                "type": "http://adlnet.gov/expapi/activities/simulation",
                "name": {"en-US": "Make an empty bed"},
            },
        },
        "result": {
            "completion": True,
            "duration": "PT150S",
            "success": False,
            "score": {"scaled": 0.75},
            "extensions": {
                f"{OWN}/extensions/steps": [
                    *(
                        {
                            "step": f"step-{place}",
                            "do": f"Do part {place}",
                            "critical": False,
                            "needed": True,
                            "done": True,
                            "in_order": True,
                            "unprompted": True,
                            "right": True,
                            "seconds": 4.5,
                        }
                        for place in (1, 2, 3)
                    ),
                    {
                        "step": "lock",
                        "do": "Lock the wheels",
                        "critical": True,
                        "needed": True,
                        "done": False,
                        "in_order": True,
                        "unprompted": True,
                        "right": False,
                    },
                ],
                f"{OWN}/extensions/mishaps": ["Water was spilled"],
            },
        },
        "context": {
            "platform": "voicecoach",
            "language": "en-US",
            "extensions": {f"{OWN}/extensions/mode": "rehearse", f"{OWN}/extensions/caution": CAUTION},
        },
    }


def test_the_attempts_of_a_mock_test_are_grouped_by_it() -> None:
    """contextActivities, grouping: an activity with an indirect relation to the object, as a course or
    qualification (ADL, xAPI-Data 1.0.3, 2.4.6.2)."""
    of_test = replace(attempt(), mock="2026-11-23-0312")
    other = replace(attempt(procedure="shave"), mock="2026-11-23-0312")
    assert statement(of_test)["context"]["contextActivities"] == {
        "grouping": [
            {
                "objectType": "Activity",
                "id": f"{OWN}/mock-tests/2026-11-23-0312",
                "definition": {
                    "type": "http://adlnet.gov/expapi/activities/simulation",
                    "name": {"en-US": "Mock test 2026-11-23-0312"},
                },
            }
        ]
    }
    assert statement(other)["context"] == statement(of_test)["context"]
    assert "contextActivities" not in statement(attempt())["context"]
    # What it was part of does not make it another attempt.
    assert statement(of_test)["id"] == statement(attempt())["id"]


@given(TEXTS, TEXTS)
def test_two_mock_tests_are_two_activities_whatever_their_names(one: str, other: str) -> None:
    ids = [
        statement(replace(attempt(), mock=name))["context"]["contextActivities"]["grouping"][0]["id"]
        for name in (one, other)
    ]
    assert (ids[0] == ids[1]) == (one == other)


def test_passed_and_failed_are_said_of_what_was_done_alone_to_the_end_and_judged() -> None:
    """The verbs are of ADL's vocabulary: passed is `to standard`, attempted `made an effort`."""
    assert verb(attempt()) == "passed"
    assert verb(attempt(mode="selftest")) == "passed"
    assert verb(failed()) == "failed"
    assert verb(attempt(mode="practise")) == "attempted"
    assert verb(attempt(passed=False, judged=False)) == "attempted"
    assert verb(attempt(passed=False, complete=False)) == "attempted"


def test_no_success_and_no_score_are_claimed_where_nothing_was_judged() -> None:
    for result in (attempt(passed=False, judged=False), attempt(passed=False, complete=False)):
        assert not {"success", "score"} & statement(result)["result"].keys()


@given(st.lists(RESULTS, max_size=4))
def test_the_same_attempt_has_the_same_id_and_another_has_another(results: list[Result]) -> None:
    first, second = json.loads(as_json(results)), json.loads(as_json(results))
    assert first == second
    who = {(result.attempt, result.student, result.begun) for result in results}
    assert len({one["id"] for one in first}) == len(who)
    assert all(UUID(one["id"]).version == 5 for one in first)


def test_the_id_stays_when_the_result_is_judged_anew() -> None:
    assert statement(attempt())["id"] == statement(replace(attempt(), passed=False, title="Make a bed"))["id"]


def test_nobody_in_particular_is_not_the_student_called_nobody() -> None:
    nobody, student = (statement(attempt(student=code))["actor"]["account"] for code in ("", "nobody"))
    assert nobody["name"] == student["name"]
    assert nobody != student

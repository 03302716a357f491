"""What students say, for recognizers to expect."""

from __future__ import annotations

import yaml

from tests.benchmarks.sayings import FILE, gathered, without_numbers
from voicecoach.hearing.language_model import fragments
from voicecoach.hearing.number_words import NUMBER, classed
from voicecoach.hearing.said_numbers import phrases
from voicecoach.hearing.sayings import TIMED, sayings, with_number
from voicecoach.procedure.library import find


def test_the_sayings_are_those_that_were_written_for_tuning() -> None:
    assert yaml.safe_load(FILE.read_text("utf-8")) == gathered()


def test_none_is_kept_for_a_unit_that_nobody_records() -> None:
    assert sayings("furlongs") == ()
    assert len(sayings("beats/min")) > 200
    assert len(sayings(TIMED)) > 500


def test_any_number_takes_the_place_of_the_one_that_was_said() -> None:
    said = without_numbers("i got seventy two beats no make that one oh six")
    assert said == "i got N beats no make that N"
    assert with_number(said, "twenty") == "i got twenty beats no make that twenty"
    assert classed(with_number(said, "twenty")).count(NUMBER) == 2


def test_a_procedure_expects_the_sayings_of_its_readings_and_of_no_others() -> None:
    expected = set(phrases(find("weigh-standing")))
    among = {with_number(saying, "five hundred") for saying in sayings("lb")}
    assert among <= expected
    others = {with_number(saying, "five hundred") for saying in sayings("beats/min")} - among
    # `it's N` is said of any number.
    assert not [saying for saying in others & expected if len(saying.split()) > 6]


def test_a_timed_procedure_expects_what_is_said_of_time() -> None:
    expected = fragments(phrases(find("wash-hands")), ("sixty",))
    assert any("mississippi" in said for said in expected)
    assert {with_number(saying, "sixty") for saying in sayings(TIMED)} <= set(phrases(find("wash-hands")))

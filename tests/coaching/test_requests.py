"""Spoken requests: natural variants with and without the coach's name, and never an ordinary report."""

from __future__ import annotations

import pytest

from tests.narrated import procedure
from voicecoach.coaching.requests import Requests, is_addressed
from voicecoach.following.samples import samples
from voicecoach.procedure import library

UNDERSTOOD = 0.85
"""Share of new wordings without the name that must be understood; with the name, all but one in ten."""
NAMED = 0.9

VARIANTS = {
    "repeat": [
        "say that again please",
        "could you say it one more time",
        "sorry i did not hear that",
        "what did you say just now",
        "please repeat what you said",
    ],
    "next": [
        "what is next",
        "what do i do next",
        "what is the next step please",
        "which step is next",
        "tell me what comes next",
    ],
    "hint": [
        "give me a hint",
        "can you give me a little hint please",
        "i am stuck can you help me",
        "i need a hint for this",
        "help me please",
    ],
    "pause": [
        "pause please",
        "please wait a moment",
        "hold on a second",
        "can we take a break",
        "let's pause",
    ],
    "resume": ["go on", "let's go on", "we can go on now", "okay continue", "i am back we can continue"],
    "restart": [
        "start over",
        "i want to start over",
        "let's start again from the beginning",
        "can we begin again",
        "please restart",
    ],
    "finish": [
        "i have finished",
        "i am finished",
        "okay i am done",
        "that is everything i am finished",
        "i have finished all the steps",
    ],
    "standing": [
        "how am i doing",
        "how am i doing so far",
        "did i miss anything",
        "did i forget any step",
        "how many steps are left",
    ],
}
"""What a student asks, in words of this test."""
ORDINARY = [
    "i go on to the other hand",
    "now i wash the next hand",
    "wait for me missus marlow before you stand",
    "hold on to my arms missus marlow",
    "i start with the palms",
    "i repeat that on the other hand",
    "please stand up again",
    "i wait until the gel is dry",
    "i finish by drying my hands",
    "we take a break on the edge of the bed so she is not dizzy",
    "are you doing okay missus marlow",
    "i help her to sit up",
    "next i tie the gown behind my neck",
    "i am done with the soap so i rinse it off",
    "let's continue our walk to the window",
]
"""Reports that have words of requests in them."""


@pytest.fixture(scope="module")
def requests() -> Requests:
    return Requests(samples())


def wrong(requests: Requests, before: str) -> dict[str, tuple[str, str]]:
    """The variants that are not understood: what was meant and what it was taken for."""
    heard = {
        before + said: (meant, requests.request(before + said))
        for meant, all_ in VARIANTS.items()
        for said in all_
    }
    return {said: pair for said, pair in heard.items() if pair[0] != pair[1]}


def test_addressed_to_the_coach_they_are_understood(requests: Requests) -> None:
    missed = wrong(requests, "coach ")
    assert len(missed) <= (1 - NAMED) * sum(map(len, VARIANTS.values())), missed


def test_where_the_sense_is_plain_they_are_understood_without_the_name(requests: Requests) -> None:
    missed = wrong(requests, "")
    assert len(missed) <= (1 - UNDERSTOOD) * sum(map(len, VARIANTS.values())), missed


@pytest.mark.parametrize(
    ("said", "request_"),
    [
        ("coach say that again", "repeat"),
        ("coach what is next", "next"),
        ("coach a hint", "hint"),
        ("coach pause", "pause"),
        ("coach go on", "resume"),
        ("coach start over", "restart"),
        ("coach i have finished", "finish"),
        ("coach how am i doing", "standing"),
    ],
)
def test_the_words_of_the_guide_are_always_understood(requests: Requests, said: str, request_: str) -> None:
    assert requests.request(said) == request_
    assert requests.request(said.removeprefix("coach ") + " coach") == request_


@pytest.mark.parametrize("said", ORDINARY)
def test_an_ordinary_report_is_no_request(requests: Requests, said: str) -> None:
    assert requests.request(said) == ""


@pytest.mark.parametrize("name", library.shipped())
def test_the_phrases_of_procedures_are_hardly_ever_requests(requests: Requests, name: str) -> None:
    phrases = procedure(name).phrases
    taken = {phrase: request for phrase in phrases if (request := requests.request(phrase))}
    assert len(taken) <= 0.02 * len(phrases), taken


def test_a_student_who_talks_of_something_else_asks_nothing(requests: Requests) -> None:
    said = [
        "my bus leaves at nine",
        "it is raining again",
        "that is a beautiful blouse",
        "the weather is awful",
    ]
    assert [requests.request(text) for text in said] == ["", "", "", ""]


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("coach help", True),
        ("help me Coach!", True),
        ("the coaches sing", False),
        ("help me", False),
        ("", False),
    ],
)
def test_the_name_of_the_coach_is_heard(text: str, named: bool) -> None:
    assert is_addressed(text) is named

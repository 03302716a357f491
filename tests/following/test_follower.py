"""The follower itself: a step that is reported once more, and words that are not those of the phrases."""

from __future__ import annotations

import pytest

from tests.narrated import PAUSE, procedure, utterance
from voicecoach.events import Heard, Word
from voicecoach.following import follower as following
from voicecoach.following.follower import Finding, Follower, Repeat, Report
from voicecoach.following.sides import as_written
from voicecoach.procedure.case import Case, draw, fitted

WASHING = (
    "i turn on the water",
    "i wet both hands and my wrists",
    "i put some soap on my hands",
    "i rub up a good lather all over my hands",
)
"""Four steps, each reported plainly."""


def heard(follower: Follower, *texts: str, sure: float = 1.0) -> list[Finding]:
    """What comes of the last of some utterances."""
    found: list[Finding] = []
    now = 0.0
    for number, text in enumerate(texts, start=1):
        said = utterance(number, text, now)
        now = said.end + PAUSE
        found = follower.hear(said)
    return found


@pytest.mark.parametrize(
    "again", ["i rub up a good lather all over my hands", "i scrub my hands again for twenty seconds"]
)
def test_a_step_reported_once_more_is_a_repeat(again: str) -> None:
    (found,) = heard(Follower(procedure("wash-hands")), *WASHING, again)
    assert isinstance(found, Repeat)
    assert (found.step, found.clause.text) == ("lather", again)


@pytest.mark.parametrize(
    "text",
    [
        "i will scrub my hands in a moment",
        "did i scrub my hands",
        "i forgot to scrub my hands",
        "lovely weather today",
        "coach what comes next",
        "i rinse all the soap off under the water",
    ],
)
def test_what_is_no_report_of_a_step_reported_before_is_no_repeat(text: str) -> None:
    found = heard(Follower(procedure("wash-hands")), *WASHING, text)
    assert [one for one in found if isinstance(one, Repeat)] == []


def test_the_first_report_is_no_repeat_and_a_new_one_after_starting_over_neither() -> None:
    follower = Follower(procedure("wash-hands"))
    for _ in range(2):
        (found,) = heard(follower, *WASHING)
        assert isinstance(found, Report)
        follower.start_over()


def test_the_same_action_at_its_own_place_is_a_report_and_no_repeat() -> None:
    follower = Follower(procedure("pulse-breaths"))
    hello = ("hello missus pruitt my name is dana", "i clean my hands with sanitizer")
    pulse = (
        "i find her pulse at the wrist",
        "i count her pulse for a full minute",
        "i write down her pulse rate",
    )
    breaths = ("i count her breaths for a full minute", "i write down her breathing rate")
    (found,) = heard(follower, *hello, *pulse, *breaths, "i clean my hands with sanitizer")
    assert isinstance(found, Report)
    assert found.step == "clean-hands-end"


def test_what_was_not_understood_is_no_repeat() -> None:
    follower = Follower(procedure("wash-hands"))
    heard(follower, *WASHING)
    said = utterance(5, WASHING[-1], 60.0)
    words = tuple(Word(word.text, word.start, word.end, 0.3) for word in said.words)
    found = follower.hear(Heard(said.at, 5, said.start, said.end, words))
    assert found == []


# What was said in a case is compared in the words of the phrases, and reported as it was said.


def in_a_case(number: int = 0, weak: str = "right") -> tuple[Case, Follower]:
    made = procedure("dress-weak-arm")
    case = Case(number, "Mrs. Rutledge", "112", weak)
    return case, Follower(fitted(made, case), written=lambda said: as_written(said, case, made))


DRESSING = {
    "gown-strong-off": "her {strong} arm is out of the old gown",
    "gown-weak-off": "{weak} sleeve off",
    "weak-sleeve": "dressing the {weak} arm first",
    "strong-sleeve": "{strong} arm done",
}
"""Reports in which the side alone tells one step from another."""


@pytest.mark.parametrize("weak", ["left", "right"])
def test_sides_are_followed_by_what_they_are_in_the_case(weak: str) -> None:
    case, follower = in_a_case(weak=weak)
    said = {id: text.format(weak=case.weak, strong=case.strong) for id, text in DRESSING.items()}
    opening = ["hello missus rutledge my name is dana", "i clean my hands", "i close the curtain for privacy"]
    for number in range(1, len(said) + 1):
        follower.start_over()
        found = heard(follower, *opening, *list(said.values())[:number])
        reports = [(one.step, one.clause.text) for one in found if isinstance(one, Report)]
        assert reports == [list(said.items())[number - 1]]


def test_what_is_plain_in_the_words_of_the_phrases_is_plain_in_those_of_a_case() -> None:
    case, follower = in_a_case()
    made = procedure("dress-weak-arm")
    phrases = [phrase for step in made.steps if step.side for phrase in step.say[:8]]
    plain = [Follower(made).is_plain(phrase) for phrase in phrases]
    assert [follower.is_plain(as_written(phrase, case, made)) for phrase in phrases] == plain
    assert 0 < sum(plain) < len(plain)
    assert follower.is_plain("hello missus rutledge")


def test_every_case_of_a_procedure_shares_what_was_learned() -> None:
    made = procedure("dress-weak-arm")
    Follower(made)
    before = following._judge.cache_info().misses
    for number in range(5):
        Follower(fitted(made, draw(made, number)), written=str.lower)
    assert following._judge.cache_info().misses == before

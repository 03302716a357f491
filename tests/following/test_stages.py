"""Sentences that speak of a step and do not report it, and reports that sound like those.

No sentence here stands in the samples that come with voicecoach. Each is said where a student would:
after the steps that come before. A classifier is never right always, so kinds of sentences are judged by
the share that is understood; what must never go wrong stands in tests of its own.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.narrated import utterance
from voicecoach.following.follower import Finding, Follower, Remark, Report, Retraction
from voicecoach.following.samples import samples
from voicecoach.procedure import library

FALSE_REPORTS = 0.15
"""Share of clauses reporting nothing that may be taken for a step."""
FOUND = 0.85
"""Share of reports that must be found."""


def standing(procedure: str, before: str, left_out: str = "") -> Follower:
    """A follower that has heard of the steps before one in the usual order, but for one left out."""
    follower = Follower(library.find(procedure))
    for number, step in enumerate(follower.procedure.steps, 1):
        if step.id == before:
            break
        if step.id != left_out:
            follower.hear(utterance(number, step.say[3], 10.0 * number))
    return follower


def meant(follower: Follower, said: str) -> list[Finding]:
    """What a sentence then means."""
    return follower.hear(utterance(900, said, 1000.0))


def reported(findings: list[Finding]) -> list[str]:
    return [finding.step for finding in findings if isinstance(finding, Report)]


def remarked(findings: list[Finding]) -> list[tuple[str, str]]:
    return [(finding.stage, finding.about) for finding in findings if isinstance(finding, Remark)]


LATER = [
    ("gait-belt-walk", "bed-low", "in a little while i will be putting her shoes on"),
    ("gait-belt-walk", "privacy", "i still need to lock the bed before she gets up"),
    ("bed-to-wheelchair", "chair-place", "the footrests are something i will take care of later"),
    ("blood-pressure", "cuff", "after this i am going to have to write the numbers down"),
    ("drainage-bag", "container", "i must remember to wipe the tube when it is empty"),
    ("dress-weak-arm", "cover", "the buttons are going to wait until both sleeves are on"),
    ("full-ppe", "gown-on", "the goggles are going to go on after the mask"),
    ("gown-gloves", "sleeves", "later on the gown will have to go in the trash"),
    ("mouth-care", "wet-brush", "her tongue i will do once i am finished with the teeth"),
    ("pulse-breaths", "find-pulse", "soon i will have to count her breathing too"),
    ("wash-hands", "wet", "don't let me forget to use a paper towel on the faucet"),
    ("hand-rub", "palms", "my thumbs are going to come later"),
]
UNDONE = [
    ("gait-belt-walk", "lock-wheels", "dizzy", "oh i completely forgot to lock the wheels"),
    ("bed-to-wheelchair", "shoes", "signal", "i did not put her shoes on at all"),
    ("blood-pressure", "wipe-scope", "close-valve", "i never wiped the earpieces"),
    ("drainage-bag", "close-drain", "level", "oops i haven't closed the clamp"),
    ("dress-weak-arm", "privacy", "weak-sleeve", "oh dear i did not close the curtain"),
    ("full-ppe", "mask-on", "gloves-on", "i forgot to put a mask on"),
    ("gown-gloves", "waist-tie", "cuffs", "i never tied the gown at the waist"),
    ("mouth-care", "tongue", "wipe-mouth", "i skipped his tongue"),
    ("wash-hands", "soap", "rinse", "i forgot to use any soap"),
    ("hand-rub", "thumbs", "until-dry", "i did not do my thumbs"),
]
AVOIDING = [
    ("wash-hands", "rinse", "i am careful that i don't touch the sink"),
    ("wash-hands", "dry", "my hands stay away from the basin so they aren't dirty again"),
    ("drainage-bag", "open-drain", "i make sure the tip does not touch the container"),
    ("gown-gloves", "peel-gown", "i am not touching the outside of the gown with my bare hands"),
    ("gown-gloves", "sleeves", "i won't shake the gown"),
]
MISHAPS = [
    ("wash-hands", "rinse", "touch-sink", "oh no my wet hand just bumped against the sink"),
    ("drainage-bag", "close-drain", "tip-touch", "oops the tube just touched the inside of the container"),
    ("gown-gloves", "sleeves", "shake", "oh no i shook out the gown"),
    ("blood-pressure", "deflate", "repump", "oops i pumped the cuff up again while it still had air in it"),
]
CHAT = [
    ("gait-belt-walk", "walk", "my cousin got a new puppy last weekend"),
    ("gait-belt-walk", "bed-low", "did you watch the ball game last night"),
    ("blood-pressure", "cuff", "that is a lovely sweater you have on"),
    ("full-ppe", "gloves-on", "it gets so hot in here in the summer"),
    ("mouth-care", "brush", "i am so nervous about the exam on friday"),
    ("wash-hands", "lather", "the bus was late again this morning"),
    ("hand-rub", "backs", "we are having pizza for dinner tonight"),
    ("fluid-intake", "level", "my teacher said that i talk too fast"),
    ("pulse-breaths", "count-pulse", "i hope it stops raining before i go home"),
    ("dress-weak-arm", "fasten", "your grandson came to visit how nice"),
]
REPORTS = [
    ("gait-belt-walk", "lock-wheels", "so that it won't roll i put the brakes on the bed"),
    ("gait-belt-walk", "shoes", "i don't want you to slip missus marlow so here are your shoes"),
    ("gait-belt-walk", "dizzy", "tell me missus marlow are you feeling dizzy"),
    ("wash-hands", "soap", "now i am taking some soap"),
    ("wash-hands", "wet", "i am going to wet my hands now"),
    ("drainage-bag", "close-drain", "it's all out so i shut the clamp"),
    ("full-ppe", "mask-on", "let me put my mask on over nose and mouth"),
    ("dress-weak-arm", "choice", "which shirt would you like to wear today"),
    ("blood-pressure", "cuff", "you are going to feel the cuff that i wrap around your arm"),
    ("mouth-care", "towel", "here is a towel on your chest so you don't get wet"),
    ("bed-to-wheelchair", "signal", "when i say three you stand up with me alright"),
    ("hand-rub", "thumbs", "i don't skip the thumbs i turn each one in the other palm"),
]


def test_the_sentences_here_are_new() -> None:
    known = samples()
    seen = {*known.chat, *known.later, *known.undone, *known.avoiding, *known.mishap, *known.report}
    rows = (*LATER, *UNDONE, *AVOIDING, *MISHAPS, *CHAT, *REPORTS)
    assert not seen & {row[-1] for row in rows}


def test_what_reports_nothing_is_seldom_taken_for_a_step() -> None:
    followers = [
        (standing(procedure, before), said) for procedure, before, said in (*LATER, *AVOIDING, *CHAT)
    ]
    followers += [(standing(procedure, before, about), said) for procedure, about, before, said in UNDONE]
    followers += [(standing(procedure, before), said) for procedure, before, _, said in MISHAPS]
    taken = {said: steps for follower, said in followers if (steps := reported(meant(follower, said)))}
    assert len(taken) <= FALSE_REPORTS * len(followers), taken


@pytest.mark.parametrize(("procedure", "before", "said"), CHAT)
def test_chat_is_never_a_step_nor_a_remark(procedure: str, before: str, said: str) -> None:
    assert meant(standing(procedure, before), said) == []


@pytest.mark.parametrize(("procedure", "before", "about", "said"), MISHAPS)
def test_a_mishap_is_told_from_a_step(procedure: str, before: str, about: str, said: str) -> None:
    findings = meant(standing(procedure, before), said)
    assert reported(findings) == []
    assert remarked(findings) == [("mishap", about)]


@pytest.mark.parametrize(("procedure", "before", "said"), AVOIDING)
def test_keeping_from_a_mishap_is_none(procedure: str, before: str, said: str) -> None:
    assert "mishap" not in dict(remarked(meant(standing(procedure, before), said)))


def test_a_report_in_the_words_of_another_stage_is_mostly_found() -> None:
    found = {
        said: (step, reported(meant(standing(procedure, step), said))) for procedure, step, said in REPORTS
    }
    missed = {said: (step, steps) for said, (step, steps) in found.items() if steps != [step]}
    assert len(missed) <= (1 - FOUND) * len(REPORTS), missed


def test_what_comes_later_is_known_by_its_step() -> None:
    findings = meant(standing("gait-belt-walk", "bed-low"), "i will put the shoes on her feet later")
    assert remarked(findings) == [("later", "shoes")]


def test_a_report_is_taken_back_when_the_student_says_that_it_was_not_done() -> None:
    follower = standing("gait-belt-walk", "lock-wheels")
    assert reported(meant(follower, "i lock the wheels of the bed")) == ["lock-wheels"]
    findings = meant(follower, "oh no i forgot to lock the wheels of the bed")
    assert [finding.step for finding in findings if isinstance(finding, Retraction)] == ["lock-wheels"]
    assert reported(meant(follower, "now i lock the wheels of the bed")) == ["lock-wheels"]


def test_a_step_announced_and_then_done_is_reported_once_and_then() -> None:
    follower = standing("wash-hands", "soap")
    assert reported(meant(follower, "in a minute i will need some soap")) == []
    assert reported(meant(follower, "okay here is the soap on my hands")) == ["soap"]


def test_the_same_step_told_twice_is_reported_once() -> None:
    follower = standing("wash-hands", "wet")
    assert reported(meant(follower, "i wet my hands under the water")) == ["wet"]
    assert reported(meant(follower, "my hands are wet all over now")) == []


@pytest.mark.parametrize("procedure", ["gait-belt-walk", "pulse-breaths", "gown-gloves", "mouth-care"])
def test_an_action_done_again_is_told_apart_by_where_the_attempt_stands(procedure: str) -> None:
    said = "i clean my hands with hand sanitizer"
    assert reported(meant(standing(procedure, "clean-hands"), said)) == ["clean-hands"]
    assert reported(meant(standing(procedure, "clean-hands-end"), said)) == ["clean-hands-end"]


def test_nothing_heard_means_nothing() -> None:
    assert meant(standing("wash-hands", "soap"), "") == []


def test_words_that_both_opinions_doubt_report_nothing() -> None:
    follower = standing("wash-hands", "soap")
    heard = utterance(901, "i take some soap", 2000.0)
    doubted = tuple(type(word)(word.text, word.start, word.end, 0.1) for word in heard.words)
    assert follower.hear(type(heard)(heard.at, 901, heard.start, heard.end, doubted)) == []
    assert reported(follower.hear(heard)) == ["soap"]


@pytest.mark.parametrize("said", ["oh", "uh and then", "and you", "tango", "expansion"])
def test_a_lone_word_that_the_procedure_does_not_know_reports_nothing(said: str) -> None:
    assert meant(Follower(library.find("mouth-care")), said) == []


def test_what_is_not_understood_reports_no_step_but_makes_what_comes_next_likelier() -> None:
    follower = Follower(library.find("wash-hands"))
    follower.hear(utterance(1, "i turn the water on until it is warm"))
    follower.hear(utterance(2, "i wet my hands and wrists under the water"))
    before = follower.likely()["soap"]
    blurred = utterance(3, "so up in my pond", 10.0)
    words = tuple(replace(word, confidence=0.35) for word in blurred.words)
    assert follower.hear(replace(blurred, words=words)) == []
    assert follower.likely()["soap"] > before + 0.1

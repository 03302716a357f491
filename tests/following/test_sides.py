"""Where a side of the resident is named, and whether it is the right one in the case."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.benchmarks.narrations import read_folder
from tests.narrated import procedure
from voicecoach.following.sides import as_written, mistaken_side, sides
from voicecoach.procedure.case import Case, draw, written
from voicecoach.procedure.model import Step

OWN = Path(__file__).parents[1] / "narrations"
reproducible = settings(derandomize=True, deadline=None, database=None, max_examples=200)

WITH_A_WEAK_SIDE = ("bed-to-wheelchair", "blood-pressure", "dress-weak-arm", "gait-belt-walk")
LEFT = Case(1, "Mrs. Pemberton", "112", "left")
"""The left side is weak."""
RIGHT = Case(2, "Mrs. Rutledge", "113", "right")


def marked(text: str) -> str:
    """The text with the sides that are found in brackets."""
    words = text.split()
    for side in sides(text):
        assert words[side.place].lower().startswith(side.which)
        words[side.place] = f"[{words[side.place]}]"
    return " ".join(words)


@pytest.mark.parametrize(
    "text",
    [
        "i put her [left] arm in the sleeve",
        "now the [right] sleeve",
        "on his weak side the [left]",
        "your [left] leg sir",
        "[left] arm first",
        "it's the [left] one",
        "chair on her [right] side",
        "her weak [left] arm goes in",
        "begin with [left] weak",
        "her [left's] already dressed",
        "the gown comes off the [left] and the [right]",
        "because the [right's] weak",
        "strong is [left] so the chair goes there",
        "missus pemberton's [right] elbow bends",
        "the resident's [left] hand",
        "Her [Left] arm, the weak one.",
        "i start with the [left] arm",
        "one sleeve on the [left]",
        "i walk behind on [left]",
        "the [left] sleeve of the blouse",
        "this [left] arm of yours",
    ],
)
def test_a_side_of_the_resident_is_found(text: str) -> None:
    assert marked(text.replace("[", "").replace("]", "")) == text


@pytest.mark.parametrize(
    "text",
    [
        "",
        "all right",
        "all right arms up",
        "get these on her right now",
        "right away",
        "that's right",
        "right here",
        "the call light i left",
        "what's left",
        "left over",
        "there's just one bare arm left",
        "i left arm and blanket alone",
        "my left hand",
        "with my own right hand",
        "i hold it with the left hand",
        "left side of the bed",
        "the left arm of the chair",
        "turn it to the right",
        "a bit to the left of the buckle",
        "residents' rights",
        "honoring her right to choose",
        "the resident's right to choose",
        "privacy is her right",
        "choosing is her right and keeps her dignity",
        "did i get your name right",
        "i slide it right up to her shoulder",
        "her hand's right beside the bell",
        "i lay her right down on the pillow",
        "left foot rest and right foot rest",
        "left brake on right brake on",
        "left ear tip right ear tip",
        "the bed's been left low",
        "she's left the bed",
        "that's the right person",
        "in the right order",
        "the arm's at the right height",
    ],
)
def test_what_is_no_side_of_the_resident_is_left_alone(text: str) -> None:
    assert sides(text) == ()


@pytest.mark.parametrize(
    ("text", "sure"),
    [
        ("her right hand", True),
        ("the right hand", False),
        ("left arm first", True),
        ("left knee first", False),
        ("the left arm goes round her", True),
        ("my arm's round her and left arm around her back", False),
        ("she holds on with her right", False),
        ("on the left", False),
    ],
)
def test_what_may_be_the_students_own_is_not_sure(text: str, sure: bool) -> None:
    assert [side.sure for side in sides(text)] == [sure]


@given(st.lists(st.sampled_from("left right left's her the my arm side on of i all now is weak".split())))
@reproducible
def test_any_words_can_be_asked_about(words: list[str]) -> None:
    text = " ".join(words)
    found = sides(text)
    assert all(words[side.place].removesuffix("'s") == side.which for side in found)
    assert [side.place for side in found] == sorted({side.place for side in found})
    for step in procedure("dress-weak-arm").steps:
        assert mistaken_side(text, step, LEFT) in (None, ("left", "right"), ("right", "left"))


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("her right arm all right", "her left arm all right"),
        ("hello missus rutledge is your left side weak", "hello missus pemberton is your right side weak"),
        ("mrs rutledge's right sleeve", "mrs pemberton's left sleeve"),
        ("rutledge with an r", "pemberton with an r"),
        ("my left hand holds her elbow", "my left hand holds her elbow"),
        ("Mrs. Rutledge, your Right arm.", "Mrs. pemberton, your left arm."),
        ("her right's in", "her left's in"),
        ("", ""),
    ],
)
def test_what_is_heard_is_put_in_the_words_of_the_phrases(said: str, meant: str) -> None:
    assert as_written(said, RIGHT, procedure("dress-weak-arm")) == meant


@pytest.mark.parametrize("name", WITH_A_WEAK_SIDE)
def test_without_a_case_the_words_stay(name: str) -> None:
    made = procedure(name)
    for phrase in made.phrases:
        assert as_written(phrase, written(made), made) == phrase


@pytest.mark.parametrize("name", WITH_A_WEAK_SIDE)
def test_word_for_word_and_back_again(name: str) -> None:
    made = procedure(name)
    there = replace(written(made), weak=made.weak[1])
    for phrase in made.phrases:
        once = as_written(phrase, there, made)
        assert len(once.split()) == len(phrase.split())
        assert as_written(once, there, made) == phrase


def test_a_procedure_without_residents_or_sides_takes_the_words_as_they_are() -> None:
    made = procedure("dress-weak-arm").model_copy(update={"residents": (), "weak": ()})
    assert (
        as_written("hello missus rutledge your right arm", RIGHT, made)
        == "hello missus rutledge your right arm"
    )


# Contradictions.


def mistaken(text: str, step: str | None, case: Case) -> tuple[str, str] | None:
    made = procedure("dress-weak-arm")
    return mistaken_side(text, made.step(step) if step else None, case)


@pytest.mark.parametrize(
    "text",
    [
        "her weak left arm goes in first",
        "her left is the weak one",
        "the weak arm's on her left",
        "on his weak side the left",
        "your left arm is weak i know",
        "the stroke took her left side",
        "i mind her bad left shoulder",
        "her right side's the strong one",
        "her good right arm comes out",
        "the stroke side is her left",
    ],
)
def test_a_side_that_is_called_weak_or_strong_and_is_not(text: str) -> None:
    named = "left" if "left" in text else "right"
    for step in (None, "greet", "weak-sleeve", "strong-sleeve"):
        assert mistaken(text, step, RIGHT) == (named, "right" if named == "left" else "left")
        assert mistaken(text, step, LEFT) is None


@pytest.mark.parametrize(
    ("text", "step", "right"),
    [
        ("her left arm is in the new sleeve", "weak-sleeve", "right"),
        ("dressing the left arm first", "weak-sleeve", "right"),
        ("left sleeve off", "gown-weak-off", "right"),
        ("the gown comes off the left", "gown-weak-off", "right"),
        ("i hold up her left arm at the elbow", "support", "right"),
        ("her right arm is out of the old gown", "gown-strong-off", "left"),
        ("all right her right arm goes in", "strong-sleeve", "left"),
    ],
)
def test_a_step_done_on_the_other_side(text: str, step: str, right: str) -> None:
    assert mistaken(text, step, RIGHT) == ("left" if right == "right" else "right", right)
    assert mistaken(text, step, LEFT) is None
    assert mistaken(text, None, RIGHT) is None
    assert mistaken(text, "greet", RIGHT) is None, "it is done on no side"


@pytest.mark.parametrize(
    ("text", "step"),
    [
        # both are named, and nobody can tell which is meant
        ("the left arm before the right arm", "weak-sleeve"),
        ("left arm right arm", "strong-sleeve"),
        ("left side's good right side's weak no the left", "weak-sleeve"),
        # what is said of the other side
        ("her left is dressed already so this one goes in", "strong-sleeve"),
        ("she leans to her right while i slide it off", "gown-weak-off"),
        ("her right arm stays out and the other goes in", "weak-sleeve"),
        ("her weak arm goes in while she holds on with her left", "weak-sleeve"),
        # taken back, denied, asked
        ("her left arm no wait", "weak-sleeve"),
        ("not her left arm", "weak-sleeve"),
        ("is your left arm the weak one", "greet"),
        ("which is your weak arm the left", "greet"),
        ("if your left arm is weak tell me", "greet"),
        ("is it the left or the right that's weak", None),
        # the student's own, the chair's, or what is in order
        ("my left hand is under her elbow", "support"),
        ("i hold it with the left hand", "support"),
        ("the right one goes in now", "strong-sleeve"),
        ("left hand under the elbow", "support"),
        ("i stand at the left side of the bed", "support"),
        # said of something else
        ("the weak arm is left for the end", "gown-weak-off"),
        ("her weak arm her left hand in her lap", "gown-weak-off"),
        ("good left arm in", None),
    ],
)
def test_where_it_may_be_meant_in_another_way_nobody_is_accused(text: str, step: str | None) -> None:
    assert mistaken(text, step, RIGHT) is None
    assert mistaken(text, step, LEFT) is None


def test_feet_are_named_in_walking_wherever_they_step() -> None:
    walk = procedure("gait-belt-walk").step("walk")
    assert mistaken_side("step with your left leg", walk, RIGHT) is None
    assert mistaken_side("your left foot sir and lift it", walk, RIGHT) is None
    for text in (
        "i'm on her left side holding the belt",
        "a step behind at your left hip",
        "i'm on your left",
    ):
        assert mistaken_side(text, walk, RIGHT) == ("left", "right")


def test_where_no_side_is_weak_none_is_mistaken() -> None:
    nobody = Case(1, "Mrs. Pemberton", "112", "")
    assert mistaken("her weak left arm", "weak-sleeve", nobody) is None


@pytest.mark.parametrize("name", WITH_A_WEAK_SIDE)
def test_what_is_said_in_a_case_is_no_mistake_there_and_is_one_in_the_other(name: str) -> None:
    """At least a quarter is found: a side in a phrase is often the student's, both, or said of a reason."""
    made = procedure(name)
    here, there = (replace(written(made), weak=weak) for weak in made.weak)
    said = [(phrase, step) for step in made.steps if step.side for phrase in step.say if sides(phrase)]
    accused = [phrase for phrase, step in said if mistaken_side(phrase, step, here)]
    assert accused == []
    found = [phrase for phrase, step in said if mistaken_side(phrase, step, there)]
    assert len(found) >= len(said) / 4


def test_in_narrations_only_those_are_accused_whose_resident_has_another_weak_side() -> None:
    """Narrations were written before there were cases; a few students have made up a weak side themselves."""
    accused = set()
    for narration in read_folder(OWN / "tuned"):
        made = procedure(narration.procedure)
        for clause in narration.clauses:
            steps: list[Step | None] = [made.step(id) for id in clause.steps]
            for step in steps or [None]:
                if mistaken_side(clause.say, step, written(made)):
                    accused.add(clause.say)
    assert accused == {
        "i wheel the chair up to the top end of the bed on his right his better side and aim it at the "
        "footboard",
        "his right is the poor one so i'm there and a bit to the rear gripping",
    }


@pytest.mark.parametrize("name", WITH_A_WEAK_SIDE)
def test_drawn_cases_are_told_from_each_other(name: str) -> None:
    made = procedure(name)
    step = next(step for step in made.steps if step.side)
    for number in range(20):
        case = draw(made, number)
        wanted = case.weak if step.side == "weak" else case.strong
        other = "right" if wanted == "left" else "left"
        assert mistaken_side(f"on her {wanted} side", step, case) is None
        assert mistaken_side(f"on her {other} side", step, case) == (other, wanted)

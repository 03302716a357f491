"""The cases of what comes with voicecoach: its residents, its sides, its true values."""

from __future__ import annotations

import re
from collections import Counter
from itertools import combinations

import pytest
from jellyfish import metaphone
from rapidfuzz.distance import Levenshtein

from tests.procedure.examples import SHIPPED, shipped
from voicecoach.following.names import surname
from voicecoach.following.sides import sides
from voicecoach.hearing.pronunciation import dictionary
from voicecoach.procedure.case import draw, written

FIRST = {
    "bed-to-wheelchair": "Mrs. Farrow",
    "blood-pressure": "Mr. Hadley",
    "drainage-bag": "Mr. Harlan",
    "dress-weak-arm": "Mrs. Pemberton",
    "fluid-intake": "Mr. Corbin",
    "full-ppe": "Mr. Calloway",
    "gait-belt-walk": "Mrs. Marlow",
    "gown-gloves": "Mrs. Bellamy",
    "hand-rub": "Mr. Corbin",
    "mouth-care": "Mr. Ashby",
    "pulse-breaths": "Mrs. Pruitt",
    "wash-hands": "Mr. Benson",
}
"""The resident whom the phrases name."""

SIDES = {
    "bed-to-wheelchair": (("right", "left"), {"chair-place": "strong", "brace": "weak"}),
    "blood-pressure": (("right", "left"), {"arm": "strong", "artery": "strong", "cuff": "strong"}),
    "dress-weak-arm": (
        ("left", "right"),
        {
            "gown-strong-off": "strong",
            "gown-weak-off": "weak",
            "weak-sleeve": "weak",
            "support": "weak",
            "strong-sleeve": "strong",
        },
    ),
    "gait-belt-walk": (("left", "right"), {"walk": "weak"}),
}
"""The sides that may be weak, that which the phrases name first, and what is done on which."""


@pytest.mark.parametrize("id", FIRST)
def test_the_first_resident(id: str) -> None:
    assert shipped(id).residents[0] == FIRST[id]


@pytest.mark.parametrize("id", SHIPPED)
def test_six_residents_of_whom_the_first_is_the_one_that_the_phrases_name(id: str) -> None:
    made = shipped(id)
    assert len(set(made.residents)) == len(made.residents) == 6
    assert "{resident}" in made.scene
    titles = "|".join(("mrs", "missus", "mr", "mister"))
    called = Counter(re.findall(rf"\b(?:{titles}) ([a-z]+)", " ".join(made.phrases)))
    assert called.most_common(1)[0][0] == surname(made.residents[0])
    assert not {surname(other) for other in made.residents[1:]} & {
        word for p in made.phrases for word in p.split()
    }


@pytest.mark.parametrize("id", SHIPPED)
def test_residents_are_titled_as_the_scene_speaks_of_them(id: str) -> None:
    title = "Mrs. " if re.search(r"\b(her|she)\b", shipped(id).scene.lower()) else "Mr. "
    assert all(re.fullmatch(rf"{title}[A-Z][a-z]+", resident) for resident in shipped(id).residents)


# The pronouncing dictionary of Carnegie Mellon, and Metaphone as in jellyfish.
@pytest.mark.parametrize("id", SHIPPED)
def test_the_names_of_residents_are_sure_to_be_heard_and_told_apart(id: str) -> None:
    names = [surname(resident) for resident in shipped(id).residents]
    assert set(names) <= set(dictionary())
    sounds = {name: dictionary()[name][0] for name in names}
    for one, other in combinations(names, 2):
        assert Levenshtein.normalized_similarity(sounds[one], sounds[other]) <= 0.5, (one, other)
    said = {metaphone(word) for id in SHIPPED for word in shipped(id).words if word not in names}
    assert {name for name in names[1:] if metaphone(name) in said} == set()


@pytest.mark.parametrize("id", SHIPPED)
def test_what_is_done_on_which_side(id: str) -> None:
    made = shipped(id)
    weak, done = SIDES.get(id, ((), {}))
    assert made.weak == weak
    assert {step.id: step.side for step in made.steps if step.side} == done
    assert ("{weak}" in made.scene) is bool(weak)


@pytest.mark.parametrize("id", SIDES)
def test_phrases_name_the_first_weak_side(id: str) -> None:
    """A few students of the phrases have a resident whose other side is weak."""
    made, case = shipped(id), written(shipped(id))
    right = wrong = 0
    for step in made.steps:
        for phrase in step.say if step.side else ():
            named = {side.which for side in sides(phrase) if side.sure}
            right += named == {getattr(case, step.side or "")}
            wrong += named == {getattr(case, "strong" if step.side == "weak" else "weak")}
    assert right >= 4
    assert wrong <= right / 6


@pytest.mark.parametrize("id", SHIPPED)
def test_nothing_but_the_phrases_names_a_side_or_a_resident(id: str) -> None:
    """What the coach says and the page shows must be true in every case."""
    made = shipped(id)
    told = [made.title, made.scene, *made.cautions]
    told += [text for action in made.actions for text in (action.do, action.why)]
    told += [step.cue.of(strength) for step in made.steps for strength in (1, 2, 3)]
    told += [avoid.cue for avoid in made.avoid]
    for text in told:
        assert sides(text) == (), text
        assert not {surname(resident) for resident in made.residents} & set(
            re.findall("[a-z]+", text.lower())
        ), text


# Adults at rest: pulse 60 to 100 a minute, breaths 12 to 18 a minute, blood pressure 90/60 to 120/80 mmHg.
# NLM, MedlinePlus, Vital signs (reviewed 2023). Verified in the source's text.
PUBLISHED = {
    "beats/min": ((60, 100),),
    "breaths/min": ((12, 18),),
    "mmHg": ((90, 120), (60, 80)),
}


def test_true_values_are_those_of_an_adult_at_rest() -> None:
    bound = set()
    for id in SHIPPED:
        for step in shipped(id).steps:
            reading = step.reading
            if reading is None or reading.truth is None or reading.unit not in PUBLISHED:
                continue
            assert reading.truth.source.startswith("NLM, MedlinePlus, Vital signs")
            bound.add(reading.unit)
            for number in range(200):
                values = draw(shipped(id), number).values[step.id]
                for value, (least, most) in zip(values, PUBLISHED[reading.unit], strict=True):
                    assert least <= value <= most, (id, step.id)
    assert bound == set(PUBLISHED)


def test_every_reading_has_a_true_value() -> None:
    readings = [step.reading for id in SHIPPED for step in shipped(id).steps if step.reading]
    assert all(reading.truth for reading in readings)

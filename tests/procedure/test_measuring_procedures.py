"""The procedures in which something is measured: a weight, a temperature, a meal, the fluids of a shift.

How far a source was verified stands beside it, as in test_standards.py.
"""

from __future__ import annotations

import itertools
import re
from functools import cache

import pytest

from tests.narrated import utterance
from voicecoach.following.follower import Follower, Report
from voicecoach.hearing.pronunciation import without_pronunciation
from voicecoach.procedure import library
from voicecoach.procedure.case import draw
from voicecoach.procedure.loading import advice, load
from voicecoach.procedure.model import Procedure, Reading, Step, Truth
from voicecoach.procedure.order import needs

OUTLINES = {
    "weigh-standing": """
        greet
        clean-hands : critical
        shoes : critical
        lighten
        zero : critical
        step-on < shoes zero
        stand-free < step-on
        read < lighten stand-free : critical
        step-off < read
        record < read : critical
        call-light
        clean-hands-end < step-off : critical again=clean-hands
    """,
    "temperature": """
        greet
        ask-recent
        clean-hands : critical
        turn-on
        cover < clean-hands : critical
        under-tongue < turn-on cover : critical
        lips < under-tongue
        wait-beep < under-tongue : critical
        read < wait-beep : critical
        discard-cover < wait-beep
        record < read : critical
        clean-hands-end < discard-cover : critical again=clean-hands
    """,
    "meal-intake": """
        check-tray
        finished
        served
        look-plate < finished : critical
        meal-share < served look-plate : critical
        look-cups < finished : critical
        add-drinks < served look-cups
        record-meal < meal-share : critical
        record-fluid < add-drinks : critical
        report < meal-share
        upright
        clean-hands-end < look-plate look-cups : critical
    """,
    "fluid-balance": """
        check-sheet
        entries
        ask-missing
        milliliters
        subtract < entries
        add-in < subtract : critical
        add-out < entries : critical
        balance < add-in add-out : critical
        record < balance : critical
        report < balance
        clean-hands-end < entries : critical
    """,
}
"""A line for each step, in the usual order: its id, `<` what it must come after, `:` what else it is."""

READINGS: dict[tuple[str, str], tuple[str, tuple[str, ...], float, str, str]] = {
    ("weigh-standing", "record"): ("lb", ("kg",), 2, "display", "read"),
    ("temperature", "record"): ("degF", ("degC",), 0.2, "display", "read"),
    ("meal-intake", "record-meal"): ("%", (), 10, "items", "look-plate"),
    ("meal-intake", "record-fluid"): ("mL", (), 30, "items", "look-cups"),
    ("fluid-balance", "record"): ("mL", (), 30, "items", "entries"),
}
"""Unit, other units, how far off it may be, as what the student finds it, and at which step."""

AVOIDED = {
    "weigh-standing": {"hold-on": "read"},
    "temperature": {"early-out": "wait-beep", "touch-cover": "clean-hands-end"},
    "meal-intake": {"cleared": "look-plate"},
    "fluid-balance": {"guess": "ask-missing"},
}
"""What must not happen, and the step that mends it."""

SAID = {
    "weigh-standing": {
        "greet": "good morning missus sutton my name is carla and i would like to check your weight",
        "clean-hands": "i use some sanitizer on my hands and let it dry",
        "shoes": "she already has her tennis shoes on so she will not slip",
        "lighten": "i take her jacket and lay it over the chair",
        "zero": "i switch on the scale and make sure the display reads zero",
        "step-on": "i support her by the arm while she gets up onto the scale",
        "stand-free": "i tell her to keep still and not to grab the handrail",
        "read": "now i look at the display and her weight is one forty eight",
        "step-off": "i help her get back down and she takes a seat",
        "record": "i enter her weight on the chart in pounds",
        "call-light": "i hand her the call button so she can ring for us",
        "clean-hands-end": "last i sanitize my hands once more",
    },
    "temperature": {
        "greet": "hello mister bishop i am lena and i am going to check your temperature now",
        "ask-recent": "i ask him if he had a hot drink or a cigarette just now",
        "clean-hands": "i wash my hands with warm water and soap",
        "turn-on": "i press the button so the thermometer comes on",
        "cover": "i slip a disposable cover over the end of the thermometer",
        "under-tongue": "he lifts his tongue and i place the probe under it",
        "lips": "i have him close his mouth gently and not bite it",
        "wait-beep": "i hold it in place until the beep sounds",
        "read": "i take the thermometer out and it shows ninety eight point two",
        "discard-cover": "the used cover drops straight into the trash",
        "record": "i write the temperature on his chart together with the time",
        "clean-hands-end": "when all is done i clean my hands with gel",
    },
    "meal-intake": {
        "check-tray": "i read the card on her tray to be sure it is missus hensley",
        "finished": "i ask missus hensley if she is finished with her lunch or wants some more",
        "served": "at the start there was fish with rice and carrots and three full cups",
        "look-plate": "half of the rice and nearly all of the carrots are still on the plate",
        "meal-share": "so she ate about sixty percent of the whole meal",
        "look-cups": "i crouch down to see how much coffee is left in the cup",
        "add-drinks": "i add the milk and the juice she drank and get two hundred and ten",
        "record-meal": "i note sixty percent for lunch on the meal sheet",
        "record-fluid": "i write two hundred and ten milliliters on the intake form",
        "report": "i let the charge nurse know that she left much of her food",
        "upright": "i leave her sitting upright in the chair for thirty minutes",
        "clean-hands-end": "after handling the tray i wash my hands",
    },
    "fluid-balance": {
        "check-sheet": "i make sure the name and today's date are on the sheet",
        "entries": "i read through all the drinks and outputs that are written down",
        "ask-missing": "i ask mister granger whether he drank anything that is not on the sheet",
        "milliliters": "i make sure all the amounts are in milliliters and not ounces",
        "subtract": "for every drink i take away what was left in the cup",
        "add-in": "i add up all he drank and the intake is seven hundred and fifty",
        "add-out": "the urine and the vomit together give an output of five hundred",
        "balance": "seven fifty minus five hundred leaves a balance of plus two fifty",
        "record": "i write the balance of plus two fifty on his sheet",
        "report": "i go and tell the nurse what the balance is",
        "clean-hands-end": "before i leave i clean my hands with some gel",
    },
}
"""A plain sentence for each step, written before any was tried; no phrase was written from them."""
FOLLOWED = 0.9
"""Share of them that must be followed as their step."""

CASES = range(400)
EVERY = pytest.mark.parametrize("id", OUTLINES)


@cache
def measuring(id: str) -> Procedure:
    return load(library.folder() / f"{id}.yaml")


def _line(step: Step) -> str:
    marks = [mark for mark in ("critical", "first", "last") if getattr(step, mark)]
    marks += [f"again={step.again}"] if step.again else []
    after = f" < {' '.join(step.after)}" if step.after else ""
    return step.id + after + (f" : {' '.join(marks)}" if marks else "")


def reading(id: str, step: str) -> Reading:
    found = measuring(id).step(step).reading
    assert found is not None
    return found


def truth(id: str, step: str) -> Truth:
    found = reading(id, step).truth
    assert found is not None
    return found


def drawn(id: str, step: str) -> list[float]:
    """The true value in each of many cases."""
    return [draw(measuring(id), number).values[step][0] for number in CASES]


@EVERY
def test_there_is_no_fault_and_nothing_to_advise(id: str) -> None:
    made = measuring(id)
    assert advice(made) == ()
    assert without_pronunciation(made.words, made.pronounce) == []
    assert all(len(step.say) >= 30 for step in made.steps)
    assert all(re.fullmatch("[a-z' ]+", phrase) for phrase in made.phrases)


@EVERY
def test_the_steps_and_what_they_come_after(id: str) -> None:
    expected = [line.strip() for line in OUTLINES[id].strip().splitlines()]
    assert [_line(step) for step in measuring(id).steps] == expected
    assert {avoid.id: avoid.remedy for avoid in measuring(id).avoid} == AVOIDED[id]


def test_only_telling_the_nurse_of_a_poor_meal_is_bound_to_a_case() -> None:
    bound = {(id, step.id): step.when for id in OUTLINES for step in measuring(id).steps if step.when}
    assert bound == {("meal-intake", "report"): "she left a quarter of the meal or more"}


@EVERY
def test_what_is_read_and_where_it_is_found(id: str) -> None:
    found = {
        (id, step.id): (made.unit, made.also, made.within, made.truth.shown, made.truth.at)
        for step in measuring(id).steps
        if (made := step.reading) and made.truth
    }
    assert found == {place: what for place, what in READINGS.items() if place[0] == id}


@pytest.mark.parametrize(("id", "step"), READINGS)
def test_a_value_is_found_before_it_is_recorded(id: str, step: str) -> None:
    table = needs(measuring(id))
    known = {truth(id, step).at, *filter(None, [truth(id, step).served_at])}
    before: set[str] = set()
    waiting = [step]
    while waiting:
        waiting += [need for need in table[waiting.pop()] if need not in before]
        before |= set(waiting)
    assert known <= before


@EVERY
def test_six_residents_who_fit_the_scene(id: str) -> None:
    made = measuring(id)
    title, pronoun = ("Mr. ", " his ") if made.residents[0].startswith("Mr. ") else ("Mrs. ", " her ")
    assert len(set(made.residents)) == 6
    assert all(resident.startswith(title) for resident in made.residents)
    assert "{resident}" in made.scene
    assert pronoun in made.scene
    spoken = made.residents[0].replace("Mr.", "mister").replace("Mrs.", "missus").lower()
    assert any(spoken in phrase for phrase in made.phrases), "the phrases name the first"


# 42 CFR 483.152(b)(2)(i)-(ii) and (b)(3)(v)-(vi), CMS: vital signs, height and weight, eating. Verified.
@pytest.mark.parametrize(
    ("id", "step", "paragraph"),
    [
        ("weigh-standing", "read", "483.152(b)(2)(ii)"),
        ("weigh-standing", "record", "483.152(b)(2)(ii)"),
        ("temperature", "read", "483.152(b)(2)(i)"),
        ("temperature", "record", "483.152(b)(2)(i)"),
        ("meal-intake", "record-meal", "483.152(b)(3)(v)-(vi)"),
        ("meal-intake", "record-fluid", "483.152(b)(3)(v)-(vi)"),
    ],
)
def test_areas_of_the_federal_curriculum(id: str, step: str, paragraph: str) -> None:
    assert paragraph in measuring(id).step(step).source


# CDC, Clinical Safety, Hand Hygiene for Healthcare Workers: just before touching a patient, after touching
# a patient or the patient's surroundings. Verified.
@EVERY
def test_hands_are_cleaned_when_cdc_says(id: str) -> None:
    cleaned = [step for step in measuring(id).steps if step.id.startswith("clean-hands")]
    touched = id in ("weigh-standing", "temperature")
    assert [step.id for step in cleaned] == [*["clean-hands"] * touched, "clean-hands-end"]
    for step in cleaned:
        assert step.critical
        assert step.source.startswith("CDC, Clinical Safety: Hand Hygiene for Healthcare Workers")


# NLM, MedlinePlus, Vital signs: 97.8 to 99.1 F, 36.5 to 37.3 C. Verified.
def test_temperatures_lie_in_the_range_of_medlineplus() -> None:
    values = drawn("temperature", "record")
    assert all(97.8 <= value <= 99.1 for value in values)
    # C = (F - 32) / 1.8: NIST SP 811. Memory; 98.6 F = 37.0 C by hand.
    assert all(36.5 <= round((value - 32) / 1.8, 1) <= 37.3 for value in values)
    assert all(round(10 * value) == pytest.approx(10 * value) for value in values)
    assert len(set(values)) > 10
    assert truth("temperature", "record").source.startswith("NLM, MedlinePlus, Vital signs")


# Common practice, no source: 110 to 220 lb, two pounds off. 1 kg = 2.20462 lb: 16 CFR 500.19(a). Verified.
def test_weights_are_what_a_display_shows_and_a_rounded_kilogram_is_near_enough() -> None:
    values = drawn("weigh-standing", "record")
    assert all(110 <= value <= 220 for value in values)
    assert all(round(5 * value) == pytest.approx(5 * value) for value in values)
    assert len(set(values)) > 100
    within = reading("weigh-standing", "record").within
    assert all(abs(round(value / 2.20462) * 2.20462 - value) <= within for value in values)


# Share eaten = eaten / served x 100: a state dietetic academy's worksheet, 2014, facts only. Verified.
# Charting in quarters and ten percent off: common practice, no source.
def test_who_charts_a_meal_in_quarters_is_never_too_far_off() -> None:
    items = truth("meal-intake", "record-meal").items
    assert sum(item.holds for item in items) == pytest.approx(1)
    assert all(item.kind == "dish" and item.left == (0, 1) for item in items)
    quarters = (0.0, 0.25, 0.5, 0.75, 1.0)
    every = {
        round(100 * sum(item.holds * (1 - left) for item, left in zip(items, lefts, strict=True)), 6)
        for lefts in itertools.product(quarters, repeat=len(items))
    }
    assert {round(value, 6) for value in drawn("meal-intake", "record-meal")} <= every
    within = reading("meal-intake", "record-meal").within
    worst = max(min(abs(value - 100 * quarter) for quarter in quarters) for value in every)
    assert worst == within == 10


# 21 CFR 101.9(b)(5)(viii), FDA: a cup is 240 mL, a fluid ounce 30 mL. Verified.
def test_cups_hold_whole_ounces_and_so_does_what_is_left() -> None:
    made = truth("meal-intake", "record-fluid")
    assert "21 CFR 101.9(b)(5)(viii)" in made.source
    assert made.grain == 30
    assert max(item.holds for item in made.items) == 240
    assert all(amount % 30 == 0 for item in made.items for amount in (item.holds, *item.left))
    values = drawn("meal-intake", "record-fluid")
    assert all(value % 30 == 0 and 0 <= value <= 540 for value in values)
    assert "30 milliliters to the fluid ounce" in measuring("meal-intake").step("add-drinks").source


# Intake of one item = served minus left; balance = intake minus output. Arithmetic.
def test_a_balance_is_what_went_in_less_what_came_out_on_either_side_of_zero() -> None:
    made = measuring("fluid-balance")
    values = []
    for number in CASES:
        case = draw(made, number)
        shares = case.shares["record"]
        drunk = sum(share.served - share.left for share in shares if share.kind == "drink")
        output = sum(share.left for share in shares if share.kind == "output")
        assert case.values["record"][0] == pytest.approx(drunk - output)
        values.append(drunk - output)
    assert sum(value > 30 for value in values) > 100
    assert sum(value < -30 for value in values) > 20
    items = truth("fluid-balance", "record").items
    least = sum(i.holds - i.left[1] if i.kind == "drink" else -i.left[1] for i in items)
    most = sum(i.holds - i.left[0] if i.kind == "drink" else -i.left[0] for i in items)
    sense = reading("fluid-balance", "record").sense
    assert sense is not None
    assert sense[0] <= least < 0 < most <= sense[1]


# NLM, MedlinePlus, Swallowing problems: upright 30 to 45 minutes after a meal. Restated: hospital copies.
def test_after_a_meal_the_resident_stays_upright() -> None:
    upright = measuring("meal-intake").step("upright")
    assert "MedlinePlus, Swallowing problems" in upright.source
    assert "half an hour" in upright.cue.step


def _followed(id: str, step: str, said: str) -> list[str]:
    """What a sentence is followed as once the steps before have been said in the usual order."""
    follower = Follower(measuring(id))
    for number, before in enumerate(follower.procedure.steps, 1):
        if before.id == step:
            break
        follower.hear(utterance(number, before.say[3], 10.0 * number))
    findings = follower.hear(utterance(900, said, 1000.0))
    return [finding.step for finding in findings if isinstance(finding, Report)]


@EVERY
def test_each_step_has_a_sentence_that_is_none_of_the_phrases(id: str) -> None:
    assert list(SAID[id]) == [step.id for step in measuring(id).steps]
    assert not set(SAID[id].values()) & set(measuring(id).phrases)


def test_plain_sentences_are_followed_as_their_steps() -> None:
    wrong = {
        (id, step): found
        for id, sentences in SAID.items()
        for step, said in sentences.items()
        if (found := _followed(id, step, said)) != [step]
    }
    count = sum(map(len, SAID.values()))
    assert 1 - len(wrong) / count >= FOLLOWED, wrong

"""The shipped orders, times and rules against published sources, each named beside its check.

How far a source was verified stands beside it too. `verified`: the source's own words, or a word-for-word
copy, were read. `restated`: somebody else's restatement or reprint was read. `memory`: written without
seeing a text. `common practice`: no source. Local rules and facility policy come before all of these.
"""

from __future__ import annotations

import itertools

import networkx as nx
import pytest

from tests.procedure.examples import SHIPPED, graph, out_of_order, required, shipped
from voicecoach.procedure.order import needs

ON = ("clean-hands", "gown-on", "mask-on", "eyes-on", "gloves-on")
OFF = ("gloves-off", "eyes-off", "gown-off", "mask-off")


def _accepted(id: str, steps: tuple[str, ...]) -> set[tuple[str, ...]]:
    """The orders of these steps that occur in orders of the whole procedure without any fault."""
    made = shipped(id)
    bound = nx.transitive_closure(graph(needs(made))).subgraph(steps)
    by_networkx = {tuple(order) for order in nx.all_topological_sorts(bound)}
    directly = {order for order in itertools.permutations(steps) if not out_of_order(made, *order)}
    assert by_networkx <= directly
    return by_networkx


# CDC, Sequence for Putting On PPE (poster; COVID card 2020): gown, mask or respirator, goggles or face
# shield, gloves. Restated: a journal table and training pages citing CDC.
def test_protective_equipment_goes_on_in_the_one_published_order() -> None:
    assert _accepted("full-ppe", ON) == {ON}
    for wrong in itertools.permutations(ON):
        assert (wrong == ON) is not bool(out_of_order(shipped("full-ppe"), *wrong))


# CDC, How to Safely Remove PPE, example 1: gloves, goggles or shield, gown, mask or respirator. Restated:
# a press report of 2014 and training pages citing CDC.
EXAMPLE_1 = ("gloves-off", "eyes-off", "gown-off", "mask-off")
# CDC, COVID-19 PPE card, 2020: gloves, gown, leave the room, clean hands, eye protection, mask or
# respirator, clean hands. Restated: a journal table citing CDC. Its first cleaning of hands is no step here.
CARD_2020 = ("gloves-off", "gown-off", "eyes-off", "mask-off")


def test_protective_equipment_comes_off_in_either_published_order_and_no_other() -> None:
    assert _accepted("full-ppe", OFF) == {EXAMPLE_1, CARD_2020}


@pytest.mark.parametrize(
    "off",
    [
        (*EXAMPLE_1, "leave-room"),
        ("gloves-off", "eyes-off", "gown-off", "leave-room", "mask-off"),
        ("gloves-off", "gown-off", "leave-room", "eyes-off", "mask-off"),
        # CDC, How to Safely Remove PPE, example 2: gown and gloves together, goggles, mask. Memory.
        ("gloves-off+gown-off", "eyes-off", "mask-off", "leave-room"),
    ],
)
def test_whole_published_sequences(off: tuple[str, ...]) -> None:
    whole = (*ON, *off, "clean-hands-end")
    assert out_of_order(shipped("full-ppe"), *whole) == ()
    assert {step for moment in whole for step in moment.split("+")} == {
        s.id for s in shipped("full-ppe").steps
    }


# CDC, both posters: hands are cleaned after the last item, and at once where they get contaminated; the
# outsides of gloves, gown, goggles and mask count as contaminated. Restated.
@pytest.mark.parametrize("id", ["full-ppe", "gown-gloves"])
def test_hands_are_cleaned_last(id: str) -> None:
    end = shipped(id).step("clean-hands-end")
    assert end.critical
    assert required(shipped(id), end.id) == {step.id for step in shipped(id).steps} - {end.id}


def test_touching_what_is_contaminated_is_mended_by_cleaning_the_hands() -> None:
    assert shipped("full-ppe").avoided("mask-front").remedy == "clean-hands-end"
    assert shipped("gown-gloves").avoided("touch-outside").remedy == "clean-hands-end"


# CDC, Sequence for Putting On PPE: gown fastened at neck and waist, gloves pulled over its cuffs; How to
# Safely Remove PPE, example 1: gloves before gown; ties undone, then away from the shoulders, turned inside
# out, rolled. Restated.
def test_gown_and_gloves() -> None:
    on = ("unfold", "sleeves", "neck-tie", "waist-tie", "gloves-on", "cuffs")
    off = ("gloves-off", "untie", "peel-gown", "roll-gown", "gown-bin")
    # neck or waist first: the poster names both and orders neither
    swapped = ("unfold", "sleeves", "waist-tie", "neck-tie", "gloves-on", "cuffs")
    assert _accepted("gown-gloves", on) == {on, swapped}
    assert _accepted("gown-gloves", off) == {off}
    assert set(on) <= required(shipped("gown-gloves"), "gloves-off")
    for step in ("waist-tie", "gloves-on", "cuffs", "gloves-off", "peel-gown"):
        assert shipped("gown-gloves").step(step).critical


# CDC, Clinical Safety: Hand Hygiene for Healthcare Workers: hands are cleaned just after gloves come off.
# Verified. 29 CFR 1910.1030(d)(2)(v), OSHA: at once or as soon as feasible. Verified.
@pytest.mark.parametrize("id", [id for id in SHIPPED if any(s.id == "gloves-off" for s in shipped(id).steps)])
def test_hands_are_cleaned_after_gloves(id: str) -> None:
    end = shipped(id).step("clean-hands-end")
    assert end.critical
    assert "gloves-off" in required(shipped(id), end.id)


# CDC, the same page: hands are cleaned just before touching a patient. Verified.
@pytest.mark.parametrize("id", [id for id in SHIPPED if any(s.id == "greet" for s in shipped(id).steps)])
def test_hands_are_cleaned_at_the_bedside(id: str) -> None:
    assert shipped(id).step("clean-hands").critical
    assert shipped(id).step("clean-hands-end").again == "clean-hands"


# CDC, Handwashing Instructions, January 2009: wet, soap and lather, scrub, rinse, dry; 20 seconds. Verified:
# archived federal page. Backs, between fingers, under nails: CDC, wording of 2019-2020. Restated.
def test_hand_washing_follows_cdc() -> None:
    order = ("wet", "soap", "lather", "rinse", "dry")
    made = shipped("wash-hands")
    assert _accepted("wash-hands", order) == {order}
    assert all(made.step(id).critical for id in order)
    lather = made.step("lather")
    assert lather.time is not None
    assert (lather.time.at_least, lather.time.from_) == (20, None)
    assert all(place in lather.do for place in ("backs", "between the fingers", "thumbs"))
    assert "nails" in required(made, "rinse")
    assert "under the fingernails" in made.step("nails").do


# WHO, How to Handwash, 2009: wet, soap, the rubbing, rinse, dry with a single-use towel, turn the tap off
# with the towel. Restated: a New Zealand government page; a close copy for the tap. CDC, January 2009: tap
# off with the towel if possible. Verified.
def test_hand_washing_follows_who() -> None:
    whole = ("water-on", "wet", "soap", "lather", "nails", "rinse", "dry", "water-off")
    assert out_of_order(shipped("wash-hands"), *whole) == ()
    assert "rinse" in required(shipped("wash-hands"), "water-off")
    assert "towel" in shipped("wash-hands").step("water-off").do


# WHO, How to Handrub, 2009: a palmful; palm to palm; palm over back with fingers laced; palm to palm with
# fingers laced; backs of fingers to opposite palms; thumbs; fingertips; done when dry; 20-30 s in all.
# Restated: NHS Scotland, National Infection Prevention and Control Manual, appendix 2. The poster's fourth
# rub, the backs of the fingers, is no step of its own: what is said of knuckles speaks for `backs`.
WHO_RUBS = ("palms", "backs", "between", "thumbs", "tips")


def test_hand_rub_follows_who() -> None:
    made = shipped("hand-rub")
    assert out_of_order(made, "inspect", "palmful", *WHO_RUBS, "until-dry") == ()
    assert set(needs(made)["until-dry"]) == set(WHO_RUBS)
    assert all("palmful" in required(made, rub) for rub in WHO_RUBS)
    assert any("knuckle" in phrase for phrase in made.step("backs").say)
    dry = made.step("until-dry")
    assert dry.time is not None
    assert 20 <= dry.time.at_least <= 30
    assert dry.time.from_ == "palmful", "the poster's time is that of the whole rub"
    assert dry.critical
    assert made.step("palmful").critical


# CDC, Safe Healthcare Blog (L. C. McDonald): all surfaces, until dry, around 20 seconds; thumbs, fingertips
# and between the fingers are often missed. Verified.
def test_places_often_missed_are_steps_of_the_hand_rub() -> None:
    assert {"thumbs", "tips", "between"} <= {step.id for step in shipped("hand-rub").steps}
    assert shipped("hand-rub").avoided("wipe-off").remedy == "palmful"


# CDC/HICPAC, Guideline for Prevention of CAUTI 2009, III.B.2.b-c: bag below the bladder at all times and not
# on the floor; spigot not touching the container. Memory; bag below bladder and spigot verified in a pocket
# card taken to be SHEA/IDSA 2008. No splashing when emptying: the same, memory; 29 CFR 1910.1030(d)(2)(xi)
# for blood and such material, verified.
def test_the_drainage_bag_follows_hicpac() -> None:
    made = shipped("drainage-bag")
    touch, low = made.avoided("tip-touch"), made.step("bag-low")
    assert "touch the inside of the container" in touch.do
    assert touch.remedy == "wipe-drain"
    assert low.critical
    assert "below the bladder" in low.do
    assert "off the floor" in low.do
    for action in (touch, low):
        assert action.source == "CDC HICPAC catheter guideline 2009"
    assert "without splashing" in made.step("empty-container").do


# AHRQ Safety Program for Long-Term Care, Catheter Care and Maintenance: hand hygiene and gloves right before
# emptying the bag; gloves off and hand hygiene right after. Verified.
def test_hands_and_gloves_round_the_emptying() -> None:
    order = ("clean-hands", "gloves-on", "open-drain", "close-drain", "gloves-off", "clean-hands-end")
    assert _accepted("drainage-bag", order) == {order}


# Brakes on, footrests away, non-skid shoes, bed low so that feet touch the floor, belt: NLM, MedlinePlus,
# Moving a patient from bed to a wheelchair. Restated: hospital copies. Wheels of bed and wheelchair locked,
# bed low, footwear: University of Nebraska Medical Center, Universal Interventions to Reduce Fall Risk.
# Verified.
@pytest.mark.parametrize(
    ("id", "before"),
    [
        ("gait-belt-walk", ("lock-wheels", "bed-low", "shoes", "sit-edge", "belt")),
        ("bed-to-wheelchair", ("lock-bed", "lock-chair", "bed-low", "shoes", "sit-edge", "belt")),
    ],
)
def test_nobody_stands_before_wheels_bed_and_shoes_are_seen_to(id: str, before: tuple[str, ...]) -> None:
    made = shipped(id)
    assert set(before) <= required(made, "stand")
    assert made.step("stand").critical
    for step in set(before) - {"sit-edge"}:
        assert made.step(step).critical, step
        # said only after standing, each comes too late, if not for standing then for what standing needs
        rest = [other for other in before if other != step]
        assert any(need == step for need, _ in out_of_order(made, *rest, "stand", step)), step


# Weak arm dressed first and undressed last. Common practice, memory.
def test_the_weak_arm_is_dressed_first_and_undressed_last() -> None:
    order = ("gown-strong-off", "gown-weak-off", "weak-sleeve", "strong-sleeve")
    assert _accepted("dress-weak-arm", order) == {order}


# ACC/AHA high blood pressure guideline, 2017, checklist: cuff on the bare upper arm, inflate, let down
# slowly, listen. Restated: pocket edition, table 4. To the nearest 2 mmHg: VA team, Federal
# Practitioner, 2012. Restated. First sound systolic, disappearance diastolic: ACC/AHA, step 4. Memory.
def test_blood_pressure_is_taken_and_recorded_in_order() -> None:
    order = ("arm", "cuff", "earpieces", "close-valve", "deflate", "first-last", "record")
    assert _accepted("blood-pressure", order) == {order}
    reading = shipped("blood-pressure").step("record").reading
    assert reading is not None
    assert (reading.unit, reading.pair, reading.scale) == ("mmHg", True, 2)


# Pulse for 1 minute, or 30 seconds doubled; fingertips: NLM, MedlinePlus, How to take your pulse. Verified.
# Breaths for a full minute without telling the person: common practice, memory.
@pytest.mark.parametrize("id", ["count-pulse", "count-breaths"])
def test_pulse_and_breaths_are_counted_for_a_minute(id: str) -> None:
    step = shipped("pulse-breaths").step(id)
    assert step.time is not None
    assert step.count is not None
    assert step.time.at_least == step.count.for_ == 60
    assert step.critical


# 1 US fluid ounce = 29.5735 mL: 16 CFR 500.19(a), FTC. Verified. 30 mL an ounce in charting: common practice,
# memory; for food labels 21 CFR 101.9(b)(5)(viii), FDA. Verified.
def test_thirty_to_the_ounce_is_within_what_is_allowed() -> None:
    made = shipped("fluid-intake")
    reading = made.step("record").reading
    assert "thirty to the ounce" in made.step("convert").do
    assert made.step("convert").when == "the cups are marked in ounces"
    assert reading is not None
    assert abs(30 * 24 - 29.5735 * 24) <= reading.within, "three cups of eight ounces"


# 42 CFR 483.152(b)(3)(i)-(viii), CMS, the areas of personal care. Verified. A step that is of the area stands
# beside each procedure; toileting and help with drinking are covered in a small part only.
AREAS: dict[str, dict[str, str]] = {
    "(i) bathing": {},
    "(ii) grooming and mouth care": {"mouth-care": "brush"},
    "(iii) dressing": {"dress-weak-arm": "weak-sleeve"},
    "(iv) toileting": {"drainage-bag": "empty-container"},
    "(v) eating and drinking": {"fluid-intake": "full-volume", "meal-intake": "meal-share"},
    "(vi) feeding technique": {},
    "(vii) skin care": {},
    "(viii) transfers, positioning, turning": {"bed-to-wheelchair": "pivot", "gait-belt-walk": "stand"},
}


def test_areas_of_personal_care_as_far_as_they_are_covered() -> None:
    for covering in AREAS.values():
        for id, step in covering.items():
            assert shipped(id).step(step)
    elsewhere = {
        "fluid-balance",
        "temperature",
        "weigh-standing",
        "blood-pressure",
        "full-ppe",
        "gown-gloves",
        "hand-rub",
        "pulse-breaths",
        "wash-hands",
    }
    covering_all = {id for covering in AREAS.values() for id in covering}
    # a new procedure must be put under its area, or under those of (b)(1) and (b)(2): infection, vital signs
    assert covering_all | elsewhere == set(SHIPPED)
    assert not covering_all & elsewhere
    assert "483.152(b)(3)(ii)" in shipped("mouth-care").step("brush").source

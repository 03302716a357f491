"""The shipped orders, times and rules against published sources, each named beside its check.

`verified`: the source's own words were read for these facts; `restated`: somebody else's restatement of it
was read; `memory`: written from memory. Where a source and the class's own rules differ, those come first.
"""

from __future__ import annotations

import pytest

from voicecoach.procedure import library, order


def order_faults(procedure: str, *said: str) -> tuple[tuple[str, str], ...]:
    """What the partial order has against reporting steps in that order."""
    table = order.needs(library.find(procedure))
    assert set(said) <= set(table)
    return order.faults(table, {id: float(place) for place, id in enumerate(said)})


ON = ("clean-hands", "gown-on", "mask-on", "eyes-on", "gloves-on")


@pytest.mark.parametrize(
    "off",
    [
        # CDC, How to Safely Remove PPE, example 1: gloves, goggles, gown, mask, then hands (restated).
        ("gloves-off", "eyes-off", "gown-off", "leave-room", "mask-off", "clean-hands-end"),
        # CDC, COVID-19 PPE card, 2020: gloves, gown, leave the room, eye protection, mask, hands (restated).
        ("gloves-off", "gown-off", "leave-room", "eyes-off", "mask-off", "clean-hands-end"),
    ],
)
def test_both_published_orders_of_taking_off_are_right(off: tuple[str, ...]) -> None:
    # CDC, Sequence for Putting On PPE: gown, mask or respirator, goggles or face shield, gloves (restated).
    assert order_faults("full-ppe", *ON, *off) == ()


@pytest.mark.parametrize(
    ("said", "fault"),
    [
        # CDC, Sequence for Putting On PPE (restated).
        (("clean-hands", "mask-on", "gown-on", "eyes-on", "gloves-on"), ("gown-on", "mask-on")),
        (("clean-hands", "gown-on", "mask-on", "gloves-on", "eyes-on"), ("eyes-on", "gloves-on")),
        # CDC, How to Safely Remove PPE: the mask is last, the gloves are first (restated).
        ((*ON, "gown-off", "gloves-off"), ("gloves-off", "gown-off")),
        ((*ON, "gloves-off", "mask-off", "eyes-off", "gown-off"), ("gown-off", "mask-off")),
        # CDC, the same poster: hands are cleaned after everything is off (restated).
        ((*ON, "gloves-off", "clean-hands-end", "mask-off"), ("mask-off", "clean-hands-end")),
    ],
)
def test_other_orders_of_protective_equipment_are_faults(
    said: tuple[str, ...], fault: tuple[str, str]
) -> None:
    assert fault in order_faults("full-ppe", *said)


def test_gown_before_gloves_and_gloves_off_before_gown() -> None:
    # CDC, Sequence for Putting On PPE and How to Safely Remove PPE, example 1 (restated).
    assert ("waist-tie", "gloves-on") in order_faults("gown-gloves", "gloves-on", "waist-tie")
    assert ("gloves-off", "untie") in order_faults("gown-gloves", "untie", "gloves-off")
    # CDC: hands at once after the last item (restated); 29 CFR 1910.1030(d)(2)(v), OSHA (verified).
    end = library.find("gown-gloves").step("clean-hands-end")
    assert end.critical
    assert end.last


def test_hand_washing_follows_cdc() -> None:
    # CDC, Handwashing Instructions, January 2009: wet, soap, lather and scrub, rinse, dry (verified).
    assert order_faults("wash-hands", "water-on", "wet", "soap", "lather", "nails", "rinse", "dry") == ()
    for earlier, later in [("wet", "soap"), ("soap", "lather"), ("lather", "rinse"), ("rinse", "dry")]:
        assert (earlier, later) in order_faults("wash-hands", later, earlier)
    # The same page: scrub for 20 seconds (verified).
    lather = library.find("wash-hands").step("lather")
    assert lather.time is not None
    assert lather.time.at_least == 20
    # WHO, How to Handwash, 2009: the towel turns off the tap, so that comes after rinsing (restated).
    assert ("rinse", "water-off") in order_faults("wash-hands", "water-off", "rinse")


def test_hand_rub_follows_who() -> None:
    # WHO, How to Handrub, 2009: a palmful, then palms, backs, between the fingers, thumbs and fingertips, until
    # dry; 20 to 30 seconds in all, so that 20 is the least (restated). CDC: around 20 seconds (verified).
    procedure = library.find("hand-rub")
    rubbing = {"palms", "backs", "between", "thumbs", "tips"}
    assert rubbing <= {step.id for step in procedure.steps}
    table = order.needs(procedure)
    assert all("palmful" in table[id] for id in rubbing)
    dry = procedure.step("until-dry")
    assert rubbing <= set(table["until-dry"])
    assert dry.time is not None
    assert (dry.time.at_least, dry.time.from_) == (20, "palmful")
    assert dry.critical
    assert procedure.step("palmful").critical


def test_the_drainage_bag_follows_hicpac() -> None:
    # CDC/HICPAC, Guideline for Prevention of CAUTI 2009, III.B.2: the spigot does not touch the container
    # (memory; verified in a pocket card of like recommendations), the bag hangs below the bladder and not on
    # the floor (memory; the first verified in the card).
    procedure = library.find("drainage-bag")
    touch = procedure.avoided("tip-touch")
    assert touch.remedy == "wipe-drain"
    assert "HICPAC" in touch.source
    low = procedure.step("bag-low")
    assert low.critical
    assert "HICPAC" in low.source
    # AHRQ, Catheter Care and Maintenance: hands and gloves right before emptying, and gloves off and hands
    # right after (verified).
    table = order.needs(procedure)
    assert "clean-hands" in table["gloves-on"]
    assert "gloves-off" in table["clean-hands-end"]


@pytest.mark.parametrize(
    ("procedure", "earlier", "later"),
    [
        # NLM, MedlinePlus, Moving a patient from bed to a wheelchair: brakes on, bed low, shoes, then the belt
        # and standing (restated).
        ("bed-to-wheelchair", "lock-chair", "stand"),
        ("bed-to-wheelchair", "shoes", "stand"),
        ("bed-to-wheelchair", "belt", "stand"),
        ("bed-to-wheelchair", "bed-low", "sit-edge"),
        # OSHA 3182, 2003: the gait belt is on before moving (restated).
        ("gait-belt-walk", "belt", "stand"),
        ("gait-belt-walk", "shoes", "stand"),
        ("gait-belt-walk", "lock-wheels", "sit-edge"),
        # common practice, no source: the weak arm is dressed first and undressed last.
        ("dress-weak-arm", "gown-strong-off", "gown-weak-off"),
        ("dress-weak-arm", "weak-sleeve", "strong-sleeve"),
        # AHA recommendations: cuff over the artery, then inflate, let down slowly, first and last sound (restated).
        ("blood-pressure", "cuff", "close-valve"),
        ("blood-pressure", "close-valve", "deflate"),
        ("blood-pressure", "deflate", "first-last"),
    ],
)
def test_what_must_come_before(procedure: str, earlier: str, later: str) -> None:
    table = order.needs(library.find(procedure))
    reached = {later}
    while more := {need for id in reached for need in table[id]} - reached:
        reached |= more
    assert earlier in reached


def test_a_pulse_is_counted_for_a_minute() -> None:
    # NLM, MedlinePlus, How to take your pulse: 1 minute, or 30 seconds doubled (verified); here the minute.
    for id in ("count-pulse", "count-breaths"):
        step = library.find("pulse-breaths").step(id)
        assert step.time is not None
        assert step.count is not None
        assert step.time.at_least == step.count.for_ == 60


def test_every_area_of_personal_care_so_far() -> None:
    # 42 CFR 483.152(b)(3), CMS (verified): grooming with mouth care (ii), dressing (iii), eating and drinking
    # (v), transfers and positioning (viii). Bathing, toileting, feeding and skin care have no procedure yet.
    assert {"mouth-care", "dress-weak-arm", "fluid-intake", "bed-to-wheelchair"} <= set(library.shipped())

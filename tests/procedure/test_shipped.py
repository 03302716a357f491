"""What comes with voicecoach: every procedure, its steps and their order, and what each step says."""

from __future__ import annotations

import re
from collections import defaultdict
from typing import Any

import pytest

from tests.procedure import test_measuring_procedures as measuring
from tests.procedure.examples import SHIPPED, shipped
from voicecoach.following.normal import telling
from voicecoach.hearing.pronunciation import without_pronunciation
from voicecoach.procedure import library
from voicecoach.procedure.model import Step

OUTLINES = {
    "bed-to-wheelchair": """
        greet
        clean-hands : critical
        privacy
        chair-place
        footrests
        lock-chair < chair-place : critical
        bed-low : critical
        lock-bed : critical
        sit-edge < bed-low lock-bed
        shoes : critical
        belt < sit-edge : critical
        brace < belt
        signal < belt
        stand < belt shoes lock-chair : critical
        pivot < stand
        lower < pivot
        feet-up < lower
        belt-off < lower
        call-light
        clean-hands-end < belt-off : critical again=clean-hands
    """,
    "blood-pressure": """
        greet
        clean-hands : critical
        wipe-scope
        arm < clean-hands : critical
        artery < arm
        cuff < artery : critical
        earpieces < cuff : critical
        close-valve < earpieces
        deflate < close-valve : critical
        first-last < deflate : critical
        release < first-last
        record < first-last : critical
        call-light
        clean-hands-end < release : critical again=clean-hands
    """,
    "drainage-bag": """
        greet
        privacy
        clean-hands : critical
        gloves-on < clean-hands : critical
        barrier < gloves-on
        container < barrier
        open-drain < container : critical
        close-drain < open-drain : critical
        wipe-drain < close-drain
        stow-drain < wipe-drain
        bag-low : critical
        level < close-drain : critical
        empty-container < level
        rinse-container < empty-container
        gloves-off < rinse-container
        clean-hands-end < gloves-off : critical again=clean-hands
        record < level : critical
        call-light
    """,
    "dress-weak-arm": """
        greet
        clean-hands : critical
        privacy : critical
        choice
        cover
        gown-strong-off < privacy
        gown-weak-off < gown-strong-off
        weak-sleeve < gown-weak-off : critical
        support
        strong-sleeve < weak-sleeve : critical
        fasten < strong-sleeve
        bed-low : critical
        call-light
        laundry < gown-weak-off
        clean-hands-end < laundry : critical again=clean-hands
    """,
    "fluid-intake": """
        check-tray
        full-volume
        level : critical
        subtract < full-volume level : critical
        convert
        add-up < subtract
        record < add-up : critical
        clean-hands-end < level : critical last
    """,
    "full-ppe": """
        clean-hands : critical first
        gown-on < clean-hands : critical
        mask-on < gown-on : critical
        eyes-on < mask-on : critical
        gloves-on < eyes-on : critical
        gloves-off < gloves-on : critical
        eyes-off < gloves-off : critical
        gown-off < gloves-off : critical
        leave-room < gown-off
        mask-off < gown-off eyes-off : critical
        clean-hands-end < mask-off : critical last again=clean-hands
    """,
    "gait-belt-walk": """
        greet
        clean-hands : critical
        privacy
        bed-low : critical
        lock-wheels : critical
        shoes : critical
        sit-edge < bed-low lock-wheels
        dizzy < sit-edge
        belt < sit-edge : critical
        belt-check < belt
        signal < belt
        stand < belt shoes : critical
        walk < stand : critical
        sit-back < walk
        call-light : critical
        clean-hands-end < sit-back : critical again=clean-hands
    """,
    "gown-gloves": """
        clean-hands : critical first
        unfold < clean-hands
        sleeves < unfold
        neck-tie < sleeves
        waist-tie < sleeves : critical
        gloves-on < neck-tie waist-tie : critical
        cuffs < gloves-on : critical
        gloves-off < cuffs : critical
        gloves-bin < gloves-off
        rub-hands < gloves-off : again=clean-hands
        untie < gloves-off
        peel-gown < untie : critical
        roll-gown < peel-gown
        gown-bin < roll-gown
        clean-hands-end < gown-bin : critical last again=clean-hands
    """,
    "hand-rub": """
        inspect
        palmful < inspect : critical
        palms < palmful
        backs < palmful
        between < palmful
        thumbs < palmful
        tips < palmful
        until-dry < palms backs between thumbs tips : critical
    """,
    "mouth-care": """
        greet
        clean-hands : critical
        privacy
        upright : critical
        gloves-on < clean-hands : critical
        towel
        wet-brush < gloves-on
        brush < wet-brush upright : critical
        tongue < wet-brush upright
        rinse < brush
        wipe-mouth < rinse
        clean-up < rinse
        gloves-off < clean-up
        clean-hands-end < gloves-off : critical again=clean-hands
        bed-low < brush
        call-light
    """,
    "pulse-breaths": """
        greet
        clean-hands : critical
        rest-arm < clean-hands
        find-pulse < clean-hands : critical
        count-pulse < find-pulse : critical
        record-pulse < count-pulse : critical
        count-breaths < clean-hands : critical
        record-breaths < count-breaths : critical
        call-light
        clean-hands-end < count-pulse count-breaths : critical again=clean-hands
    """,
    "wash-hands": """
        water-on
        wet < water-on : critical
        soap < wet : critical
        lather < soap : critical
        nails < soap
        hands-low < wet
        rinse < lather nails : critical
        dry < rinse : critical
        discard-towel < dry
        water-off < rinse : critical
    """,
}
"""A line for each step, in the usual order: its id, `<` what it must come after, `:` what else it is."""

MEDLINEPLUS = "NLM, MedlinePlus, Vital signs"

DETAILS: dict[tuple[str, str], dict[str, Any]] = {
    ("blood-pressure", "record"): {
        "reading": {
            "quantity": "blood pressure",
            "unit": "mmHg",
            "pair": True,
            "scale": 2,
            "within": 8,
            "truth": {
                "at": "deflate",
                "shown": "sounds",
                "least": [100, 60],
                "most": [120, 80],
                "grain": 2,
                "source": MEDLINEPLUS,
            },
        }
    },
    ("drainage-bag", "record"): {
        "reading": {
            "quantity": "urine output",
            "unit": "mL",
            "scale": 25,
            "between_marks": "up",
            "within": 25,
            "truth": {"at": "level", "shown": "level", "least": [100], "most": [900], "grain": 5},
        }
    },
    ("fluid-intake", "convert"): {"when": "the cups are marked in ounces", "when_ounces": True},
    ("fluid-intake", "record"): {
        "reading": {
            "quantity": "fluid intake",
            "unit": "mL",
            "within": 30,
            "truth": {
                "at": "level",
                "shown": "items",
                "grain": 10,
                "items": [
                    {"of": "water", "holds": 240, "left": [60, 180]},
                    {"of": "juice", "holds": 120, "left": [30, 90]},
                    {"of": "coffee", "holds": 180, "left": [30, 120]},
                ],
                "served_at": "full-volume",
                "ounces": True,
            },
        }
    },
    ("hand-rub", "until-dry"): {"time": {"at_least": 20, "from": "palmful"}},
    ("pulse-breaths", "count-pulse"): {"time": {"at_least": 60}, "count": {"of": "beats", "for": 60}},
    ("pulse-breaths", "record-pulse"): {
        "reading": {
            "quantity": "pulse rate",
            "unit": "beats/min",
            "within": 4,
            "truth": {
                "at": "find-pulse",
                "shown": "beats",
                "least": [60],
                "most": [100],
                "source": MEDLINEPLUS,
            },
        }
    },
    ("pulse-breaths", "count-breaths"): {"time": {"at_least": 60}, "count": {"of": "breaths", "for": 60}},
    ("pulse-breaths", "record-breaths"): {
        "reading": {
            "quantity": "breathing rate",
            "unit": "breaths/min",
            "within": 2,
            "truth": {
                "at": "count-breaths",
                "shown": "breaths",
                "least": [12],
                "most": [18],
                "source": MEDLINEPLUS,
            },
        }
    },
    ("wash-hands", "lather"): {"time": {"at_least": 20}},
}
"""What is timed, counted, read or needed in some cases only: of these steps, and of no other."""

AVOIDED = {
    "blood-pressure": {"repump": "release"},
    "drainage-bag": {"tip-touch": "wipe-drain"},
    "dress-weak-arm": {"pull-arm": None},
    "full-ppe": {"mask-front": "clean-hands-end"},
    "gown-gloves": {"shake": None, "touch-outside": "clean-hands-end"},
    "hand-rub": {"wipe-off": "palmful"},
    "wash-hands": {"touch-sink": "wet"},
}
"""What must not happen, and the step that mends it."""


def _line(step: Step) -> str:
    marks = [mark for mark in ("critical", "first", "last") if getattr(step, mark)]
    marks += [f"again={step.again}"] if step.again else []
    after = f" < {' '.join(step.after)}" if step.after else ""
    return step.id + after + (f" : {' '.join(marks)}" if marks else "")


def test_they_are_all_there() -> None:
    assert library.shipped() == SHIPPED == tuple(sorted(OUTLINES | measuring.OUTLINES))


@pytest.mark.parametrize("id", OUTLINES)
def test_the_steps_and_what_they_come_after(id: str) -> None:
    expected = [line.strip() for line in OUTLINES[id].strip().splitlines()]
    assert [_line(step) for step in shipped(id).steps] == expected


@pytest.mark.parametrize("id", OUTLINES)
def test_times_counts_readings_cases_and_what_to_avoid(id: str) -> None:
    kinds = ("time", "count", "reading", "when", "when_ounces")
    found = {}
    for step in shipped(id).plain()["steps"]:
        if detail := {kind: step[kind] for kind in kinds if kind in step}:
            found[id, step["id"]] = detail
    assert found == {place: detail for place, detail in DETAILS.items() if place[0] == id}
    assert {avoid.id: avoid.remedy for avoid in shipped(id).avoid} == AVOIDED.get(id, {})


@pytest.mark.parametrize("id", SHIPPED)
def test_every_step_may_be_said_in_many_ways(id: str) -> None:
    for step in shipped(id).steps:
        assert len(step.say) >= 10, step.id
        kinds = {frozenset(phrase.split()) for phrase in step.say}
        assert len(kinds) == len(step.say), f"{step.id} has the same words twice"
        lengths = [len(phrase.split()) for phrase in step.say]
        assert min(lengths) <= 4, f"{step.id} has no terse phrase"
        assert max(lengths) >= 8, f"{step.id} has no chatty phrase"
    for avoid in shipped(id).avoid:
        assert len(set(avoid.say)) >= 8, avoid.id


@pytest.mark.parametrize("id", SHIPPED)
def test_cues_reasons_and_sources(id: str) -> None:
    for step in shipped(id).steps:
        strengths = [step.cue.of(strength).lower() for strength in (1, 2, 3)]
        assert len(set(strengths)) == 3, step.id
        assert strengths[0].endswith("?"), step.id
        assert all(cue.endswith((".", "?")) for cue in strengths), step.id
    for action in shipped(id).actions:
        assert len(action.why.split()) >= 4, action.id
        assert "source" in action.model_fields_set, f"{action.id} does not say what its source is"


@pytest.mark.parametrize("id", SHIPPED)
def test_it_may_be_called_by_many_names_in_lower_case_words(id: str) -> None:
    called = shipped(id).called
    assert 8 <= len(set(called)) == len(called) <= 14
    assert all(re.fullmatch("[a-z' ]+", name) for name in called)


def test_no_two_procedures_share_a_name() -> None:
    owners: defaultdict[tuple[str, ...], set[str]] = defaultdict(set)
    for id in SHIPPED:
        for name in shipped(id).called:
            owners[tuple(telling(name))].add(id)
    assert {name: ids for name, ids in owners.items() if len(ids) > 1} == {}


@pytest.mark.parametrize("id", SHIPPED)
def test_every_word_of_every_phrase_has_a_sure_pronunciation(id: str) -> None:
    assert len(shipped(id).words) > 100
    assert without_pronunciation(shipped(id).words, shipped(id).pronounce) == []

"""Loading: what keeps a case from being drawn or told, with its line, its place and its sentence."""

from __future__ import annotations

import pytest

from tests.procedure.examples import changed
from voicecoach.procedure.loading import Faulty, read

TEA = """\
id: tea
title: Make tea
scene: You make tea for {resident}, whose {weak} hand is weak.
residents: [Mrs. Lane, Mrs. Marsh]
weak: [left, right]
steps:
  - id: boil
    do: Boil the water
    side: strong
    why: Tea needs hot water.
    say: [boiling the water]
    cue: {nudge: "What is cold?", hint: Look at the kettle., step: Boil the water.}
  - id: pour
    do: Pour the water on the tea
    after: [boil]
    why: The tea must draw.
    say: [pouring the water]
    cue: {nudge: "What is dry?", hint: Look at the cup., step: Pour the water.}
  - id: measure
    do: Write down how much is in the cup
    after: [pour]
    reading:
      quantity: tea
      unit: mL
      within: 10
      sense: [0, 500]
      truth:
        at: pour
        shown: level
        least: [100]
        most: [200]
    why: Somebody asks for it.
    say: [writing it down]
    cue: {nudge: "What is empty?", hint: Look at the sheet., step: Write it down.}
  - id: double
    do: Turn ounces into milliliters
    when: the cup is marked in ounces
    why: The sheet asks for milliliters.
    say: [turning it into milliliters]
    cue: {nudge: "Which unit?", hint: Look at the sheet., step: Multiply it by thirty.}
"""
"""A procedure in order; `measure` has its truth from line 27 on, and `double` its case in line 37."""
BOUNDS = "        shown: level\n        least: [100]\n        most: [200]\n"
"""Lines 29 to 31."""
ITEMS = "        shown: items\n        items:\n          - {of: tea, holds: 240, left: [30, 90]}\n"
"""The same for what is worked out, lines 29 to 31; the item stands in line 31."""
WEAK = "the sides that may be weak are expected"


def _findings(text: str) -> list[str]:
    with pytest.raises(Faulty) as caught:
        read(text, "tea.yaml")
    return [str(finding) for finding in caught.value.findings]


def _unknown(found: str) -> str:
    return (
        f"3: scene: '{found}' is not known, one of {{resident}}, {{weak}}, {{strong}}, {{room}} is expected"
    )


def _nowhere(id: str) -> str:
    return f"there is no other step {id!r}, the id of another step is expected"


def _truth(key: str) -> str:
    return f"steps.measure.reading.truth.{key}"


@pytest.mark.parametrize(
    "changes",
    [
        [],
        [(BOUNDS, ITEMS)],
        [(BOUNDS, ITEMS + "        ounces: true\n        served_at: boil\n        grain: 30\n")],
        [
            (BOUNDS, ITEMS + "        ounces: true\n"),
            ("ounces\n    why", "ounces\n    when_ounces: true\n    why"),
        ],
        # found where nothing orders it against the recording
        [("    after: [pour]\n", "")],
        [("weak: [left, right]\n", ""), ("    side: strong\n", ""), (", whose {weak} hand is weak", "")],
        [
            ("      unit: mL\n", "      unit: '%'\n"),
            (BOUNDS, ITEMS.replace("240, left: [30, 90]", "1, left: [0, 1], kind: dish")),
        ],
        [("whose {weak} hand is weak", "in room {room}, whose {strong} hand is not weak")],
        [
            ("    within: 10\n", "    within: 10\n      pair: true\n"),
            ("[100]", "[100, 60]"),
            ("[200]", "[120, 80]"),
        ],
    ],
)
def test_cases_in_order(changes: list[tuple[str, str]]) -> None:
    assert read(changed(TEA, *changes), "tea.yaml").id == "tea"


SCENES = {
    "no residents": (
        [("residents: [Mrs. Lane, Mrs. Marsh]\n", "")],
        ["3: scene: {resident} stands here without `residents`, some residents are expected"],
    ),
    "no weak side": (
        [("weak: [left, right]\n", ""), ("    side: strong\n", "")],
        [f"3: scene: {{weak}} stands here without `weak`, {WEAK}"],
    ),
    "no weak side, the strong one named": (
        [("weak: [left, right]\n", ""), ("    side: strong\n", ""), ("{weak}", "{strong}")],
        [f"3: scene: {{strong}} stands here without `weak`, {WEAK}"],
    ),
    "a step with a side": (
        [("weak: [left, right]\n", ""), (", whose {weak} hand is weak", "")],
        [f"8: steps.boil.side: it stands here without `weak`, {WEAK}"],
    ),
    "something unknown in braces": ([("{resident}", "{nurse}")], [_unknown("{nurse}")]),
    "blanks in braces": ([("{resident}", "{ resident }")], [_unknown("{ resident }")]),
    "braces about nothing": ([("{resident}", "{}")], [_unknown("{}")]),
    "a brace not closed": ([("{resident}, whose", "{resident}, {weak whose")], [_unknown("{weak whose ")]),
    "a brace not opened": ([("{resident}", "resident}")], [_unknown("}")]),
}


@pytest.mark.parametrize(("changes", "expected"), SCENES.values(), ids=SCENES.keys())
def test_faults_of_the_scene_and_of_sides(changes: list[tuple[str, str]], expected: list[str]) -> None:
    assert _findings(changed(TEA, *changes)) == [f"tea.yaml:{finding}" for finding in expected]


TRUTHS = {
    "found at no step": ([("at: pour", "at: stir")], [f"28: {_truth('at')}: {_nowhere('stir')}"]),
    "found where it is recorded": (
        [("at: pour", "at: measure")],
        [f"28: {_truth('at')}: {_nowhere('measure')}"],
    ),
    "found after it is recorded": (
        [
            ("    after: [boil]\n", "    after: [double]\n"),
            ("    after: [pour]\n", ""),
            ("    when:", "    after: [measure]\n    when:"),
        ],
        [f"27: {_truth('at')}: pour comes after measure, a step that comes before it is expected"],
    ),
    "found after the first of all, which records it": (
        [("    after: [pour]\n", "    first: true\n")],
        [f"28: {_truth('at')}: pour comes after measure, a step that comes before it is expected"],
    ),
    "served at no step": (
        [(BOUNDS, BOUNDS + "        served_at: fill\n")],
        [f"32: {_truth('served_at')}: {_nowhere('fill')}"],
    ),
    "served after it is recorded": (
        [(BOUNDS, BOUNDS + "        served_at: double\n"), ("    when:", "    after: [measure]\n    when:")],
        [f"32: {_truth('served_at')}: double comes after measure, a step that comes before it is expected"],
    ),
    "no bounds": (
        [("        least: [100]\n        most: [200]\n", "")],
        [
            f"27: {_truth('least')}: [] does not fit, one number is expected",
            f"27: {_truth('most')}: [] does not fit, one number is expected",
        ],
    ),
    "two numbers for one value": (
        [("[200]", "[200, 100]")],
        [f"31: {_truth('most')}: [200, 100] does not fit, one number is expected"],
    ),
    "one number for a pair": (
        [("within: 10", "pair: true\n      within: 10"), ("[200]", "[200, 90]")],
        [f"31: {_truth('least')}: [100] does not fit, two numbers are expected"],
    ),
    "the least above the most": (
        [("[200]", "[99]")],
        [f"30: {_truth('least')}: 100 to 99 does not fit, two numbers in that order are expected"],
    ),
    "no end of it": (
        [("[200]", "[.inf]")],
        [f"30: {_truth('least')}: 100 to inf does not fit, two numbers in that order are expected"],
    ),
    "no number": (
        [("[100]", "[.nan]")],
        [f"30: {_truth('least')}: nan to 200 does not fit, two numbers in that order are expected"],
    ),
    "endlessly much left": (
        [(BOUNDS, ITEMS.replace("90", ".inf"))],
        [f"30: {_truth('items')}: tea: left does not fit, two numbers in order from 0 to 240 are expected"],
    ),
    "the second of a pair above its most": (
        [("within: 10", "pair: true\n      within: 10"), ("[100]", "[100, 91]"), ("[200]", "[200, 90]")],
        [f"31: {_truth('least')}: 91 to 90 does not fit, two numbers in that order are expected"],
    ),
    "nothing to draw": (
        [("[100]", "[101]"), ("[200]", "[103]\n        grain: 5")],
        [f"32: {_truth('grain')}: no multiple of 5 lies from 101 to 103, one is expected"],
    ),
    "items and bounds": (
        [(BOUNDS, ITEMS + "        least: [1]\n")],
        [f"32: {_truth('least')}: [1] does not fit, none beside items is expected"],
    ),
    "items not shown as such": (
        [(BOUNDS, ITEMS.replace("shown: items", "shown: level"))],
        [f"29: {_truth('shown')}: `shown: items` and `items` belong together, both are expected or neither"],
    ),
    "shown as items without any": (
        [("shown: level", "shown: items")],
        [f"27: {_truth('items')}: `shown: items` and `items` belong together, both are expected or neither"],
    ),
    "ounces without cups": (
        [(BOUNDS, BOUNDS + "        ounces: true\n")],
        [
            f"32: {_truth('ounces')}: it stands here without `items`, the cups that may be marked in ounces "
            "are expected"
        ],
    ),
    "more left than was served": (
        [(BOUNDS, ITEMS.replace("90", "250"))],
        [f"30: {_truth('items')}: tea: left does not fit, two numbers in order from 0 to 240 are expected"],
    ),
    "left the wrong way round": (
        [(BOUNDS, ITEMS.replace("[30, 90]", "[90, 30]"))],
        [f"30: {_truth('items')}: tea: left does not fit, two numbers in order from 0 to 240 are expected"],
    ),
    "nothing that may be left": (
        [(BOUNDS, ITEMS.replace("[30, 90]", "[31, 39]") + "        grain: 10\n")],
        [f"30: {_truth('items')}: tea: no multiple of 10 lies from 31 to 39, one is expected"],
    ),
    "no whole ounce that may be left": (
        [(BOUNDS, ITEMS.replace("[30, 90]", "[40, 50]") + "        grain: 10\n        ounces: true\n")],
        [f"30: {_truth('items')}: tea: no multiple of 30 lies from 40 to 50, one is expected"],
    ),
    "a dish in milliliters": (
        [(BOUNDS, ITEMS.replace("240, left: [30, 90]", "1, left: [0, 1], kind: dish"))],
        [f"30: {_truth('items')}: tea: a dish counts in %, and nothing else does"],
    ),
    "a drink in percent": (
        [("unit: mL", "unit: '%'"), (BOUNDS, ITEMS)],
        [f"30: {_truth('items')}: tea: a dish counts in %, and nothing else does"],
    ),
}


@pytest.mark.parametrize(("changes", "expected"), TRUTHS.values(), ids=TRUTHS.keys())
def test_faults_of_a_truth(changes: list[tuple[str, str]], expected: list[str]) -> None:
    assert _findings(changed(TEA, *changes)) == [f"tea.yaml:{finding}" for finding in expected]


OTHERS = {
    "sense the wrong way round": (
        [("sense: [0, 500]", "sense: [500, 0]")],
        [
            "26: steps.measure.reading.sense: the least is not below the most, two numbers in that order are "
            "expected"
        ],
    ),
    "sense without a number": (
        [("sense: [0, 500]", "sense: [.nan, 500]")],
        [
            "26: steps.measure.reading.sense: the least is not below the most, two numbers in that order "
            "are expected"
        ],
    ),
    "sense of one value": (
        [("sense: [0, 500]", "sense: [500, 500]")],
        [
            "26: steps.measure.reading.sense: the least is not below the most, two numbers in that order are "
            "expected"
        ],
    ),
    "ounces never": (
        [("ounces\n    why", "ounces\n    when_ounces: true\n    why")],
        ["38: steps.double.when_ounces: no reading has a truth with `ounces`, one is expected"],
    ),
    "ounces without words for it": (
        [
            ("    when: the cup is marked in ounces\n", "    when_ounces: true\n"),
            (BOUNDS, ITEMS + "        ounces: true\n"),
        ],
        ["38: steps.double.when_ounces: it stands here without `when`, the case in words is expected"],
    ),
}


@pytest.mark.parametrize(("changes", "expected"), OTHERS.values(), ids=OTHERS.keys())
def test_faults_of_sense_and_of_ounces(changes: list[tuple[str, str]], expected: list[str]) -> None:
    assert _findings(changed(TEA, *changes)) == [f"tea.yaml:{finding}" for finding in expected]

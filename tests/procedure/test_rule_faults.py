"""Local rules that do not fit a procedure or each other: each fault with its line, rule and sentence."""

from __future__ import annotations

import pytest

from tests.procedure.examples import plain_step, procedure
from tests.procedure.ruled import ADDED, TEA, found, ruled

SO = "because: So.}"

FITTING = {
    "an unknown step": (
        f"  - {{change: bowl, critical: true, {SO}\n",
        "2: tea, change bowl: there is no step 'bowl', nearest are boil, ",
    ),
    "an unknown step to remove": (
        f"  - {{pass: 0.9, {SO}\n  - remove: pore\n    because: So.\n",
        "3: tea, remove pore: there is no step 'pore', nearest are pour, ",
    ),
    "an unknown place": (
        f"  - add: {{id: smile, {ADDED}}}\n    behind: porr\n    because: So.\n",
        "3: tea, add smile: there is no step 'porr' so far, nearest are pour, ",
    ),
    "an id that there is": (
        f"  - {{add: {{id: spill, {ADDED}}}, behind: pour, {SO}\n",
        "2: tea, add spill: there is a step 'spill' already, another id is expected",
    ),
    "a time that is no mapping": (
        f"  - {{change: warm, time: 30 s, {SO}\n",
        "2: tea, change warm: time: its parts are expected, such as `time: {at_least: 20 s}`",
    ),
    "a cue that is no mapping": (
        "  - change: warm\n    cue: The pot!\n    because: So.\n",
        "3: tea, change warm: cue: its parts are expected, such as `cue: {hint: Look at her shoes.}`",
    ),
    "an unknown resident": (
        f"  - {{case: {{resident: Mrs. Nobody}}, {SO}\n",
        "2: tea, case: resident: one of Mrs. Lane, Mr. Alder is expected",
    ),
    "an unknown side": (
        f"  - {{case: {{weak: both}}, {SO}\n",
        "2: tea, case: weak: one of left, right is expected",
    ),
    "a value of a step without": (
        "  - case:\n      read: 160\n      pres: 122/78\n    because: So.\n",
        "4: tea, case: pres: this has no value in a case, nearest are press, ",
    ),
    "half a pair": (
        f"  - {{case: {{press: 122}}, {SO}\n",
        "2: tea, case: press: 122 does not fit, a value in mmHg such as 122/78 is expected",
    ),
    "a pair upside down": (
        f"  - {{case: {{press: 78/122}}, {SO}\n",
        "2: tea, case: press: '78/122' does not fit, the higher number first is expected",
    ),
    "a wrong unit": (
        f"  - {{case: {{read: 70 C}}, {SO}\n",
        "2: tea, case: read: '70 C' does not fit, a value in F such as 76 is expected",
    ),
    "less than nothing": (
        f"  - {{case: {{read: -5}}, {SO}\n",
        "2: tea, case: read: -5 does not fit, a value in F such as 76 is expected",
    ),
    "out of all sense": (
        f"  - {{case: {{read: 1600}}, {SO}\n",
        "2: tea, case: read: 1600 makes no sense, 90 to 212 is expected",
    ),
    "a number that is worked out": (
        f"  - {{case: {{total: 310}}, {SO}\n",
        "2: tea, case: total: this is worked out, so how much is left of each is expected, "
        "`{black tea: ..., water: ...}`",
    ),
    "an unknown item": (
        f"  - {{case: {{total: {{waiter: 10}}}}, {SO}\n",
        "2: tea, case: total: there is no 'waiter', nearest are water, ",
    ),
    "no number for an item": (
        f"  - {{case: {{total: {{water: all}}}}, {SO}\n",
        "2: tea, case: total: 'all' of water does not fit, how much is left is expected, as a number",
    ),
}


@pytest.mark.parametrize(("text", "expected"), FITTING.values(), ids=FITTING.keys())
def test_rules_that_do_not_fit_the_procedure(text: str, expected: str) -> None:
    first, *more = found(text)
    assert not more
    assert first.startswith(expected)
    assert first == expected or expected.endswith(", ")


MISSING = "it is missing, a value is expected"
RESULT = {
    "an unknown key of a part": (
        "  - change: read\n    reading:\n      wihtin: 5\n    because: So.\n",
        "4: tea, change read: steps.read.reading.wihtin: this key is not known, one of the keys in "
        "`voicecoach schema` is expected",
    ),
    "a value of another kind": (
        "  - change: wash\n    why: A.\n    critical: sometimes\n    because: So.\n",
        '4: tea, change wash: steps.wash.critical: "sometimes" does not fit, Input should be a valid '
        "boolean, unable to interpret input",
    ),
    "a share above one": (
        "  - because: So.\n    pass: 90\n",
        "3: tea, pass: pass.share: 90 does not fit, Input should be less than or equal to 1",
    ),
    "an added step that is not whole": (
        "  - add: {id: smile, do: Smile, say: [smiling], why: A}\n    behind: wash\n    because: So.\n",
        f"2: tea, add smile: steps.smile.cue: {MISSING}",
    ),
    "a key that a step must have": (
        f"  - {{change: wash, without: why, {SO}\n",
        f"2: tea, change wash: steps.wash.why: {MISSING}",
    ),
    "needing nowhere": (
        "  - change: warm\n    also after: [stir]\n    because: So.\n",
        "3: tea, change warm: steps.warm.after: there is no other step 'stir', the id of another step is "
        "expected",
    ),
    "a wrong unit": (
        "  - change: read\n    reading: {within: 5 C}\n    because: So.\n",
        '3: tea, change read: steps.read.reading: {"quantity": "heat", "unit": "F", "scale": 1.0, '
        '"within":... does not fit, within: a number, alone or with the unit F, is expected',
    ),
    "a second first step": (
        "  - change: warm\n    first: true\n    because: So.\n",
        "3: tea, change warm: steps.warm.first: wash is first already, one step is expected",
    ),
    "steps that need each other": (
        f"  - {{pass: 0.9, {SO}\n  - change: boil\n    after: pour\n    because: So.\n"
        f"  - {{change: read, why: A, {SO}\n",
        "4: tea, change boil: steps.boil.after: these steps need each other: boil > pour > boil, "
        "an order without a ring is expected",
    ),
    "a ring of two rules": (
        f"  - {{change: warm, also after: [boil], {SO}\n  - {{change: pour, why: A, {SO}\n"
        f"  - {{change: boil, also after: [warm], {SO}\n",
        "4: tea, change boil: steps.boil.after: these steps need each other: boil > warm > boil, "
        "an order without a ring is expected",
    ),
    "a phrase of a later step": (
        f"  - {{pass: 0.9, {SO}\n  - change: wash\n    also say: [new, 'In it goes!']\n    because: So.\n",
        "3: tea, change wash: steps.pour.say: 'in it goes' stands under wash too, a phrase of its own is "
        "expected",
    ),
    "a phrase of an earlier step": (
        "  - change: pour\n    also say:\n      - new one\n      - doing boil\n    because: So.\n",
        "5: tea, change pour: steps.pour.say: 'doing boil' stands under boil too, a phrase of its own is "
        "expected",
    ),
    "a value between the grains": (
        f"  - {{pass: 0.9, {SO}\n  - case:\n      press: 121/78\n    because: So.\n",
        "3: tea, case: steps.press.reading.truth.grain: no multiple of 2 lies from 121 to 121, one is "
        "expected",
    ),
    "more left than was there": (
        f"  - {{case: {{total: {{water: 200}}}}, {SO}\n",
        "2: tea, case: steps.total.reading.truth.items: water: left does not fit, two numbers in order from "
        "0 to 120 are expected",
    ),
    "ounces that are nowhere": (
        f"  - {{pass: 0.9, {SO}\n  - {{change: wash-again, when_ounces: true, {SO}\n",
        "3: tea, change wash-again: steps.wash-again.when_ounces: no reading has a truth with `ounces`, one "
        "is expected",
    ),
}


@pytest.mark.parametrize(("text", "expected"), RESULT.values(), ids=RESULT.keys())
def test_rules_of_which_no_procedure_in_order_comes(text: str, expected: str) -> None:
    assert found(text) == [expected]


def test_a_ring_that_begins_with_a_step_of_no_rule() -> None:
    before = procedure(plain_step("boil", after=["pour"]), plain_step("pour"), plain_step("warm"))
    rules = ("pass: 0.9", "change: pour, after: boil", "remove: warm")
    said = found("".join(f"  - {{{rule}, {SO}\n" for rule in rules), before)
    assert said == [
        "3: tea, change pour: steps.boil.after: these steps need each other: boil > pour > boil, "
        "an order without a ring is expected"
    ]


def test_one_step_at_least_is_left() -> None:
    before = procedure(plain_step("boil"), plain_step("pour", after=["boil"]))
    said = found(f"  - {{remove: boil, {SO}\n  - {{remove: pour, {SO}\n", before)
    assert len(said) == 1
    assert said[0].startswith("3: tea, remove pour: steps: ")


def _names(key: str, other: str) -> str:
    return f"`{key}` of {other} names it; remove that too, or change it, `without: {key}`"


DANGLING = {
    "wash": [("again", "wash-again"), ("time.from", "boil"), ("reading.truth.at", "press")],
    "pour": [("reading.truth.at", "read"), ("reading.truth.at", "total")],
    "wash-again": [("remedy", "spill")],
}


@pytest.mark.parametrize(("id", "named"), DANGLING.items())
def test_a_step_that_others_name_cannot_be_removed_alone(id: str, named: list[tuple[str, str]]) -> None:
    said = found(f"  - {{pass: 0.9, {SO}\n  - {{remove: {id}, {SO}\n")
    assert sorted(said) == sorted(f"3: tea, remove {id}: {_names(key, other)}" for key, other in named)
    rules = "".join(
        f"  - {{change: {other}, without: {key}, {SO}\n" for key, other in named if "truth" not in key
    )
    rules += "".join(f"  - {{remove: {other}, {SO}\n" for key, other in named if "truth" in key)
    assert id not in {step.id for step in ruled(f"{rules}  - {{remove: {id}, {SO}\n").steps}


@pytest.mark.parametrize(
    ("rule", "key"),
    [
        ("change: press\n    after: [warm]", "after"),
        ("change: press\n    also after: [warm]", "after"),
        ("change: boil\n    time: {from: warm}", "time.from"),
        ("change: press\n    reading: {truth: {at: warm}}", "reading.truth.at"),
        ("change: spill\n    remedy: warm", "remedy"),
        (f"behind: wash\n    add: {{id: smile, {ADDED}, after: [warm]}}", "after"),
    ],
)
def test_a_rule_cannot_name_a_step_that_another_removes(rule: str, key: str) -> None:
    said = found(f"  - {{remove: warm, {SO}\n  - {rule}\n    because: So.\n")
    assert len(said) == 1
    assert said[0].startswith("4: tea, ")
    assert said[0].endswith(f": {key}: warm is removed in line 2, another step is expected")


CONFLICTS = [
    ("change: wash, critical: false", "change: wash, critical: true", "change wash"),
    ("change: wash, why: A", "change: wash, do: B, why: A", "change wash"),
    ("change: read, reading: {within: 5}", "change: read, reading: {scale: 2, within: 6}", "change read"),
    ("change: read, without: reading", "change: read, reading: {within: 5}", "change read"),
    ("change: read, reading: {within: 5}", "change: read, without: reading", "change read"),
    ("change: pour, say: [tea time]", "change: pour, also say: [tea hour]", "change pour"),
    ("change: pour, also say: [tea time]", "change: pour, say: [tea hour]", "change pour"),
    ("change: pour, also say: [tea time]", "change: pour, also say: [tea time]", "change pour"),
    ("remove: warm", "remove: warm", "remove warm"),
    ("remove: warm", "change: warm, why: A", "remove warm"),
    ("change: warm, why: A", "remove: warm", "change warm"),
    ("pass: 0.9", "pass: 0.7", "pass"),
    ("case: {resident: Mr. Alder}", "case: {resident: Mrs. Lane}", "case"),
    ("case: {read: 160}", "case: {press: 122/78, read: 170}", "case"),
    ("case: {total: {water: 10}}", "case: {total: {water: 20}}", "case"),
    ("case: {read: 160}", "change: read, reading: {truth: {least: [170]}}", "case"),
]


@pytest.mark.parametrize(("first", "second", "named"), CONFLICTS)
def test_two_rules_cannot_speak_of_the_same(first: str, second: str, named: str) -> None:
    said = found(f"  - {{{first}, {SO}\n  - {{change: boil, why: A, {SO}\n  - {{{second}, {SO}\n")
    assert len(said) == 1
    assert said[0].startswith("4: tea, ")
    assert said[0].endswith(f": line 2 ({named}) speaks of the same, one of the two is expected")


def test_an_added_step_is_not_changed_but_written_as_it_shall_be() -> None:
    added = f"  - {{add: {{id: smile, {ADDED}}}, behind: wash, {SO}\n"
    assert found(f"{added}  - {{change: smile, why: A, {SO}\n")[0].startswith(
        "3: tea, change smile: there is no step"
    )
    twice = found(added + added)
    assert twice == ["3: tea, add smile: line 2 (add smile) speaks of the same, one of the two is expected"]


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("change: read, reading: {within: 5}", "change: read, reading: {scale: 2}"),
        ("change: boil, time: {at_least: 5 s}, without: time.from", "change: boil, why: A"),
        ("case: {total: {water: 10}}", "case: {total: {black tea: 20}}"),
        ("case: {read: 160}", "change: read, reading: {within: 5}"),
        ("case: {weak: left}", "case: {resident: Mr. Alder}"),
    ],
)
def test_two_rules_may_speak_of_different_parts(first: str, second: str) -> None:
    assert ruled(f"  - {{{first}, {SO}\n  - {{{second}, {SO}\n") != TEA


IDLE = [
    ("change: wash\n    critical: true", 3, "critical"),
    ("change: warm\n    critical: false", 3, "critical"),
    ("change: read\n    reading: {within: 2 F}", 3, "reading.within"),
    ("change: read\n    cue: {nudge: What of read?}", 3, "cue.nudge"),
    ("change: boil\n    time: {at_least: 20 s}", 3, "time.at_least"),
    ("change: pour\n    also say: [in it goes]", 3, "also say"),
    ("change: pour\n    also after: boil", 3, "also after"),
    ("change: pour\n    say: [pouring it, in it goes]", 3, "say"),
    ("change: warm\n    without: time", 3, "without"),
    ("change: warm\n    without: nonsense", 3, "without"),
    ("pass: 0.8", 2, "pass"),
]


@pytest.mark.parametrize(("rule", "line", "key"), IDLE)
def test_a_rule_that_changes_nothing_is_a_fault(rule: str, line: int, key: str) -> None:
    assert [said.split(": ", 2)[2] for said in found(f"  - {rule}\n    because: So.\n")] == [
        f"{key}: this is so already, it changes nothing"
    ]
    assert found(f"  - {rule}\n    because: So.\n")[0].startswith(f"{line}: tea, ")


def test_a_case_that_is_always_so_is_no_change() -> None:
    fixed = ruled(f"  - {{case: {{read: 160, resident: Mr. Alder, total: {{water: 10}}}}, {SO}\n")
    said = found(
        f"  - case:\n      read: 160\n      resident: Mr. Alder\n      total: {{water: 10}}\n    {SO[:-1]}\n",
        fixed,
    )
    idle = "this is so already, it changes nothing"
    assert said == [
        f"3: tea, case: case.read: {idle}",
        f"4: tea, case: case.resident: {idle}",
        f"5: tea, case: case.total.water: {idle}",
    ]


def test_all_that_is_wrong_is_said_at_once_in_the_order_of_the_lines() -> None:
    said = found(f"  - remove: warm\n  - {{pass: yes, {SO}\n  - {{change: boil, tiem: 5, why: A}}\n")
    assert [line.split(": ")[0] for line in said] == ["2", "3", "4", "4"]
    said = found(
        f"  - {{remove: nope, {SO}\n  - {{pass: 0.9, {SO}\n  - {{pass: 0.7, {SO}\n"
        f"  - {{change: nix, why: A, {SO}\n"
    )
    assert [line.split(": ")[0] for line in said] == ["2", "4", "5"]

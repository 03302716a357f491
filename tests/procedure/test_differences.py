"""What rules make different, in words: what was, what is now, and why."""

from __future__ import annotations

import pytest

from tests.procedure.examples import SHIPPED, plain_avoid, plain_step, procedure, shipped
from tests.procedure.ruled import ADDED, differences_of
from voicecoach.procedure.differences import Difference, differences
from voicecoach.procedure.model import Avoid, Step

BECAUSE = "    because: So.\n"

WORDS = [
    ("change: wash\n    critical: false", "wash", "critical no longer"),
    ("change: warm\n    critical: true", "warm", "critical now"),
    ("change: wash\n    first: false", "wash", "before all others no longer"),
    ("change: wash-again\n    last: true", "wash-again", "after all others now"),
    ("change: wash\n    do: Wash up", "wash", "what to do “Do wash” -> “Wash up”"),
    ("change: wash\n    why: Germs.", "wash", "why “It matters.” -> “Germs.”"),
    ("change: wash\n    source: Our book", "wash", "source “common practice, no source” -> “Our book”"),
    ("change: wash\n    cue: {nudge: And?}", "wash", "nudge “What of wash?” -> “And?”"),
    ("change: wash\n    cue: {step: Wash.}", "wash", "instruction “Do wash.” -> “Wash.”"),
    ("change: spill\n    cue: Oops.", "spill", "what the coach says “Mend it.” -> “Oops.”"),
    ("change: spill\n    without: remedy", "spill", "mended by wash-again no longer"),
    ("change: wash\n    also say: [a b, c d]", "wash", "may also be said: “a b”, “c d”"),
    ("change: pour\n    say: [in it goes]", "pour", "is said no longer: “pouring it”"),
    (
        "change: pour\n    say: [a b, c d, e f, g h, i j]",
        "pour",
        "may also be said: “a b”, “c d”, “e f”, 2 more; is said no longer: “pouring it”, “in it goes”",
    ),
    ("change: press\n    after: warm", "press", "needs warm first now"),
    ("change: pour\n    after: [boil]", "pour", "needs warm first no longer"),
    (
        "change: pour\n    after: [wash]",
        "pour",
        "needs wash first now; needs boil and warm first no longer",
    ),
    ("change: boil\n    time: {at_least: 30 s}", "boil", "at least 20 s -> 30 s"),
    ("change: boil\n    time: {from: warm}", "boil", "timed from wash -> warm"),
    ("change: boil\n    without: time.from", "boil", "timed from wash no longer"),
    ("change: warm\n    time: {at_least: 1 min}", "warm", "at least 60 s now"),
    (
        "change: wash-again\n    when: it rains",
        "wash-again",
        "needed only where “it went over” -> “it rains”",
    ),
    ("change: wash-again\n    without: again", "wash-again", "the same action as wash no longer"),
    ("change: warm\n    side: weak", "warm", "on the side that is weak now"),
    ("change: read\n    reading: {within: 10 F}", "read", "within 2 F -> 10 F"),
    ("change: read\n    reading: {within: 0}", "read", "within 2 F -> 0 F"),
    ("change: read\n    reading: {scale: 0.5}", "read", "a mark every 1 F -> 0.5 F"),
    ("change: read\n    reading: {also: [C, K]}", "read", "may be recorded in C or K now"),
    ("change: read\n    reading: {sense: [80, 212]}", "read", "makes sense from 90 to 212 F -> 80 to 212 F"),
    ("change: read\n    reading: {between_marks: up}", "read", "between marks up now"),
    ("change: read\n    reading: {truth: {at: boil}}", "read", "found at pour -> boil"),
    ("change: press\n    reading: {truth: {grain: 1}}", "press", "true value in steps of 2 mmHg -> 1 mmHg"),
    ("change: read\n    reading: {truth: {most: [190]}}", "read", "true value 150 to 200 F -> 150 to 190 F"),
    ("case: {read: 160}", "read", "true value 150 to 200 F -> always 160 F"),
    ("case: {press: 122/78}", "press", "true value 100/60 to 140/90 mmHg -> always 122/78 mmHg"),
    ("case: {total: {black tea: 30}}", "total", "left of black tea 0 to 120 mL -> always 30 mL"),
    ("case: {resident: Mr. Alder}", "case", "resident Mrs. Lane or Mr. Alder -> always Mr. Alder"),
    ("case: {weak: left}", "case", "weak side left or right -> always left"),
    ("pass: 0.925", "pass", "80 % -> 92.5 % of the steps"),
    ("remove: warm", "warm", "removed; it was: “Do warm”"),
    ("remove: burn", "burn", "removed; it was: “Not burn”"),
    (
        f"add: {{id: smile, {ADDED}, after: [wash, boil], critical: true}}\n    behind: warm",
        "smile",
        "new, behind warm: “Smile”; critical; needs wash and boil first",
    ),
    (f"add: {{id: smile, {ADDED}}}\n    before: wash", "smile", "new, at the beginning: “Smile”"),
]


@pytest.mark.parametrize(("rule", "where", "what"), WORDS)
def test_what_was_and_what_is_now_and_why(rule: str, where: str, what: str) -> None:
    assert Difference(where, what, "So.") in differences_of(f"  - {rule}\n{BECAUSE}")


@pytest.mark.parametrize(
    ("rule", "where"), [(rule, where) for rule, where, _ in WORDS if "remove" not in rule]
)
def test_nothing_else_is_different(rule: str, where: str) -> None:
    assert [one.where for one in differences_of(f"  - {rule}\n{BECAUSE}")] == [where]


def test_a_step_that_is_removed_is_the_reason_for_what_others_need_now() -> None:
    found = differences_of(
        "  - {remove: warm, because: No pot.}\n  - {change: pour, critical: true, because: Hot.}\n"
        "  - {remove: press, because: No cuff.}\n"
    )
    assert found == (
        Difference("warm", "removed; it was: “Do warm”", "No pot."),
        Difference("pour", "needs warm first no longer", "No pot."),
        Difference("pour", "critical now", "Hot."),
        Difference("press", "removed; it was: “Do press”", "No cuff."),
    )
    before = procedure(plain_step("a"), plain_step("b", after=["a"]), plain_step("c", after=["b"]))
    assert differences_of("  - {remove: b, because: No.}\n", before) == (
        Difference("b", "removed; it was: “Do b”", "No."),
        Difference("c", "needs a first now; needs b first no longer", "No."),
    )


def test_what_only_the_last_step_needed_through_one_that_is_removed() -> None:
    before = procedure(
        plain_step("a", when="it is so"), plain_step("b", after=["a"]), plain_step("c", last=True)
    )
    assert differences_of("  - {remove: b, because: No.}\n", before)[1] == Difference(
        "c", "needs a first now", "No."
    )


def test_two_reasons_for_one_difference_stand_both() -> None:
    (one,) = differences_of(
        "  - {change: pour, also say: [a b], because: One.}\n"
        "  - {change: pour, also say: [c d], because: Two.}\n"
    )
    assert one == Difference("pour", "may also be said: “a b”, “c d”", "One. Two.")


def test_differences_stand_in_the_usual_order() -> None:
    found = differences_of(
        f"  - {{add: {{id: smile, {ADDED}}}, behind: boil, {BECAUSE.strip()}}}\n"
        "  - {change: spill, cue: Oops., because: So.}\n"
        "  - {change: pour, why: A., because: So.}\n"
        "  - {remove: warm, because: So.}\n"
        "  - {change: boil, why: A., because: So.}\n"
        "  - {pass: 0.9, because: So.}\n"
    )
    assert [one.where for one in found] == ["pass", "boil", "warm", "smile", "pour", "pour", "spill"]


def test_where_nothing_is_different_nothing_is_told() -> None:
    for id in SHIPPED:
        assert differences(shipped(id), shipped(id), ()) == ()


FULL = plain_step(
    "full",
    critical=True,
    after=["half"],
    first=True,
    last=True,
    again="half",
    when="it is so",
    when_ounces=True,
    side="weak",
    time={"at_least": "20 s"},
    count={"of": "beats", "for": "60 s"},
    reading={"quantity": "heat", "unit": "F", "within": 2},
    source="Our book",
    why="Because.",
)
"""A step in which every field is another than in a plain one."""


@pytest.mark.parametrize("key", sorted(set(Step.model_fields) - {"id"}))
def test_no_field_of_a_step_changes_in_silence(key: str) -> None:
    before = procedure(plain_step("half"), FULL)
    half, full = before.steps
    changed = half.model_copy(update={key: getattr(full, key)})
    assert changed != half
    found = differences(before, before.model_copy(update={"steps": (changed, full)}), ())
    assert {one.where for one in found} == {"half"}


@pytest.mark.parametrize("key", sorted(set(Avoid.model_fields) - {"id"}))
def test_no_field_of_what_is_to_be_avoided_changes_in_silence(key: str) -> None:
    before = procedure(plain_step("wash"), avoid=[plain_avoid("spill"), plain_avoid("burn")])
    spill, burn = before.avoid
    other = {"cue": "Other.", "why": "Other.", "source": "Our book", "remedy": "wash"}.get(
        key, getattr(burn, key)
    )
    changed = spill.model_copy(update={key: other})
    assert changed != spill
    found = differences(before, before.model_copy(update={"avoid": (changed, burn)}), ())
    assert {one.where for one in found} == {"spill"}

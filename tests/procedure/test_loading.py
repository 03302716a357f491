"""Faults of a procedure file say where they stand, what is wrong and what is expected."""

from __future__ import annotations

from pathlib import Path

import pytest

from voicecoach.errors import Complaint
from voicecoach.procedure import library, loading
from voicecoach.procedure.loading import Faulty
from voicecoach.procedure.model import Procedure

GOOD = """\
id: tidy
title: Tidy the room
scene: A room that is not tidy.
steps:
  - id: first-thing
    do: Do the first thing
    why: It comes first.
    cue: {nudge: "What is first?", hint: Look around., step: Do the first thing.}
    say: [i do the first thing]
  - id: second-thing
    do: Do the second thing
    after: [first-thing]
    why: It comes second.
    cue: {nudge: "What is second?", hint: Look again., step: Do the second thing.}
    say: [now the second thing]
    time: {at_least: 1 min}
    reading: {quantity: volume, unit: mL, scale: 25 mL, within: 25}
avoid:
  - id: spill
    do: Spilling
    why: It makes a mess.
    cue: It was spilled, wipe it up.
    say: [oops i spilled it]
    remedy: first-thing
"""


def findings(text: str) -> list[str]:
    """What reading a text finds, each as it is shown."""
    with pytest.raises(Faulty) as caught:
        loading.read(text, "tidy.yaml")
    return [str(finding) for finding in caught.value.findings]


def test_a_good_procedure_is_read_as_written() -> None:
    procedure = loading.read(GOOD, "tidy.yaml")
    second = procedure.step("second-thing")
    assert second.after == ("first-thing",)
    assert second.time is not None
    assert second.time.at_least == 60
    assert second.reading is not None
    assert (second.reading.scale, second.reading.within) == (25, 25)
    assert procedure.avoided("spill").remedy == "first-thing"
    assert Procedure.model_validate(procedure.plain()) == procedure


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("title:", "colour: red\ntitle:", "tidy.yaml:2: colour: this key is not known"),
        ("    why: It comes second.\n", "", "steps.second-thing.why: it is missing"),
        ("id: second-thing", "id: first-thing", "steps.first-thing: the id stands more than once"),
        ("id: spill", "id: first-thing", "avoid.first-thing: the id stands more than once"),
        ("[first-thing]\n", "[third-thing]\n", "tidy.yaml:12: steps.second-thing.after: there is no other"),
        ("    after: [first-thing]", "    again: nothing", "steps.second-thing.again: there is no other"),
        ("remedy: first-thing", "remedy: mop", "tidy.yaml:24: avoid.spill.remedy: there is no step 'mop'"),
        ("now the second thing", "I do the first thing!", "stands under first-thing too"),
        ("oops i spilled it", "now the second thing", "stands under second-thing too"),
        ("1 min", "1 mile", "tidy.yaml:16: steps.second-thing.time.at_least"),
        ("scale: 25 mL", "scale: 25 oz", "a number, alone or with the unit mL, is expected"),
        ("id: tidy", "id: Tidy Up", "tidy.yaml:1: id: 'Tidy Up' does not fit"),
        ("title:", "title: Twice\ntitle:", "tidy.yaml:3: title: the key stands twice"),
        ("    do: Do the first thing\n", "    do: Do it\n    after: [second-thing]\n", "need each other"),
        ("steps:", "steps: [", "correct YAML is expected"),
        ("title: Tidy the room", "title: &t Tidy\nscene: *t", "an alias (*) stands here"),
    ],
)
def test_a_fault_names_its_place(old: str, new: str, expected: str) -> None:
    assert old in GOOD
    shown = findings(GOOD.replace(old, new, 1))
    assert any(expected in line for line in shown), shown
    assert all(line.startswith("tidy.yaml:") for line in shown)


def test_a_fault_in_a_step_is_told_once() -> None:
    assert len(findings(GOOD.replace("    why: It comes second.\n", ""))) == 1


def test_the_same_action_done_again_may_share_phrases() -> None:
    text = GOOD.replace("now the second thing", "i do the first thing").replace(
        "    after: [first-thing]\n", "    after: [first-thing]\n    again: first-thing\n"
    )
    procedure = loading.read(text, "tidy.yaml")
    assert procedure.same_action == (0, 0)


@pytest.mark.parametrize("text", ["", "- a list", "just text", "[" * 5000])
def test_what_is_no_procedure_is_one_sentence(text: str) -> None:
    (line,) = findings(text)
    assert line.startswith("tidy.yaml:1:")


def test_files_that_cannot_be_procedures(tmp_path: Path) -> None:
    with pytest.raises(Complaint, match="cannot be read"):
        loading.load(tmp_path / "missing.yaml")
    (tmp_path / "large.yaml").write_bytes(b"#" * (loading.LARGEST + 1))
    with pytest.raises(Complaint, match="too large"):
        loading.load(tmp_path / "large.yaml")
    (tmp_path / "latin.yaml").write_bytes(b"id: a\ntitle: caf\xe9\n")
    with pytest.raises(Faulty, match=r"latin\.yaml:2: text: this is not UTF-8"):
        loading.load(tmp_path / "latin.yaml")


def test_few_phrasings_are_advised_against() -> None:
    assert len(loading.advice(loading.read(GOOD, "tidy.yaml"))) == 2


def test_the_nearest_names_are_offered() -> None:
    with pytest.raises(Complaint, match=r"no procedure 'gait-walk'; nearest are gait-belt-walk"):
        library.find("gait-walk")

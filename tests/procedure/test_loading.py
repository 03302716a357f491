"""Loading: every kind of fault, with its file, its line, its place and its sentence."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from tests.procedure.examples import changed, plain_avoid, plain_procedure, plain_step, procedure
from voicecoach.errors import Complaint
from voicecoach.procedure.loading import ENOUGH_PHRASES, LARGEST, Faulty, advice, load, read

TEA = """\
id: tea
title: Make tea
scene: You make tea for missus lane.
steps:
  - id: boil
    do: Boil the water
    why: Tea needs hot water.
    say: [boiling the water]
    cue: {nudge: "What is cold?", hint: Look at the kettle., step: Boil the water.}
  - id: pour
    do: Pour the water on the tea
    after: [boil]
    why: The tea must draw.
    say:
      - pouring the water
      - the tea is in the cup
    cue: {nudge: "What is dry?", hint: Look at the cup., step: Pour the water.}
avoid:
  - id: spill
    do: Spilling the tea
    why: Hot tea burns.
    say: [i spilled it]
    cue: The tea went over, so wipe it up.
"""
"""A procedure in order; `boil` begins in line 5, `pour` in line 10, `spill` in line 19; 23 lines."""

AFTER = "    after: [boil]\n"
"""Line 12, to be replaced by something else of `pour`."""
BOIL = "    do: Boil the water\n"
"""Line 6."""
MISSING = "it is missing, a value is expected"
UNKNOWN = "this key is not known, one of the keys in `voicecoach schema` is expected"
TWICE = "the id stands more than once, unique ids are expected"
ONCE = "the key stands twice, once is expected"
DURATION = "a duration such as `20 s` or `1 min` is expected"
RING = "these steps need each other: boil > pour > boil, an order without a ring is expected"


def _findings(text: str) -> list[str]:
    with pytest.raises(Faulty) as caught:
        read(text, "tea.yaml")
    found = [str(finding) for finding in caught.value.findings]
    assert str(caught.value).split("\n") == found, "the complaint is the findings, a line each"
    return found


def test_a_procedure_in_order() -> None:
    made = read(TEA, "tea.yaml")
    assert made.plain() == yaml.safe_load(TEA)
    assert made.step("pour").say == ("pouring the water", "the tea is in the cup")


@pytest.mark.parametrize("text", [TEA.replace("\n", "\r\n"), "\ufeff" + TEA, "---\n" + TEA + "...\n"])
def test_other_line_ends_a_byte_order_mark_and_document_marks_are_no_faults(
    text: str, tmp_path: Path
) -> None:
    file = tmp_path / "tea.yaml"
    file.write_bytes(text.encode("utf-8"))
    assert load(file) == read(TEA, "tea.yaml")


def test_an_anchor_that_nothing_uses_is_no_fault() -> None:
    assert read(changed(TEA, (AFTER, "    after: &a [boil]\n")), "tea.yaml") == read(TEA, "tea.yaml")


FIELDS = {
    "a key is missing": ([(BOIL, "")], [f"5: steps.boil.do: {MISSING}"]),
    "top key is missing": ([("title: Make tea\n", "")], [f"1: title: {MISSING}"]),
    "unknown key at the top": ([("title:", "colour: red\ntitle:")], [f"2: colour: {UNKNOWN}"]),
    "unknown key of a step": ([(AFTER, "    before: [boil]\n")], [f"12: steps.pour.before: {UNKNOWN}"]),
    "unknown key of what to avoid": (
        [("    why: Hot", "    critical: true\n    why: Hot")],
        [f"21: avoid.spill.critical: {UNKNOWN}"],
    ),
    "misspelled key of a cue": (
        [('nudge: "What is dry?"', 'nugde: "What is dry?"')],
        [f"17: steps.pour.cue.nudge: {MISSING}", f"17: steps.pour.cue.nugde: {UNKNOWN}"],
    ),
    "unknown key of a time": (
        [(AFTER, "    time: {at_least: 20 s, at_most: 30 s}\n")],
        [f"12: steps.pour.time.at_most: {UNKNOWN}"],
    ),
    "bad id": (
        [("id: pour", "id: Pour It")],
        ["10: steps.Pour It.id: 'Pour It' does not fit, text like ^[a-z][a-z0-9]*(-[a-z0-9]+)*$ is expected"],
    ),
    "a date for a title": (
        [("title: Make tea", "title: 2020-01-01")],
        ['2: title: "2020-01-01" does not fit, Input should be a valid string'],
    ),
    "a yes for a phrase": (
        [("- pouring the water", "- yes")],
        ["15: steps.pour.say.1: true does not fit, Input should be a valid string"],
    ),
    "a phrase without letters": (
        [("- the tea is in the cup", '- "12"')],
        ["16: steps.pour.say.2: '12' does not fit, text like [A-Za-z] is expected"],
    ),
    "nothing for a step": (
        [("  - id: boil", "  -\n  - id: boil")],
        ["5: steps.1: null does not fit, Input should be a valid dictionary or instance of Step"],
    ),
    "a share above one": (
        [("title:", "pass: {share: 2}\ntitle:")],
        ["2: pass.share: 2 does not fit, Input should be less than or equal to 1"],
    ),
    "two faults in two places": (
        [("title: Make tea\n", ""), ("    why: Hot tea burns.\n", "")],
        [f"1: title: {MISSING}", f"18: avoid.spill.why: {MISSING}"],
    ),
}


@pytest.mark.parametrize(("changes", "expected"), FIELDS.values(), ids=FIELDS.keys())
def test_faults_of_a_field(changes: list[tuple[str, str]], expected: list[str]) -> None:
    assert _findings(changed(TEA, *changes)) == [f"tea.yaml:{finding}" for finding in expected]


TIMES = {
    "20 seconds": f'"20 seconds" does not fit, {DURATION}',
    "3 h": f'"3 h" does not fit, {DURATION}',
    "-1 s": f'"-1 s" does not fit, {DURATION}',
    "soon": f'"soon" does not fit, {DURATION}',
    "0 s": '"0 s" does not fit, Input should be greater than 0',
    "121 min": '"121 min" does not fit, Input should be less than or equal to 7200',
    ".nan": "NaN does not fit, Input should be greater than 0",
    "[20]": "[20] does not fit, Input should be a valid number",
}


@pytest.mark.parametrize(("written", "expected"), TIMES.items())
@pytest.mark.parametrize(
    ("key", "template"),
    [("time.at_least", "time: {at_least: X}"), ("count.for", "count: {of: drops, for: X}")],
)
def test_bad_durations(written: str, expected: str, key: str, template: str) -> None:
    text = changed(TEA, (AFTER, f"    {template.replace('X', written)}\n"))
    assert _findings(text) == [f"tea.yaml:12: steps.pour.{key}: {expected}"]


READINGS = {
    "within: 25 oz": 'reading: {"quantity": "tea", "unit": "mL", "within": "25 oz"} does not fit, within: '
    "a number, alone or with the unit mL, is expected",
    "within: 5, scale: fine": 'reading: {"quantity": "tea", "unit": "mL", "within": 5, "scale": "... does '
    "not fit, scale: a number, alone or with the unit mL, is expected",
    "within: -1": "reading.within: -1 does not fit, Input should be greater than or equal to 0",
    "pair: true": f"reading.within: {MISSING}",
    "within: 5, scale: 0": "reading.scale: 0 does not fit, Input should be greater than 0",
    "within: 5, between_marks: down": "reading.between_marks: \"down\" does not fit, Input should be 'up'",
    "within: 5, digits: 2": f"reading.digits: {UNKNOWN}",
}


@pytest.mark.parametrize(("written", "expected"), READINGS.items())
def test_bad_readings(written: str, expected: str) -> None:
    text = changed(TEA, (AFTER, f"    reading: {{quantity: tea, unit: mL, {written}}}\n"))
    assert _findings(text) == [f"tea.yaml:12: steps.pour.{expected}"]


def _nowhere(id: str) -> str:
    return f"there is no other step {id!r}, the id of another step is expected"


REFERENCES = {
    "two steps of one id": (
        [("id: pour", "id: boil"), (AFTER, "")],
        [f"5: steps.boil: {TWICE}", f"10: steps.boil: {TWICE}"],
    ),
    "a step and what to avoid of one id": (
        [("id: spill", "id: boil")],
        [f"5: steps.boil: {TWICE}", f"19: avoid.boil: {TWICE}"],
    ),
    "after nowhere": ([(AFTER, "    after: [boil, stir]\n")], [f"12: steps.pour.after: {_nowhere('stir')}"]),
    "after itself": ([(AFTER, "    after: [pour]\n")], [f"12: steps.pour.after: {_nowhere('pour')}"]),
    "again nowhere": ([(AFTER, "    again: boll\n")], [f"12: steps.pour.again: {_nowhere('boll')}"]),
    "again itself": ([(AFTER, "    again: pour\n")], [f"12: steps.pour.again: {_nowhere('pour')}"]),
    "a clock from nowhere": (
        [(AFTER, "    time: {at_least: 20 s, from: stir}\n")],
        [f"12: steps.pour.time: {_nowhere('stir')}"],
    ),
    "a remedy from nowhere": (
        [("    why: Hot", "    remedy: mop\n    why: Hot")],
        ["21: avoid.spill.remedy: there is no step 'mop', the id of a step is expected"],
    ),
    "two first": (
        [(BOIL, BOIL + "    first: true\n"), (AFTER, "    first: true\n")],
        ["13: steps.pour.first: boil is first already, one step is expected"],
    ),
    "a ring": ([(BOIL, BOIL + "    after: [pour]\n")], [f"7: steps.boil.after: {RING}"]),
    "a phrase of two steps": (
        [("- pouring the water", "- Boiling  the water!")],
        ["15: steps.pour.say: 'Boiling  the water!' stands under boil too, a phrase of its own is expected"],
    ),
    "a phrase of a step and of what to avoid": (
        [("[i spilled it]", "[oh no, boiling the water]")],
        ["22: avoid.spill.say: 'boiling the water' stands under boil too, a phrase of its own is expected"],
    ),
}


@pytest.mark.parametrize(("changes", "expected"), REFERENCES.values(), ids=REFERENCES.keys())
def test_faults_between_fields(changes: list[tuple[str, str]], expected: list[str]) -> None:
    assert _findings(changed(TEA, *changes)) == [f"tea.yaml:{finding}" for finding in expected]


def test_a_ring_of_three_among_others() -> None:
    order = {"a": [], "b": ["d"], "c": ["b"], "d": ["c", "a"], "e": ["d"]}
    plain = plain_procedure(*(plain_step(id, after=after) for id, after in order.items()))
    (found,) = _findings(yaml.safe_dump(plain, sort_keys=False))
    assert "steps.b.after: these steps need each other: b > d > c > b, " in found


def test_a_phrase_may_be_shared_with_the_same_action_done_again() -> None:
    text = changed(TEA, ("- pouring the water", "- boiling the water"), (AFTER, "    again: boil\n"))
    assert read(text, "tea.yaml").step("pour").again == "boil"


def test_two_repetitions_of_one_step_may_share_phrases_and_others_may_not() -> None:
    wash = [
        plain_step("a"),
        plain_step("b", again="a", say=["once more"]),
        plain_step("c", again="a", say=["once more"]),
    ]
    read(yaml.safe_dump(plain_procedure(*wash)), "tea.yaml")
    wash.append(plain_step("d", say=["once more"]))
    (found,) = _findings(yaml.safe_dump(plain_procedure(*wash)))
    assert found.endswith("steps.d.say: 'once more' stands under b too, a phrase of its own is expected")


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        # `steps` and `say` are not called too short besides
        (
            [(BOIL, ""), ("    do: Pour the water on the tea\n", "")],
            [f"5: steps.boil.do: {MISSING}", f"9: steps.pour.do: {MISSING}"],
        ),
        (
            [("[boiling the water]", '["12"]')],
            ["8: steps.boil.say.1: '12' does not fit, text like [A-Za-z] is expected"],
        ),
    ],
)
def test_a_list_of_nothing_but_faulty_items_is_not_a_fault_itself(
    changes: list[tuple[str, str]], expected: list[str]
) -> None:
    assert _findings(changed(TEA, *changes)) == [f"tea.yaml:{finding}" for finding in expected]


def test_one_faulty_step_and_no_other() -> None:
    text = "id: tea\ntitle: Tea\nscene: You make tea.\nsteps:\n  - id: boil\n    do: Boil\n"
    assert _findings(text) == [f"tea.yaml:5: steps.boil.{key}: {MISSING}" for key in ("why", "say", "cue")]


def test_an_empty_list_is_too_short_even_beside_a_faulty_one() -> None:
    text = changed(TEA, ("[boiling the water]", "[]"), ("[i spilled it]", '["12"]'))
    assert _findings(text) == [
        "tea.yaml:8: steps.boil.say: [] does not fit, Tuple should have at least 1 item after validation, "
        "not 0",
        "tea.yaml:22: avoid.spill.say.1: '12' does not fit, text like [A-Za-z] is expected",
    ]


def test_keys_that_stand_twice() -> None:
    text = changed(TEA, (AFTER, AFTER + "    after: []\n")) + "title: Tea again\n"
    after, title = _findings(text)
    assert title == f"tea.yaml:25: title: {ONCE}"
    assert after.startswith("tea.yaml:13: steps.")
    assert after.endswith(f".after: {ONCE}")


def test_aliases_wherever_they_stand() -> None:
    text = changed(TEA, (AFTER, "    after: &a [boil]\n"), ("[i spilled it]", "*a")) + "cautions: *a\n"
    what = "text: an alias (*) stands here, the value written out is expected"
    assert _findings(text) == [f"tea.yaml:22: {what}", f"tea.yaml:24: {what}"]


def test_a_small_text_that_would_grow_enormous_is_refused_unread() -> None:
    text = "a0: &a0 [x]\n" + "".join(
        f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]\n" for n in range(1, 30)
    )
    assert len(_findings(text)) == 290


TEXTS = {
    "": "1: top: nothing is there, a mapping with id, title and steps is expected",
    "# only a comment\n": "1: top: nothing is there, a mapping with id, title and steps is expected",
    "- a\n": "1: top: a list stands here, a mapping with id, title and steps is expected",
    "hello\n": "1: top: a str stands here, a mapping with id, title and steps is expected",
    "steps: [\n": "2: text: expected the node content, but found '<stream end>', correct YAML is expected",
    "id: a\n\ttitle: b\n": "2: text: found character '\\t' that cannot start any token, "
    "correct YAML is expected",
    "id: a\n---\nid: b\n": "2: text: but found another document, correct YAML is expected",
    "id: a\ntitle: !!python/name:os.system\n": "2: text: could not determine a constructor for the tag "
    "'tag:yaml.org,2002:python/name:os.system', correct YAML is expected",
}


@pytest.mark.parametrize(("text", "expected"), TEXTS.items())
def test_a_text_that_is_no_procedure(text: str, expected: str) -> None:
    assert _findings(text) == [f"tea.yaml:{expected}"]


@pytest.mark.parametrize(
    "text",
    [
        "id: " + "[" * 600 + "]" * 600,
        "id: " + "{a: " * 600 + "}" * 600,
        "\n".join(" " * n + "a:" for n in range(600)),
    ],
    ids=["lists", "mappings", "blocks"],
)
def test_deep_nesting(text: str) -> None:
    assert _findings(text) == ["tea.yaml:1: text: nested too deeply, fewer levels are expected"]


def test_a_character_that_no_text_has() -> None:
    with pytest.raises(Faulty, match="unacceptable character #x0000"):
        read(TEA.replace("Make", "Make\0"), "tea.yaml")


def test_not_utf8(tmp_path: Path) -> None:
    file = tmp_path / "tea.yaml"
    file.write_bytes(TEA.replace("missus lane", "missus ñandú").encode("latin-1"))
    with pytest.raises(Faulty) as caught:
        load(file)
    assert str(caught.value) == f"{file}:3: text: this is not UTF-8 text, save the file as UTF-8"


def test_the_largest_file_and_one_byte_more(tmp_path: Path) -> None:
    file = tmp_path / "tea.yaml"
    comment = "#" + "x" * (LARGEST - len(TEA) - 1)
    file.write_text(TEA + comment, encoding="utf-8")
    assert load(file).id == "tea"
    file.write_text(TEA + comment + "x", encoding="utf-8")
    with pytest.raises(Complaint) as caught:
        load(file)
    assert str(caught.value) == (
        f"{file}: 1000001 bytes is too large for a procedure; at most 1000000 bytes are expected."
    )


def test_a_folder_and_a_file_that_is_not_there(tmp_path: Path) -> None:
    for file, why in ((tmp_path, "Is a directory"), (tmp_path / "tea.yaml", "No such file or directory")):
        with pytest.raises(Complaint) as caught:
            load(file)
        assert str(caught.value) == f"{file}: the procedure cannot be read ({why}); check the name."
        assert not isinstance(caught.value, Faulty)


def test_findings_name_the_file_as_it_was_given(tmp_path: Path) -> None:
    file = tmp_path / "my tea.yml"
    file.write_text(changed(TEA, (BOIL, "")), encoding="utf-8")
    with pytest.raises(Faulty) as caught:
        load(file)
    (finding,) = caught.value.findings
    assert (finding.file, finding.line, finding.where, finding.what) == (
        str(file),
        5,
        "steps.boil.do",
        MISSING,
    )
    assert str(finding) == f"{file}:5: steps.boil.do: {MISSING}"


def test_advice_to_write_more_phrases() -> None:
    enough = [f"phrase {letter}" for letter in "abcdefghij"]
    assert len(enough) == ENOUGH_PHRASES
    made = procedure(
        plain_step("a", say=enough),
        plain_step("b", say=enough[:9]),
        plain_step("c"),
        avoid=[plain_avoid("d")],
    )
    assert advice(made) == (
        "b: 9 phrasings, 10 that differ in kind are followed better",
        "c: 1 phrasings, 10 that differ in kind are followed better",
    )

"""Files of local rules that are wrong in form: each fault with its line, rule and sentence."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from tests.procedure.examples import reproducible
from tests.procedure.ruled import ADDED, TEA, found, ruled
from voicecoach.errors import Complaint
from voicecoach.procedure import local_rules
from voicecoach.procedure.loading import LARGEST, Faulty, Finding, text_of

SO = "because: So.}"
KINDS = "change, remove, add, pass and case"
PLACE = "one of `behind` and `before` with the id of a step is expected, for its place in the usual order"
REASON = "the reason is missing, `because: ...` is expected"
TEXTS = "a list of texts is expected, such as `[one, two]`"

FORM = {
    "no rule": (
        "  - {colour: red, because: So.}\n",
        f"2: tea, rule 1: this is no rule, one of {KINDS} is expected",
    ),
    "a word": ("  - wash\n", f"2: tea, rule 1: this is no rule, one of {KINDS} is expected"),
    "two in one": (
        f"  - {{remove: warm, pass: 0.9, {SO}\n",
        f"2: tea, rule 1: remove and pass stand here together, exactly one of {KINDS} is expected",
    ),
    "no reason": ("  - remove: warm\n", f"2: tea, remove warm: {REASON}"),
    "nothing for a reason": ("  - remove: warm\n    because:\n", f"3: tea, remove warm: {REASON}"),
    "a number for a reason": ("  - pass: 0.9\n    because: 5\n", f"3: tea, pass: {REASON}"),
    "a reason without end": (
        f"  - pass: 0.9\n    because: {'x' * 601}\n",
        "3: tea, pass: the reason is too long, at most 600 letters are expected",
    ),
    "a misspelled key": (
        "  - change: wash\n    critcal: false\n    because: So.\n",
        "3: tea, change wash: the key 'critcal' is not known beside `change`, nearest are critical, ",
    ),
    "a key of another kind": (
        f"  - {{remove: warm, behind: wash, {SO}\n",
        "2: tea, remove warm: the key 'behind' is not known beside `remove`, nearest are because",
    ),
    "another id": (
        f"  - {{change: wash, id: clean, {SO}\n",
        "2: tea, change wash: the key 'id' is not known beside `change`, nearest are ",
    ),
    "nothing for a value": (
        "  - change: boil\n    time:\n    because: So.\n",
        "3: tea, change boil: time: nothing stands here, a value is expected, or `without: time` to take it "
        "away",
    ),
    "no change": (
        f"  - {{change: wash, {SO}\n",
        "2: tea, change wash: it does not say what changes, a key of the step is expected, such as "
        "`critical: false`",
    ),
    "no id": (f"  - {{remove: [warm], {SO}\n", "2: tea, remove: remove: the id of a step is expected"),
    "no phrases": (
        f"  - {{change: wash, also say: {{a: b}}, {SO}\n",
        f"2: tea, change wash: also say: {TEXTS}",
    ),
    "no key to take away": (
        f"  - {{change: wash, without: [1], {SO}\n",
        f"2: tea, change wash: without: {TEXTS}",
    ),
    "all anew and more": (
        f"  - {{change: wash, say: [a b], also say: [c d], {SO}\n",
        "2: tea, change wash: `say` takes the place of all and `also say` adds to them, one of them is "
        "expected",
    ),
    "a word for a step": (
        f"  - {{add: smile, behind: wash, {SO}\n",
        "2: tea, add smile: add: a step is expected, `{id: ..., do: ..., why: ..., cue: ..., say: [...]}`",
    ),
    "no place": (f"  - {{add: {{id: smile, {ADDED}}}, {SO}\n", f"2: tea, add smile: {PLACE}"),
    "two places": (
        f"  - {{add: {{id: smile, {ADDED}}}, behind: wash, before: boil, {SO}\n",
        f"2: tea, add smile: {PLACE}",
    ),
    "a yes for a share": (
        f"  - {{pass: yes, {SO}\n",
        "2: tea, pass: pass: the share of the steps that must be done is expected, such as 0.9",
    ),
    "no case": (
        f"  - {{case: Mr. Alder, {SO}\n",
        "2: tea, case: case: `resident`, `weak` or the id of a reading's step is expected, each with its "
        "value",
    ),
}


@pytest.mark.parametrize(("text", "expected"), FORM.values(), ids=FORM.keys())
def test_rules_that_are_none(text: str, expected: str) -> None:
    first, *more = found(text)
    assert not more
    assert first.startswith(expected)
    assert first == expected or expected.endswith((", ", "nearest are because", "nearest are "))


FILES = {
    "nothing": (
        "",
        "1: top: nothing is there, the id of a procedure with a list of rules under it is expected",
    ),
    "a list": (
        "- a\n",
        "1: top: a list stands here, the id of a procedure with a list of rules under it is expected",
    ),
    "a name alone": (
        "class: A\n",
        "1: top: no rule is there, the id of a procedure with a list of rules under it is expected",
    ),
    "no name": (
        "class: [a]\ntea: [{remove: warm, because: So.}]\n",
        "1: class: the name of the class is expected",
    ),
    "an unknown procedure": (
        "class: A\ncoffe: [{remove: warm, because: So.}]\n",
        "2: coffe: there is no procedure of that id, nearest are coffee, tea",
    ),
    "no list": (
        "class: A\ntea:\n  remove: warm\n  because: So.\n",
        f"2: tea: a list of rules is expected, each beginning with `- ` and one of {KINDS}",
    ),
    "an empty list": (
        "tea: []\n",
        f"1: tea: a list of rules is expected, each beginning with `- ` and one of {KINDS}",
    ),
    "a key twice": ("tea: []\ntea: []\n", "2: tea: the key stands twice, once is expected"),
    "a reason twice": (
        "tea:\n  - remove: warm\n    because: So.\n    because: So.\n",
        "4: tea.0.because: the key stands twice, once is expected",
    ),
    "an alias": (
        "tea:\n  - &a {remove: warm, because: So.}\n  - *a\n",
        "3: text: an alias (*) stands here, the value written out is expected",
    ),
    "no YAML": ("tea:\n  - {remove: warm\n", "3: text: "),
    "no date": ("tea: 2020-99-99\n", "1: text: month must be in 1..12, plain values are expected"),
    "too deep": (
        "[" * 200 + "]" * 200,
        "1: text: nested too deeply, fewer levels are expected",
    ),
}


@pytest.mark.parametrize(("text", "expected"), FILES.values(), ids=FILES.keys())
def test_files_without_rules(text: str, expected: str) -> None:
    with pytest.raises(Faulty) as caught:
        local_rules.read(text, "rules.yaml", ("tea", "coffee"))
    (said,) = map(str, caught.value.findings)
    assert said.startswith(f"rules.yaml:{expected}")
    assert said == f"rules.yaml:{expected}" or expected.endswith(": ")


def test_files_that_are_no_text_or_not_there(tmp_path: Path) -> None:
    file = tmp_path / "rules.yaml"
    with pytest.raises(Complaint, match="the rules cannot be read"):
        text_of(file, local_rules.RULES)
    file.write_bytes(b"class: A\ntea: \xff\n")
    with pytest.raises(Faulty, match=r"rules\.yaml:2: text: this is not UTF-8 text, save the file as UTF-8"):
        text_of(file, local_rules.RULES)
    file.write_bytes(b"#" * LARGEST)
    assert len(text_of(file, local_rules.RULES)) == LARGEST
    file.write_bytes(b"#" * (LARGEST + 1))
    with pytest.raises(
        Complaint, match="1000001 bytes is too large for rules; at most 1000000 bytes are expected"
    ):
        text_of(file, local_rules.RULES)


@pytest.mark.parametrize(
    ("text", "is_one"),
    [
        ("class: A\ntea: []\n", True),
        ("tea: [{remove: warm}]\n", True),
        ("id: tea\ntitle: Make tea\nscene: You do.\nsteps: []\n", False),
        ("title: Make tea\n", False),
        ("", False),
        ("- a\n", False),
        ("tea: [\n", False),
        ("tea: *a\n", False),
    ],
)
def test_rules_are_told_from_a_procedure(text: str, is_one: bool, tmp_path: Path) -> None:
    file = tmp_path / "some.yaml"
    assert not local_rules.is_rules(file)
    file.write_text(text, encoding="utf-8")
    assert local_rules.is_rules(file) is is_one


PLAIN = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-5, 300)
    | st.just(0.5)
    | st.sampled_from(["wash", "pour", "20 s", "", "x y", "122/78"]),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from("id at from truth water left nudge within".split()), inner, max_size=3
        )
    ),
    max_leaves=4,
)
IDS = st.sampled_from([action.id for action in TEA.actions])
OWN = st.dictionaries(
    st.sampled_from(
        [
            *"critical after say without time count reading cue when again first last remedy side do".split(),
            *("also after", "also say", "behind", "before"),
        ]
    ),
    PLAIN,
    max_size=3,
)
A_RULE = st.one_of(
    st.builds(lambda id, more: {"change": id, **more}, IDS, OWN),
    st.builds(lambda id: {"remove": id}, IDS),
    st.builds(lambda id, more, at: {"add": {"id": id, **more}, "behind": at}, PLAIN, OWN, IDS),
    st.builds(lambda key, value: {"case": {key: value}}, IDS | st.just("weak"), PLAIN),
    st.builds(lambda kind, value: {kind: value}, st.sampled_from(local_rules.KINDS), PLAIN),
)


def _outcome(text: str) -> tuple[Finding, ...]:
    """What is found in a text; nothing where a changed procedure came of it."""
    try:
        assert ruled(text) != TEA
    except Faulty as faulty:
        return faulty.findings
    return ()


@reproducible
@given(some=st.lists(A_RULE, min_size=1, max_size=4))
def test_whatever_stands_there_makes_a_procedure_or_findings_in_the_file(some: list[dict[str, Any]]) -> None:
    text = yaml.safe_dump([rule | {"because": "So."} for rule in some], sort_keys=False)
    text = "".join(f"  {line}\n" for line in text.splitlines() if line)
    for finding in _outcome(text):
        assert 2 <= finding.line <= text.count("\n") + 1
        assert finding.where.startswith("tea, ")

"""Procedures are found by id or by file, and a wrong name gets the nearest."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from tests.procedure.examples import SHIPPED, plain_procedure, plain_step, shipped
from voicecoach.errors import Complaint
from voicecoach.procedure import library, local_rules
from voicecoach.procedure.loading import Faulty

RULES = """\
class: Evening class
hand-rub:
  - change: palmful
    critical: false
    because: Our state does not count it as critical.
  - pass: 0.9
    because: The course is over.
"""


@pytest.fixture(autouse=True)
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where rules in force are kept; there are none."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    return tmp_path / "data" / "voicecoach" / "rules.yaml"


def _keep(kept: Path, text: str) -> None:
    kept.parent.mkdir(parents=True)
    kept.write_text(text, encoding="utf-8")


def _complaint(name: str) -> str:
    with pytest.raises(Complaint) as caught:
        library.find(name)
    return str(caught.value)


def test_the_shipped_procedures_in_order() -> None:
    assert library.shipped() == SHIPPED
    assert {file.stem for file in library.folder().iterdir() if file.suffix == ".yaml"} == set(SHIPPED)


def test_a_wheel_brings_the_library_inside_the_package(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    room = tmp_path / "voicecoach" / "procedure"
    room.mkdir(parents=True)
    monkeypatch.setattr(library, "__file__", str(room / "library.py"))
    assert library.folder() == tmp_path / "procedures"
    (tmp_path / "voicecoach" / "library").mkdir()
    assert library.folder() == tmp_path / "voicecoach" / "library"


@pytest.mark.parametrize("id", SHIPPED)
def test_found_by_id(id: str) -> None:
    assert shipped(id).id == id


@pytest.mark.parametrize("ending", [".yaml", ".yml"])
def test_found_by_file(ending: str, tmp_path: Path) -> None:
    file = tmp_path / f"hand-rub{ending}"
    file.write_text(yaml.safe_dump(plain_procedure(plain_step("boil"))), encoding="utf-8")
    assert library.find(str(file)).id == "tea"


@pytest.mark.parametrize(
    ("wrong", "nearest"),
    [
        ("handrub", "hand-rub"),
        ("hand rub", "hand-rub"),
        ("gait-belt", "gait-belt-walk"),
        ("blood-presure", "blood-pressure"),
        ("Wash-Hands", "wash-hands"),
        ("ppe", "full-ppe"),
        ("wheelchair", "bed-to-wheelchair"),
        ("drainagebag", "drainage-bag"),
        ("mouthcare", "mouth-care"),
    ],
)
def test_a_wrong_name_gets_the_nearest_first(wrong: str, nearest: str) -> None:
    said = _complaint(wrong)
    offered = said.partition("nearest are ")[2].partition(". ")[0].split(", ")
    assert said.startswith(f"There is no procedure {wrong!r}; nearest are ")
    assert offered[0] == nearest
    assert len(set(offered)) == 3
    assert set(offered) <= set(SHIPPED)
    assert "`voicecoach procedures`" in said


@pytest.mark.parametrize("wrong", ["", "...", "../procedures/hand-rub", "hand-rub.yam", "日本"])
def test_any_other_name_gets_a_sentence_too(wrong: str) -> None:
    assert _complaint(wrong).startswith(f"There is no procedure {wrong!r}; nearest are ")


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    file = tmp_path / "nothing.yaml"
    assert _complaint(str(file)) == (
        f"{file}: the procedure cannot be read (No such file or directory); check the name."
    )


def test_a_faulty_file(tmp_path: Path) -> None:
    file = tmp_path / "tea.yaml"
    file.write_text("id: tea\n", encoding="utf-8")
    with pytest.raises(Faulty):
        library.find(str(file))


def test_phrases_of_the_other_procedures() -> None:
    others = library.other_phrases("hand-rub")
    assert sorted(others) == sorted(
        phrase for id in SHIPPED if id != "hand-rub" for step in shipped(id).steps for phrase in step.say
    )
    everything = library.other_phrases("one-of-my-own")
    assert len(everything) - len(others) == sum(len(step.say) for step in shipped("hand-rub").steps)


def test_the_edition_of_the_other_procedures_is_another_where_they_are(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("one", "two", "three"):
        (tmp_path / f"{name}.yaml").write_text(name, encoding="utf-8")
    monkeypatch.setattr(library, "folder", lambda: tmp_path)
    before = library.others_edition("one")
    assert library.others_edition("two") != before == library.others_edition("one")
    (tmp_path / "one.yaml").write_text("changed", encoding="utf-8")
    assert library.others_edition("one") == before
    (tmp_path / "two.yaml").write_text("changed", encoding="utf-8")
    assert library.others_edition("one") != before


def test_rules_in_force_change_what_is_found_and_nothing_else(kept: Path, tmp_path: Path) -> None:
    files = {file: file.read_bytes() for file in library.folder().iterdir()}
    before = library.find("hand-rub")
    mine = tmp_path / "mine.yaml"
    mine.write_bytes((library.folder() / "hand-rub.yaml").read_bytes())
    _keep(kept, RULES)
    after = library.find("hand-rub")
    assert before.step("palmful").critical
    assert not after.step("palmful").critical
    assert after.pass_.share == 0.9
    assert library.as_shipped("hand-rub") == before
    assert library.find(str(mine)) == before, "a file of one's own is as it is written"
    assert library.find("wash-hands") == library.as_shipped("wash-hands")
    assert {file: file.read_bytes() for file in library.folder().iterdir()} == files
    kept.unlink()
    assert library.find("hand-rub") == before


def test_without_rules_nothing_of_them_is_read(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: object) -> None:
        raise AssertionError

    monkeypatch.setattr(local_rules, "read", never)
    assert library.in_force() is None
    assert library.find("hand-rub").id == "hand-rub"
    assert not kept.parent.exists(), "looking for rules leaves nothing behind"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            RULES.replace("critical: false", "critical: true"),
            ":4: hand-rub, change palmful: critical: this is so",
        ),
        (
            RULES.replace("palmful", "handful"),
            ":3: hand-rub, change handful: there is no step 'handful', nearest",
        ),
        ("", ":1: top: nothing is there"),
        ("hand-rub: [", ":1: text: "),
        ("hand-rub: *all", ":1: text: an alias"),
    ],
)
def test_rules_in_force_that_cannot_be_used_are_never_passed_over(text: str, said: str, kept: Path) -> None:
    _keep(kept, text)
    complaint = _complaint("hand-rub")
    assert complaint.startswith(f"{kept}{said}")
    assert complaint.endswith(
        "These rules are in force and cannot be used. Put your own file right and in force again with "
        "`voicecoach rules FILE`, or go without rules: `voicecoach rules --none`."
    )
    assert library.as_shipped("hand-rub").id == "hand-rub"


def test_rules_in_force_that_cannot_be_read(kept: Path) -> None:
    kept.mkdir(parents=True)
    assert _complaint("hand-rub").startswith(f"{kept}: the rules cannot be read (Is a directory)")


def test_all_procedures_that_rules_change_with_all_that_is_wrong() -> None:
    rules = library.rules(RULES + "wash-hands: [{pass: 0.7, because: It is early.}]\n", "rules.yaml")
    one, other = library.ruled(rules)
    assert (one.before.id, one.before.pass_.share, one.after.pass_.share) == ("hand-rub", 0.8, 0.9)
    assert (other.before.id, other.before.pass_.share, other.after.pass_.share) == ("wash-hands", 0.8, 0.7)
    rules = library.rules(
        RULES.replace("0.9", "0.8") + "wash-hands: [{remove: water, because: It is cold.}]\n", "rules.yaml"
    )
    with pytest.raises(Faulty) as caught:
        library.ruled(rules)
    assert [(finding.line, finding.where) for finding in caught.value.findings] == [
        (6, "hand-rub, pass"),
        (8, "wash-hands, remove water"),
    ]


def test_rules_are_for_procedures_that_come_with_voicecoach() -> None:
    with pytest.raises(Faulty) as caught:
        library.rules(RULES.replace("hand-rub", "handrub"), "rules.yaml")
    assert str(caught.value).startswith(
        "rules.yaml:2: handrub: there is no procedure of that id, nearest are hand-rub, "
    )

"""Procedures are found by id or by file, and a wrong name gets the nearest."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from tests.procedure.examples import SHIPPED, plain_procedure, plain_step, shipped
from voicecoach.errors import Complaint
from voicecoach.procedure import library
from voicecoach.procedure.loading import Faulty


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

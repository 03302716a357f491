"""A model as the user has it: what is taken, and what is refused before anything is written."""

from __future__ import annotations

import hashlib
import os
import shutil
import stat
import tempfile
import zipfile
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicecoach.errors import Complaint
from voicecoach.hearing import unpacking
from voicecoach.hearing.unpacking import megabytes, opened, safe_parts

MODEL = {
    "am/final.mdl": b"acoustics",
    "conf/mfcc.conf": b"--sample-frequency=16000",
    "graph/HCLr.fst": b"graph",
    "graph/phones/word_boundary.int": b"1 nonword",
    "README": b"",
}
OLD = {"final.mdl": b"acoustics", "mfcc.conf": b"", "HCLG.fst": b"graph", "conf/ivector.conf": b""}


def zipped(path: Path, files: Mapping[str, bytes], top: str = "", kind: int = 0) -> Path:
    """A zip of those files; `kind` is the kind that the last of them claims to be."""
    with zipfile.ZipFile(path, "w") as archive:
        for name, content in files.items():
            entry = zipfile.ZipInfo(top + name)
            if name == list(files)[-1]:
                entry.external_attr = (kind | 0o644) << 16
            archive.writestr(entry, content)
    return path


def foldered(path: Path, files: Mapping[str, bytes]) -> Path:
    for name, content in files.items():
        (path / name).parent.mkdir(parents=True, exist_ok=True)
        (path / name).write_bytes(content)
    return path


def files_in(folder: Path) -> dict[str, bytes]:
    found = (file for file in folder.rglob("*") if file.is_file())
    return {file.relative_to(folder).as_posix(): file.read_bytes() for file in found}


class Copied(NamedTuple):
    files: dict[str, bytes]
    sha256: str
    told: int
    """Bytes that `advance` was told of."""
    said: int
    """Bytes that there are to be told of."""


def copied(path: Path, to: Path) -> Copied:
    told: list[int] = []
    with opened(path) as parcel:
        sha256 = parcel.copy(to, told.append)
    return Copied(files_in(to), sha256, sum(told), parcel.packed + parcel.size)


def refused(path: Path) -> str:
    """The sentence with which a folder or zip is refused when looked through or, at last, when copied."""
    with tempfile.TemporaryDirectory() as place, pytest.raises(Complaint) as said:
        copied(path, Path(place) / "model")
    assert str(path) in str(said.value)
    assert str(said.value).endswith(".")
    return str(said.value)


@pytest.mark.parametrize("top", ["", "vosk-model-en/", "downloads/vosk-model-en/"])
@pytest.mark.parametrize("files", [MODEL, OLD])
def test_a_zip_with_or_without_a_top_folder(tmp_path: Path, files: dict[str, bytes], top: str) -> None:
    path = zipped(tmp_path / "en.zip", files, top)
    found = copied(path, tmp_path / "out")
    assert found.files == files
    assert found.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert found.told == found.said == path.stat().st_size + sum(map(len, files.values()))


def test_a_packed_zip_with_folders_of_its_own_and_what_a_mac_adds(tmp_path: Path) -> None:
    foldered(tmp_path / "in" / "en", MODEL)
    foldered(tmp_path / "in" / "__MACOSX" / "en" / "am", {"._final.mdl": b"?"})
    path = Path(shutil.make_archive(str(tmp_path / "en"), "zip", tmp_path / "in"))
    assert copied(path, tmp_path / "out").files == MODEL


def test_the_sha256_of_a_folder_is_the_same_wherever_it_is(tmp_path: Path) -> None:
    listed = b"".join(
        f"{name}\0{len(content)}\0".encode() + content for name, content in sorted(MODEL.items())
    )
    one = copied(foldered(tmp_path / "one", MODEL), tmp_path / "out1")
    foldered(tmp_path / "two" / "below", dict(reversed(MODEL.items())))
    two = copied(tmp_path / "two", tmp_path / "out2")
    assert one.files == two.files == MODEL
    assert one.sha256 == two.sha256 == hashlib.sha256(listed).hexdigest()
    assert one.told == one.said == sum(map(len, MODEL.values()))
    other = copied(foldered(tmp_path / "one", {"README": b"x"}), tmp_path / "out3")
    assert other.sha256 != one.sha256


@pytest.mark.parametrize(
    "name",
    [
        "../evil",
        "am/../../evil",
        "..",
        "/etc/evil",
        "//host/evil",
        "C:/evil",
        "C:evil",
        "am\\..\\..\\evil",
        "am/.. /evil",
        "am/.../evil",
        "evil\0.txt",
        "evil\n",
        "am/nul",
        "COM1.txt",
        "../evil/",
    ],
)
def test_names_that_lead_outside_are_refused(tmp_path: Path, name: str) -> None:
    path = tmp_path / "en.zip"
    # the name is put in afterwards: writing a zip would tidy it
    stand_in = "x" * len(name)
    zipped(path, {**MODEL, stand_in: b"evil"})
    path.write_bytes(path.read_bytes().replace(stand_in.encode(), name.encode()))
    assert "could lead outside" in refused(path)


@pytest.mark.parametrize("kind", [stat.S_IFLNK, stat.S_IFIFO, stat.S_IFCHR, stat.S_IFBLK, stat.S_IFSOCK])
def test_links_and_special_files_in_a_zip_are_refused(tmp_path: Path, kind: int) -> None:
    said = refused(zipped(tmp_path / "en.zip", {**MODEL, "am/link": b"/etc/passwd"}, kind=kind))
    assert "'am/link' in it is a link or another special file" in said


def test_links_and_special_files_in_a_folder_are_refused(tmp_path: Path) -> None:
    for n, target in enumerate((tmp_path, tmp_path / "nowhere", Path("/etc/passwd"))):
        folder = foldered(tmp_path / f"en{n}", MODEL)
        (folder / "am" / "link").symlink_to(target)
        assert "'am/link' in it is a link" in refused(folder)
    os.mkfifo(foldered(tmp_path / "pipe", MODEL) / "fifo")
    assert "special file" in refused(tmp_path / "pipe")
    assert "There is no file" in refused(tmp_path / "pipe" / "fifo")


def test_a_bomb_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "en.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in MODEL:
            archive.writestr(name, bytes(2**20))
    assert "more than" not in refused(path)
    assert "over 50 times as large" in refused(path)


def test_one_that_grows_without_bound_in_a_single_read_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "en.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_BZIP2) as archive:
        for name in MODEL:
            archive.writestr(name, b"x")
    assert "packed in an unusual way" in refused(path)


@pytest.mark.parametrize("kind", ["zip", "folder"])
def test_too_many_and_too_large(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str) -> None:
    path = foldered(tmp_path / "en", MODEL) if kind == "folder" else zipped(tmp_path / "en.zip", MODEL)
    monkeypatch.setattr(unpacking, "MOST_BYTES", 20)
    assert "it has 1 MB, and 1 MB is the most" in refused(path)
    monkeypatch.setattr(unpacking, "MOST_FILES", 4)
    assert "more than 4 files" in refused(path)


def test_a_locked_zip_is_refused(tmp_path: Path) -> None:
    path = zipped(tmp_path / "en.zip", MODEL)
    content = bytearray(path.read_bytes())
    content[content.index(b"PK\1\2") + 8] |= 1
    path.write_bytes(content)
    assert "locked with a password" in refused(path)


def test_a_zip_that_breaks_off_or_is_none(tmp_path: Path) -> None:
    whole = zipped(tmp_path / "en.zip", MODEL).read_bytes()
    for n, content in enumerate((whole[:-30], whole[: len(whole) // 2], b"", b"\x1f\x8b tar")):
        path = tmp_path / f"{n}.zip"
        path.write_bytes(content)
        assert "it is damaged or no zip" in refused(path)
    assert "There is no file" in refused(tmp_path / "none.zip")
    path.write_bytes(whole[100:])
    assert "'am/final.mdl' in it cannot be read" in refused(path)


def test_damage_inside_a_zip_is_found_when_it_is_copied(tmp_path: Path) -> None:
    path = zipped(tmp_path / "en.zip", MODEL)
    path.write_bytes(path.read_bytes().replace(b"acoustics", b"acoustocs"))
    assert "it is damaged or no zip (Bad CRC-32" in refused(path)


@pytest.mark.parametrize("size", [4, 400])
def test_a_file_that_is_not_as_long_as_was_said(tmp_path: Path, size: int) -> None:
    folder = foldered(tmp_path / "en", MODEL)
    with opened(folder) as parcel:
        (folder / "am" / "final.mdl").write_bytes(bytes(size))
        with pytest.raises(Complaint, match=r"'am/final\.mdl' in it is not as long as it should be"):
            parcel.copy(tmp_path / "out", abs)
    assert (tmp_path / "out" / "am" / "final.mdl").stat().st_size <= len(MODEL["am/final.mdl"])


@pytest.mark.parametrize(
    ("files", "why"),
    [
        ({"photo.jpg": b""}, "no Vosk model in it, since it has no am/final.mdl"),
        ({}, "no Vosk model in it"),
        ({"en/am/final.mdl": b"", "en/conf/mfcc.conf": b""}, "since it has no graph"),
        # in the wrong place: its parts are not in one folder
        ({"en/am/final.mdl": b"", "conf/mfcc.conf": b"", "graph/HCLG.fst": b""}, "since it has no conf"),
        ({f"{top}/{name}": b"" for top in "ab" for name in MODEL}, "it holds 2 models"),
        ({**MODEL, **{f"below/{name}": b"" for name in MODEL}}, "it holds 2 models"),
    ],
)
@pytest.mark.parametrize("kind", ["zip", "folder"])
def test_no_model_or_several(tmp_path: Path, files: dict[str, bytes], why: str, kind: str) -> None:
    (tmp_path / "in").mkdir()
    path = foldered(tmp_path / "in", files) if kind == "folder" else zipped(tmp_path / "in.zip", files)
    assert why in refused(path)


@pytest.mark.filterwarnings("ignore:Duplicate name")
@pytest.mark.parametrize("name", ["am/final.mdl", "am//final.mdl", "./am/final.mdl", "AM/x", "readme"])
def test_two_things_with_one_name_are_refused(tmp_path: Path, name: str) -> None:
    path = zipped(tmp_path / "en.zip", {**MODEL, "am/X": b""})
    with zipfile.ZipFile(path, "a") as archive:
        archive.writestr(name, b"another")
    assert "two things in it have the name" in refused(path)


def test_a_file_that_is_a_folder_too_is_refused(tmp_path: Path) -> None:
    assert "two things in it have the name 'am/x'" in refused(
        zipped(tmp_path / "en.zip", {**MODEL, "am/x": b"", "am/x/y": b""})
    )


def test_no_room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    usage = shutil.disk_usage(tmp_path)._replace(free=unpacking.SPARE + 20)
    monkeypatch.setattr(shutil, "disk_usage", lambda _: usage)
    with (
        opened(zipped(tmp_path / "en.zip", MODEL)) as parcel,
        pytest.raises(Complaint, match="make room there"),
    ):
        parcel.copy(tmp_path / "out", abs)
    assert not (tmp_path / "out").exists()


def test_what_cannot_be_read_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def locked(*_: object) -> None:
        raise PermissionError(13, "Permission denied", "somewhere")

    folder, path = foldered(tmp_path / "en", MODEL), zipped(tmp_path / "en.zip", MODEL)
    with monkeypatch.context() as patched:
        patched.setattr(zipfile, "ZipFile", locked)
        assert "it cannot be read (Permission denied)" in refused(path)
    with monkeypatch.context() as patched:
        patched.setattr(os, "scandir", locked)
        with pytest.raises(Complaint) as said:
            opened(folder).__enter__()
    assert "somewhere cannot be read (Permission denied)" in str(said.value)


def test_sizes_are_rounded_up() -> None:
    assert [megabytes(size) for size in (0, 1, 10**6, 10**6 + 1)] == ["0 MB", "1 MB", "1 MB", "2 MB"]


PIECES = st.sampled_from(
    ["..", ".", "", "/", "\\", "C:", "~", "am", "a", "A", " ", "...", "nul", "é", "\u202e", "x:y", "%00"]
)
NAMES = st.lists(PIECES, min_size=1, max_size=6).map("/".join).filter(len) | st.text(
    st.characters(codec="utf-8"), min_size=1, max_size=9
)


@given(st.lists(NAMES, max_size=4))
def test_no_name_ever_lands_outside(names: list[str]) -> None:
    with tempfile.TemporaryDirectory() as place:
        base = Path(place)
        path = base / "en.zip"
        with zipfile.ZipFile(path, "w") as archive:
            for name, content in (MODEL | dict.fromkeys(names, b"?")).items():
                archive.writestr(name, content)
        inside = base / "a" / "b" / "model"
        inside.parent.mkdir(parents=True)
        try:
            found = copied(path, inside)
        except Complaint:
            found = None
        outside = {file for file in base.rglob("*") if file.is_file() and inside not in file.parents}
        assert outside == {path}
        if found:
            assert MODEL.items() <= found.files.items()


@given(NAMES)
def test_safe_parts_lead_inside_here_and_on_windows(name: str) -> None:
    parts = safe_parts(name)
    if parts is not None:
        assert not {"..", ".", ""} & {part.rstrip(". ") for part in parts}
        assert not any(set(part) & set("/\\:\0") for part in parts)


@given(
    st.lists(st.tuples(st.integers(0, 2000), st.integers(0, 255)), min_size=1, max_size=8), st.integers(0, 40)
)
def test_a_damaged_zip_never_does_worse_than_being_refused(changes: list[tuple[int, int]], cut: int) -> None:
    with tempfile.TemporaryDirectory() as place:
        path = zipped(Path(place) / "en.zip", MODEL)
        content = bytearray(path.read_bytes())
        for at, value in changes:
            content[at % len(content)] = value
        path.write_bytes(content[: len(content) - (cut if cut > 30 else 0)])
        folder = Path(place) / "model"
        refused = True
        with suppress(Complaint):
            copied(path, folder)
            refused = False
        assert refused or any(file.is_file() for file in folder.rglob("*"))

"""A Vosk model as the user has it, a folder or a zip: looked through before a byte is used, then copied."""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import stat
import struct
import zipfile
import zlib
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path, PurePosixPath
from typing import IO

from voicecoach.errors import Complaint
from voicecoach.hearing.vosk import lacking

MOST_BYTES = 4 * 2**30
"""Bytes of a model at most, unpacked."""
MOST_FILES = 1000
"""Files and folders at most; a model has about twenty."""
MOST_RATIO = 50
"""How many times as large a zip may become; that of a model becomes about twice as large."""
SPARE = 100 * 10**6
"""Bytes that stay free on the disk."""
DEVICE = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)
"""Names that are devices on Windows, in every folder."""

_BLOCK = 2**20
_LOCKED = 0x1
_METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
"""The others can give any amount of memory's worth from a single read."""
_DAMAGE = (
    zipfile.BadZipFile,
    EOFError,
    NotImplementedError,
    OverflowError,
    RuntimeError,
    ValueError,
    struct.error,
    zlib.error,
)
"""What reading a damaged zip raises."""
_AGAIN = "get it again from where it comes from"
_BY_HAND = "unpack it yourself and install the folder"
_READABLE = "check that you may read it"


@dataclass(frozen=True, slots=True)
class Member:
    """A file of a model."""

    size: int
    """Bytes, unpacked."""
    open: Callable[[], IO[bytes]]
    """Opens it for reading."""


@dataclass(frozen=True, slots=True)
class Parcel:
    """A model in a folder or a zip, looked through."""

    path: Path
    """The folder or the zip."""
    members: Mapping[str, Member]
    """Its files by their path inside the model, with `/`."""
    packed: int
    """Bytes of the zip; 0 for a folder."""

    @property
    def size(self) -> int:
        """Bytes of the model, unpacked."""
        return sum(member.size for member in self.members.values())

    def copy(self, folder: Path, advance: Callable[[int], object]) -> str:
        """Copy the model into `folder`, which is made; give its SHA-256 in hexadecimal digits.

        For a zip that is the SHA-256 of the zip. For a folder it is that of all the model's files one after
        the other, sorted by path as UTF-8: the path with `/`, a zero byte, the length in decimal digits, a
        zero byte, the contents. `advance` is told of bytes done, `packed` and `size` together in the end.
        Raises Complaint where there is no room or the model cannot be read, OSError where writing fails;
        what was copied is then left to the caller.
        """
        if shutil.disk_usage(folder.parent).free < self.size + SPARE:
            raise _refused(
                self.path, f"it needs {megabytes(self.size)}, and the disk has not so much", "make room there"
            )
        digest = hashlib.sha256()
        if self.packed:
            with self.path.open("rb") as whole:
                for block in _blocks(whole):
                    digest.update(block)
                    advance(len(block))
        folder.mkdir()
        for name in sorted(self.members, key=str.encode):
            head = b"" if self.packed else f"{name}\0{self.members[name].size}\0".encode()
            digest.update(head)
            target = folder / name
            target.parent.mkdir(parents=True, exist_ok=True)
            with target.open("xb") as written:
                for block in self._contents(name):
                    written.write(block)
                    advance(len(block))
                    if head:
                        digest.update(block)
        return digest.hexdigest()

    def _contents(self, name: str) -> Iterator[bytes]:
        """A file in blocks; Complaint where it cannot be read, is damaged or not as long as was said."""
        left = self.members[name].size
        try:
            with self.members[name].open() as file:
                for block in _blocks(file):
                    left -= len(block)
                    if left < 0:
                        break
                    yield block
        except OSError as error:
            # of a zip, the table of contents could be read
            advice = _AGAIN if self.packed else _READABLE
            raise _refused(self.path, f"{name!r} in it cannot be read ({error.strerror})", advice) from None
        except _DAMAGE as error:
            raise _damaged(self.path, error) from None
        if left:
            raise _refused(self.path, f"{name!r} in it is not as long as it should be", _AGAIN)


@contextmanager
def opened(path: Path) -> Iterator[Parcel]:
    """Look through a folder or a zip that holds one Vosk model, itself or in a folder in it.

    Raises Complaint where it holds none or more than one, is damaged or locked, or has in it what could do
    harm: paths that lead outside, links, or more than a model has.
    """
    if path.is_dir():
        yield _of_folder(path)
        return
    if not path.is_file():
        raise Complaint(f"There is no file {path}: give the zip of a Vosk model, or the folder of one.")
    try:
        archive = zipfile.ZipFile(path)
    except OSError as error:
        raise _refused(path, f"it cannot be read ({error.strerror})", _READABLE) from None
    except _DAMAGE as error:
        raise _damaged(path, error) from None
    with archive:
        yield _of_zip(path, archive)


def megabytes(size: int) -> str:
    """A size in bytes as people read it."""
    return f"{-(-size // 10**6)} MB"


def safe_parts(name: str) -> tuple[str, ...] | None:
    """The parts of a path with `/`; None where on some system it may lead outside of where it begins.

    None of them are left of `.`, the place where it begins.
    """
    parts = PurePosixPath(name).parts
    for part in parts:
        # Windows drops dots and spaces at the end, so that "..." and ".. " may be ".."
        if part != part.rstrip(". ") or set(part) & set("/\\:") or not part.isprintable():
            return None
        if DEVICE.fullmatch(part):
            return None
    return parts


def _of_folder(path: Path) -> Parcel:
    members = []
    for place, about in _walk(path):
        name = place.relative_to(path).as_posix()
        if stat.S_ISREG(about.st_mode):
            members.append((name, Member(about.st_size, partial(_open, place))))
        elif not stat.S_ISDIR(about.st_mode):
            raise _special(path, name)
    _check_size(path, sum(member.size for _, member in members))
    return Parcel(path, _model_in(path, members), 0)


def _open(place: Path) -> IO[bytes]:
    return place.open("rb")


def _walk(path: Path) -> Iterator[tuple[Path, os.stat_result]]:
    """All that is in a folder; Complaint where that is too much or cannot be read."""

    def fail(error: OSError) -> None:
        raise _refused(path, f"{error.filename} cannot be read ({error.strerror})", _READABLE)

    count = 0
    for folder, folders, files in os.walk(path, onerror=fail):
        count += len(folders) + len(files)
        _check_count(path, count)
        for name in (*folders, *files):
            place = Path(folder, name)
            yield place, place.lstat()


def _of_zip(path: Path, archive: zipfile.ZipFile) -> Parcel:
    entries = archive.infolist()
    packed = path.stat().st_size
    _check_count(path, len(entries))
    for entry in entries:
        if entry.flag_bits & _LOCKED:
            raise _refused(path, "it is locked with a password", _BY_HAND)
        if stat.S_IFMT(entry.external_attr >> 16) not in (0, stat.S_IFREG, stat.S_IFDIR):
            raise _special(path, entry.orig_filename)
        if entry.compress_type not in _METHODS:
            raise _refused(path, "it is packed in an unusual way", _BY_HAND)
    total = sum(entry.file_size for entry in entries)
    _check_size(path, total)
    # held against the zip itself: entries may lie on top of each other, each with a small packed size
    if total > MOST_RATIO * packed:
        raise _refused(path, f"it would become over {MOST_RATIO} times as large, as no model does", _AGAIN)
    members = []
    for entry in entries:
        # the name as the zip has it: the library tidies it up, though what is wrong with it should be seen
        name = entry.orig_filename
        if safe_parts(name) is None:
            raise _unsafe(path, name)
        if not name.endswith("/"):
            members.append((name, Member(entry.file_size, partial(archive.open, entry))))
    return Parcel(path, _model_in(path, members), packed)


def _model_in(path: Path, members: Iterable[tuple[str, Member]]) -> dict[str, Member]:
    """The files of the one model among all, by their path inside of it; Complaint where there is not one."""
    found = []
    for name, member in members:
        parts = safe_parts(name)
        if not parts:
            raise _unsafe(path, name)
        found.append((parts, member))
    roots = _roots(parts for parts, _ in found)
    if len(roots) > 1:
        raise _refused(path, f"it holds {len(roots)} models", "unpack it and install them one by one")
    root = next(iter(roots), ())
    inside = [("/".join(parts[len(root) :]), member) for parts, member in found if parts[: len(root)] == root]
    _check_apart(path, [name for name, _ in inside])
    if part := lacking(dict(inside).__contains__):
        raise _refused(path, f"there is no Vosk model in it, since it has no {part}", "check that it is one")
    return dict(inside)


def _roots(files: Iterable[tuple[str, ...]]) -> set[tuple[str, ...]]:
    """The folders that are models, known by their `am/final.mdl` or, in older ones, `final.mdl`."""
    roots = set()
    for *folders, name in files:
        if name == "final.mdl":
            roots.add(tuple(folders[:-1] if folders[-1:] == ["am"] else folders))
    return roots


def _check_apart(path: Path, names: Iterable[str]) -> None:
    """Complaint where two files have one name, if only for a system that does not tell capitals apart."""
    times = Counter(name.casefold() for name in names)
    folders = {str(folder) for name in times for folder in PurePosixPath(name).parents}
    for name, number in times.items():
        if number > 1 or name in folders:
            raise _refused(path, f"two things in it have the name {name!r}", _AGAIN)


def _check_count(path: Path, count: int) -> None:
    if count > MOST_FILES:
        raise _refused(path, f"it has more than {MOST_FILES} files, as no model has", "check that it is one")


def _check_size(path: Path, size: int) -> None:
    if size > MOST_BYTES:
        most = megabytes(MOST_BYTES)
        raise _refused(path, f"it has {megabytes(size)}, and {most} is the most", "use a smaller one")


def _blocks(file: IO[bytes]) -> Iterator[bytes]:
    return iter(partial(file.read, _BLOCK), b"")


def _refused(path: Path, why: str, advice: str) -> Complaint:
    return Complaint(f"{path} is not installed: {why}; {advice}.")


def _damaged(path: Path, error: Exception) -> Complaint:
    return _refused(path, f"it is damaged or no zip ({error})", _AGAIN)


def _special(path: Path, name: str) -> Complaint:
    return _refused(path, f"{name!r} in it is a link or another special file", "put a plain file there")


def _unsafe(path: Path, name: str) -> Complaint:
    return _refused(path, f"the name {name!r} in it could lead outside of the model's folder", _AGAIN)

"""The Vosk models in voicecoach's data folder: which there are, which is taken, and how they come and go.

Each is a folder under `models/`, beside it `.NAME.json` with what was found out about it; `.chosen` has the
name of the one that the user chose. A folder put there by hand is found out about when it is first looked at.
"""

from __future__ import annotations

import errno
import json
import os
import re
import shutil
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from platformdirs import user_data_path
from rapidfuzz import process

from voicecoach.errors import Complaint
from voicecoach.hearing.model_check import knows_english
from voicecoach.hearing.unpacking import DEVICE, Parcel
from voicecoach.hearing.vosk import lacking

_CHOSEN = ".chosen"
_UNFINISHED = ".unfinished-"
"""How folders begin in which a model is on its way in or out."""
_LEFT = 24 * 60 * 60
"""Seconds after which such a folder must be one that a crash left."""
_LONGEST_NAME = 64
_FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


@dataclass(frozen=True, slots=True)
class Installed:
    """A model in the data folder."""

    folder: Path
    """Where it is; the folder's name is the model's."""
    size: int
    """Bytes."""
    english: bool | None
    """Whether it knows English; None where it cannot be loaded."""
    sha256: str | None
    """Of what it was installed from, as `Parcel.copy` has it; None where it was put there by hand."""
    chosen: bool
    """Whether the user chose it."""


def folder() -> Path:
    """Where the models are kept."""
    return user_data_path("voicecoach") / "models"


def installed() -> Iterator[Installed]:
    """The models, the chosen one first, then by name.

    One that nothing is known of is tried out when its turn comes, which takes from a second to a minute.
    """
    choice = _choice()
    for place in sorted(_places(), key=lambda place: place.name != choice):
        yield _looked_at(place, place.name == choice)


def taken(models: Iterable[Installed]) -> Installed | None:
    """The model that vosk takes among all: the chosen one, else the first English one by name."""
    return next((model for model in models if model.english), None)


def installed_model() -> Path | None:
    """The folder of the English model that vosk takes; None where there is none."""
    model = taken(installed())
    return model.folder if model else None


def no_model() -> Complaint:
    """What is said where vosk is asked for and no model is taken."""
    if names := ", ".join(place.name for place in _places()):
        return Complaint(
            f"Of the installed Vosk models ({names}) none is an English one that works; install one with "
            "`voicecoach models install FILE`, give a folder with --model FOLDER, or use --hear sphinx."
        )
    return Complaint(
        "There is no Vosk model; download an English one and install its zip with `voicecoach models install "
        "FILE`, give the folder of one with --model FOLDER, or use --hear sphinx."
    )


def install(parcel: Parcel, advance: Callable[[int], object]) -> Installed:
    """Copy a model into the data folder and try it out; `advance` is told of bytes as by `Parcel.copy`.

    Raises Complaint where there is one of that name, or where it cannot be copied or loaded; nothing is left
    of it then.
    """
    target = folder() / name_for(parcel.path)
    _check_free(target)
    with _unfinished() as place:
        copied = place / target.name
        sha256 = parcel.copy(copied, advance)
        english = knows_english(copied)
        if english is None:
            raise Complaint(
                f"{parcel.path} is not installed: the model in it cannot be loaded, so that it is damaged or "
                "too large for this computer; get it again, or use a smaller one."
            )
        _check_free(target)
        copied.rename(target)
    _note(target, parcel.size, english, sha256)
    return _looked_at(target, _choice() == target.name)


def choose(name: str) -> Installed:
    """Let vosk take the model of that name from now on; Complaint where there is none or it is no use."""
    model = _looked_at(_place(name), True)
    if model.english is None:
        raise Complaint(
            f"The Vosk model {name!r} cannot be loaded; remove it with `voicecoach models remove {name}` and "
            "install it again."
        )
    if not model.english:
        raise Complaint(
            f"The Vosk model {name!r} is not English, as the procedures are; choose an English one, or give "
            f"this one each time with --model {model.folder}."
        )
    with _complaining():
        _write(folder() / _CHOSEN, f"{name}\n")
    return model


def remove(name: str) -> int:
    """Delete the model of that name and give how many bytes it had; Complaint where there is none."""
    place = _place(name)
    size = _size(place)
    with _unfinished() as out:
        # first out of sight as a whole, so that no half of it can be taken
        place.rename(out / name)
        _beside(place).unlink(missing_ok=True)
        if _choice() == name:
            (folder() / _CHOSEN).unlink()
    return size


def name_for(path: Path) -> str:
    """The name under which a model is installed from a folder or zip: safe as a folder's name everywhere."""
    path = path.resolve()
    plain = path.stem if path.suffix.lower() == ".zip" else path.name
    name = re.sub(r"[^a-z0-9._-]+", "-", plain.lower()).strip("-._")[:_LONGEST_NAME].strip("-._")
    return f"model-{name}".strip("-") if not name or DEVICE.fullmatch(name) else name


def _places() -> list[Path]:
    """The folders of the models, sorted."""
    try:
        found = sorted(folder().iterdir())
    except OSError:
        return []
    return [place for place in found if not place.name.startswith(".") and _is_model(place)]


def _is_model(place: Path) -> bool:
    try:
        return place.is_dir() and not lacking(lambda part: (place / part).is_file())
    except OSError:
        return False  # not readable


def _place(name: str) -> Path:
    """The folder of the model of that name; Complaint with the nearest names where there is none."""
    places = {place.name: place for place in _places()}
    if name in places:
        return places[name]
    if not places:
        raise Complaint(
            f"There is no Vosk model {name!r}, nor any other; `voicecoach models install FILE` installs one."
        )
    near = [match for match, *_ in process.extract(name, list(places), limit=3)]
    raise Complaint(
        f"There is no Vosk model {name!r}; nearest are {', '.join(near)}. `voicecoach models` lists all."
    )


def _check_free(target: Path) -> None:
    """Complaint where something has the place of a model already."""
    if _is_model(target):
        raise Complaint(
            f"A Vosk model {target.name!r} is installed already; remove it first with `voicecoach models "
            f"remove {target.name}`, or rename the file of the new one."
        )
    if target.exists() or target.is_symlink():
        raise Complaint(f"Where the model would go is something else, {target}; move it away first.")


def _looked_at(place: Path, chosen: bool) -> Installed:
    """A model with what is known of it; where nothing is, or it has changed since, it is tried out."""
    size = _size(place)
    with suppress(OSError, ValueError, KeyError, TypeError, RecursionError):
        noted = json.loads(_beside(place).read_text("utf-8"))
        english, sha256 = noted["english"], noted["sha256"]
        if noted["bytes"] == size and isinstance(english, bool) and isinstance(sha256, str | None):
            return Installed(place, size, english, sha256, chosen)
    known = knows_english(place)
    if known is not None:
        _note(place, size, known, None)
    return Installed(place, size, known, None, chosen)


def _note(place: Path, size: int, english: bool, sha256: str | None) -> None:
    """Keep what was found out about a model; where that cannot be, it is found out again each time."""
    with suppress(OSError):
        _write(_beside(place), json.dumps({"sha256": sha256, "bytes": size, "english": english}) + "\n")


def _beside(place: Path) -> Path:
    """Where it is kept what is known of a model."""
    return place.with_name(f".{place.name}.json")


def _choice() -> str | None:
    """The name that the user chose, whether there is such a model or not."""
    try:
        return (folder() / _CHOSEN).read_text("utf-8").strip()
    except (OSError, ValueError):
        return None


def _size(place: Path) -> int:
    """Bytes of all files of a model that can be seen."""
    size = 0
    for folder, _, files in os.walk(place):
        for name in files:
            with suppress(OSError):
                size += Path(folder, name).stat().st_size
    return size


def _write(file: Path, text: str) -> None:
    """Write a small file whole or not at all."""
    new = file.with_name(f"{file.name}.new")
    new.write_text(text, "utf-8")
    new.replace(file)


@contextmanager
def _unfinished() -> Iterator[Path]:
    """A folder beside the models that goes away with all that is in it; Complaint where the disk fails."""
    with _complaining():
        folder().mkdir(parents=True, exist_ok=True)
        for left in folder().glob(f"{_UNFINISHED}*"):
            with suppress(OSError):
                if time.time() - left.stat().st_mtime > _LEFT:
                    shutil.rmtree(left)
        with tempfile.TemporaryDirectory(
            prefix=_UNFINISHED, dir=folder(), ignore_cleanup_errors=True
        ) as place:
            yield Path(place)


@contextmanager
def _complaining() -> Iterator[None]:
    """Make a Complaint of what the system says about the data folder or what is copied into it."""
    try:
        yield
    except OSError as error:
        if error.errno in _FULL:
            raise Complaint(
                f"The disk is full, so that nothing was changed in {folder()}; make room and try again."
            ) from None
        place = f" ({error.filename})" if error.filename else ""
        raise Complaint(
            f"Nothing was changed in {folder()}: {error.strerror}{place}; check that you may read and write "
            "there."
        ) from None

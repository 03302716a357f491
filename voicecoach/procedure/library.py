"""Where procedures are found by their id: those that come with voicecoach, or a file of one's own."""

from __future__ import annotations

import hashlib
from pathlib import Path

import yaml
from rapidfuzz import process

from voicecoach.errors import Complaint
from voicecoach.procedure.loading import load
from voicecoach.procedure.model import Procedure
from voicecoach.procedure.text import LOADER


def folder() -> Path:
    """The folder of the procedures that come with voicecoach."""
    shipped = Path(__file__).parents[1] / "library"
    return shipped if shipped.is_dir() else Path(__file__).parents[2] / "procedures"


def shipped() -> tuple[str, ...]:
    """Ids of the procedures that come with voicecoach, sorted."""
    return tuple(sorted(path.stem for path in folder().glob("*.yaml")))


def find(name: str) -> Procedure:
    """The procedure of that id, or in that file. Complaint with the nearest ids where there is none."""
    path = Path(name)
    if path.suffix in (".yaml", ".yml"):
        return load(path)
    known = shipped()
    if name in known:
        return load(folder() / f"{name}.yaml")
    near = [match for match, *_ in process.extract(name, known, limit=3)]
    raise Complaint(
        f"There is no procedure {name!r}; nearest are {', '.join(near)}. "
        f"`voicecoach procedures` lists all, and a file of your own ends in .yaml."
    )


def other_phrases(id: str) -> tuple[str, ...]:
    """What students may say in the procedures that come with voicecoach, but for the one of that id."""
    # Read without the checks of `load`, which take ten times as long and which these files have passed.
    read = [yaml.load(file.read_text("utf-8"), LOADER) for file in _others(id)]
    return tuple(phrase for procedure in read for step in procedure["steps"] for phrase in step["say"])


def others_edition(id: str) -> str:
    """A hash of all that `other_phrases` reads; it takes a moment, and reading it a tenth of a second."""
    edition = hashlib.sha256()
    for file in _others(id):
        edition.update(hashlib.sha256(file.read_bytes()).digest())
    return edition.hexdigest()


def _others(id: str) -> list[Path]:
    """The files of the procedures that come with voicecoach, but for the one of that id."""
    return [folder() / f"{name}.yaml" for name in shipped() if name != id]

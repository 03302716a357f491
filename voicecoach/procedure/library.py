"""Where procedures are found by their id: those that come with voicecoach, or a file of one's own.

The rules of a class that are in force change what is found under an id, never a file.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

import yaml
from rapidfuzz import process

from voicecoach.errors import Complaint
from voicecoach.procedure import local_rules
from voicecoach.procedure.loading import Faulty, Finding, load, text_of
from voicecoach.procedure.local_rules import RULES, Rules
from voicecoach.procedure.model import Procedure
from voicecoach.procedure.ruling import applied
from voicecoach.procedure.text import LOADER


def folder() -> Path:
    """The folder of the procedures that come with voicecoach."""
    shipped = Path(__file__).parents[1] / "library"
    return shipped if shipped.is_dir() else Path(__file__).parents[2] / "procedures"


def shipped() -> tuple[str, ...]:
    """Ids of the procedures that come with voicecoach, sorted."""
    return tuple(sorted(path.stem for path in folder().glob("*.yaml")))


UNUSABLE = (
    "These rules are in force and cannot be used. Put your own file right and in force again with "
    "`voicecoach rules FILE`, or go without rules: `voicecoach rules --none`."
)


@dataclass(frozen=True, slots=True)
class Ruled:
    """A procedure that rules change."""

    before: Procedure
    """As it comes with voicecoach."""
    after: Procedure
    """As the rules have it."""


def find(name: str) -> Procedure:
    """The procedure of that id with the rules in force, or that in a file, which rules never change.

    Complaint with the nearest ids where there is none, or where the rules in force cannot be used.
    """
    path = Path(name)
    if path.suffix in (".yaml", ".yml"):
        return load(path)
    procedure = as_shipped(name)
    try:
        rules = in_force()
        return applied(procedure, rules.of(name), rules.file) if rules else procedure
    except Complaint as complaint:
        raise Complaint(f"{complaint}\n{UNUSABLE}") from complaint


def as_shipped(id: str) -> Procedure:
    """The procedure of that id as it comes with voicecoach, whatever rules are in force.

    Complaint with the nearest ids where there is none.
    """
    known = shipped()
    if id in known:
        return load(folder() / f"{id}.yaml")
    near = [match for match, *_ in process.extract(id, known, limit=3)]
    raise Complaint(
        f"There is no procedure {id!r}; nearest are {', '.join(near)}. "
        f"`voicecoach procedures` lists all, and a file of your own ends in .yaml."
    )


def in_force() -> Rules | None:
    """The rules in force, right in form; None where there are none. Complaint where they cannot be read."""
    file = local_rules.file()
    return rules(text_of(file, RULES), str(file)) if file.exists() else None


def rules(text: str, file: str) -> Rules:
    """The rules for procedures that come with voicecoach in a text. Faulty where one is wrong in form."""
    return local_rules.read(text, file, shipped())


def ruled(rules: Rules) -> tuple[Ruled, ...]:
    """The procedures that rules change. Faulty with all that is wrong, where rules do not fit."""
    made: list[Ruled] = []
    found: list[Finding] = []
    for id in rules.procedures:
        before = as_shipped(id)
        try:
            made.append(Ruled(before, applied(before, rules.of(id), rules.file)))
        except Faulty as faulty:
            found += faulty.findings
    if found:
        raise Faulty(tuple(found))
    return tuple(made)


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

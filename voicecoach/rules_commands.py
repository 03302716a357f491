"""The command `voicecoach rules`: the rules of a class that are in force, and which these are to be."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.text import Text

from voicecoach.errors import Complaint
from voicecoach.procedure import library, local_rules
from voicecoach.procedure.loading import text_of
from voicecoach.procedure.local_rules import RULES
from voicecoach.showing.differences import lines

ASIDE = "rules-aside.yaml"
"""The name of the copy of the last rules that went out of force, beside those in force."""

_HOW = "voicecoach rules FILE puts the rules of your class in force."


def rules(
    path: Annotated[
        Path | None, typer.Argument(metavar="[FILE]", help="A YAML file with the rules of your class.")
    ] = None,
    none: Annotated[bool, typer.Option("--none", help="Go without the rules that are in force.")] = False,
) -> None:
    """Show what the rules of your class change, put such a file in force, or go without."""
    if path and none:
        raise Complaint("Name a file or say --none, not both.")
    if none:
        _say(*_withdrawn())
    elif path:
        _say(*_put_in_force(path))
    else:
        _say(*_in_force())


def checked(path: Path) -> tuple[str, ...]:
    """What a file of rules changes, as lines; nothing is kept. Faulty where one is wrong."""
    return _differences(text_of(path, RULES), path)


def _in_force() -> tuple[str, ...]:
    """The rules in force and what they change."""
    kept = local_rules.file()
    if not kept.exists():
        return ("No rules are in force.", _HOW)
    try:
        return (f"In force: {kept}", "", *checked(kept))
    except Complaint as complaint:
        raise Complaint(f"{complaint}\n{library.UNUSABLE}") from complaint


def _put_in_force(path: Path) -> tuple[str, ...]:
    """Check a file and keep a copy. Complaint where a rule is wrong, and then nothing is kept."""
    text = text_of(path, RULES)
    kept = local_rules.file()
    try:
        told = _differences(text, path)
    except Complaint as complaint:
        so_far = "the rules that were in force still are" if kept.exists() else "no rules are in force"
        raise Complaint(f"{complaint}\nNothing is changed: {so_far}.") from complaint
    try:
        kept.parent.mkdir(parents=True, exist_ok=True)
        _write(kept, text)
    except OSError as error:
        raise Complaint(f"The rules cannot be kept in {kept}: {error.strerror}.") from error
    how = "After a change in your own file, put it in force again; voicecoach rules --none goes without."
    return (*told, "", f"In force from now on, as a copy: {kept}", how)


def _withdrawn() -> tuple[str, ...]:
    """Take the rules in force out of it, and put them aside."""
    kept = local_rules.file()
    if not kept.exists():
        return ("No rules are in force.",)
    aside = kept.with_name(ASIDE)
    try:
        kept.replace(aside)
    except OSError as error:
        raise Complaint(f"{kept} cannot be put aside: {error.strerror}.") from error
    return ("No rules are in force any more; your own file is as it was.", f"The copy is kept aside: {aside}")


def _differences(text: str, path: Path) -> tuple[str, ...]:
    rules = library.rules(text, str(path))
    return lines(rules, library.ruled(rules))


def _write(file: Path, text: str) -> None:
    """Write a file down to the disk so that there is the old one or the whole new one at any time."""
    with tempfile.NamedTemporaryFile(dir=file.parent, prefix="rules-", delete=False) as part:
        try:
            part.write(text.encode("utf-8"))
            part.flush()
            os.fsync(part.fileno())
            part.close()
            Path(part.name).replace(file)
        except OSError:
            part.close()
            Path(part.name).unlink()
            raise


def _say(*sentences: str) -> None:
    for sentence in sentences:
        Console(highlight=False).print(Text(sentence), soft_wrap=True)

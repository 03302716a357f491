"""To forget a student: every trace of one code in the data folder, and how it is taken away."""

from __future__ import annotations

import html
import json
import os
import re
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from voicecoach.errors import Complaint
from voicecoach.events import Begun
from voicecoach.records import journal as journals
from voicecoach.records import store, students

_OF = re.compile(rb'"student": ("(?:[^"\\]|\\.)*")')
"""The student in the first line of a journal; of a damaged one there may be nothing else that is whole."""
_KEPT = re.compile(r"models|records\.db.*|rules.*\.yaml|names\.json")
"""What in the data folder is not made from journals; it is never deleted."""
_DISTINCT = 12
"""Letters of a name of an attempt that is not met in a text by chance."""
_LONGEST_LINE = 10_000_000
"""Bytes of the beginning of an attempt, at most."""


@dataclass(frozen=True, slots=True)
class Traces:
    """What there is of a student."""

    student: str
    journals: tuple[Path, ...]
    files: tuple[Path, ...]
    """Pages, captions and exports that are about the student, or about one of the attempts."""
    name: bool
    """Whether a name is kept."""


@dataclass(frozen=True, slots=True)
class _Signs:
    """By what a file is known to be about a student."""

    attempts: frozenset[str]
    """Names of the student's attempts and of their journals."""
    others: frozenset[str]
    """The same of all other attempts."""
    words: re.Pattern[bytes]
    """The code and the name, where they stand by themselves."""
    distinct: tuple[bytes, ...]
    """Long names of the student's attempts; small letters."""


def traces(student: str) -> Traces:
    """What there is of a student, by code. Complaint where it is no code, or the record cannot be used."""
    key = students.key(students.check(student))
    name = students.names().get(key, "")
    attempts = store.named()
    own = [(journals.folder() / journal, attempt) for journal, attempt, of in attempts if of == key]
    own += _elsewhere(key)
    owners = {path: _owner(path) for path in map(journals.folder().joinpath, store.unusable())}
    own += [(path, path.stem) for path, owner in owners.items() if owner == key]
    others = [(Path(journal), attempt) for journal, attempt, of in attempts if of != key]
    signs = _signs(student, _called(own), _called(others), name)
    about = [*_made(), *(path for path, owner in owners.items() if owner is None)]
    return Traces(
        student=student,
        journals=tuple(sorted(path for path, _ in own)),
        files=tuple(sorted(path for path in about if _betrays(path, signs))),
        name=bool(name),
    )


def forget(traces: Traces) -> None:
    """Take all traces of a student away, also from the free pages of the store.

    Complaint where something cannot be deleted; what is deleted until then is, and it can be done again.
    """
    # First what only the journals tell of, and last the name, so that what is left is found again.
    for path in (*traces.files, *traces.journals):
        try:
            path.unlink(missing_ok=True)
            if path in traces.files:
                _remove_empty(path.parent)
        except OSError as error:
            raise Complaint(
                f"{path} cannot be deleted: {error.strerror}; mend that and forget {traces.student} again."
            ) from None
    store.wipe()
    students.forget_name(traces.student)


def _called(attempts: Iterable[tuple[Path, str]]) -> frozenset[str]:
    """The names of attempts and of their journals without the end."""
    return frozenset(name for journal, attempt in attempts for name in (journal.stem, attempt))


def _signs(student: str, attempts: frozenset[str], others: frozenset[str], name: str) -> _Signs:
    # A name stands in a page as HTML and in an export as JSON.
    words = {student, *([name, html.escape(name), json.dumps(name)[1:-1]] if name else [])}
    any_word = b"|".join(re.escape(word.encode("utf-8")) for word in sorted(words))
    return _Signs(
        attempts,
        others,
        re.compile(rb"(?<![a-z0-9])(?:" + any_word + rb")(?![a-z0-9])", re.IGNORECASE),
        tuple(os.fsencode(attempt).lower() for attempt in attempts if len(attempt) >= _DISTINCT),
    )


def _elsewhere(key: str) -> Iterator[tuple[Path, str]]:
    """Journals in the temporary folder, where they are put when the disk fails, and their attempts' names."""
    for path in Path(tempfile.gettempdir()).glob("*.jsonl"):
        with suppress(OSError, ValueError):
            if path.is_file() and path.stat().st_size:
                with path.open("rb") as lines:
                    begun = journals.decode(lines.readline(_LONGEST_LINE).decode("utf-8"))
                if isinstance(begun, Begun) and begun.student and students.key(begun.student) == key:
                    yield path, begun.attempt


def _owner(path: Path) -> str | None:
    """The key of the student whose journal a damaged file is; None where it does not say."""
    with suppress(OSError, ValueError):
        if found := _OF.search(path.read_bytes()):
            return students.key(json.loads(found[1]))
    return None


def _made() -> Iterator[Path]:
    """The files in the data folder that may have been made from journals."""
    for path in store.folder().rglob("*"):
        top = path.relative_to(store.folder()).parts[0]
        is_journal = path.parent == journals.folder() and path.suffix == ".jsonl"
        if not _KEPT.fullmatch(top) and not is_journal and path.is_file():
            yield path


def _betrays(path: Path, signs: _Signs) -> bool:
    """Whether a file is about the student: by its name, or else by what stands in it."""
    called = path.name.split(".", 1)[0]
    if called in signs.attempts:
        return True
    if called in signs.others:
        return False
    place = os.fsencode(path.relative_to(store.folder()))
    try:
        content = path.read_bytes()
    except OSError as error:
        raise Complaint(f"{path} cannot be read: {error.strerror}; mend that and try again.") from None
    return any(
        signs.words.search(text) or any(attempt in text for attempt in signs.distinct)
        for text in (place.lower(), content.lower())
    )


def _remove_empty(folder: Path) -> None:
    """Remove a folder in the data folder where nothing is left in it, and so on upwards."""
    with suppress(OSError):
        while store.folder() in folder.parents and folder != journals.folder():
            folder.rmdir()
            folder = folder.parent

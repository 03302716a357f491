"""The journal of an attempt: JSON Lines, one event a line, on the disk as soon as it happens."""

from __future__ import annotations

import errno
import json
import math
import os
import tempfile
from collections.abc import Callable
from contextlib import suppress
from dataclasses import MISSING, fields
from datetime import datetime
from pathlib import Path
from typing import Any, TypeVar, cast

from voicecoach.errors import Complaint
from voicecoach.events import KINDS, Begun, Event, Word
from voicecoach.records import place

_Some = TypeVar("_Some", bound=Event)

_DECIMALS = 3
"""Digits kept of a time or probability: a thousandth."""


def folder() -> Path:
    """Where journals are kept unless another file is named."""
    return place.folder() / "journals"


def name(procedure: str, now: datetime) -> str:
    """A name for an attempt at the procedure with that id, that no journal in the folder has yet."""
    stem = f"{now:%Y-%m-%d-%H%M%S}-{procedure}"
    taken = folder()
    number = 1
    while (taken / f"{stem if number == 1 else f'{stem}-{number}'}.jsonl").exists():
        number += 1
    return stem if number == 1 else f"{stem}-{number}"


def encode(event: Event) -> str:
    """The line of an event, without its end; floats are rounded to thousandths, all is ASCII.

    What is None is left out.
    """
    line = {"event": type(event).__name__.lower()}
    for field in fields(event):
        value = getattr(event, field.name)
        if value is not None:
            line[field.name] = _PLAIN[str(field.type)](value)
    return json.dumps(line, allow_nan=False)


def decode(line: str) -> Event:
    """The event of a line; `encode` gives the same line back. ValueError says what is wrong with it."""
    try:
        value = json.loads(line)
    except RecursionError:
        raise ValueError("it is nested too deeply") from None
    if not isinstance(value, dict):
        raise ValueError("an object is expected")
    kind = KINDS.get(str(value.pop("event", "")))
    if kind is None:
        raise ValueError("the name of an event is expected under `event`")
    expected = {field.name: str(field.type) for field in fields(kind)}
    needed = {field.name for field in fields(kind) if field.default is MISSING}
    if not needed <= value.keys() <= expected.keys():
        odd = sorted((needed - value.keys()) | (value.keys() - expected.keys()))
        raise ValueError(f"{', '.join(map(repr, odd))} is missing or not known")
    try:
        return kind(**{key: _FIELD[expected[key]](part) for key, part in value.items()})
    except TypeError as error:
        raise ValueError(str(error)) from None


def read(path: Path) -> tuple[Event, ...]:
    """The events of a journal, the first of them its Begun.

    A last line that was cut off by a crash is left out. Complaint where the file cannot be read, is
    no journal, or has a broken line before its last.
    """
    try:
        lines = path.read_bytes().split(b"\n")
    except OSError as error:
        raise Complaint(f"The journal {path} cannot be read: {error.strerror}; check the name.") from None
    if not lines[-1]:
        del lines[-1]
    events: list[Event] = []
    for number, line in enumerate(lines, 1):
        try:
            events.append(decode(line.decode("utf-8")))
        except ValueError as error:
            if number < len(lines) or number == 1:
                what = "is not JSON" if isinstance(error, json.JSONDecodeError) else str(error)
                raise Complaint(f"{path}:{number}: this line is no event of a journal: {what}.") from None
    if not events or not isinstance(events[0], Begun):
        raise Complaint(f"{path} is no journal: it does not start with the beginning of an attempt.")
    return tuple(events)


def beginning(events: tuple[Event, ...]) -> Begun:
    """The first event of a journal that has been read."""
    begun = events[0]
    if not isinstance(begun, Begun):
        raise ValueError("the first event of a journal is the beginning of the attempt")
    return begun


class Journal:
    """A new journal file, readable by its owner alone, to which events are appended as they happen.

    Where the disk is full or fails, events wait in memory and are written with a later one, or when
    the journal is closed; if need be, to another place.
    """

    def __init__(self, path: Path) -> None:
        """Make the file and its folder. Complaint where there is one already or none can be made."""
        self.path = path
        self.trouble = ""
        """Why the file does not hold all, a sentence; empty where it does."""
        self._lines: list[bytes] = []
        self._stored = 0
        """How many of the lines are on the disk."""
        self._size = 0
        """Bytes of them."""
        if path.parent == folder():
            place.made()
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            self._file = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        except OSError as error:
            if path.exists():
                what = f"{path} is there already; name another file, since no journal is written over."
                raise Complaint(what) from None
            raise Complaint(
                f"The journal {path} cannot be made: {error.strerror}; choose a place with --journal FILE."
            ) from None

    def write(self, event: _Some) -> _Some:
        """Append an event; give it as it stands in the journal, its floats rounded."""
        line = encode(event)
        self._lines.append(line.encode("ascii") + b"\n")
        if why := self._store():
            self.trouble = f"The journal {self.path} cannot be written now ({why}); it is kept in memory."
        return cast(_Some, decode(line))

    def close(self) -> None:
        """Try once more to write what waits, and else the whole journal to the temporary folder.

        Afterwards `trouble` is empty where the file holds all.
        """
        if self._stored < len(self._lines) and (why := self._store()):
            self.trouble = f"The journal {self.path} could not be written ({why}); {self._elsewhere()}."
        os.close(self._file)

    def _store(self) -> str:
        """Bring all that waits to the disk; else leave there what was whole, and say why."""
        waiting = b"".join(self._lines[self._stored :])
        try:
            os.lseek(self._file, self._size, os.SEEK_SET)
            _write(self._file, waiting)
        except OSError as error:
            with suppress(OSError):
                os.ftruncate(self._file, self._size)
            return "the disk is full" if error.errno == errno.ENOSPC else str(error.strerror)
        self._size += len(waiting)
        self._stored = len(self._lines)
        self.trouble = ""
        return ""

    def _elsewhere(self) -> str:
        """Write the whole journal to the temporary folder; says where it is, or what to do."""
        try:
            with tempfile.NamedTemporaryFile(
                prefix=f"{self.path.stem}-", suffix=".jsonl", delete=False
            ) as other:
                try:
                    _write(other.fileno(), b"".join(self._lines))
                except OSError:
                    Path(other.name).unlink()
                    raise
        except OSError:
            return "make room before the next attempt"
        return f"it is in {other.name} instead"


def _write(file: int, block: bytes) -> None:
    """Write a whole block to an open file, down to the disk. OSError where that fails."""
    done = 0
    while done < len(block):
        done += os.write(file, block[done:])
    os.fsync(file)


def _rounded(value: float) -> float:
    return round(float(value), _DECIMALS)


def _compact(words: tuple[Word, ...]) -> list[list[str | float]]:
    return [
        [word.text, _rounded(word.start), _rounded(word.end), _rounded(word.confidence)] for word in words
    ]


def _float(value: Any) -> float:
    if type(value) is not float or not math.isfinite(value):
        raise ValueError(f"{value!r} stands where a number with a point is expected")
    return value


def _exactly(kind: type) -> Callable[[Any], Any]:
    """Take a value of that type and no other."""

    def check(value: Any) -> Any:
        if type(value) is not kind:
            raise ValueError(f"{value!r} stands where {kind.__name__} is expected")
        return value

    return check


def _list(part: Callable[[Any], Any]) -> Callable[[Any], Any]:
    """Take a list of such parts, as a tuple."""

    def check(value: Any) -> Any:
        return tuple(part(item) for item in _exactly(list)(value))

    return check


def _word(value: Any) -> Word:
    text, start, end, confidence = _exactly(list)(value)
    return Word(_exactly(str)(text), _float(start), _float(end), _float(confidence))


_PLAIN: dict[str, Callable[[Any], Any]] = {
    "float": _rounded,
    "int": int,
    "str": str,
    "bool": bool,
    "tuple[str, ...]": list,
    "tuple[float, ...]": lambda values: [_rounded(value) for value in values],
    "tuple[Word, ...]": _compact,
    "dict[str, Any]": dict,
    "dict[str, Any] | None": dict,
    "str | None": str,
}
"""Type of a field, as the events spell it, to how its value becomes JSON."""

_FIELD: dict[str, Callable[[Any], Any]] = {
    "float": _float,
    "int": _exactly(int),
    "str": _exactly(str),
    "bool": _exactly(bool),
    "tuple[str, ...]": _list(_exactly(str)),
    "tuple[float, ...]": _list(_float),
    "tuple[Word, ...]": _list(_word),
    "dict[str, Any]": _exactly(dict),
    "dict[str, Any] | None": _exactly(dict),
    "str | None": _exactly(str),
}
"""Type of a field, as the events spell it, to how its value is read back and checked."""

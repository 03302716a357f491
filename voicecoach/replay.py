"""Playing a journal again: what came in goes through a new core, which must say the same."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import zip_longest
from pathlib import Path

from voicecoach.attempt import Attempt
from voicecoach.events import Event, Incoming
from voicecoach.records import journal


def replay(events: tuple[Event, ...]) -> Iterator[str]:
    """The lines of the journal of an attempt into which the same comes as in a journal already made."""
    attempt = Attempt(journal.beginning(events))
    for event in events:
        if isinstance(event, Incoming):
            yield journal.encode(event)
            yield from map(journal.encode, attempt.take(event))


def difference(lines: tuple[str, ...], path: Path) -> int | None:
    """The first line, from 1, in which a journal file is not these lines; None where it is, to the byte."""
    there = path.read_bytes().split(b"\n")
    expected = [*(line.encode("ascii") for line in lines), b""]
    pairs = enumerate(zip_longest(there, expected), 1)
    return next((number for number, (one, other) in pairs if one != other), None)

"""Students: codes, by which the record knows them, and names, which are kept apart in a file of their own."""

from __future__ import annotations

import json
import re
from pathlib import Path

from voicecoach.errors import Complaint
from voicecoach.records import place

_CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,39}")
_LONGEST_NAME = 100


def check(code: str) -> str:
    """A student's code as it is, where it may be one; else Complaint."""
    if not _CODE.fullmatch(code):
        raise Complaint(
            f"{code!r} cannot be a student's code: it is at most 40 letters, digits, - and _, and "
            "begins with a letter or digit, for example s07."
        )
    return code


def key(code: str) -> str:
    """What two spellings of one code have in common: `S07` and `s07` are the same student."""
    return code.casefold()


def names() -> dict[str, str]:
    """The names that are known, by the `key` of the code. Complaint where their file cannot be read."""
    return {key(code): name for code, name in _kept().items()}


def name(code: str, new: str) -> None:
    """Keep the name of a student, in place of what it was.

    Complaint where the code or the name cannot be one, or the names cannot be kept.
    """
    check(code)
    new = " ".join(new.split())
    if not (0 < len(new) <= _LONGEST_NAME and new.isprintable()):
        raise Complaint(f"A name of 1 to {_LONGEST_NAME} letters on one line is expected.")
    _keep(_without(code) | {code: new})


def forget_name(code: str) -> None:
    """Take the name of a student away, where there is one. Complaint where that cannot be."""
    left = _without(code)
    if left != _kept():
        _keep(left)


def file() -> Path:
    """Where the names are kept."""
    return place.folder() / "names.json"


def _without(code: str) -> dict[str, str]:
    return {other: name for other, name in _kept().items() if key(other) != key(code)}


def _kept() -> dict[str, str]:
    """The names by code, as the file has them."""
    try:
        kept = json.loads(file().read_text("utf-8"))
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise Complaint(f"The names in {file()} cannot be read: {error.strerror}.") from None
    except (ValueError, RecursionError):
        kept = None
    if not isinstance(kept, dict) or not all(isinstance(name, str) for name in kept.values()):
        raise Complaint(
            f"The names in {file()} cannot be understood; put the file right, or move it away and name the "
            "students again."
        )
    return kept


def _keep(names: dict[str, str]) -> None:
    place.write(file(), json.dumps(names, ensure_ascii=False, indent=1, sort_keys=True) + "\n")

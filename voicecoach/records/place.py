"""The user's data folder, in which the record lies: readable by its owner alone."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from platformdirs import user_data_path

from voicecoach.errors import Complaint

OWNER_FILE = 0o600
"""What a file of the record may be used for, and by whom: reading and writing, by its owner."""
_OWNER_FOLDER = 0o700
_OTHERS = 0o077


def folder() -> Path:
    """Where all is that is kept of attempts: journals, pages and the like, in folders of their own."""
    return user_data_path("voicecoach")


def made() -> Path:
    """The folder, made where it was not, and closed to everybody else. Complaint where that cannot be."""
    place = folder()
    try:
        place.mkdir(mode=_OWNER_FOLDER, parents=True, exist_ok=True)
        if place.stat().st_mode & _OTHERS:
            place.chmod(_OWNER_FOLDER)
    except OSError as error:
        raise Complaint(
            f"The folder {place} cannot be used: {error.strerror}; check that it is a folder of your own."
        ) from None
    return place


def write(file: Path, text: str) -> None:
    """Write a file of the record, whole or not at all. Complaint where that cannot be."""
    made()
    try:
        with tempfile.NamedTemporaryFile(dir=file.parent, prefix=f".{file.stem}-", delete=False) as part:
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
    except OSError as error:
        raise Complaint(f"{file} cannot be written: {error.strerror}; nothing is changed.") from None

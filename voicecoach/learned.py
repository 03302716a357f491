"""What was learned from phrases, kept in the user's cache: learning takes a second, reading it a moment.

The same phrases always teach the same, so that a file is named by a hash of all that it depends on: the
phrases, the code that learns, and the libraries beneath it.
"""

from __future__ import annotations

import hashlib
import inspect
import io
import json
import os
import tempfile
from contextlib import suppress
from dataclasses import fields
from functools import cache
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path

import numpy as np
from platformdirs import user_cache_path

from voicecoach.following.likeness import Labelled, Learned, Likeness, Meaning, Pieces

_KEPT = 32
"""Files that are kept, the latest used, of some two megabytes each; an attempt has three."""
_DIGEST = hashlib.sha256().digest_size
"""Bytes of the hash that stands before the content of a file."""
_LIBRARIES = ("numpy", "scipy", "jellyfish", "snowballstemmer")


def likeness(
    labelled: Labelled, pieces: Pieces, meaning: Meaning | None, meaning_weight: float = 1.0
) -> Likeness:
    """What `Likeness` gives for the same, to the bit; learned only where that was not done before."""
    asked = json.dumps([labelled, _name(pieces), _name(meaning) if meaning else "", meaning_weight])
    depends_on = hashlib.sha256(asked.encode())
    depends_on.update(Path(inspect.getfile(pieces)).read_bytes())
    depends_on.update(_edition())
    file = user_cache_path("voicecoach") / "learned" / depends_on.hexdigest()[:32]
    kept = _read(file)
    made = Likeness(labelled, pieces, meaning, meaning_weight, kept)
    if kept is None:
        # Where it cannot be kept, it is learned again the next time.
        with suppress(OSError):
            _write(file, made.learned)
    elif meaning:
        meaning(["ready"])  # Reads the word vectors now, and not when the first words are heard.
    return made


def _name(function: Pieces | Meaning) -> str:
    return f"{function.__module__}.{function.__qualname__}"


@cache
def _edition() -> bytes:
    """A hash of the code that learns, of the word vectors, and of the libraries' versions."""
    edition = hashlib.sha256(json.dumps([version(library) for library in _LIBRARIES]).encode())
    folder = files("voicecoach.following")
    code = [file for file in folder.iterdir() if file.name.endswith(".py")]
    for file in sorted((*code, *folder.joinpath("vectors").iterdir()), key=lambda file: file.name):
        edition.update(hashlib.sha256(file.read_bytes()).digest())
    return edition.digest()


def _read(file: Path) -> Learned | None:
    """What is kept in a file; None where there is none, or it is damaged."""
    try:
        raw = file.read_bytes()
    except OSError:
        return None
    if hashlib.sha256(raw[_DIGEST:]).digest() != raw[:_DIGEST]:
        return None
    with suppress(OSError):
        os.utime(file)  # Among those to be kept it is the latest now.
    content = io.BytesIO(raw[_DIGEST:])
    texts, *numbers = (np.load(content, allow_pickle=False) for _ in fields(Learned)[1:])
    labels, known = json.loads(texts.tobytes())
    return Learned(tuple(labels), tuple(known), *numbers)


def _write(file: Path, learned: Learned) -> None:
    """Keep it, whole or not at all, and no more files than so many. Raises OSError where that cannot be."""
    content = io.BytesIO()
    texts = np.frombuffer(json.dumps([learned.labels, learned.pieces]).encode(), np.uint8)
    for numbers in (texts, *(getattr(learned, field.name) for field in fields(Learned)[2:])):
        np.save(content, numbers, allow_pickle=False)
    file.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=file.parent) as folder:
        whole = Path(folder) / file.name
        whole.write_bytes(hashlib.sha256(content.getbuffer()).digest() + content.getbuffer())
        whole.replace(file)
    kept = sorted((other for other in file.parent.iterdir() if other.is_file()), key=_used)
    for surplus in kept[:-_KEPT]:
        surplus.unlink(missing_ok=True)


def _used(file: Path) -> float:
    """When it was used last."""
    return file.stat().st_mtime

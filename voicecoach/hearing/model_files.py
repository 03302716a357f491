"""The files that the decoder reads: language models and word lists, made once and kept in the cache."""

from __future__ import annotations

import hashlib
import json
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache
from importlib.metadata import version
from multiprocessing import get_context
from pathlib import Path

import pocketsphinx
from platformdirs import user_cache_path

from voicecoach.hearing.general_english import common_words, general_english
from voicecoach.hearing.language_model import estimate, fragments, numbered, vocabulary
from voicecoach.hearing.ngrams import BEGIN, END, Close, Ngrams, mixed
from voicecoach.hearing.number_words import JOINING, WORDS, alone
from voicecoach.hearing.pronunciation import dictionary, pronunciations

_EDITION = 2
"""Raised whenever the same phrases give other files than before."""
_COMMON = 10_000
"""Words of general English that are heard besides those of the procedure."""
_OWN = 0.3
"""Weight of the procedure's phrases in what is expected."""
_OTHERS = 0.2
"""Weight of the phrases of other procedures, where there are any; general English has the rest."""
_NUMBERS = 0.15
"""Weight of what is said within and beside numbers, where a procedure has any."""
_OWN_CLOSE, _OTHERS_CLOSE, _NUMBERS_CLOSE = 0.08, 0.02, 0.85
"""The same weights after a word of a number: there the ways to say one are what counts."""


@dataclass(frozen=True, slots=True)
class ModelFiles:
    """What a decoder needs besides the sound of English."""

    language: Path
    """The language model, in the decoder's own form."""
    words: Path
    """The pronouncing dictionary of its words."""


@dataclass(frozen=True, slots=True)
class Unread:
    """Phrases that need not be read where the files made from them are there."""

    edition: str
    """Another one for other phrases."""
    read: Callable[[], Sequence[str]]
    """Reads them."""


NOTHING = Unread("", tuple)


def procedure_files(phrases: Sequence[str], pronounce: Mapping[str, str], others: Unread) -> ModelFiles:
    """The files for a procedure: its phrases, those of others, and general English, mixed.

    They come from the cache where the same were asked for before; making them takes some seconds.
    Raises Complaint for a pronunciation that is none.
    """
    asked = json.dumps([phrases, sorted(pronounce.items()), others.edition])
    files = _place(asked)
    if not (files.language.is_file() and files.words.is_file()):
        numbers = [phrase for phrase in phrases if alone(phrase)]
        said = [phrase for phrase in phrases if not alone(phrase)]
        own, other = fragments(said, numbers), fragments(others.read(), numbers)
        among = numbered(said, numbers)
        words = _words(vocabulary(own) | vocabulary(other) | vocabulary(among))
        # General English takes as long as all the rest, so it is made on another core meanwhile.
        with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as meanwhile:
            general = meanwhile.submit(general_english, words)
            parts, close = [(_OWN, estimate(own, words))], [_OWN_CLOSE]
            if other:
                parts.append((_OTHERS, estimate(other, words)))
                close.append(_OTHERS_CLOSE)
            if numbers:
                parts.append((_NUMBERS, estimate(among, words)))
                close.append(_NUMBERS_CLOSE)
            entries = list(_entries(words, pronounce))
            parts.append((1.0 - sum(weight for weight, _ in parts), general.result()))
            close.append(1.0 - sum(close))
        model = mixed(parts, Close(WORDS, JOINING, close) if numbers else None)
        _write(files, model, entries)
        dictionary.cache_clear()  # It takes as much memory as a decoder, and is not wanted any more.
    return files


def _words(needed: frozenset[str]) -> tuple[str, ...]:
    known = dictionary()
    return (*sorted(needed | {word for word in common_words(_COMMON) if word in known}), BEGIN, END)


def _place(asked: str) -> ModelFiles:
    """Where the files are kept: a name for each content."""
    made_with = f"{_EDITION} {version('pocketsphinx')} {asked}"
    name = hashlib.sha256(made_with.encode()).hexdigest()[:16]
    folder = user_cache_path("voicecoach") / "hearing"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            pass
    except OSError:
        folder = Path(_spare_folder().name)
    return ModelFiles(folder / f"{name}.lm.bin", folder / f"{name}.dict")


@cache
def _spare_folder() -> tempfile.TemporaryDirectory[str]:
    """Where the files go if the cache cannot be written to; it goes away with the program."""
    return tempfile.TemporaryDirectory(prefix="voicecoach-")


def _write(files: ModelFiles, model: Ngrams, entries: Sequence[str]) -> None:
    """Write the files whole or not at all, so that two sessions that begin at once do no harm."""
    with tempfile.TemporaryDirectory(dir=files.language.parent) as folder:
        text, binary, words = (Path(folder) / name for name in ("text", "binary", "words"))
        with text.open("w", encoding="utf-8") as lines:
            lines.writelines(model.arpa())
        loaded = pocketsphinx.NGramModel(
            pocketsphinx.Config(loglevel="FATAL"), pocketsphinx.LogMath(), str(text)
        )
        loaded.write(str(binary), loaded.str_to_type("bin"))
        with words.open("w", encoding="utf-8") as lines:
            lines.writelines(entries)
        words.replace(files.words)
        binary.replace(files.language)


def _entries(words: Sequence[str], pronounce: Mapping[str, str]) -> Iterator[str]:
    for word in words:
        if word in (BEGIN, END):
            continue
        for n, phones in enumerate(pronunciations(word, pronounce), 1):
            yield f"{word}{f'({n})' if n > 1 else ''} {' '.join(phones)}\n"

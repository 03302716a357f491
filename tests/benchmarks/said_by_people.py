"""Numbers said by people, and how well sphinx hears them in an attempt.

| what | from | licence |
|---|---|---|
| numbers of a telephone exchange (Allison Smith) | Debian's asterisk-core-sounds-en-g722 | CC BY-SA 3.0 |
| five digits and five calls of cards (unnamed people) | Debian's pocketsphinx-testdata | BSD, as it says |

The exchange says a number as recordings in a row, such as `one`, `hundred`, `twenty` and `eight`; so are they
put together here. Both packages are fetched by apt-get into the temporary folder and unpacked there, not
installed; what is not to be had is left out. The first needs the wheel av, which the extra `bench` brings.
"""

from __future__ import annotations

import subprocess
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray
from rapidfuzz.distance import Levenshtein

from tests.benchmarks.levels import Sound, at_level, floats, pcm
from tests.benchmarks.measuring import on_stderr, transcript
from tests.benchmarks.narrations import shipped
from tests.benchmarks.voices import LEVEL
from voicecoach.hearing.number_words import WORDS, usual
from voicecoach.records.intervals import wilson
from voicecoach.sound import RATE

PROCEDURE = "pulse-breaths"
"""The one that the people are taken to do."""
_EXCHANGE, _DECODER = "asterisk-core-sounds-en-g722", "pocketsphinx-testdata"
_UNPACKED = Path(tempfile.gettempdir()) / "voicecoach-people"
_GAP = 1.5
"""Seconds between two recordings."""
_WHOLE = [*range(21), *range(30, 100, 10)]
"""Numbers with a recording of their own."""
_PUT_TOGETHER = [number for number in range(21, 220, 6) if number not in _WHOLE]
_FILES = {
    "tidigits/dhd.2934z.raw": "two nine three four zero",
    "cards/001.wav": "ten of clubs",
    "cards/002.wav": "four queen of clubs",
    "cards/003.wav": "seven of clubs",
    "cards/004.wav": "five five",
    "cards/005.wav": "eight of spades four of clubs seven of hearts",
}
"""Recordings of the decoder's tests, and what its transcripts and, of the first, its name say is said."""


@dataclass(frozen=True, slots=True)
class Recorded:
    """Something that a person says."""

    say: str
    samples: Sound


def recordings() -> list[Recorded]:
    """All that is to be had."""
    return [*_exchange(), *_tests()]


def measure() -> dict[str, float]:
    """How well they are heard, all in a row as in one attempt; nothing where there are none."""
    from tests.benchmarks import spoken  # needs the voices of the test extra

    said = recordings()
    if not said:
        return {}
    parts: list[NDArray[np.int16]] = []
    spans: list[tuple[float, float]] = []
    for one in said:
        parts.append(np.zeros(round(_GAP * RATE), np.int16))
        start = sum(map(len, parts)) / RATE
        parts.append(pcm(at_level(one.samples, LEVEL)))
        spans.append((start, sum(map(len, parts)) / RATE))
    parts.append(np.zeros(RATE, np.int16))
    heard = transcript((spoken.hear_samples(np.concatenate(parts), "sphinx", shipped(PROCEDURE)), spans))
    return figures([one.say for one in said], heard)


def figures(said: Sequence[str], heard: Sequence[str]) -> dict[str, float]:
    """The share of number words heard, and of recordings in which all are heard, with its 95% interval.

    Other words do not count, since cards are not what an attempt expects.
    """
    pairs = [(_numbers(one), _numbers(other)) for one, other in zip(said, heard, strict=True)]
    words = sum(len(one) for one, _ in pairs)
    wrong = sum(Levenshtein.distance(one, other) for one, other in pairs)
    right = sum(one == other for one, other in pairs)
    low, high = wilson(right, len(pairs))
    return {
        "recordings": len(pairs),
        "number_words": words,
        "number_words_right": 1 - wrong / words,
        "right": right / len(pairs),
        "right_low": low,
        "right_high": high,
    }


def _numbers(text: str) -> list[str]:
    return [word for word in text.split() if word in WORDS]


def _exchange() -> Iterator[Recorded]:
    """Numbers as a telephone exchange says them."""
    if find_spec("av") is None:
        on_stderr("left out the telephone exchange: the wheel av is not installed")
        return
    for folder in _folders(_EXCHANGE, "digits"):
        for number in (*_WHOLE, *_PUT_TOGETHER):
            clips = [_clip(folder / f"{name}.g722") for name in _recordings_of(number)]
            yield Recorded(usual(number), np.concatenate(clips))


def _recordings_of(number: int) -> list[str]:
    """The names of the recordings that make a number below 1000."""
    if number in _WHOLE:
        return [str(number)]
    if number < 100:
        return [str(number // 10 * 10), str(number % 10)]
    return [str(number // 100), "hundred", *(_recordings_of(number % 100) if number % 100 else ())]


@cache
def _clip(file: Path) -> Sound:
    """A recording in G.722, which is mono at 16 kHz."""
    import av

    with av.open(str(file), format="g722") as opened:
        blocks = [block.to_ndarray().ravel() for block in opened.decode(audio=0)]
    return floats(np.concatenate(blocks).astype(np.int16))


def _tests() -> Iterator[Recorded]:
    """Digits and cards from a decoder's tests."""
    for folder in _folders(_DECODER, "data"):
        for name, say in _FILES.items():
            raw = {"samplerate": RATE, "channels": 1, "subtype": "PCM_16"} if name.endswith("raw") else {}
            samples, _ = soundfile.read(folder / name, dtype="float64", **raw)
            yield Recorded(say, samples)


def _folders(package: str, name: str) -> Iterator[Path]:
    """The folder of that name in one of Debian's packages; none where that cannot be had, said on stderr."""
    unpacked = _UNPACKED / package
    if not unpacked.is_dir():
        try:
            _unpack(package, unpacked)
        except (OSError, subprocess.CalledProcessError) as error:
            on_stderr(f"left out: {package} cannot be had ({error})")
            return
    yield from sorted(folder for folder in unpacked.rglob(name) if folder.is_dir())


def _unpack(package: str, to: Path) -> None:
    _UNPACKED.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=_UNPACKED) as folder:
        subprocess.run(["apt-get", "download", "-qq", package], cwd=folder, check=True, capture_output=True)
        (file,) = Path(folder).glob("*.deb")
        subprocess.run(["dpkg", "-x", str(file), f"{folder}/unpacked"], check=True, capture_output=True)
        Path(folder, "unpacked").rename(to)

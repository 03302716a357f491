"""Sound files: WAV, FLAC and OGG of any rate, read as mono at 16 kHz and written."""

from __future__ import annotations

import contextlib
import errno
import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

from voicecoach.errors import Complaint
from voicecoach.sound import RATE
from voicecoach.sound.levels import SILENT, peak_dbfs

_BLOCK = 1 << 16
"""Frames read or written at once, so that an hour of sound needs little memory."""

_NO_SIZE = 0xFFFFFFFF
"""What a WAV written into a pipe says in place of its size; it promises nothing."""

_FORMATS = {".wav": ("WAV", "PCM_16"), ".flac": ("FLAC", "PCM_16"), ".ogg": ("OGG", "VORBIS")}


@dataclass(frozen=True, slots=True)
class Recording:
    """The sound of a file."""

    samples: NDArray[np.int16]
    """Mono at 16 kHz."""
    cut_short: bool
    """True where the file holds less than it promises; what is there has been read."""


def read(path: Path) -> Recording:
    """Read a WAV, FLAC or OGG file, mixed to mono and brought to 16 kHz.

    Raises Complaint where there is no such file, it is no sound file, or nothing can be heard in it.
    """
    if path.is_dir():
        raise Complaint(f"{path} is a folder; give the sound file itself (WAV, FLAC or OGG).")
    try:
        with path.open("rb") as file:
            return _decoded(file, path)
    except FileNotFoundError:
        raise Complaint(f"There is no sound file {path}; check the name.") from None
    except OSError as error:
        raise Complaint(f"{path} cannot be read: {error.strerror or error}; check the file.") from None


def write(path: Path, samples: NDArray[np.int16], rate: int = RATE) -> None:
    """Write mono samples as WAV, FLAC or OGG, told by the ending of the name.

    Raises Complaint for another ending and where the file cannot be written; it is then not there.
    """
    if path.suffix.lower() not in _FORMATS:
        raise Complaint(f"{path} cannot be written; the name of a sound file ends in .wav, .flac or .ogg.")
    kind, subtype = _FORMATS[path.suffix.lower()]
    encoded = io.BytesIO()
    with soundfile.SoundFile(encoded, "w", rate, 1, subtype, format=kind) as sound:
        # In pieces, since the OGG encoder overruns its stack on one long piece.
        for start in range(0, len(samples), _BLOCK):
            sound.write(samples[start : start + _BLOCK])
    try:
        file = path.open("wb")
    except OSError as error:
        raise Complaint(_why_not_written(path, error)) from None
    try:
        with file:
            file.write(encoded.getbuffer())
    except OSError as error:
        with contextlib.suppress(OSError):
            path.unlink()
        raise Complaint(_why_not_written(path, error)) from None


def _why_not_written(path: Path, error: OSError) -> str:
    """One sentence on a file that could not be written."""
    if error.errno == errno.ENOSPC:
        return f"{path} cannot be written: the disk is full; make room or choose another folder."
    if error.errno == errno.ENOENT:
        return f"{path} cannot be written: there is no folder {path.parent}; make it or choose another."
    return f"{path} cannot be written: {error.strerror}; choose another name or folder."


def _decoded(file: BinaryIO, path: Path) -> Recording:
    """The sound of an open file; `path` is for the complaints."""
    if not file.read(1):
        raise Complaint(f"{path} is empty; record it again or give another file.")
    file, cut_short = _with_its_size(file)
    try:
        with soundfile.SoundFile(file) as sound:
            promised = sound.frames
            blocks = list(_blocks(sound))
            rate = sound.samplerate
    except (soundfile.LibsndfileError, TypeError):  # TypeError: a name that ends in .raw
        raise Complaint(
            f"{path} is not a sound file that can be read; give a WAV, FLAC or OGG file."
        ) from None
    if not blocks:
        raise Complaint(f"{path} holds no sound that can be read; record it again or give another file.")
    samples = _at_16k(blocks, rate)
    if peak_dbfs(samples) < SILENT:
        raise Complaint(f"{path} is silent; check the microphone and record it again.")
    return Recording(samples, cut_short or sum(map(len, blocks)) < promised)


def _blocks(sound: soundfile.SoundFile) -> Iterator[NDArray[np.float32]]:
    """Mono blocks of a file, up to its end or to where it breaks off."""
    while True:
        try:
            block = sound.read(_BLOCK, dtype="float32", always_2d=True)
        except soundfile.LibsndfileError:
            return
        if not len(block):
            return
        yield block.mean(axis=1)


def _at_16k(blocks: list[NDArray[np.float32]], rate: int) -> NDArray[np.int16]:
    """Mono blocks of one stream at `rate` as samples at 16 kHz."""
    resampler = soxr.ResampleStream(rate, RATE, 1, dtype="float32")
    pieces = [resampler.resample_chunk(block) for block in blocks]
    pieces.append(resampler.resample_chunk(blocks[-1][:0], last=True))
    # Files of floats can hold anything.
    whole = np.nan_to_num(np.concatenate(pieces), posinf=1.0, neginf=-1.0)
    samples: NDArray[np.int16] = np.clip(np.rint(whole * 32768), -32768, 32767).astype(np.int16)
    return samples


def _with_its_size(file: BinaryIO) -> tuple[BinaryIO, bool]:
    """The file at its beginning, and whether it is a WAV that holds less than it promises.

    A program that is stopped while it records leaves 0 for the size, and no reader would go on from
    there: such a file is replaced by its bytes with the size filled in.
    """
    there = file.seek(0, io.SEEK_END)
    place = _wav_size_at(file)
    file.seek(place or 0)
    promised = int.from_bytes(file.read(4), "little")
    file.seek(0)
    if place is None or promised == _NO_SIZE:
        return file, False
    held = there - place - 4
    if promised == 0 and held > 0:
        content = file.read()
        return io.BytesIO(content[:place] + held.to_bytes(4, "little") + content[place + 4 :]), True
    return file, held < promised


def _wav_size_at(file: BinaryIO) -> int | None:
    """Where in a WAV file the size of its data stands; None where it is no WAV or has no data."""
    file.seek(0)
    header = file.read(12)
    if header[:4] != b"RIFF" or header[8:] != b"WAVE":
        return None
    while len(chunk := file.read(8)) == 8:
        if chunk[:4] == b"data":
            return file.tell() - 4
        size = int.from_bytes(chunk[4:], "little")
        file.seek(size + size % 2, io.SEEK_CUR)
    return None

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from voicecoach.errors import Complaint
from voicecoach.sound import RATE
from voicecoach.sound.files import read, write
from voicecoach.sound.levels import rms_dbfs

SECONDS = 2.0


def tone(rate: int) -> NDArray[np.int16]:
    """A tone of 440 Hz at -20 dBFS RMS."""
    phase = 2 * np.pi * 440 * np.arange(round(SECONDS * rate)) / rate
    return np.rint(np.sin(phase) * 32768 * 10 ** (-17 / 20)).astype(np.int16)


def wav(samples: NDArray[np.int16]) -> bytes:
    file = io.BytesIO()
    soundfile.write(file, samples, RATE, format="WAV", subtype="PCM_16")
    return file.getvalue()


@pytest.mark.parametrize("rate", [8000, 11025, 16000, 22050, 44100, 48000, 96000])
@pytest.mark.parametrize("channels", [1, 2])
def test_reads_any_rate_and_channels(tmp_path: Path, rate: int, channels: int) -> None:
    file = tmp_path / "a.wav"
    soundfile.write(file, np.repeat(tone(rate)[:, None], channels, axis=1), rate)
    recording = read(file)
    assert not recording.cut_short
    assert recording.samples.dtype == np.int16
    assert len(recording.samples) / RATE == pytest.approx(SECONDS, abs=0.001)
    assert rms_dbfs(recording.samples) == pytest.approx(-20, abs=0.5)


@pytest.mark.parametrize("name", ["a.wav", "a.flac", "a.ogg", "A.WAV"])
@pytest.mark.parametrize("rate", [16000, 22050, 48000])
def test_writes_what_it_reads(tmp_path: Path, name: str, rate: int) -> None:
    write(tmp_path / name, tone(rate), rate)
    recording = read(tmp_path / name)
    assert len(recording.samples) / RATE == pytest.approx(SECONDS, abs=0.001)
    assert rms_dbfs(recording.samples) == pytest.approx(-20, abs=0.5)
    assert not recording.cut_short


def test_16_khz_comes_back_sample_for_sample(tmp_path: Path) -> None:
    samples = np.random.default_rng(1).integers(-20000, 20000, 100_000).astype(np.int16)
    write(tmp_path / "a.flac", samples)
    assert np.array_equal(read(tmp_path / "a.flac").samples, samples)


@pytest.mark.parametrize("subtype", ["PCM_U8", "PCM_24", "PCM_32", "FLOAT", "ULAW"])
def test_reads_other_sample_formats(tmp_path: Path, subtype: str) -> None:
    soundfile.write(tmp_path / "a.wav", tone(RATE) / 32768, RATE, subtype=subtype)
    assert rms_dbfs(read(tmp_path / "a.wav").samples) == pytest.approx(-20, abs=0.5)


def test_floats_that_are_out_of_bounds_are_bounded(tmp_path: Path) -> None:
    samples = np.array([0.5, 3.0, -3.0, np.nan, np.inf, -0.5] * 100, np.float32)
    soundfile.write(tmp_path / "a.wav", samples, RATE, subtype="FLOAT")
    heard = read(tmp_path / "a.wav").samples
    assert heard.max() == 32767
    assert heard.min() == -32768


def test_two_channels_are_mixed(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "a.wav", np.stack((tone(RATE), 0 * tone(RATE)), axis=1), RATE)
    assert rms_dbfs(read(tmp_path / "a.wav").samples) == pytest.approx(-26, abs=0.1)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.999])
def test_wav_that_is_cut_off_is_read_as_far_as_it_goes(tmp_path: Path, share: float) -> None:
    whole = wav(tone(RATE))
    (tmp_path / "a.wav").write_bytes(whole[: int(len(whole) * share)])
    recording = read(tmp_path / "a.wav")
    assert recording.cut_short
    assert len(recording.samples) / RATE == pytest.approx(SECONDS * share, abs=0.01)
    assert np.array_equal(recording.samples, tone(RATE)[: len(recording.samples)])


def test_flac_that_is_cut_off_is_read_as_far_as_it_goes(tmp_path: Path) -> None:
    write(tmp_path / "a.flac", np.tile(tone(RATE), 10))
    whole = (tmp_path / "a.flac").read_bytes()
    (tmp_path / "a.flac").write_bytes(whole[: len(whole) * 9 // 10])
    recording = read(tmp_path / "a.flac")
    assert recording.cut_short
    assert 10 * SECONDS * 0.5 < len(recording.samples) / RATE < 10 * SECONDS * 0.95


def test_wav_whose_size_was_never_filled_in(tmp_path: Path) -> None:
    whole = bytearray(wav(tone(RATE)))
    whole[40:44] = bytes(4)
    (tmp_path / "a.wav").write_bytes(whole)
    recording = read(tmp_path / "a.wav")
    assert recording.cut_short
    assert np.array_equal(recording.samples, tone(RATE))


def test_wav_that_came_through_a_pipe_promises_nothing(tmp_path: Path) -> None:
    whole = bytearray(wav(tone(RATE)))
    whole[40:44] = b"\xff\xff\xff\xff"
    (tmp_path / "a.wav").write_bytes(whole)
    assert not read(tmp_path / "a.wav").cut_short


def test_wav_with_other_chunks_before_its_data(tmp_path: Path) -> None:
    whole = wav(tone(RATE))
    note = b"note" + (5).to_bytes(4, "little") + b"hello\0"
    (tmp_path / "a.wav").write_bytes(whole[:36] + note + whole[36:])
    recording = read(tmp_path / "a.wav")
    assert np.array_equal(recording.samples, tone(RATE))
    assert not recording.cut_short


def complaint(path: Path) -> str:
    with pytest.raises(Complaint) as raised:
        read(path)
    sentence = str(raised.value)
    assert str(path) in sentence
    assert sentence.endswith(".")
    assert "\n" not in sentence
    return sentence


def test_not_there(tmp_path: Path) -> None:
    assert "There is no sound file" in complaint(tmp_path / "a.wav")


def test_folder(tmp_path: Path) -> None:
    assert "is a folder" in complaint(tmp_path)


def test_empty(tmp_path: Path) -> None:
    (tmp_path / "a.wav").touch()
    assert "is empty" in complaint(tmp_path / "a.wav")


@pytest.mark.parametrize("name", ["a.wav", "a.flac", "a.ogg", "a.txt", "a.raw", "a"])
def test_text_with_the_name_of_a_sound(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text("First I wash my hands.\n" * 100)
    assert "is not a sound file" in complaint(tmp_path / name)


@pytest.mark.parametrize("name", ["a.wav", "a.flac", "a.ogg"])
def test_nothing_but_the_beginning_of_a_header(tmp_path: Path, name: str) -> None:
    write(tmp_path / name, tone(RATE))
    (tmp_path / name).write_bytes((tmp_path / name).read_bytes()[:30])
    assert "is not a sound file" in complaint(tmp_path / name)


def test_header_and_nothing_else(tmp_path: Path) -> None:
    (tmp_path / "a.wav").write_bytes(wav(tone(RATE)[:0]))
    assert "holds no sound" in complaint(tmp_path / "a.wav")


@pytest.mark.parametrize("loudest", [0, 1, 32])
def test_silent(tmp_path: Path, loudest: int) -> None:
    samples = np.random.default_rng(1).integers(-loudest, loudest + 1, RATE).astype(np.int16)
    write(tmp_path / "a.wav", samples)
    assert "is silent" in complaint(tmp_path / "a.wav")


def test_faint_sound_is_not_silent(tmp_path: Path) -> None:
    write(tmp_path / "a.wav", (tone(RATE) // 40).astype(np.int16))
    assert len(read(tmp_path / "a.wav").samples) == SECONDS * RATE


def test_not_allowed_to_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    write(tmp_path / "a.wav", tone(RATE))
    monkeypatch.setattr(Path, "open", refuse)
    assert "Permission denied" in complaint(tmp_path / "a.wav")


def test_unknown_ending(tmp_path: Path) -> None:
    with pytest.raises(Complaint, match=r"ends in \.wav, \.flac or \.ogg"):
        write(tmp_path / "a.mp4", tone(RATE))
    assert not list(tmp_path.iterdir())


def test_folder_to_write_in_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(Complaint, match="there is no folder"):
        write(tmp_path / "none" / "a.wav", tone(RATE))


def test_folder_where_the_file_should_be(tmp_path: Path) -> None:
    (tmp_path / "a.wav").mkdir()
    with pytest.raises(Complaint, match="cannot be written"):
        write(tmp_path / "a.wav", tone(RATE))


def test_disk_full_leaves_no_piece_behind(tmp_path: Path) -> None:
    if not Path("/dev/full").exists():
        pytest.skip("this system has no device that is always full")
    link = tmp_path / "a.wav"
    link.symlink_to("/dev/full")
    with pytest.raises(Complaint, match="the disk is full"):
        write(link, tone(RATE))
    assert not list(tmp_path.iterdir())

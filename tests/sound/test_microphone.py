from __future__ import annotations

import importlib
import subprocess
import sys
from itertools import islice

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.sound.fake_sounddevice import FakeSounddevice
from voicecoach.errors import Complaint
from voicecoach.sound import RATE, microphone
from voicecoach.sound.levels import rms_dbfs
from voicecoach.sound.microphone import BLOCK, Microphone

STREAM = np.random.default_rng(3).integers(-9000, 9000, 100 * BLOCK).astype(np.int16)


@pytest.fixture
def device(monkeypatch: pytest.MonkeyPatch) -> FakeSounddevice:
    fake = FakeSounddevice()
    monkeypatch.setitem(sys.modules, "sounddevice", fake)
    return fake


def tone(rate: int) -> NDArray[np.int16]:
    samples: NDArray[np.int16] = np.rint(np.sin(2 * np.pi * 440 * np.arange(rate) / rate) * 8000).astype(
        np.int16
    )
    return samples


def test_blocks_are_the_stream(device: FakeSounddevice) -> None:
    with Microphone() as open_microphone:
        (stream,) = device.streams
        assert (stream.samplerate, stream.channels, stream.blocksize, stream.dtype) == (
            RATE,
            1,
            BLOCK,
            "int16",
        )
        for start in range(0, len(STREAM), BLOCK):
            stream.hear(STREAM[start : start + BLOCK])
        blocks = list(islice(open_microphone, 100))
        assert {len(block) for block in blocks} == {BLOCK}
        assert np.array_equal(np.concatenate(blocks), STREAM)
        assert open_microphone.dropped == 0
    assert stream.closed


@pytest.mark.parametrize(("rates", "channels"), [((48000,), (1, 2)), ((44100,), (1,)), ((48000,), (2,))])
def test_device_without_16_khz(
    device: FakeSounddevice, rates: tuple[int, ...], channels: tuple[int, ...]
) -> None:
    device.rates, device.native, device.channels = rates, rates[0], channels
    with Microphone() as open_microphone:
        (stream,) = device.streams
        sound = tone(rates[0])
        for start in range(0, len(sound), stream.blocksize):
            stream.hear(sound[start : start + stream.blocksize])
        blocks = list(islice(open_microphone, 30))
    assert {len(block) for block in blocks} == {BLOCK}
    assert rms_dbfs(np.concatenate(blocks)) == pytest.approx(rms_dbfs(tone(RATE)), abs=0.2)


def test_what_is_not_taken_is_dropped_counted_and_replaced(
    device: FakeSounddevice, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(microphone, "_WAITING", 4)
    with Microphone() as open_microphone:
        (stream,) = device.streams
        for number in range(6):
            stream.hear(np.full(BLOCK, number + 1))
        iterator = iter(open_microphone)
        heard = [next(iterator)[0] for _ in range(4)]
        assert open_microphone.dropped == 2
        stream.hear(np.full(BLOCK, 7))
        heard += [next(iterator)[0] for _ in range(3)]
    assert heard == [1, 2, 3, 4, 0, 0, 7]
    assert open_microphone.dropped == 2


def test_loss_in_the_device_is_counted(device: FakeSounddevice) -> None:
    with Microphone() as open_microphone:
        device.streams[0].hear(np.zeros(BLOCK), overflow=True)
    assert open_microphone.dropped == 1


def test_library_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(name: str) -> None:
        raise OSError("PortAudio library not found")

    monkeypatch.setattr(importlib, "import_module", refuse)
    monkeypatch.setattr(sys, "platform", "linux")
    with pytest.raises(Complaint, match="sudo apt install libportaudio2"), Microphone():
        pass


def test_sound_system_that_does_not_start(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(name: str) -> None:
        raise RuntimeError("Error initializing PortAudio")

    monkeypatch.setattr(importlib, "import_module", refuse)
    with pytest.raises(Complaint, match="does not start"), Microphone():
        pass


def test_no_microphone(device: FakeSounddevice) -> None:
    device.there = False
    with pytest.raises(Complaint, match="There is no microphone"), Microphone():
        pass


def test_busy(device: FakeSounddevice) -> None:
    device.start_fails = "Device unavailable"
    with pytest.raises(Complaint, match=r"cannot be opened \(Device unavailable\)"), Microphone():
        pass
    assert all(stream.closed for stream in device.streams)


def test_lost(device: FakeSounddevice, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(microphone, "_DEAF_AFTER", 0.01)
    with Microphone() as open_microphone:
        device.streams[0].hear(np.zeros(BLOCK))
        iterator = iter(open_microphone)
        assert len(next(iterator)) == BLOCK
        with pytest.raises(Complaint, match="gives no more sound"):
            next(iterator)


def test_without_a_device_the_library_is_not_loaded() -> None:
    names = ("devices", "endpointer", "files", "levels", "loudspeaker", "microphone", "mixing")
    loaded = "".join(f"import voicecoach.sound.{name}; " for name in names)
    check = "import sys; sys.exit('sounddevice' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", loaded + check]).returncode == 0

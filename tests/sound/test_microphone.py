from __future__ import annotations

import importlib
import subprocess
import sys
import time
from itertools import islice

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.sound.fake_sounddevice import FakeSounddevice
from voicecoach.errors import Complaint
from voicecoach.sound import RATE, microphone
from voicecoach.sound.levels import rms_dbfs
from voicecoach.sound.microphone import BLOCK, Gap, Microphone

STREAM = np.random.default_rng(3).integers(-9000, 9000, 100 * BLOCK).astype(np.int16)


@pytest.fixture
def device(monkeypatch: pytest.MonkeyPatch) -> FakeSounddevice:
    fake = FakeSounddevice()
    monkeypatch.setitem(sys.modules, "sounddevice", fake)
    return fake


def block(came: NDArray[np.int16] | Gap) -> NDArray[np.int16]:
    assert not isinstance(came, Gap)
    return came


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
        blocks = list(map(block, islice(open_microphone, 100)))
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
        blocks = list(map(block, islice(open_microphone, 30)))
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
        heard = [block(next(iterator))[0] for _ in range(4)]
        assert open_microphone.dropped == 2
        stream.hear(np.full(BLOCK, 7))
        heard += [block(next(iterator))[0] for _ in range(3)]
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


@pytest.fixture
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(microphone, "_LOST_AFTER", 0.01)
    monkeypatch.setattr(microphone, "_TRIES_EVERY", 0.01)
    monkeypatch.setattr(microphone, "_LOOKS_AFTER", 0.05)


@pytest.mark.usefixtures("impatient")
def test_a_lost_device_is_opened_again_when_it_is_back(device: FakeSounddevice) -> None:
    with Microphone() as open_microphone:
        device.streams[0].hear(np.full(BLOCK, 1))
        iterator = iter(open_microphone)
        assert len(block(next(iterator))) == BLOCK
        assert next(iterator) == Gap(microphone.GONE)
        device.there = False
        later = [next(iterator) for _ in range(8)]
        assert later[-1] == Gap(
            "There is no microphone; connect one or choose it in the sound settings of this machine."
        )
        # After some tries the devices are looked for anew, as a new one is not seen otherwise.
        assert device.looks > 0
        device.there = True
        streams = len(device.streams)
        assert isinstance(next(iterator), Gap)
        assert len(device.streams) == streams + 1
        device.streams[-1].hear(np.full(BLOCK, 2))
        assert block(next(iterator))[0] == 2
    assert all(stream.closed for stream in device.streams)


@pytest.mark.usefixtures("impatient")
def test_what_does_not_come_back_is_given_up(
    device: FakeSounddevice, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(microphone, "_GIVES_UP_AFTER", 0.1)
    with Microphone() as open_microphone, pytest.raises(Complaint, match="did not come back"):
        list(open_microphone)


def test_a_sleep_of_the_machine_is_a_gap_and_a_slow_listener_is_none(device: FakeSounddevice) -> None:
    now = 0.0
    with Microphone(lambda: now) as open_microphone:
        (stream,) = device.streams
        iterator = iter(open_microphone)
        stream.hear(np.full(BLOCK, 1))
        assert block(next(iterator))[0] == 1
        for level in (2, 3, 4):
            stream.hear(np.full(BLOCK, level))
        now = 60.0  # The listener took its time: what waited is there without a gap.
        assert [block(next(iterator))[0] for _ in range(2)] == [2, 3]
        now = 61.0
        assert block(next(iterator))[0] == 4
        now = 4000.0
        stream.hear(np.full(BLOCK, 5))
        assert next(iterator) == Gap(microphone.ASLEEP)
        assert block(next(iterator))[0] == 5


def test_the_clock_on_the_wall_is_of_no_account(
    device: FakeSounddevice, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Microphone() as open_microphone:
        iterator = iter(open_microphone)
        for wall in (1e9, 2e9, 0.0):
            monkeypatch.setattr(time, "time", lambda wall=wall: wall)
            device.streams[0].hear(np.full(BLOCK, 1))
            assert block(next(iterator))[0] == 1


def test_seconds_are_counted_from_the_last_skip(device: FakeSounddevice) -> None:
    with Microphone() as open_microphone:
        for _ in range(10):
            device.streams[0].hear(np.full(BLOCK, 1))
        # What the device is filling counts, too.
        assert 0.3 <= open_microphone.now <= 0.33
        open_microphone.skip()
        assert 0.0 <= open_microphone.now <= 0.03
        device.streams[0].hear(np.full(BLOCK, 2))
        assert 0.03 <= open_microphone.now <= 0.06
        assert block(next(iter(open_microphone)))[0] == 2


def test_without_a_device_the_library_is_not_loaded() -> None:
    names = ("devices", "endpointer", "files", "levels", "loudspeaker", "microphone", "mixing")
    loaded = "".join(f"import voicecoach.sound.{name}; " for name in names)
    check = "import sys; sys.exit('sounddevice' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", loaded + check]).returncode == 0

from __future__ import annotations

import sys
import time

import numpy as np
import pytest

from tests.sound.fake_sounddevice import FakeSounddevice, PortAudioError
from voicecoach.errors import Complaint
from voicecoach.sound.levels import rms_dbfs
from voicecoach.sound.loudspeaker import Loudspeaker, available

CUE = np.rint(np.sin(np.arange(22050) * 0.2) * 8000).astype(np.int16)


@pytest.fixture
def device(monkeypatch: pytest.MonkeyPatch) -> FakeSounddevice:
    fake = FakeSounddevice()
    monkeypatch.setitem(sys.modules, "sounddevice", fake)
    return fake


def test_plays_the_samples_to_their_end(device: FakeSounddevice) -> None:
    speaker = Loudspeaker()
    assert not speaker.playing
    speaker.play(CUE, 22050)
    (stream,) = device.streams
    assert (stream.samplerate, stream.channels, stream.dtype) == (22050, 1, "int16")
    played: list[np.ndarray] = []
    while speaker.playing:
        played.append(stream.play(1000))
    whole = np.concatenate(played)
    assert np.array_equal(whole[: len(CUE)], CUE)
    assert not whole[len(CUE) :].any()
    assert len(whole) - len(CUE) < 1000


def test_can_be_cut_short(device: FakeSounddevice) -> None:
    speaker = Loudspeaker()
    speaker.stop()
    speaker.play(CUE, 22050)
    device.streams[0].play(1000)
    speaker.stop()
    assert not speaker.playing
    assert device.streams[0].closed


def test_next_sound_takes_the_place_of_the_last(device: FakeSounddevice) -> None:
    speaker = Loudspeaker()
    speaker.play(CUE, 22050)
    speaker.play(CUE[::-1], 22050)
    first, second = device.streams
    assert first.closed
    assert speaker.playing
    assert np.array_equal(second.play(500), CUE[::-1][:500])


def test_device_without_the_rate_of_the_voice(device: FakeSounddevice) -> None:
    device.rates = (48000,)
    speaker = Loudspeaker()
    speaker.play(CUE, 22050)
    (stream,) = device.streams
    assert stream.samplerate == 48000
    assert rms_dbfs(stream.play(48000)) == pytest.approx(rms_dbfs(CUE), abs=0.1)


def test_nothing_to_play(device: FakeSounddevice) -> None:
    speaker = Loudspeaker()
    speaker.play(CUE[:0], 22050)
    assert not device.streams[0].play(100).any()
    assert not speaker.playing


def test_available(device: FakeSounddevice) -> None:
    assert available()
    device.there = False
    assert not available()


def test_no_loudspeaker(device: FakeSounddevice) -> None:
    device.there = False
    with pytest.raises(Complaint, match="There is no loudspeaker"):
        Loudspeaker()


def test_lost_between_two_sounds(device: FakeSounddevice) -> None:
    speaker = Loudspeaker()
    device.there = False
    with pytest.raises(Complaint, match="There is no loudspeaker"):
        speaker.play(CUE, 22050)
    assert not speaker.playing


def test_busy(device: FakeSounddevice) -> None:
    speaker = Loudspeaker()
    device.start_fails = "Device unavailable"
    with pytest.raises(Complaint, match=r"cannot be opened \(Device unavailable\)"):
        speaker.play(CUE, 22050)
    assert device.streams[0].closed
    assert not speaker.playing


def test_lost_while_it_plays(device: FakeSounddevice) -> None:
    class Gone:
        closed = False

        @property
        def active(self) -> bool:
            raise PortAudioError("Device unavailable")

        def close(self, ignore_errors: bool) -> None:
            self.closed = True

    speaker = Loudspeaker()
    speaker.play(CUE, 22050)
    speaker._stream = Gone()
    assert not speaker.playing


def test_device_that_never_ends_counts_as_over(
    device: FakeSounddevice, monkeypatch: pytest.MonkeyPatch
) -> None:
    speaker = Loudspeaker()
    speaker.play(CUE, 22050)
    now = time.monotonic()
    monkeypatch.setattr(time, "monotonic", lambda: now + 2.5)
    assert speaker.playing
    monkeypatch.setattr(time, "monotonic", lambda: now + 3.5)
    assert not speaker.playing

from __future__ import annotations

import sys
import time

import numpy as np
import pytest

from tests.sound.fake_sounddevice import FakeSounddevice, FakeStream, PortAudioError
from voicecoach.errors import Complaint
from voicecoach.sound.levels import rms_dbfs
from voicecoach.sound.loudspeaker import Loudspeaker, available

CUE = np.rint(np.sin(np.arange(22050) * 0.2) * 8000).astype(np.int16)


@pytest.fixture
def device(monkeypatch: pytest.MonkeyPatch) -> FakeSounddevice:
    fake = FakeSounddevice()
    monkeypatch.setitem(sys.modules, "sounddevice", fake)
    return fake


def test_plays_the_samples_to_their_end_and_then_silence(device: FakeSounddevice) -> None:
    speaker = Loudspeaker()
    assert not speaker.playing
    speaker.play(CUE, 22050)
    (stream,) = device.streams
    assert (stream.samplerate, stream.channels, stream.dtype, stream.latency) == (22050, 1, "int16", "low")
    played: list[np.ndarray] = []
    while len(played) < 30:
        played.append(stream.play(1000))
    whole = np.concatenate(played)
    assert np.array_equal(whole[: len(CUE)], CUE)
    assert not whole[len(CUE) :].any()


def test_it_is_over_when_the_last_of_it_is_heard(
    device: FakeSounddevice, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = 100.0
    monkeypatch.setattr(time, "monotonic", lambda: now)
    device.delay = 0.06
    speaker = Loudspeaker()
    speaker.play(CUE, 22050)
    device.streams[0].play(22050)
    now = 101.05  # a second of sound, and 0.06 s on the way
    device.streams[0].play(1000)
    assert speaker.playing
    now = 101.07
    assert not speaker.playing


def test_what_a_device_in_a_hurry_throws_away_is_silence_and_no_part_of_the_cue(
    device: FakeSounddevice, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A sound server that was held up asks for many blocks at once and plays none of them."""
    now = 100.0
    monkeypatch.setattr(time, "monotonic", lambda: now)
    speaker = Loudspeaker()
    speaker.play(CUE, 22050)
    (stream,) = device.streams
    heard = []
    for late, dry in [(0.02, False), (0.9, True), *[(0.002, True)] * 200, (0.02, True), (0.002, False)]:
        now += late
        block = stream.play(441, dry)
        if dry and late < 0.01:
            assert not block.any()
        else:
            heard.append(block)
    assert np.array_equal(np.concatenate(heard), CUE[: 4 * 441])
    assert speaker.playing


def test_can_be_cut_short_without_a_click(device: FakeSounddevice) -> None:
    speaker = Loudspeaker()
    speaker.stop()
    speaker.play(CUE, 22050)
    device.streams[0].play(1000)
    speaker.stop()
    rest = device.streams[0].play(1000)
    fading = round(0.005 * 22050)
    assert np.abs(rest[:fading]).max() > 4000
    assert not rest[fading:].any()
    assert np.abs(np.diff(rest[fading - 10 : fading + 1])).max() < 1000
    assert not device.streams[0].closed


def test_next_sound_takes_the_place_of_the_last(device: FakeSounddevice) -> None:
    speaker = Loudspeaker()
    speaker.play(CUE, 22050)
    device.streams[0].play(100)
    speaker.play(CUE[::-1], 22050)
    (stream,) = device.streams
    assert speaker.playing
    assert np.array_equal(stream.play(500), CUE[::-1][:500])


@pytest.mark.parametrize(("rates", "opened"), [((48000,), 48000), ((22050, 48000), 22050)])
def test_a_sound_of_another_rate_is_converted(
    device: FakeSounddevice, rates: tuple[int, ...], opened: int
) -> None:
    device.rates = rates
    speaker = Loudspeaker()
    speaker.open(22050)
    speaker.play(CUE, 22050)
    (stream,) = device.streams
    assert stream.samplerate == opened
    assert rms_dbfs(stream.play(opened)) == pytest.approx(rms_dbfs(CUE), abs=0.1)
    tone = np.rint(np.sin(np.arange(16000) * 0.2) * 8000).astype(np.int16)
    speaker.play(tone, 16000)
    assert rms_dbfs(stream.play(opened)) == pytest.approx(rms_dbfs(tone), abs=0.1)


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


def beat(length: int, height: int = 3000) -> np.ndarray:
    """A short sound with silence after it: one round of what plays beneath."""
    sound = np.zeros(length, np.int16)
    sound[:200] = np.rint(np.hanning(200) * height)
    return sound


def test_what_plays_beneath_goes_on_as_often_as_wanted_and_counts_as_nothing_playing(
    device: FakeSounddevice,
) -> None:
    speaker = Loudspeaker()
    speaker.open(22050)
    speaker.play_beneath(beat(1234), 22050, 3)
    (stream,) = device.streams
    assert not speaker.playing
    first = stream.play(441)
    assert not speaker.playing
    whole = np.concatenate([first, *(stream.play(441) for _ in range(9))])
    assert np.array_equal(whole[:3702], np.tile(beat(1234), 3))
    assert not whole[3702:].any()


def test_a_cue_is_heard_over_it_and_it_goes_on_in_phase(device: FakeSounddevice) -> None:
    speaker = Loudspeaker()
    speaker.open(22050)
    speaker.play_beneath(beat(1234), 22050, 60)
    (stream,) = device.streams
    before = stream.play(2000)
    speaker.play(CUE, 22050)
    assert speaker.playing
    during = np.concatenate([stream.play(441) for _ in range(20)])
    speaker.stop()
    after = np.concatenate([stream.play(441) for _ in range(20)])
    beneath = np.tile(beat(1234), 60)
    assert np.array_equal(before, beneath[:2000])
    assert np.array_equal(during, beneath[2000:10820] + CUE[:8820])
    fading = round(0.005 * 22050)
    assert np.array_equal(after[fading:], beneath[10820 + fading : 19640])


def test_two_loud_sounds_together_do_not_turn_over(device: FakeSounddevice) -> None:
    speaker = Loudspeaker()
    for sign in (1, -1):
        speaker.play(np.full(1000, sign * 30000, np.int16), 22050)
        speaker.play_beneath(np.full(1000, sign * 9000, np.int16), 22050, 1)
        assert set(device.streams[0].play(1000)) == {32767 if sign > 0 else -32768}


def test_what_plays_beneath_is_cut_short_without_a_click_and_the_cue_goes_on(device: FakeSounddevice) -> None:
    speaker = Loudspeaker()
    speaker.open(22050)
    speaker.stop_beneath()
    (stream,) = device.streams
    stream.play(100)
    speaker.play_beneath(np.full(1000, 4000, np.int16), 22050, 100)
    stream.play(100)
    speaker.stop_beneath()
    rest = stream.play(1000)
    fading = round(0.005 * 22050)
    assert np.abs(np.diff(rest[: fading + 1].astype(int))).max() < 100
    assert not rest[fading:].any()
    speaker.play(CUE, 22050)
    speaker.stop_beneath()
    assert np.array_equal(stream.play(500), CUE[:500])


def test_what_plays_beneath_is_converted_and_another_takes_its_place(device: FakeSounddevice) -> None:
    speaker = Loudspeaker()
    speaker.open(48000)
    speaker.play_beneath(beat(16000), 16000, 100)
    (stream,) = device.streams
    two = stream.play(96000).astype(float)
    assert np.array_equal(two[:48000], two[48000:])
    assert np.argmax(two) == pytest.approx(300, abs=3)
    assert two.max() == pytest.approx(3000, rel=0.01)
    speaker.play_beneath(beat(500), 48000, 1)
    assert np.array_equal(stream.play(500), beat(500))


def test_given_back_it_plays_nothing_beneath_any_more(device: FakeSounddevice) -> None:
    speaker = Loudspeaker()
    speaker.open(22050)
    speaker.play_beneath(beat(1234), 22050, 60)
    device.streams[0].play(100)
    speaker.close()
    speaker.open(22050)
    assert not device.streams[1].play(5000).any()


def test_a_device_that_comes_back_is_opened_again(device: FakeSounddevice) -> None:
    speaker = Loudspeaker()
    speaker.play(CUE, 22050)
    device.streams[0].active = False
    assert not speaker.playing
    device.there = False
    with pytest.raises(Complaint, match="There is no loudspeaker"):
        speaker.play(CUE, 22050)
    assert not speaker.playing
    device.there = True
    speaker.play(CUE, 22050)
    assert speaker.playing
    assert np.array_equal(device.streams[-1].play(500), CUE[:500])


def test_busy(device: FakeSounddevice) -> None:
    speaker = Loudspeaker()
    device.start_fails = "Device unavailable"
    with pytest.raises(Complaint, match=r"cannot be opened \(Device unavailable\)"):
        speaker.play(CUE, 22050)
    assert all(stream.closed for stream in device.streams)
    assert not speaker.playing


def test_lost_while_it_plays(device: FakeSounddevice, monkeypatch: pytest.MonkeyPatch) -> None:
    def gone(stream: object) -> bool:
        raise PortAudioError("Device unavailable")

    speaker = Loudspeaker()
    speaker.play(CUE, 22050)
    assert speaker.playing
    monkeypatch.setattr(FakeStream, "active", property(gone, lambda stream, active: None), raising=False)
    assert not speaker.playing


def test_a_device_that_asks_for_nothing_any_more_counts_as_lost(
    device: FakeSounddevice, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = 100.0
    monkeypatch.setattr(time, "monotonic", lambda: now)
    speaker = Loudspeaker()
    speaker.play(CUE, 22050)
    now = 104.0  # Some take their time to start.
    assert speaker.playing
    device.streams[0].play(100)
    now = 106.0
    assert not speaker.playing
    speaker.play(CUE, 22050)
    assert [stream.closed for stream in device.streams] == [True, False]


def test_it_can_be_given_back(device: FakeSounddevice) -> None:
    speaker = Loudspeaker()
    speaker.play(CUE, 22050)
    speaker.close()
    assert device.streams[0].closed
    assert not speaker.playing
    speaker.close()

"""The lists of microphones and loudspeakers."""

from __future__ import annotations

import sys
from typing import Any

import pytest

from tests.sound.fake_sounddevice import FakeSounddevice
from voicecoach.errors import Complaint
from voicecoach.sound.devices import Device, Devices, default_device, devices


def described(index: int, name: str, inputs: int, outputs: int, hostapi: int = 0) -> dict[str, Any]:
    return {
        "name": name,
        "index": index,
        "hostapi": hostapi,
        "max_input_channels": inputs,
        "max_output_channels": outputs,
        "default_samplerate": 44100.0,
    }


@pytest.fixture
def machine(monkeypatch: pytest.MonkeyPatch) -> FakeSounddevice:
    listed = [
        described(0, "the default one", 2, 2),
        described(1, "Webcam", 1, 0),
        described(2, "Headset", 1, 2),
        described(3, "Screen", 0, 8),
        described(4, "Webcam once more", 1, 0, hostapi=1),
    ]
    fake = FakeSounddevice(devices=listed)
    monkeypatch.setitem(sys.modules, "sounddevice", fake)
    return fake


def test_the_default_one_is_chosen_and_the_others_of_its_kind_and_system_are_listed(
    machine: FakeSounddevice,
) -> None:
    assert devices("input") == Devices(
        Device("default input", 48000, 2), (Device("Webcam", 44100, 1), Device("Headset", 44100, 1))
    )
    assert devices("output") == Devices(
        Device("default output", 48000, 2), (Device("Headset", 44100, 2), Device("Screen", 44100, 8))
    )
    assert default_device("input") == (48000, 2)


@pytest.mark.parametrize(("kind", "name"), [("input", "microphone"), ("output", "loudspeaker")])
def test_without_a_default_one_it_says_so(machine: FakeSounddevice, kind: Any, name: str) -> None:
    machine.there = False
    with pytest.raises(Complaint, match=f"There is no {name}"):
        devices(kind)

"""What a case sounds like: beats, breaths, and the sounds of a cuff while the coach reads its needle aloud.

All are int16, mono at 16 kHz, softer than a cue, and begin and end at 0. How they sound and how loud they
are is common practice, no source; how fast a needle falls has one.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voicecoach.events import Word
from voicecoach.sound import RATE
from voicecoach.sound.levels import amplitude
from voicecoach.sound.mixing import Track, ducked, mix

LONGEST = 180.0
"""Seconds after which beats and breaths end by themselves: three times the minute that they are counted."""
FALL = 2.0
"""mmHg a second by which the needle falls: ACC/AHA high blood pressure guideline, 2017, restated."""
EVERY = 4
"""mmHg between two numbers that are read aloud.

At 2 mmHg a second they begin every 2 s, so that a tap falls with the beginning of a number or half way to
the next, which tells pressures apart to the 2 mmHg to which they are recorded (Federal Practitioner, 2012,
restated). Every 2 there would be no time to say them; every 10 there would be five places to guess in 5 s.
"""
PULSE = 72
"""Taps a minute while the cuff can be heard."""
_TENS = 10
"""The needle begins and ends at a multiple of this, so that neither end tells the pressure."""
_ABOVE, _BELOW = 20, 10
"""mmHg above systolic and below diastolic at least: a cuff is inflated 20 to 30 above (ACC/AHA, the same)."""

_PEAK = -20.0
"""Of a beat and a tap, dBFS."""
_THUMP, _ATTACK, _DECAY, _RELEASE = 0.08, 0.004, 0.025, 0.02
"""Seconds of a thump: as a whole, in which it comes, falls to a third, and goes at its end."""
_HIGH, _LOW = 400.0, 150.0
"""Hz between which its tone falls: as low as small loudspeakers play."""
_CLICK, _CLICK_HERTZ, _CLICK_LEVEL = 0.004, 2000.0, 0.35
"""Seconds, Hz and share of the click that begins it, for loudspeakers that play nothing low."""
_SECOND, _SECOND_LEVEL = 0.1, 0.4
"""Seconds from a beat to its second part, and how high that is beside the first."""

_BREATH = -30.0
"""RMS of breathing in where it is loudest, dBFS."""
_IN, _OUT = (0.0, 0.4, 500.0, 2000.0, 1.0), (0.45, 0.85, 300.0, 1000.0, 0.4)
"""Of breathing in and out: where it begins and ends in a breath of 1, Hz of its noise, and its height."""

_READ = -6.0
"""Decibels by which the numbers are softer than a cue."""
_DUCKED = -10.0
"""Decibels by which a number becomes softer still beneath a tap, so that the tap is the louder of the two."""
_EDGE = 0.005
"""Seconds in which numbers and taps together come and go: a voice does not begin at 0."""
_TEENS = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen "
    "sixteen seventeen eighteen nineteen"
).split()
_TIES = "twenty thirty forty fifty sixty seventy eighty ninety".split()


@dataclass(frozen=True, slots=True)
class Simulation:
    """A sound that is played beneath the cues."""

    samples: NDArray[np.int16]
    """One round of it, mono at 16 kHz."""
    rounds: int = 1
    """How many times it is played, one right after the other."""
    read: tuple[Word, ...] = ()
    """The numbers that the coach reads in it, each as one, with seconds from the beginning."""


def seconds(what: str, values: Sequence[float]) -> float:
    """How long what a case sounds like (`events.Simulated`) goes on by itself."""
    if what != "sounds":
        return LONGEST
    first, last = _ends(*values)
    return (first - last) / FALL


def simulation(what: str, values: Sequence[float], numbers: Mapping[int, NDArray[np.int16]]) -> Simulation:
    """What a case sounds like, as `events.Simulated` has it; `numbers` as for `sounds`, else none."""
    if what == "sounds":
        systolic, diastolic = values
        return sounds(systolic, diastolic, numbers)
    return (beats if what == "beats" else breaths)(*values)


def beats(rate: float) -> Simulation:
    """Soft thumps of two parts, so many a minute (up to 200), the first at once."""
    thump = _thump()
    later = round(_SECOND * RATE)
    sound = np.zeros(round(60 / rate * RATE))
    sound[: len(thump)] += thump
    sound[later : later + len(thump)] += _SECOND_LEVEL * thump
    return Simulation(_samples(sound), int(LONGEST * rate / 60))


def breaths(rate: float) -> Simulation:
    """Noise that swells as air goes in, and lower and fainter as it goes out, so many times a minute."""
    length = round(60 / rate * RATE)
    sound = np.zeros(length)
    for begins, ends, low, high, height in (_IN, _OUT):
        first, last = round(begins * length), round(ends * length)
        swell = np.sin(np.pi * np.arange(last - first) / (last - first)) ** 2
        sound[first:last] = height * swell * _noise(last - first, low, high)
    return Simulation(_samples(sound * amplitude(_BREATH)), int(LONGEST * rate / 60))


def sounds(systolic: float, diastolic: float, numbers: Mapping[int, NDArray[np.int16]]) -> Simulation:
    """Taps between two pressures in mmHg while the coach reads the falling needle.

    `numbers` are those of `needle`, as a voice says them, mono at 16 kHz. Beneath a tap they are softer.
    """
    first, _ = _ends(systolic, diastolic)
    thump = _thump()
    tapped = [(at, at + _THUMP) for at in taps(systolic, diastolic)]
    tracks = [Track(at, _samples(thump)) for at, _ in tapped]
    read = []
    for number, said in numbers.items():
        at, end = (first - number) / FALL, (first - number) / FALL + len(said) / RATE
        beneath = [(tap - at, over - at) for tap, over in tapped if tap < end and over > at]
        tracks.append(Track(at, ducked(said, beneath, _DUCKED), gain=_READ))
        read.append(Word(in_words(number), at, end))
    whole = mix(tracks).astype(np.float64)
    place = np.arange(len(whole)) / (_EDGE * RATE)
    return Simulation(_samples(whole * _rise(place) * _rise(place[::-1])), read=tuple(read))


def needle(systolic: float, diastolic: float) -> tuple[int, ...]:
    """The numbers that are read as the needle passes them, in mmHg, from the highest on."""
    first, last = _ends(systolic, diastolic)
    return tuple(range(first - first % EVERY, last + EVERY - 1, -EVERY))


def taps(systolic: float, diastolic: float) -> tuple[float, ...]:
    """Seconds from the beginning at which there are taps, from systolic down to or just above diastolic."""
    first, _ = _ends(systolic, diastolic)
    falls = FALL * 60 / PULSE
    # A tap at the diastolic pressure to the dot must not be lost in the rounding.
    count = math.floor((systolic - diastolic) / falls + 1e-6) + 1
    return tuple((first - systolic) / FALL + number * 60 / PULSE for number in range(count))


def in_words(number: int) -> str:
    """A pressure below 1000 as people read it: `ninety six`, `one hundred`, `one oh four`, `one eighteen`."""
    hundreds, rest = divmod(number, 100)
    tens, ones = divmod(rest, 10)
    words = [_TEENS[hundreds]] if hundreds else []
    if hundreds and not rest:
        words.append("hundred")
    elif rest < 20:
        words += ["oh", _TEENS[rest]] if hundreds and rest < 10 else [_TEENS[rest]]
    else:
        words += [_TIES[tens - 2], *([_TEENS[ones]] if ones else ())]
    return " ".join(words)


def _ends(systolic: float, diastolic: float) -> tuple[int, int]:
    """Where the needle begins and where its fall is over, mmHg."""
    first = _TENS * math.ceil((systolic + _ABOVE) / _TENS)
    return first, _TENS * math.floor((diastolic - _BELOW) / _TENS)


def _thump() -> NDArray[np.float64]:
    """A tone that falls as it dies away, with a click where it begins, in sample steps."""
    time = np.arange(round(_THUMP * RATE)) / RATE
    falls = np.log(_LOW / _HIGH) / _THUMP
    tone = np.sin(2 * np.pi * _HIGH * np.expm1(falls * time) / falls) * np.exp(-time / _DECAY)
    tone *= _rise(time / _ATTACK) * _rise((_THUMP - time) / _RELEASE)
    click = np.sin(2 * np.pi * _CLICK_HERTZ * time) * np.sin(np.pi * np.minimum(time / _CLICK, 1)) ** 2
    thump = tone / np.abs(tone).max() + _CLICK_LEVEL * click
    return np.asarray(thump / np.abs(thump).max() * amplitude(_PEAK))


def _rise(share: NDArray[np.float64]) -> NDArray[np.float64]:
    """From 0 to 1 as a raised cosine while the share goes from 0 to 1."""
    return np.asarray((1 - np.cos(np.pi * np.minimum(share, 1))) / 2)


def _noise(length: int, low: float, high: float) -> NDArray[np.float64]:
    """Noise between two frequencies in Hz, with an RMS of 1, always the same."""
    spectrum = np.fft.rfft(np.random.default_rng(1).normal(size=length))
    hertz = np.fft.rfftfreq(length, 1 / RATE)
    noise = np.fft.irfft(spectrum * ((hertz > low) & (hertz < high)), length)
    return np.asarray(noise / np.sqrt(np.mean(noise**2)))


def _samples(sound: NDArray[np.float64]) -> NDArray[np.int16]:
    samples: NDArray[np.int16] = np.rint(sound).astype(np.int16)
    return samples

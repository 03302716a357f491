"""Sound as it is in a skills room: running water, talk of others, a tiled room, a mask.

The kinds of condition are those of CONDITIONS; a number behind the name is the signal-to-noise ratio in
dB. It is the power of the words over that of the noise while words are said; the noise goes on through
the silences. Everything random is seeded by the narration.

*Water*: noise from bubbles of 0.65 to 6.5 mm, which ring at 500 to 5000 Hz (Minnaert, 1933: 3.26 m/s
over the radius), so a band from 500 to 5000 Hz with flanks of 6 and 12 dB an octave; within it the
level falls by 3 dB an octave, and it wavers slowly by 1.5 dB: common practice, no source.

*Babble*: five others who narrate other procedures, each in another voice, at the same loudness, common
practice in noise for tests of hearing.

*Echo*: a room of 3.0 x 2.4 x 2.5 m, all walls alike, in which reverberation takes 0.6 s (T20 as in
ISO 3382-2), the mouth 0.7 m from the microphone; image sources by pyroomacoustics.

*Mask*: no loss up to 1 kHz, then a loss that grows with the logarithm of the frequency: for a surgical
mask 3 dB at 2 kHz and 4 dB from 3 kHz, for an N95 respirator 4 dB at 2 kHz and 6 dB from 3 kHz. After
Corey, Jones and Singer 2020, J. Acoust. Soc. Am. 148, 2371, who found a peak loss of about 4 dB and
6 dB, and little below 1 kHz; the points between are ours.
"""

from __future__ import annotations

import hashlib
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec

import numpy as np
from numpy.typing import NDArray

from tests.benchmarks.levels import Mask, Sound, at_level, level, speaking
from voicecoach.sound import RATE

CONDITIONS = (
    "clean",
    *(f"{noise}-{ratio}" for noise in ("water", "babble") for ratio in (20, 10, 5)),
    "echo",
    "mask-surgical",
    "mask-n95",
)
TALKERS = 5
"""How many others talk in a babble."""
RT60 = 0.6
"""Seconds in which the sound in the tiled room falls by 60 dB."""
MASKS = {"surgical": ((1000, 0.0), (2000, 3.0), (3000, 4.0)), "n95": ((1000, 0.0), (2000, 4.0), (3000, 6.0))}
"""Hz and the loss in dB there."""
_ROOM = (3.0, 2.4, 2.5)
_MOUTH = (1.3, 1.0, 1.5)
_MICROPHONE = (1.9, 1.3, 1.3)
"""Places in meters; these two are 0.7 m apart."""
_WAVERS = 0.5
"""Seconds between two independent levels of the water."""

Others = Callable[[np.random.Generator, int], Sequence[Sound]]
"""Gives the sound of so many other talkers."""


@dataclass(frozen=True, slots=True)
class Condition:
    """One condition, as its name says."""

    kind: str
    """clean, water, babble, echo or mask."""
    ratio: float | None = None
    """Signal-to-noise ratio in dB, where there is noise."""
    mask: str = ""
    """surgical or n95."""


def condition(name: str) -> Condition:
    """The condition of a name such as water-10. Raises ValueError where there is none."""
    kind, _, rest = name.partition("-")
    if kind == "mask" and rest in MASKS:
        return Condition(kind, mask=rest)
    if kind in ("water", "babble"):
        return Condition(kind, ratio=float(rest))
    if kind in ("clean", "echo") and not rest:
        return Condition(kind)
    raise ValueError(f"{name}: no such condition; there are {', '.join(CONDITIONS)}")


def possible() -> tuple[str, ...]:
    """The conditions that can be made here; what cannot is named on stderr."""
    if find_spec("pyroomacoustics") is not None:
        return CONDITIONS
    print("left out echo: the wheel pyroomacoustics is not installed", file=sys.stderr)
    return tuple(name for name in CONDITIONS if name != "echo")


def heard_in(name: str, sound: Sound, id: str, others: Others) -> Sound:
    """The sound of a narration as it is in a condition; `id` seeds what is random in it."""
    wanted = condition(name)
    random = np.random.default_rng(seed(f"{id} {wanted.kind}"))
    words = speaking(sound)
    if wanted.kind == "echo":
        return at_level(echoed(sound, room_response(RT60)), level(sound, words))
    if wanted.kind == "mask":
        return masked(sound, wanted.mask)
    if wanted.ratio is None:
        return sound
    if wanted.kind == "water":
        return sound + at_ratio(water(len(sound), random), sound, words, wanted.ratio)
    return sound + at_ratio(babble(len(sound), others(random, TALKERS), random), sound, words, wanted.ratio)


def seed(text: str) -> int:
    """A number for a text, the same everywhere."""
    return int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "big")


def at_ratio(noise: Sound, sound: Sound, words: Mask, ratio: float) -> Sound:
    """The noise at `ratio` dB below the sound where the words are."""
    return noise * 10 ** ((level(sound, words) - ratio - level(noise, words)) / 20)


def water(samples: int, random: np.random.Generator) -> Sound:
    """Water that runs from a tap into a basin."""
    hertz = np.fft.rfftfreq(samples, 1 / RATE)
    band = hertz / np.hypot(hertz, 500) / (1 + (hertz / 5000) ** 2)
    tilt = np.sqrt(500 / np.maximum(hertz, 500))
    noise = np.fft.irfft(np.fft.rfft(random.normal(size=samples)) * band * tilt, samples)
    points = np.arange(0, samples + 2 * _WAVERS * RATE, _WAVERS * RATE)
    waver = np.interp(np.arange(samples), points, random.normal(scale=1.5, size=len(points)))
    wavering: Sound = noise * 10 ** (waver / 20)
    return wavering


def babble(samples: int, talkers: Sequence[Sound], random: np.random.Generator) -> Sound:
    """Others who talk on and on, each from some place in what they say."""
    mixed = np.zeros(samples)
    for talker in talkers:
        mixed += np.resize(np.roll(talker, -int(random.integers(len(talker)))), samples)
    return mixed


def masked(sound: Sound, mask: str) -> Sound:
    """Sound through a mask."""
    gain = 10 ** (-mask_loss(mask, np.fft.rfftfreq(len(sound), 1 / RATE)) / 20)
    through: Sound = np.fft.irfft(np.fft.rfft(sound) * gain, len(sound))
    return through


def mask_loss(mask: str, hertz: NDArray[np.floating]) -> Sound:
    """What a mask takes away at some frequencies, in dB."""
    at, loss = zip(*MASKS[mask], strict=True)
    lost: Sound = np.interp(np.log(np.maximum(hertz, 1.0)), np.log(at), loss)
    return lost


def echoed(sound: Sound, response: Sound) -> Sound:
    """Sound in a room, as long as before."""
    length = 1 << (len(sound) + len(response) - 1).bit_length()
    whole: Sound = np.fft.irfft(np.fft.rfft(sound, length) * np.fft.rfft(response, length), length)
    return whole[: len(sound)]


@cache
def room_response(rt60: float) -> Sound:
    """The response of the tiled room, its walls such that reverberation takes `rt60` seconds within 2%.

    Sabine's formula is far off in a small hard room, so the walls are found by the secant rule on the
    logarithms of what they absorb and of the time. Raises ValueError where there are no such walls.
    """
    before, absorbs = 0.2, 0.1
    missed_before = np.log(reverberation(_response(before, rt60)) / rt60)
    for _ in range(8):
        response = _response(absorbs, rt60)
        missed = np.log(reverberation(response) / rt60)
        if abs(missed) < 0.02:
            return response
        step = missed * np.log(absorbs / before) / (missed - missed_before)
        before, missed_before = absorbs, missed
        absorbs = float(np.clip(absorbs * np.exp(-step), 0.01, 0.9))
    raise ValueError(f"no walls give a reverberation of {rt60} s in this room")


def reverberation(response: Sound) -> float:
    """T20 of a response in seconds: the fall from -5 to -25 dB of Schroeder's integral, to 60 dB."""
    left = np.cumsum(response[::-1] ** 2)[::-1]
    decay = 10 * np.log10(np.maximum(left / left[0], 1e-12))
    fall = np.flatnonzero((decay <= -5) & (decay >= -25))
    slope, _ = np.polyfit(fall / RATE, decay[fall], 1)
    return float(-60 / slope)


def _response(absorbs: float, seconds: float) -> Sound:
    """The response of the room whose walls absorb this share of the energy, at least `seconds` long."""
    import pyroomacoustics

    # Sound that falls by 30 dB and a little more is all that T20 looks at and that can be heard here.
    order = int(0.65 * seconds * 343 / min(_ROOM)) + 1
    room = pyroomacoustics.ShoeBox(
        list(_ROOM), fs=RATE, materials=pyroomacoustics.Material(absorbs), max_order=order
    )
    room.add_source(list(_MOUTH))
    room.add_microphone(list(_MICROPHONE))
    room.compute_rir()
    return np.asarray(room.rir[0][0], dtype=np.float64)

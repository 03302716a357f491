"""Cuts a stream of sound into utterances. It is fed blocks, owns no device and reads no clock.

A frame is voiced where the detector takes it for a voice and its level stands out from the noise
behind it, which is followed as it changes, and from the talk of others further away. All times are
counted in samples, so that an utterance has the same samples and times however the stream was cut into
blocks.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from pocketsphinx import Vad

from voicecoach.sound import RATE
from voicecoach.sound.levels import dbfs

FRAME = RATE // 100
"""Samples that are judged in one go."""
_WINDOW = 3 * FRAME
"""The level of a frame is taken over this many samples, its own the last of them."""
_TAPER = np.hanning(_WINDOW)
_PER_SAMPLE = 2 / (_WINDOW * float(np.sum(_TAPER**2)))
BANDS = 16
"""Bands between 200 and 4000 Hz, where voices are, between the rumble of fans and the hiss of water."""
_EDGES = np.rint(np.geomspace(200 + 300, 4000 + 300, BANDS + 1) - 300).astype(int) * _WINDOW // RATE
"""Their edges in the spectrum of a window; the low ones are narrow, as the ear has it."""
Others = Callable[[NDArray[np.float64]], float | None]
"""What is told the powers of a frame, shape (BANDS,), and knows how much of it the coach is not."""

FAINTEST = -60.0
"""Level in dBFS below which nothing counts as a voice."""
ABOVE_NOISE = 4.0
"""Decibels by which a voice stands out from the noise."""
_NOISE_FRAMES = 200
_NOISE_SHARE = 0.1
"""The noise is the level that this share of so many latest frames stay below: talk has many gaps."""

_ROOM_FRAMES = 1000
"""Frames of which the loud ones are of the student and the faint ones of what else is to be heard."""
_LEARNED = 100
"""Frames from which that is known."""
_FAINT, _LOUD = 0.25, 0.95
"""Shares of them that stay below the level of the rest of the room, and below that of the student."""
_BETWEEN = 0.4
"""Where between these two levels a voice begins that is near: others who talk are fainter."""
_CLOSEST, _FURTHEST = 4.0, 8.0
"""Decibels above the room from which a voice is near, at least and at most."""
_RELEARNS = 10
"""Frames after which this is worked out anew."""

_BEGINS = 17
_WITHIN = 30
"""Speech begins when so many frames are voiced within so many: a sound of 0.15 s fills fewer, since a
frame's level looks back over two frames before it."""
_BEGINS_OVER = 8
"""The same while the coach speaks: what exceeds its voice is patchy, and never that of the coach alone."""
_GOES_ON = 4
"""Voiced frames in a row by which speech goes on; fewer are a sound in the pause."""

_BEFORE = 3 * RATE // 10
_AFTER = 3 * RATE // 10
"""Samples given before the first and after the last voiced frame: first and last sounds are faint."""

_LONGEST = 15 * RATE
_LOOK_BACK = 3 * RATE // 2
"""An utterance of the one length is cut at the quietest point of the last of the other, which is held
back until then."""
_DIP = 10
"""Frames over which a point is judged to be quiet."""


@dataclass(frozen=True, slots=True)
class SpeechBegan:
    """An utterance begins. Its sound follows."""

    at: float
    """Seconds at which the speech begins; its sound begins a little earlier."""


@dataclass(frozen=True, slots=True)
class Speech:
    """More sound of the utterance, from where the last left off."""

    at: float
    """Seconds at which the first sample was heard."""
    samples: NDArray[np.int16]
    """Mono at 16 kHz."""


@dataclass(frozen=True, slots=True)
class SpeechEnded:
    """The utterance is over."""

    start: float
    """Seconds at which the speech began."""
    end: float
    """Seconds at which the speech ended; its sound ended a little later."""


Cut = SpeechBegan | Speech | SpeechEnded


@dataclass(slots=True)
class _Utterance:
    """The utterance that is under way; all are numbers of samples in the stream."""

    first: int
    """The first sample given."""
    start: int
    """Where the speech begins."""
    voiced_to: int
    """Where the last voiced frame ends."""


class Endpointer:
    """Finds the speech in one stream of blocks, mono at 16 kHz."""

    def __init__(self, pause: float = 0.6, others: Others = lambda powers: None) -> None:
        """`pause`: seconds of silence that end an utterance.

        `others` is told the powers of each frame, and gives the level in dBFS of what in it is not the
        coach's own voice; None where the coach is silent, so that all of it is.
        """
        self._pause = round(pause * RATE)
        self._others = others
        self._vad = Vad(Vad.MEDIUM_STRICT, RATE, FRAME / RATE)
        self._kept = np.zeros(_WINDOW, np.int16)  # the latest samples, as many as may be needed
        self._end = 0  # number of the sample that comes next
        self._judged = 0  # all before this one have been judged
        self._given = 0  # all before this one have been given or never will
        self._levels: deque[float] = deque(maxlen=_LOOK_BACK // FRAME)
        self._noise: deque[float] = deque(maxlen=_NOISE_FRAMES)
        self._room: deque[float] = deque(maxlen=_ROOM_FRAMES)
        self._near = FAINTEST  # level in dBFS above which a voice is near
        self._over = False  # whether the coach speaks
        self._votes: deque[bool] = deque(maxlen=_WITHIN)
        self._utterance: _Utterance | None = None

    @property
    def silence(self) -> float:
        """Seconds since the last speech of the utterance that is under way; 0 where none is."""
        return 0.0 if self._utterance is None else (self._judged - self._utterance.voiced_to) / RATE

    def take(self, block: NDArray[np.int16]) -> list[Cut]:
        """Go on with a block of any length; what it brings to light, in order."""
        self._kept = np.concatenate((self._kept, block))
        self._end += len(block)
        cuts: list[Cut] = []
        while self._judged + FRAME <= self._end:
            voiced = self._voiced()
            self._judged += FRAME
            self._votes.append(voiced)
            cuts += self._began() if self._utterance is None else self._went_on(self._utterance)
        if self._utterance is not None:
            # What may be cut off from this utterance, or be no more than the pause, is held back.
            cuts += self._give(min(self._utterance.first + _LONGEST - _LOOK_BACK, self._last(self._judged)))
        self._forget()
        return cuts

    def finish(self) -> list[Cut]:
        """End the utterance that is under way; the stream ends here, or a part of it is left out."""
        self._votes.clear()
        return [] if self._utterance is None else self._ended(self._utterance, self._last(self._end))

    def _voiced(self) -> bool:
        """Whether the next frame is of a voice."""
        window = self._between(self._judged + FRAME - _WINDOW, self._judged + FRAME)
        powers = _powers(window)
        level = _level(powers)
        self._levels.append(level)
        others = self._others(powers)
        self._over = others is not None
        if others is None:  # Else it is no level of the room.
            self._noise.append(level)
            self._room.append(level)
        if len(self._room) >= _LEARNED and self._judged // FRAME % _RELEARNS == 0:
            self._near = _nearness(self._room)
        noise = sorted(self._noise)[int(len(self._noise) * _NOISE_SHARE)] if self._noise else FAINTEST
        # The detector learns from all frames, so it is asked about each.
        of_a_voice = bool(self._vad.is_speech(window[-FRAME:].tobytes()))
        heard = level if others is None else others
        return of_a_voice and heard > max(noise + ABOVE_NOISE, self._near, FAINTEST)

    def _began(self) -> list[Cut]:
        """Begin an utterance where enough of the latest frames are voiced."""
        if sum(self._votes) < (_BEGINS_OVER if self._over else _BEGINS):
            return []
        start = self._judged - (len(self._votes) - self._votes.index(True)) * FRAME
        self._given = max(self._given, start - _BEFORE)
        self._utterance = _Utterance(self._given, start, self._judged)
        return [SpeechBegan(start / RATE)]

    def _went_on(self, utterance: _Utterance) -> list[Cut]:
        """Note the newest frame; end the utterance, or cut it, where it is time."""
        if all(list(self._votes)[-_GOES_ON:]):
            utterance.voiced_to = self._judged
        if self._judged - utterance.voiced_to >= self._pause:
            return self._ended(utterance, self._last(self._judged))
        if self._judged - utterance.first < _LONGEST:
            return []
        quietest = int(np.argmin(np.convolve(self._levels, np.ones(_DIP), "valid"))) + _DIP // 2
        cut = self._judged - (len(self._levels) - quietest) * FRAME
        if utterance.voiced_to <= cut:
            return self._ended(utterance, cut)
        rest = _Utterance(cut, cut, utterance.voiced_to)
        utterance.voiced_to = cut
        cuts = self._ended(utterance, cut)
        self._utterance = rest
        return [*cuts, SpeechBegan(cut / RATE)]

    def _ended(self, utterance: _Utterance, to: int) -> list[Cut]:
        """End the utterance, its sound going to a sample."""
        self._utterance = None
        self._votes.clear()
        return [*self._give(to), SpeechEnded(utterance.start / RATE, utterance.voiced_to / RATE)]

    def _last(self, limit: int) -> int:
        """Where the sound of the utterance ends if no more speech comes, at most `limit`."""
        assert self._utterance is not None
        return min(self._utterance.voiced_to + _AFTER, limit)

    def _give(self, to: int) -> list[Cut]:
        """The samples up to one, as far as they have not been given."""
        if to <= self._given:
            return []
        samples = self._between(self._given, to)
        at, self._given = self._given / RATE, to
        return [Speech(at, samples)]

    def _between(self, first: int, last: int) -> NDArray[np.int16]:
        """Samples of the stream by their numbers."""
        offset = len(self._kept) - self._end
        return self._kept[first + offset : last + offset]

    def _forget(self) -> None:
        """Drop samples that no utterance can need."""
        oldest = self._judged - _WITHIN * FRAME - _BEFORE
        if self._utterance is not None:
            oldest = min(oldest, self._given)
        surplus = len(self._kept) - (self._end - oldest)
        if surplus > 0:
            self._kept = self._kept[surplus:]


def frame_powers(samples: NDArray[np.int16]) -> NDArray[np.float64]:
    """The powers of the frames of mono sound at 16 kHz, as the endpointer takes them; (frames, BANDS)."""
    padded = np.concatenate((np.zeros(_WINDOW - FRAME, np.int16), samples))
    starts = range(0, len(samples) - FRAME + 1, FRAME)
    return np.array([_powers(padded[at : at + _WINDOW]) for at in starts]).reshape(-1, BANDS)


def _nearness(levels: Iterable[float]) -> float:
    """Level in dBFS above which a voice is that of the student, who is near, by the latest levels."""
    ordered = sorted(levels)
    room, loud = (ordered[int(len(ordered) * share)] for share in (_FAINT, _LOUD))
    return room + min(max(_BETWEEN * (loud - room), _CLOSEST), _FURTHEST)


def _powers(window: NDArray[np.int16]) -> NDArray[np.float64]:
    """Mean square of a window of samples in each of the bands."""
    spectrum = np.abs(np.fft.rfft(window * _TAPER)) ** 2
    powers: NDArray[np.float64] = np.add.reduceat(spectrum[: _EDGES[-1]], _EDGES[:-1]) * _PER_SAMPLE
    return powers


def _level(powers: NDArray[np.float64]) -> float:
    """Level of a frame in dBFS, within the band of voices."""
    return dbfs(math.sqrt(float(powers.sum())))

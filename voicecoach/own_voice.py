"""The coach's own voice in the microphone: how loud it is expected there, and which words are its own.

The student may talk over a cue, so the coach has to listen while it speaks, and must not take itself for
the student. How late and how loud its voice comes back is learned from each cue that can be heard there,
the greeting first; until then nothing that comes in during a cue counts. What plays beneath the cues, such
as the beats of a case, comes back the same way, but is not learned from: it may go on for minutes, in which
the student has to be heard, and ticks tell little of a room.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from voicecoach.events import Word
from voicecoach.following.normal import plain
from voicecoach.sound import RATE
from voicecoach.sound.endpointer import BANDS, FAINTEST, FRAME, frame_powers
from voicecoach.sound.levels import QUIETEST, dbfs
from voicecoach.sound.simulated import Simulation

_MARGIN = 2.0
"""Decibels by which a band must exceed the expected echo to hold somebody else's voice."""
_BESIDE = -6.0
"""Decibels beside the whole expected echo from which what exceeds it in some bands is a voice."""
_LONGEST_DELAY = 50
"""Frames by which the echo may be late: half a second, as with a wireless loudspeaker."""
_DEAF = 25
"""Frames after a cue in which nothing counts as long as it is not known how its echo comes back."""
_WAVERS = 2
"""Frames by which the delay wavers."""
_STARTS = 5
"""Frames by which the delay of what plays beneath the cues may differ from theirs: when the loudspeaker takes
up a sound is known to a block of it."""
_DIES = 2.0
"""Decibels a frame by which the echo dies away in a room."""
_LOUD = 25.0
"""Decibels below the loudest frame of a cue down to which it is compared with what came in."""
_ALIKE = 0.6
"""Correlation from which what came in is the cue."""
_FOLLOWED = 300
"""Frames by which it is found out that what plays beneath has been held up."""
_ALONE, _ALIKER = 0.85, 0.2
"""Correlation from which they hold it and nobody's talk, and by how much the delay so far has a lower one."""
_EVEN = 8.0
"""Decibels between faint and loud frames below which nothing but the room was heard during a cue."""
_SILENT = 300
"""Frames of cues, none of which was heard, after which it is sure that none is: a device may start late."""
_TRIES_EVERY = 50
"""Frames between two tries to find an echo in what has come in of a cue, as long as none is known."""
_SHARE = 0.9
"""Share of the frames of an echo that are no louder than expected."""
_ECHO = 0.6
"""Seconds after the end of a cue in which words of it may still be heard."""
_ABOUT = 0.7
"""Seconds by which the time of a word in a cue is uncertain: it is reckoned from the letters."""
_OWN = 0.5
"""Share of the words heard during a cue from which, being its words, all are taken for the coach's."""
_NOTHING = 1e-3
"""The power of digital silence: a thousandth of a step squared."""

Levels = NDArray[np.float64]
"""Decibels of frames in bands, shape (frames, BANDS) or (BANDS,)."""


@dataclass(slots=True)
class _Saying:
    """One cue as it is played."""

    text: str
    start: float
    """Seconds on the clock of the microphone's sound."""
    length: float
    """Seconds that it takes as a whole."""
    end: float
    levels: Levels
    """Of each of its frames as it is played, and of the echo that would follow it in a room."""
    alone: bool = True
    """False where something plays beneath it or it was stopped before its end: then it teaches nothing."""
    came_in: list[Levels] = field(default_factory=list)
    """Of the frames that came in since it began."""
    silent: int = 0
    """Frames of it that were found not to come back."""

    def said_about(self, at: float) -> frozenset[str]:
        """The words that are being said at about `at` seconds, or were just before."""
        words = plain(self.text)
        letters = np.cumsum([len(word) + 1 for word in words])
        ends = self.start + self.length * letters / max(letters[-1:], default=1)
        near = (ends > at - _ECHO - _ABOUT) & (ends < at + _ABOUT)
        return frozenset(word for word, is_near in zip(words, near, strict=True) if is_near)

    @property
    def first(self) -> int:
        """Number of the frame in which it began."""
        return round(self.start * RATE) // FRAME

    @property
    def over(self) -> int:
        """Number of the frame from which no more is heard of it."""
        return round(self.end * RATE) // FRAME + _LONGEST_DELAY


@dataclass(slots=True)
class _Beneath:
    """What plays beneath the cues."""

    start: float
    """Seconds on the clock of the microphone's sound."""
    end: float
    round: int
    """Samples after which it begins anew."""
    levels: Levels
    """Of each frame of a round, and of the echo that would follow it."""
    read: tuple[Word, ...]
    """The numbers that are read in it, each as one, on the same clock."""
    late: int = 0
    """Frames by which it comes back later than cues do, since a device has been late."""

    def sounds(self, frame: int) -> bool:
        """Whether it is heard in a frame, or an echo of it may be."""
        return round(self.start * RATE) <= frame * FRAME < round(self.end * RATE) + _LONGEST_DELAY * FRAME

    def played(self, frames: NDArray[np.int_]) -> Levels:
        """Its levels in some frames, as it is played and dies away."""
        places = frames * FRAME - round(self.start * RATE)
        last = round((self.end - self.start) * RATE) - 1
        after = np.maximum(places - last, 0) / FRAME
        there = np.minimum(np.minimum(places, last) % self.round // FRAME, len(self.levels) - 1)
        levels = self.levels[there] - _DIES * after[:, np.newaxis]
        levels[places < 0] = 10 * math.log10(_NOTHING)
        return np.asarray(levels)


@dataclass(frozen=True, slots=True)
class _Echo:
    """How the coach's voice comes back."""

    delay: int
    """Frames by which it is late."""
    gains: Levels
    """Decibels by which each band comes in louder than it is played."""
    starts: int = _STARTS
    """Frames by which the delay of what plays beneath may be shorter or longer."""

    def of(self, levels: Levels, frame: int) -> Levels:
        """What is expected of a cue of those levels so many frames after it began."""
        near = levels[max(0, frame - self.delay - _WAVERS) : max(0, frame - self.delay + _WAVERS + 1)]
        if len(near):
            return np.asarray(near.max(axis=0) + self.gains)
        after = max(0, frame - self.delay - len(levels))
        dying = levels[-1] - _DIES * after if frame > self.delay else np.full(levels.shape[1], -math.inf)
        return np.asarray(dying + self.gains)

    def beneath(self, beneath: _Beneath, frame: int) -> Levels:
        """What is expected in a frame of what plays beneath."""
        near = np.arange(-self.starts, self.starts + 1) + frame - self.delay - beneath.late
        return np.asarray(beneath.played(near).max(axis=0) + self.gains)


_ANY_ECHO = _Echo(_LONGEST_DELAY // 2, np.zeros(BANDS), _LONGEST_DELAY // 2)
"""One as loud as what is played, whenever it comes: what is expected of what plays beneath the cues as long
as nothing is known."""


class OwnVoice:
    """What the coach says, beside what the microphone hears; on one clock from 0."""

    def __init__(self) -> None:
        self._sayings: list[_Saying] = []
        """The latest, as long as it can be heard or its words may come up."""
        self._beneath: _Beneath | None = None
        """The latest, whether or not it is over. Another thread may put the next one here."""
        self._lately: deque[float] = deque(maxlen=_FOLLOWED)
        """Levels of the latest frames in which something played beneath, and no cue."""
        self._frame = 0
        self._echo: _Echo | None = None
        self._silent = 0
        """Frames of cues of which nothing came back, since something did."""

    def restart(self) -> None:
        """The clock begins anew; what is known of the echo stays."""
        self._sayings, self._beneath, self._frame = [], None, 0
        self._lately.clear()

    def says(self, text: str, samples: NDArray[np.int16], at: float) -> None:
        """A cue begins to be played, mono at 16 kHz, at `at` seconds."""
        self._sayings = [one for one in self._sayings if one.end + _ECHO > at][-1:]
        levels = _dying(_decibels(frame_powers(samples)))
        length = len(samples) / RATE
        self._sayings.append(_Saying(text, at, length, at + length, levels))

    def stops(self, at: float) -> None:
        """The cue is cut short at `at` seconds."""
        for saying in self._sayings:
            if saying.end > at:
                saying.end, saying.alone = at, False

    def plays_beneath(self, simulation: Simulation, at: float) -> None:
        """What a case sounds like begins to be played at `at` seconds, in place of what did before."""
        levels = _decibels(frame_powers(simulation.samples))
        # The end of a round is still heard when it begins anew.
        levels = _dying(np.tile(levels, (min(simulation.rounds, 2), 1)))[-len(levels) :]
        length = len(simulation.samples)
        read = tuple(replace(one, start=at + one.start, end=at + one.end) for one in simulation.read)
        self._beneath = _Beneath(at, at + length * simulation.rounds / RATE, length, levels, read)

    def stops_beneath(self, at: float) -> None:
        """It is cut short at `at` seconds."""
        beneath = self._beneath
        if beneath and beneath.end > at:
            beneath.end = at
            beneath.read = tuple(one for one in beneath.read if one.end <= at)

    def beside(self, powers: NDArray[np.float64]) -> float | None:
        """Take the powers of the next frame that came in; gives the level in dBFS of what is not the coach's.

        None where the coach is silent, or too faint to be taken for a voice.
        """
        frame, self._frame = self._frame, self._frame + 1
        beneath = self._beneath if self._beneath and self._beneath.sounds(frame) else None
        self._take(frame, powers, alone=beneath is None)
        there = [saying for saying in self._sayings if saying.first <= frame < saying.over]
        if not self._known and any(frame < saying.over - _LONGEST_DELAY + _DEAF for saying in there):
            return QUIETEST
        echo = np.zeros_like(powers)
        if self._echo:
            for saying in there:
                echo = np.maximum(echo, _power(self._echo.of(saying.levels, frame - saying.first) + _MARGIN))
        if beneath and self._echo:
            self._follow(beneath, self._echo, frame, powers, alone=not there)
        if beneath and (self._echo or not self._known):
            echo = echo + _power((self._echo or _ANY_ECHO).beneath(beneath, frame) + _MARGIN)
        if not (there and self._echo) and dbfs(math.sqrt(echo.sum())) < FAINTEST:
            return None
        rest = float(np.maximum(powers - echo, 0.0).sum())
        return dbfs(math.sqrt(rest)) if rest > echo.sum() * 10 ** (_BESIDE / 10) else QUIETEST

    def others(self, words: Sequence[Word]) -> tuple[Word, ...]:
        """The words heard that are not the coach's own."""
        kept = tuple(words)
        if self._silent >= _SILENT:
            # Its voice does not come back: its words are the student's, who may well repeat them.
            return kept
        for saying in self._sayings:
            within = [word for word in kept if saying.start <= word.start < saying.end + _ECHO]
            own = sum(word.text in saying.said_about(word.start) for word in within)
            if within and own >= _OWN * len(within):
                kept = tuple(word for word in kept if word not in within)
        for number in self._beneath.read if self._beneath else ():
            # As a whole or not at all: the student may name another number, which begins alike.
            spoken = plain(number.text)
            within = [
                word for word in kept if number.start <= word.start < number.end and word.text in spoken
            ]
            if {word.text for word in within} == set(spoken):
                kept = tuple(word for word in kept if word not in within)
        return kept

    @property
    def _known(self) -> bool:
        """Whether it is known how the coach's voice comes back, or that it does not."""
        return self._echo is not None or self._silent >= _SILENT

    def _take(self, frame: int, powers: NDArray[np.float64], alone: bool) -> None:
        """Learn from what came in of the cues; not `alone` where something plays beneath them."""
        for saying in self._sayings:
            if saying.first <= frame < saying.over:
                saying.alone &= alone
                saying.came_in.append(_decibels(powers))
                if not self._known and len(saying.came_in) % _TRIES_EVERY == 0:
                    self._learn(saying)
            elif saying.came_in and frame >= saying.over:
                self._learn(saying)
                saying.came_in = []

    def _follow(
        self, beneath: _Beneath, echo: _Echo, frame: int, powers: NDArray[np.float64], alone: bool
    ) -> None:
        """Find out whether what plays beneath has been held up: it would be so until its end.

        Not so while a cue is to be heard, and in vain while somebody talks.
        """
        if not alone:
            self._lately.clear()
            return
        self._lately.append(float(_decibels(powers.sum())))
        since = min(len(self._lately), frame - round(beneath.start * RATE) // FRAME)
        if since < _FOLLOWED or frame % _TRIES_EVERY:
            return
        heard = np.array(self._lately)
        frames = np.arange(frame + 1 - _FOLLOWED - _LONGEST_DELAY, frame + 1 + _LONGEST_DELAY)
        expected = _whole(beneath.played(frames - echo.delay - beneath.late) + echo.gains)
        # What is fainter than the room is not to be heard in it.
        alike = _alike(np.maximum(expected, np.quantile(heard, 0.1)), heard)
        best = int(np.argmax(alike))
        if alike[best] > max(_ALONE, alike[_LONGEST_DELAY] + _ALIKER):
            beneath.late += _LONGEST_DELAY - best

    def _learn(self, saying: _Saying) -> None:
        """Find a cue, or the part of it that has been played, in what came in meanwhile."""
        levels = saying.levels[: max(0, len(saying.came_in) - _LONGEST_DELAY)]
        if not saying.alone or not len(levels):
            return
        came_in = np.array(saying.came_in)
        played, heard = _whole(levels), _whole(came_in)
        loud = played > played.max() - _LOUD
        if np.quantile(heard, 0.9) - np.quantile(heard, 0.1) < _EVEN:
            self._silent += len(levels) - saying.silent
            saying.silent = len(levels)
            self._echo = None if self._silent >= _SILENT else self._echo
            return
        alike, delay = _likest(heard, played, loud)
        if alike >= _ALIKE:
            flat = _Echo(delay, np.zeros(came_in.shape[1]))
            frames = (np.flatnonzero(loud) + delay).tolist()
            beyond = [came_in[frame] - flat.of(saying.levels, frame) for frame in frames]
            self._echo, self._silent = _Echo(delay, np.quantile(beyond, _SHARE, axis=0)), 0


def _likest(
    heard: NDArray[np.float64], played: NDArray[np.float64], loud: NDArray[np.bool_]
) -> tuple[float, int]:
    """The best correlation of what was played, where it was loud, with what was heard, and how much later."""
    best = (0.0, 0)
    for late in range(min(_LONGEST_DELAY, len(heard) - len(played)) + 1):
        there = heard[late : late + len(played)][loud]
        if len(there) > 2 and there.std() > 0 and played[loud].std() > 0:
            best = max(best, (float(np.corrcoef(there, played[loud])[0, 1]), late))
    return best


def _alike(played: NDArray[np.float64], heard: NDArray[np.float64]) -> NDArray[np.float64]:
    """The correlation of what was heard with each stretch of that length of what was played."""
    stretches = sliding_window_view(played, len(heard))
    about = stretches - stretches.mean(axis=1, keepdims=True)
    size = np.sqrt((about**2).sum(axis=1) * np.sum((heard - heard.mean()) ** 2))
    return np.asarray(about @ (heard - heard.mean()) / np.maximum(size, _NOTHING))


def _decibels(powers: NDArray[np.float64]) -> Levels:
    return np.asarray(10 * np.log10(powers + _NOTHING))


def _power(levels: Levels) -> NDArray[np.float64]:
    return np.asarray(10 ** (levels / 10))


def _whole(levels: Levels) -> NDArray[np.float64]:
    """Levels of frames over all bands, in decibels; shape (frames,)."""
    return np.asarray(10 * np.log10(np.sum(_power(levels), axis=1)))


def _dying(levels: Levels) -> Levels:
    """The levels, none of which falls faster than an echo dies away."""
    dying = levels.copy()
    for place in range(1, len(dying)):
        dying[place] = np.maximum(dying[place], dying[place - 1] - _DIES)
    return dying

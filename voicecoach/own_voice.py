"""The coach's own voice in the microphone: how loud it is expected there, and which words are its own.

The student may talk over a cue, so the coach has to listen while it speaks, and must not take itself for
the student. How late and how loud its voice comes back is learned from each cue that can be heard there,
the greeting first; until then nothing that comes in during a cue counts.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from voicecoach.events import Word
from voicecoach.following.normal import plain
from voicecoach.sound import RATE
from voicecoach.sound.endpointer import FRAME, frame_powers
from voicecoach.sound.levels import QUIETEST, dbfs

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
_DIES = 2.0
"""Decibels a frame by which the echo dies away in a room."""
_LOUD = 25.0
"""Decibels below the loudest frame of a cue down to which it is compared with what came in."""
_ALIKE = 0.6
"""Correlation from which what came in is the cue."""
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
    cut: bool = False
    """True where it was stopped before its end."""
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


@dataclass(frozen=True, slots=True)
class _Echo:
    """How the coach's voice comes back."""

    delay: int
    """Frames by which it is late."""
    gains: Levels
    """Decibels by which each band comes in louder than it is played."""

    def of(self, levels: Levels, frame: int) -> Levels:
        """What is expected of a cue of those levels so many frames after it began."""
        near = levels[max(0, frame - self.delay - _WAVERS) : max(0, frame - self.delay + _WAVERS + 1)]
        if len(near):
            return np.asarray(near.max(axis=0) + self.gains)
        after = max(0, frame - self.delay - len(levels))
        dying = levels[-1] - _DIES * after if frame > self.delay else np.full(levels.shape[1], -math.inf)
        return np.asarray(dying + self.gains)


class OwnVoice:
    """What the coach says, beside what the microphone hears; on one clock from 0."""

    def __init__(self) -> None:
        self._sayings: list[_Saying] = []
        """The latest, as long as it can be heard or its words may come up."""
        self._frame = 0
        self._echo: _Echo | None = None
        self._silent = 0
        """Frames of cues of which nothing came back, since something did."""

    def restart(self) -> None:
        """The clock begins anew; what is known of the echo stays."""
        self._sayings, self._frame = [], 0

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
                saying.end, saying.cut = at, True

    def beside(self, powers: NDArray[np.float64]) -> float | None:
        """Take the powers of the next frame that came in; gives the level in dBFS of what is not the coach's.

        None where the coach is silent.
        """
        frame, self._frame = self._frame, self._frame + 1
        expected: Levels | None = None
        for saying in self._sayings:
            if saying.first <= frame < saying.over:
                saying.came_in.append(_decibels(powers))
                if not self._known and len(saying.came_in) % _TRIES_EVERY == 0:
                    self._learn(saying)
                if not self._known and frame < saying.over - _LONGEST_DELAY + _DEAF:
                    return QUIETEST
                if self._echo is not None:
                    there = self._echo.of(saying.levels, frame - saying.first)
                    expected = there if expected is None else np.maximum(expected, there)
            elif saying.came_in and frame >= saying.over:
                self._learn(saying)
                saying.came_in = []
        if expected is None:
            return None
        echo = 10 ** ((expected + _MARGIN) / 10)
        rest = float(np.maximum(powers - echo, 0.0).sum())
        return dbfs(math.sqrt(rest)) if rest > echo.sum() * 10 ** (_BESIDE / 10) else QUIETEST

    def others(self, words: Sequence[Word]) -> tuple[Word, ...]:
        """The words heard that are not the coach's own."""
        kept = tuple(words)
        for saying in self._sayings:
            within = [word for word in kept if saying.start <= word.start < saying.end + _ECHO]
            own = sum(word.text in saying.said_about(word.start) for word in within)
            # Where its voice does not come back, its words are the student's, who may well repeat them.
            if within and own >= _OWN * len(within) and self._silent < _SILENT:
                kept = tuple(word for word in kept if word not in within)
        return kept

    @property
    def _known(self) -> bool:
        """Whether it is known how the coach's voice comes back, or that it does not."""
        return self._echo is not None or self._silent >= _SILENT

    def _learn(self, saying: _Saying) -> None:
        """Find a cue, or the part of it that has been played, in what came in meanwhile."""
        levels = saying.levels[: max(0, len(saying.came_in) - _LONGEST_DELAY)]
        if saying.cut or not len(levels):
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


def _decibels(powers: NDArray[np.float64]) -> Levels:
    return np.asarray(10 * np.log10(powers + _NOTHING))


def _whole(levels: Levels) -> NDArray[np.float64]:
    """Levels of frames over all bands, in decibels; shape (frames,)."""
    return np.asarray(10 * np.log10(np.sum(10 ** (levels / 10), axis=1)))


def _dying(levels: Levels) -> Levels:
    """The levels, none of which falls faster than an echo dies away."""
    dying = levels.copy()
    for place in range(1, len(dying)):
        dying[place] = np.maximum(dying[place], dying[place - 1] - _DIES)
    return dying

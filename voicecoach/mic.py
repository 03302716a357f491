"""The microphone check: asks for silence and for a sentence, plays a chirp, and measures what comes in."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from rapidfuzz.distance import Levenshtein

from voicecoach import ear
from voicecoach.errors import Complaint
from voicecoach.following.normal import words
from voicecoach.hearing.recognizer import Recognizer
from voicecoach.sound import RATE, check
from voicecoach.sound.check import CHIRP, Clipping, Echo, Noise, Speech
from voicecoach.sound.devices import Devices, devices
from voicecoach.sound.endpointer import Endpointer, SpeechEnded
from voicecoach.sound.levels import rms_dbfs

SENTENCE = "I wet my hands, I take soap, and I rub my palms together for twenty seconds."
PHRASE = " ".join(words(SENTENCE))
"""The sentence as a recognizer gives it."""

_BE_QUIET = "Please be quiet for a moment."
_SAY = f"Now say, as you would at work: “{SENTENCE}”"
_LISTEN = "Please be quiet once more, and listen for a short chirp."
_WAIT = "Thank you, that is all. One moment ..."

_SETTLE = 1.0
"""Seconds in which people read what they are asked, devices begin, and nothing is measured."""
_QUIET = 3.0
_LONGEST = 10.0
"""Seconds in which the sentence can be read and said at leisure."""
_PAUSE = 1.2
"""Seconds of silence in which a slow reader goes on."""
_ENOUGH = 2.0
"""Seconds of speech from which that silence is the end: nobody says the sentence in less."""
_LATEST = 1.5
"""Seconds in which the chirp is listened for."""


class OpenMicrophone(Protocol):
    """A microphone that is open."""

    dropped: int
    """Blocks that were lost."""

    def __iter__(self) -> Iterator[object]:
        """Blocks of int16 samples, mono at 16 kHz, as they are heard; anything else is no sound."""


class Player(Protocol):
    """Plays sound."""

    def play(self, samples: NDArray[np.int16], rate: int) -> None:
        """Begin to play mono samples, and return. Raises Complaint where that is not possible."""

    def close(self) -> None:
        """Give the device back."""


class Screen(Protocol):
    """What the user sees meanwhile."""

    def ask(self, what: str) -> None:
        """Ask the user for something."""

    def level(self, dbfs: float, left: float) -> None:
        """Sound of a level has come in; it is listened to for so many seconds more."""


@dataclass(frozen=True, slots=True)
class Equipment:
    """The devices of this machine."""

    microphones: Devices
    loudspeakers: Devices | None
    """None where there is no loudspeaker."""


@dataclass(frozen=True, slots=True)
class Checked:
    """What the check has found."""

    alive: bool
    """False where no sound at all came in."""
    noise: Noise
    speech: Speech | None
    """None where no speech stood out from the noise."""
    clipping: Clipping
    """Of the seconds in which the sentence was said."""
    understood: tuple[bool, ...]
    """Whether it was understood, for each word of the sentence."""
    echo: Echo | None
    """None where the loudspeaker was not heard."""
    unplayed: str
    """Why the loudspeaker played nothing, a sentence; empty where it did."""
    dropped: int
    """Blocks of sound that were lost."""


def equipment() -> Equipment:
    """The devices there are. Raises Complaint where there is no microphone."""
    microphones = devices("input")
    try:
        return Equipment(microphones, devices("output"))
    except Complaint:
        return Equipment(microphones, None)


def run(
    microphone: AbstractContextManager[OpenMicrophone],
    loudspeaker: Callable[[], Player],
    recognizer: Recognizer,
    screen: Screen,
) -> Checked:
    """Go through the check, which takes some fifteen seconds.

    `loudspeaker` opens one, or raises Complaint where there is none. Raises Complaint where the microphone
    cannot be opened, and where one of both is lost.
    """
    with microphone as opened:
        sound = _Sound(iter(opened), screen)
        screen.ask(_BE_QUIET)
        sound.take(_SETTLE)
        dropped = opened.dropped
        quiet = sound.take(_QUIET)
        screen.ask(_SAY)
        said = _said(sound, quiet)
        noise = check.noise(quiet)
        echo, unplayed = _echo(sound, loudspeaker, noise.dbfs, screen)
        dropped = opened.dropped - dropped
    screen.ask(_WAIT)
    # The recognizer hears it as in an attempt, from what the endpointer cuts out.
    moments = ear.hear(ear.blocks(np.concatenate((quiet, said))), Endpointer(), recognizer)
    heard = " ".join(moment.heard.text for moment in moments if moment.heard)
    return Checked(
        alive=not (check.dead(quiet) and check.dead(said)),
        noise=noise,
        speech=check.speech(said, noise.dbfs),
        clipping=check.clipping(said),
        understood=understood(PHRASE, heard),
        echo=echo,
        unplayed=unplayed,
        dropped=dropped,
    )


def understood(asked: str, heard: str) -> tuple[bool, ...]:
    """For each word of a text whether it was heard: the same words are wrong as count for the word error."""
    wanted = words(asked)
    edits = Levenshtein.editops(wanted, words(heard))
    wrong = {edit.src_pos for edit in edits if edit.tag != "insert"}
    return tuple(place not in wrong for place in range(len(wanted)))


class _Sound:
    """What comes in from a microphone, a stretch at a time."""

    def __init__(self, blocks: Iterator[object], screen: Screen) -> None:
        self._blocks = blocks
        self._screen = screen

    def blocks(self, seconds: float) -> Iterator[NDArray[np.int16]]:
        """The next blocks, for so long. Raises Complaint where the microphone gives none."""
        taken = 0
        while taken < seconds * RATE:
            block = next(self._blocks, None)
            if not isinstance(block, np.ndarray):
                raise Complaint(
                    "The microphone gives no more sound; check that it is connected and start again."
                )
            taken += len(block)
            self._screen.level(rms_dbfs(block), max(0.0, seconds - taken / RATE))
            yield block

    def take(self, seconds: float) -> NDArray[np.int16]:
        """The samples of so many seconds, perhaps a block more."""
        return np.concatenate(list(self.blocks(seconds)))


def _said(sound: _Sound, quiet: NDArray[np.int16]) -> NDArray[np.int16]:
    """What comes in until the sentence has been said, or there is no more time."""
    endpointer = Endpointer(_PAUSE)
    endpointer.take(quiet)
    endpointer.finish()
    blocks = []
    spoken = 0.0
    for block in sound.blocks(_LONGEST):
        blocks.append(block)
        cuts = endpointer.take(block)
        spoken += sum(cut.end - cut.start for cut in cuts if isinstance(cut, SpeechEnded))
        if spoken >= _ENOUGH:
            break
    return np.concatenate(blocks)


def _echo(
    sound: _Sound, loudspeaker: Callable[[], Player], noise: float, screen: Screen
) -> tuple[Echo | None, str]:
    """The loudspeaker in the microphone, and why it played nothing where it did not."""
    try:
        player = loudspeaker()
        # To open it takes a while that is no delay of its sound, and wireless ones must wake up.
        player.play(np.zeros(round(_SETTLE * RATE), np.int16), RATE)
    except Complaint as complaint:
        return None, str(complaint)
    screen.ask(_LISTEN)
    sound.take(_SETTLE)
    player.play(CHIRP, RATE)
    heard = sound.take(_LATEST)
    player.close()
    return check.echo(heard, noise), ""

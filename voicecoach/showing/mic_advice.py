"""What is wrong with a microphone, a room or a loudspeaker, and what to do about it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from voicecoach.mic import PHRASE, Checked
from voicecoach.sound.check import MARGIN, Clipping, Echo, Hum, Speech
from voicecoach.sound.endpointer import FAINTEST

WORDS = len(PHRASE.split())
"""How many words the sentence has."""

_QUIET = FAINTEST + MARGIN
"""Level of speech in dBFS below which its faint sounds are lost to the endpointer: -44."""
_CLIPPED = 0.001
"""Share of clipped samples that is too much; common practice, no source."""
_NOISY = 15.0
"""Decibels above the noise that a voice should be: in babble and water at 20 dB nearly as much is followed as
without, at 10 dB a quarter less (DEVELOPERS.md); this is the middle."""
_HUMS = 30.0
"""Decibels below the voice from which a hum is heard beside it; common practice, no source."""
_LOUDSPEAKER = 6.0
"""Decibels below the voice from which a loudspeaker is too loud: a voice must stand out by 4 dB."""
_LATE = 0.3
"""Seconds of delay that only wireless devices have; common practice, no source."""
_WELL, _ENOUGH = 0.8, 0.5
"""Shares of the words from which the coach understands well, and at all; common practice, no source."""

Part = Literal["Room", "Voice", "Words", "Loudspeaker", "Computer"]


@dataclass(frozen=True, slots=True)
class Problem:
    """Something that should be changed."""

    about: Part
    """Where it is."""
    advice: str
    """What it is, and what to do."""
    unusable: bool = False
    """True where no attempt can be made like this."""


def problems(checked: Checked) -> tuple[Problem, ...]:
    """All problems that a check has found, the most important one first."""
    return tuple(_problems(checked))


def _problems(checked: Checked) -> Iterator[Problem]:
    if not checked.alive:
        yield Problem(
            "Voice",
            "No sound at all comes in: the microphone is muted, unplugged or not allowed. Look for a switch "
            "on it or its cable, choose it in the sound settings of this machine, and let the terminal use "
            "the microphone in the privacy settings.",
            unusable=True,
        )
        return
    causes = [*_of_voice(checked.speech, checked.clipping), *_of_room(checked.speech, checked.noise.hum)]
    yield from causes
    if checked.echo and checked.speech:
        yield from _of_loudspeaker(checked.echo, checked.speech)
    if checked.speech:
        yield from _of_words(sum(checked.understood), bool(causes))
    if checked.dropped:
        yield Problem(
            "Computer",
            "Some sound was lost on its way: this computer has too much to do. Close other programs.",
        )


def _of_voice(speech: Speech | None, clipping: Clipping) -> Iterator[Problem]:
    if speech is None:
        yield Problem(
            "Voice",
            "Your voice was not heard: it does not stand out from the room. Check in the sound settings that "
            "the right microphone is chosen, turned up and not muted, and speak close to it.",
            unusable=True,
        )
    elif speech.dbfs < _QUIET:
        yield Problem(
            "Voice",
            "Your voice comes in too quietly. Move the microphone nearer to your mouth, or turn it up in the "
            "sound settings.",
        )
    if clipping.share > _CLIPPED:
        yield Problem(
            "Voice",
            "Your voice is too loud for the microphone, which cuts it off. Turn the microphone down in the "
            "sound settings, or move it a little further away.",
        )


def _of_room(speech: Speech | None, hum: Hum | None) -> Iterator[Problem]:
    if speech and speech.ratio < _NOISY:
        yield Problem(
            "Room",
            f"The room is noisy: your voice is only {speech.ratio:.0f} dB above it, and {_NOISY:.0f} dB are "
            "needed. Turn off water and fans, find a quieter place, or take a headset. If somebody spoke "
            "while it was to be quiet, check again.",
        )
    if speech and hum and hum.dbfs > speech.dbfs - _HUMS:
        yield Problem(
            "Room",
            f"There is a hum of {hum.hertz} Hz, from the mains. Keep the microphone and its cable away from "
            "power cables and chargers, or take one that is connected by USB.",
        )


def _of_loudspeaker(echo: Echo, speech: Speech) -> Iterator[Problem]:
    if echo.dbfs > speech.dbfs - _LOUDSPEAKER:
        yield Problem(
            "Loudspeaker",
            "In the microphone the coach is about as loud as you, or louder. Turn the loudspeaker down, put "
            "it further away from the microphone, or take a headset.",
        )
    if echo.delay > _LATE:
        yield Problem(
            "Loudspeaker",
            f"The loudspeaker is {echo.delay:.1f} s late, as wireless ones are, so that the coach may hear "
            "itself. Take one with a cable, or a headset.",
        )


def _of_words(right: int, causes: bool) -> Iterator[Problem]:
    """`causes`: whether there is a reason that has been named."""
    if right >= _WELL * WORDS:
        return
    few = f"Only {right} of {WORDS} words could be understood" if right else "No word could be understood"
    remedy = (
        ". Change what is said above, then check again."
        if causes
        else ", although the levels are good. Say the whole sentence, calmly and clearly. If that does not "
        "help, take a headset, or another recognizer: --hear whisper or --hear vosk."
    )
    yield Problem("Words", few + remedy, unusable=right < _ENOUGH * WORDS)

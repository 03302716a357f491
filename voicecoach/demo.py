"""The demo: a recorded student and the coach, through the real recognizer and the real core."""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator, Sequence
from contextlib import ExitStack, suppress
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from voicecoach import ear, narration, sources
from voicecoach.ear import Moment
from voicecoach.errors import Complaint
from voicecoach.events import Cued, Event, Voiced
from voicecoach.mouth import Aloud, Unplayed
from voicecoach.procedure.model import Procedure
from voicecoach.sound import RATE, files, loudspeaker
from voicecoach.sound.endpointer import Endpointer
from voicecoach.sound.loudspeaker import Loudspeaker
from voicecoach.sound.mixing import Track, mix
from voicecoach.sources import Source
from voicecoach.speaking.voice import Voice
from voicecoach.utterances import Patience

MODE = "rehearse"


def source(procedure: Procedure, real_time: bool) -> Source:
    """The narration that comes with voicecoach, as fast as may be or in real time.

    In real time it is played where there is a loudspeaker.
    """
    samples = files.read(narration.SOUND).samples
    recognizer = sources.recognizer("sphinx", None, procedure)
    quick = sources.recorded(samples, recognizer)
    if not real_time:
        return quick
    coach, student = quick.mouth, Loudspeaker() if loudspeaker.available() else None
    if student and isinstance(coach, Unplayed):
        coach = Aloud(coach.voice, Loudspeaker())

    def listen(until: ExitStack, patience: Patience) -> Iterable[Moment]:
        until.callback(coach.close)
        if student:
            until.callback(student.stop)
        return ear.hear(_paced(samples, student), Endpointer(), recognizer)

    return replace(quick, mouth=coach, listen=listen)


def together(events: Sequence[Event]) -> NDArray[np.int16]:
    """The student of the narration and what the coach said to it by the journal, mono at 16 kHz."""
    student = Track(0.0, files.read(narration.SOUND).samples)
    try:
        voice = Voice()
    except Complaint:
        return mix([student])
    texts = {event.cue: event.text for event in events if isinstance(event, Cued)}
    said = [event for event in events if isinstance(event, Voiced)]
    return mix([student, *(Track(event.start, voice.render(texts[event.cue]), voice.rate) for event in said)])


def _paced(samples: NDArray[np.int16], student: Loudspeaker | None) -> Iterator[NDArray[np.int16]]:
    """Blocks at the time at which they would have been heard, and the sound in the room."""
    if student:
        # Where it cannot be played after all, the demo goes on without.
        with suppress(Complaint):
            student.play(samples, RATE)
    now = time.monotonic()
    for block in ear.blocks(samples):
        now += len(block) / RATE
        time.sleep(max(0.0, now - time.monotonic()))
        yield block

"""Hands-free from start to end: the student chooses by voice, goes through it, and chooses again."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from typing import Protocol

from voicecoach.attempt import USUAL
from voicecoach.coaching import offers
from voicecoach.coaching.choosing import Attempt, Choice, Choosing, Reply
from voicecoach.ear import Moment
from voicecoach.errors import Complaint
from voicecoach.hearing.recognizer import Recognizer
from voicecoach.live import SHOWN, Live
from voicecoach.mouth import Mouth

_LOOK = 0.05
"""Seconds between two looks at a loudspeaker that plays the last words."""

Tell = Callable[[str], None]
"""Shows a line to those who can look."""


class Talk(Protocol):
    """What may be said before an attempt: `Choosing` is one."""

    invitation: str
    """What the coach says first."""

    def hear(self, text: str) -> Reply:
        """What follows from an utterance."""


def listen(
    live: Live,
    recognizer: Recognizer,
    choices: Iterable[Choice],
    attempt: Callable[[str, str], bool],
    tell: Tell,
    interrupted: Callable[[], bool],
) -> None:
    """Listen until the student leaves or `interrupted`.

    `attempt` goes through a procedure in a mode, and says whether to go on afterwards.
    """
    offered = tuple(choices)
    last: Attempt | None = None
    while True:
        choosing = Choosing(offered, last)
        last = choose(choosing, live.hear(recognizer, patience), live.mouth, tell, interrupted)
        if last is None:
            return
        # What makes a recognizer ready may keep the loudspeaker waiting, in the middle of a word.
        hear_out(live.mouth, interrupted)
        if not attempt(*last):
            return


def choose(
    choosing: Talk,
    moments: Iterable[Moment],
    mouth: Mouth,
    tell: Tell,
    interrupted: Callable[[], bool],
) -> Attempt | None:
    """Talk with the student until an attempt is chosen; None where there is to be none any more."""
    say = speaker(mouth, tell)
    say(choosing.invitation)
    for speaking, moment in _beginnings(moments):
        if interrupted():
            break
        if moment.notice or moment.gap:
            tell(moment.notice or moment.gap)
        if speaking and mouth.sounding:
            mouth.stop()
        if not moment.heard or not moment.heard.words:
            continue
        tell(f"heard: {moment.heard.text}")
        reply = choosing.hear(moment.heard.text)
        if reply.start:
            say(offers.BEGINNING)
            return reply.start
        if reply.say:
            say(reply.say)
        if reply.leave:
            break
    hear_out(mouth, interrupted)
    return None


def hear_out(mouth: Mouth, interrupted: Callable[[], bool]) -> None:
    """Wait until the last words have been heard, or `interrupted`."""
    while mouth.sounding and not interrupted():
        time.sleep(_LOOK)


def patience(_said: str) -> float:
    """Seconds of silence after which an utterance is over, whatever was said so far."""
    return USUAL


def _beginnings(moments: Iterable[Moment]) -> Iterator[tuple[bool, Moment]]:
    """The moments, each with whether somebody begins to speak; of gaps only the first."""
    before = Moment(0.0)
    for moment in moments:
        if not moment.gap or moment.gap != before.gap:
            yield moment.speaking and not before.speaking, moment
        before = moment


def speaker(mouth: Mouth, tell: Tell) -> Callable[[str], None]:
    """What says and shows the coach's words."""

    def say(text: str) -> None:
        tell(f"coach: {text}")
        try:
            mouth.say(text, 0.0)
        except Complaint as complaint:
            tell(f"{complaint} {SHOWN}")

    return say

"""What can happen in an attempt: every entry of a journal is one of these.

All times are seconds on the audio clock, which starts at 0 with the attempt. Events that come in
are made by recognizers and by the session; events that go out are made by the core. Both kinds are
written to the journal, so that an attempt can be replayed from those that came in.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Word:
    """One word as a recognizer heard it."""

    text: str
    """Lower case, apostrophes kept."""
    start: float
    """Seconds at which the word begins."""
    end: float
    """Seconds at which the word ends."""
    confidence: float = 1.0
    """From 0 (a guess) to 1 (sure)."""


@dataclass(frozen=True, slots=True)
class Begun:
    """The attempt begins."""

    at: float
    attempt: str
    """Name of the attempt, unique on this machine."""
    wall: str
    """Local date and time of the beginning, ISO 8601 with offset; for people, never computed with."""
    mode: str
    """practise, rehearse or selftest."""
    hear: str
    """The recognizer: sphinx, vosk, whisper or typed."""
    procedure: dict[str, Any]
    """The procedure as it was when the attempt began, so that the journal needs nothing else."""
    times: str = "clock"
    """What shows whether a timed step lasted: clock (the audio clock), said (what the student says of it) or
    unknown (the times of this source are made up)."""
    case: dict[str, Any] | None = None
    """The case, as plain values; None where there is none."""
    student: str | None = None
    """The code of the student; None where none was given."""
    mock: str | None = None
    """The mock test it is part of, for example 2026-11-26-0312; None where it is none."""


@dataclass(frozen=True, slots=True)
class Heard:
    """An utterance: the speech between two silences."""

    at: float
    """When the recognizer gave it."""
    utterance: int
    """Number of the utterance in the attempt, from 1."""
    start: float
    """Seconds at which the speech begins."""
    end: float
    """Seconds at which the speech ends."""
    words: tuple[Word, ...]
    """What was heard, in order. Empty where the recognizer rejects the sound as about something else."""
    second: tuple[Word, ...] = ()
    """What a second recognizer heard in the same sound; empty where there is none."""

    @property
    def text(self) -> str:
        """The words, with one space between."""
        return " ".join(word.text for word in self.words)


@dataclass(frozen=True, slots=True)
class Elapsed:
    """Time went by without speech, up to a moment that the core asked to be told of."""

    at: float


@dataclass(frozen=True, slots=True)
class Voiced:
    """A cue has been played, or shown where there is no sound output."""

    at: float
    cue: int
    """Number of the cue."""
    start: float
    """Seconds at which it began to sound."""
    cut: bool = False
    """True where it was stopped before its end."""


@dataclass(frozen=True, slots=True)
class Lost:
    """No sound comes in any more; the audio clock stands still until it does."""

    at: float
    why: str
    """A sentence for the student."""


@dataclass(frozen=True, slots=True)
class Found:
    """Sound comes in again."""

    at: float


@dataclass(frozen=True, slots=True)
class Stopped:
    """The attempt is stopped from outside: the sound or the time ended, or somebody pressed Ctrl-C."""

    at: float
    why: str
    """`source ended`, `interrupted`, `device lost`, or `time is up` where there is a time limit."""


@dataclass(frozen=True, slots=True)
class Followed:
    """A step has been reported."""

    at: float
    """When the core became sure."""
    step: str
    start: float
    """Seconds at which the words that reported it begin."""
    end: float
    """Seconds at which they end."""
    utterance: int
    """The utterance that reported it."""
    said: str
    """The clause."""
    sure: float
    """Probability of the report, 0 to 1."""


@dataclass(frozen=True, slots=True)
class Unfollowed:
    """A report is taken back, since what was said later speaks against it."""

    at: float
    step: str
    said: str
    """What was said."""


@dataclass(frozen=True, slots=True)
class Remarked:
    """A clause that reports no step but says something of one."""

    at: float
    stage: str
    """later, undone, mishap or avoiding."""
    about: str
    """Id of the step, or of what is to be avoided; empty where it is not known."""
    utterance: int
    said: str


@dataclass(frozen=True, slots=True)
class Read:
    """A reading was recorded aloud."""

    at: float
    step: str
    values: tuple[float, ...]
    """One number, or two for a pair such as systolic over diastolic."""
    unit: str
    """The unit as said, in the procedure's spelling; empty where none was said."""
    said: str


@dataclass(frozen=True, slots=True)
class Timed:
    """It is known how long a timed step lasted. A later one for the same step takes its place."""

    at: float
    step: str
    start: float
    """Seconds at which it began."""
    end: float
    """Seconds at which it was over."""
    counted: int
    """How far the student counted aloud meanwhile; 0 where not."""
    slips: tuple[str, ...]
    """What went wrong in counting, such as `14 was left out`."""
    said: float
    """Seconds that the student said it lasts; 0 where nothing was said of it."""


@dataclass(frozen=True, slots=True)
class Mistaken:
    """The student named what does not match the case."""

    at: float
    step: str
    """The step that was reported with it; empty where none was."""
    what: str
    """side or resident."""
    said: str
    """What was named, for example left."""
    right: str
    """What would have been right."""


@dataclass(frozen=True, slots=True)
class Simulated:
    """The student finds something of the case that is a sound: beats, breaths or the sounds of a cuff."""

    at: float
    step: str
    """The step with the reading."""
    what: str
    """beats, breaths or sounds; empty where what sounded is over."""
    values: tuple[float, ...]
    """The true value: a rate in a minute, or systolic and diastolic pressure in mmHg."""
    text: str
    """The same in words, for where there is no loudspeaker."""


@dataclass(frozen=True, slots=True)
class Asked:
    """The student asked the coach for something."""

    at: float
    request: str
    """repeat, next, hint, pause, resume, restart, finish, standing, time or look."""
    said: str


@dataclass(frozen=True, slots=True)
class Cued:
    """The coach speaks."""

    at: float
    cue: int
    """Number of the cue in the attempt, from 1."""
    kind: str
    """missed, order, mishap, lead, answer, thanks, unclear, device or closing; time (a step was too short, or
    the coach keeps the time), reading (what was recorded), mistake (it does not match the case), case (what
    the student finds)."""
    about: tuple[str, ...]
    """The step or steps it is about, or what is to be avoided; empty for the rest."""
    strength: int
    """1 a nudge, 2 a hint, 3 the step itself; 0 where that does not apply."""
    text: str


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """A cue that waited to be spoken, or stood open, is no longer needed."""

    at: float
    about: str
    """The step."""
    why: str


@dataclass(frozen=True, slots=True)
class Paused:
    """The attempt waits; what is said now is not followed."""

    at: float


@dataclass(frozen=True, slots=True)
class Resumed:
    """The attempt goes on."""

    at: float


@dataclass(frozen=True, slots=True)
class Ended:
    """The attempt is over."""

    at: float
    why: str
    """`finished`, or why it was stopped."""


Incoming = Begun | Heard | Elapsed | Voiced | Lost | Found | Stopped
Outgoing = (
    Followed
    | Unfollowed
    | Remarked
    | Read
    | Timed
    | Mistaken
    | Simulated
    | Asked
    | Cued
    | Withdrawn
    | Paused
    | Resumed
    | Ended
)
Event = Incoming | Outgoing

KINDS: dict[str, type[Event]] = {
    kind.__name__.lower(): kind
    for kind in (
        Begun, Heard, Elapsed, Voiced, Lost, Found, Stopped,
        Followed, Unfollowed, Remarked, Read, Timed, Mistaken, Simulated,
        Asked, Cued, Withdrawn, Paused, Resumed, Ended,
    )
}  # fmt: skip
"""Name of an event in a journal, to its class."""

"""What an attempt is heard from and how the coach speaks in it, chosen and opened."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from voicecoach import ear
from voicecoach.ear import Moment
from voicecoach.errors import Complaint
from voicecoach.following import samples as besides
from voicecoach.hearing import said_numbers
from voicecoach.hearing.model_files import NOTHING, Unread
from voicecoach.hearing.models import installed_model, no_model
from voicecoach.hearing.recognizer import Recognizer
from voicecoach.hearing.sphinx import Sphinx
from voicecoach.hearing.typed import parse_line
from voicecoach.hearing.vosk import Vosk
from voicecoach.hearing.whisper import Whisper
from voicecoach.hearing.whisper_model import installed as whisper_installed
from voicecoach.live import SHOWN, Live
from voicecoach.mouth import Aloud, Mouth, Unplayed
from voicecoach.procedure.library import other_phrases, others_edition
from voicecoach.procedure.model import Procedure
from voicecoach.sound import files
from voicecoach.sound.devices import default_device
from voicecoach.sound.endpointer import Endpointer
from voicecoach.sound.loudspeaker import Loudspeaker
from voicecoach.speaking.voice import Voice
from voicecoach.utterances import Patience

STDIN = "-"
"""What stands for standard input in place of a file."""

_FEW_OTHERS = 4
"""One in so many phrases of other procedures is learned from: all take as long as the rest together."""


@dataclass(frozen=True, slots=True)
class Source:
    """Where an attempt comes from."""

    hear: str
    """The recognizer: sphinx, vosk, whisper or typed."""
    mouth: Mouth
    """How the coach speaks."""
    listen: Callable[[ExitStack, Patience], Iterable[Moment]]
    """Begins to listen, and gives what is heard; what it opens is closed with the stack. Raises Complaint."""
    at_keyboard: bool = False
    """True where the student types into the terminal, so that no big screen may stand there."""
    notices: tuple[str, ...] = ()
    """Sentences that the user should read before it begins."""
    times: str = "clock"
    """What shows how long something lasted, as `events.Begun` has it."""
    tells: bool = False
    """True where the student can be told of a case, since it is now that all this is said."""


def choose(
    hear: str,
    model: Path | None,
    file: str | None,
    procedure: Procedure,
    signals: frozenset[str] = frozenset(),
) -> Source:
    """The source for the choices of the command line.

    `hear` is auto, sphinx, vosk, whisper or typed; `file` is a sound file, with typed a text file or `-`,
    or None for the microphone or the terminal; `signals` are those wanted with a microphone: start, tick or
    both. Raises Complaint where something is not there or no use.
    """
    if hear == "typed":
        return _from_standard_input() if file in (None, STDIN) else _from_text(Path(file))
    if file == STDIN:
        raise Complaint("Sound cannot come from standard input; name a sound file, or add --hear typed.")
    if file is not None:
        recording = files.read(Path(file))
        source = recorded(recording.samples, recognizer(hear, model, procedure))
        cut = (f"{file} breaks off before its end; what is there is used.",) if recording.cut_short else ()
        return replace(source, notices=(*cut, *source.notices))
    with _other_ways():
        default_device("input")  # Before the recognizer is made ready, which may take seconds.
    return _from_microphone(recognizer(hear, model, procedure), signals)


def recognizer(hear: str, model: Path | None, procedure: Procedure) -> Recognizer:
    """The recognizer for an attempt at a procedure; raises Complaint as `recognizer_of`."""
    requests = (phrase for phrases in besides.samples().requests.values() for phrase in phrases)
    others = Unread(
        f"{_FEW_OTHERS} {others_edition(procedure.id)}", lambda: other_phrases(procedure.id)[::_FEW_OTHERS]
    )
    phrases = (*procedure.phrases, *requests, *said_numbers.phrases(procedure))
    return recognizer_of(hear, model, phrases, procedure.pronounce, others)


def recognizer_of(
    hear: str,
    model: Path | None,
    phrases: Sequence[str],
    pronounce: Mapping[str, str],
    others: Unread = NOTHING,
) -> Recognizer:
    """The recognizer called sphinx, vosk or whisper, or for auto the best there is; the rest as for Sphinx.

    The best is vosk where it has an English model, else whisper where its extra is installed, else sphinx.
    Raises Complaint where the one asked for is not there, or where `model` is given to one that is not vosk.
    """
    if hear in ("sphinx", "whisper") and model is not None:
        raise Complaint(
            f"--model is a Vosk model, which --hear {hear} cannot use; give one of them, not both."
        )
    folder = model or (installed_model() if hear in ("auto", "vosk") else None)
    if hear == "vosk" and folder is None:
        raise no_model()
    if hear == "auto":
        hear = best(folder)
    if hear == "vosk" and folder is not None:
        return Vosk(folder, phrases)
    return (Whisper if hear == "whisper" else Sphinx)(phrases, pronounce, others)


def best(model: Path | None) -> str:
    """The recognizer that auto takes, where `model` is the Vosk model that there is."""
    return "vosk" if model else "whisper" if whisper_installed() else "sphinx"


def recorded(samples: NDArray[np.int16], recognizer: Recognizer) -> Source:
    """A recording, mono at 16 kHz, heard as fast as may be; a cue takes the time that it would sound."""
    coach: Mouth = Mouth()
    notices: tuple[str, ...] = ()
    try:
        coach = Unplayed(Voice())
    except Complaint as complaint:
        notices = (f"{complaint} {SHOWN}",)
    return Source(
        recognizer.name,
        coach,
        lambda until, patience: ear.hear(ear.blocks(samples), Endpointer(), recognizer),
        notices=notices,
    )


def _from_microphone(recognizer: Recognizer, signals: frozenset[str]) -> Source:
    live = Live()
    live.mouth.signals = signals

    def listen(until: ExitStack, patience: Patience) -> Iterable[Moment]:
        with _other_ways():
            until.enter_context(live)
        return live.hear(recognizer, patience)

    return Source(recognizer.name, live.mouth, listen, notices=live.notices, tells=True)


@contextmanager
def _other_ways() -> Iterator[None]:
    """Name what can be done where a microphone is complained of."""
    try:
        yield
    except Complaint as complaint:
        raise Complaint(
            f"{complaint} Without a microphone, type what you would say (--hear typed) "
            "or give a recording (--from FILE)."
        ) from None


def _from_standard_input() -> Source:
    """Lines as they are typed, or as they come through a pipe."""
    if not sys.stdin.isatty():
        # A pipe may give all lines at once.
        return Source(
            "typed", Mouth(), lambda until, patience: ear.read(ear.arriving(sys.stdin)), times="unknown"
        )
    coach, notices = aloud()

    def listen(until: ExitStack, patience: Patience) -> Iterable[Moment]:
        until.callback(coach.close)
        begun = time.monotonic()
        return ear.read(ear.arriving(sys.stdin), lambda: time.monotonic() - begun)

    return Source("typed", coach, listen, at_keyboard=True, notices=notices, tells=True)


def _from_text(file: Path) -> Source:
    """All lines of a text file; what is wrong with one is said before the attempt begins."""
    try:
        lines = file.read_text("utf-8", errors="replace").splitlines()
    except OSError as error:
        raise Complaint(f"{file} cannot be read: {error.strerror}; check the name.") from None
    try:
        moments = tuple(ear.read(lines))
    except Complaint as complaint:
        raise Complaint(f"{file}: {complaint}") from None
    if not moments:
        raise Complaint(f"There are no words in {file}; write what is said, a line for each utterance.")
    times = "clock" if all(parse_line(line)[0] is not None for line in lines if line.strip()) else "unknown"
    return Source("typed", Mouth(), lambda until, patience: moments, times=times)


def aloud() -> tuple[Mouth, tuple[str, ...]]:
    """The loudspeaker where there is one; else the screen, and why."""
    try:
        return Aloud(Voice(), Loudspeaker()), ()
    except Complaint as complaint:
        return Mouth(), (f"{complaint} {SHOWN}",)

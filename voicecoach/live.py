"""The microphone and the loudspeaker, open together, and the coach's own voice on the way between them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from types import TracebackType

from voicecoach import ear
from voicecoach.attempt import LONG
from voicecoach.ear import Moment
from voicecoach.errors import Complaint
from voicecoach.hearing.recognizer import Recognizer
from voicecoach.mouth import Aloud, Mouth
from voicecoach.own_voice import OwnVoice
from voicecoach.sound.endpointer import Endpointer
from voicecoach.sound.loudspeaker import Loudspeaker
from voicecoach.sound.microphone import Microphone
from voicecoach.speaking.voice import Voice
from voicecoach.utterances import Patience

SHOWN = "The coach's words are shown instead."
_LOST_SOUND = (
    "Some sound was lost, since this computer is too busy; close other programs, or use --hear sphinx."
)


class Live:
    """Open within a `with` block. Attempts follow one another; what is learned of the room stays."""

    mouth: Mouth
    """How the coach speaks."""
    notices: tuple[str, ...]
    """Sentences that the user should read before it begins."""

    def __init__(self) -> None:
        self._microphone = Microphone()
        self._own = OwnVoice()
        try:
            self.mouth = Aloud(Voice(), Loudspeaker(), self._own, lambda: self.now)
            self.notices = ()
        except Complaint as complaint:
            self.mouth, self.notices = Mouth(), (f"{complaint} {SHOWN}",)

    def __enter__(self) -> Live:
        """Open the microphone. Raises Complaint where there is none or it cannot be opened."""
        self._microphone.__enter__()
        self.mouth.open()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close both."""
        self._microphone.__exit__(kind, error, trace)
        self.mouth.close()

    @property
    def now(self) -> float:
        """Seconds of sound that have come in, on the audio clock; some of them wait to be heard."""
        return self._microphone.now

    def hear(self, recognizer: Recognizer, patience: Patience) -> Iterator[Moment]:
        """Hear from now on, on an audio clock that begins at 0; `patience` is that of `ear.hear`."""
        # At once, not with the first moment: what is said until then is heard already.
        self._own.restart()
        self._microphone.skip()
        endpointer = Endpointer(LONG, self._own.beside)
        return self._noticed(ear.hear(self._microphone, endpointer, recognizer, patience, self._own.others))

    def _noticed(self, moments: Iterator[Moment]) -> Iterator[Moment]:
        """The moments, and a notice with the first of them after sound was dropped."""
        dropped = self._microphone.dropped
        for moment in moments:
            if self._microphone.dropped > dropped:
                dropped = self._microphone.dropped
                moment = replace(moment, notice=_LOST_SOUND)
            yield moment

"""What a student says, as a recognizer gives it."""

from __future__ import annotations

from voicecoach.events import Heard, Word

SECONDS_A_WORD = 0.3


def words(text: str, start: float = 0.0) -> tuple[Word, ...]:
    """The words of a text, said one after the other without a pause from `start` on."""
    return tuple(
        Word(word, start + place * SECONDS_A_WORD, start + (place + 1) * SECONDS_A_WORD)
        for place, word in enumerate(text.split())
    )


def utterance(number: int, text: str, start: float = 0.0) -> Heard:
    """An utterance that begins at `start` and is heard as soon as it ends."""
    said = words(text, start)
    end = said[-1].end if said else start
    return Heard(end, number, start, end, said)

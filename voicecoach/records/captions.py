"""Captions of an attempt as WebVTT: what the student said and what the coach said, with their times.

The format is that of W3C, WebVTT: The Web Video Text Tracks Format. Times are those of the audio clock, so
that the captions fit a recording that begins with the attempt.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from voicecoach.events import Cued, Ended, Event, Heard, Voiced

HEAD = "WEBVTT"
"""With what such a file begins."""
LETTERS = 80
"""The most letters in one caption: two lines of 40. BBC, Subtitle Guidelines, wants two at most."""
SECONDS_A_WORD = 0.36
"""How long a word is shown that was not timed: BBC, Subtitle Guidelines, has 160 to 180 a minute."""
_ESCAPES = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;"})


@dataclass(frozen=True, slots=True)
class Said:
    """Something that was said."""

    start: float
    """Seconds at which it begins."""
    end: float
    """Seconds at which it ends."""
    who: str
    """Student or Coach."""
    text: str


def captions(events: Sequence[Event]) -> str:
    """The WebVTT file of an attempt, from its journal."""
    pieces = [piece for heard in events if isinstance(heard, Heard) for piece in _student(heard)]
    pieces += [piece for said in coach(events) for piece in _pieces(said)]
    cues = [_cue(piece) for piece in sorted(pieces, key=lambda piece: piece.start)]
    return "\n".join([HEAD, "", *cues])


def coach(events: Sequence[Event]) -> tuple[Said, ...]:
    """What the coach said, in order; what was taken back before it could be heard is left out.

    What it says when the attempt is over has no time in the journal and is taken to follow at once, at the
    pace at which captions are read, as is what only stood on the screen.
    """
    said = {event.cue: event for event in events if isinstance(event, Voiced)}
    over = [event for event in events if isinstance(event, Ended) and event.why != "interrupted"]
    at = over[0].at if over else 0.0
    spoken: list[Said] = []
    for cue in (event for event in events if isinstance(event, Cued)):
        length = SECONDS_A_WORD * len(cue.text.split())
        voiced = said.get(cue.cue)
        if voiced is not None:
            if voiced.at > voiced.start or not voiced.cut:
                end = voiced.at if voiced.at > voiced.start else voiced.start + length
                spoken.append(Said(voiced.start, end, "Coach", cue.text))
        elif over and cue.at >= over[0].at:
            spoken.append(Said(at, at + length, "Coach", cue.text))
            at += length
    return tuple(spoken)


def _student(heard: Heard) -> Iterator[Said]:
    """An utterance in pieces that can be read at a glance, by the times of its words."""
    words = list(heard.words)
    while words:
        count = _fitting([word.text for word in words])
        piece, words = words[:count], words[count:]
        yield Said(piece[0].start, piece[-1].end, "Student", " ".join(word.text for word in piece))


def _pieces(said: Said) -> Iterator[Said]:
    """The same for what has no times of words: each piece has its share by letters."""
    words = said.text.split()
    a_letter = (said.end - said.start) / max(1, len(" ".join(words)) + 1)
    start = said.start
    while words:
        count = _fitting(words)
        text, words = " ".join(words[:count]), words[count:]
        end = start + a_letter * (len(text) + 1)
        yield Said(start, end, said.who, text)
        start = end


def _fitting(words: Sequence[str]) -> int:
    """How many of some words fit into one caption, at least one."""
    count = 1
    while count < len(words) and len(" ".join(words[: count + 1])) <= LETTERS:
        count += 1
    return count


def _cue(said: Said) -> str:
    start = _thousandths(said.start)
    end = max(_thousandths(said.end), start + 1)
    # A caption ends with an empty line, so that no character may break one.
    text = " ".join("".join(letter if letter.isprintable() else " " for letter in said.text).split())
    return f"{_clock(start)} --> {_clock(end)}\n<v {said.who}>{text.translate(_ESCAPES)}</v>\n"


def _thousandths(seconds: float) -> int:
    return max(0, round(seconds * 1000))


def _clock(thousandths: int) -> str:
    """A time as WebVTT writes it: 00:01:02.345."""
    seconds, rest = divmod(thousandths, 1000)
    return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}.{rest:03d}"

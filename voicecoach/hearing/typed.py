"""Lines instead of sound: for tests, for a quiet room, for those who cannot speak."""

from __future__ import annotations

import re

from voicecoach.errors import Complaint
from voicecoach.events import Heard, Word
from voicecoach.following.signs import without_signs

SECONDS_A_WORD = 0.3
"""How long a typed word is taken to last."""

_TIME = re.compile(r"\s*(?:(?P<hours>\d+):(?=\d+:))?(?P<minutes>\d+):(?P<seconds>\d{2}(?:\.\d+)?)(?:\s+|$)")


def parse_line(line: str) -> tuple[float | None, str]:
    """The time in seconds before a line, or None, and its words as a recognizer would print them.

    A time is m:ss or h:mm:ss, with or without a fraction. The words come in lower case without
    punctuation; apostrophes inside a word and points inside a number stay, signs
    beside a number are written out (`75%` as `75 percent`), and a slash between two is read as `over` where
    it makes no half or quarter. Raises Complaint for a time that no clock shows.
    """
    found = _TIME.match(line)
    if found is None:
        return None, _plain(line)
    hours, minutes, seconds = int(found["hours"] or 0), int(found["minutes"]), float(found["seconds"])
    if seconds >= 60 or (found["hours"] and minutes >= 60):
        raise Complaint(
            f"The time {found[0].strip()!r} is not one that a clock shows: write m:ss or h:mm:ss, as in 1:05."
        )
    return 3600.0 * hours + 60.0 * minutes + seconds, _plain(line[found.end() :])


class Typed:
    """Takes lines one after the other and gives them as utterances."""

    name = "typed"

    def __init__(self) -> None:
        self._lines = 0
        self._given = 0.0
        self._spoken = 0.0

    def heard(self, line: str, at: float) -> Heard:
        """The utterance of one line that was typed by `at` seconds on the audio clock.

        Its words last 0.3 s each and end at `at`; where the line begins with a time they begin then,
        and `at` counts for nothing. No line begins before the one before it has ended. Raises
        Complaint, with the number of the line, for a time before that of an earlier line.
        """
        self._lines += 1
        try:
            given, text = parse_line(line)
        except Complaint as complaint:
            raise Complaint(f"Line {self._lines}: {complaint}") from None
        words = text.split()
        length = SECONDS_A_WORD * len(words)
        if given is None:
            start = max(self._spoken, at - length)
            end = max(start, at)
        else:
            if given < self._given:
                raise Complaint(
                    f"Line {self._lines} has the time {given:.1f} s, before the {self._given:.1f} s of an "
                    "earlier line: put the lines in the order in which they were said."
                )
            self._given = given
            start = max(self._spoken, given)
            end = start + length
        self._spoken = end
        pace = (end - start) / max(1, len(words))
        return Heard(
            at=end,
            utterance=self._lines,
            start=start,
            end=end,
            words=tuple(
                Word(text=word, start=start + n * pace, end=start + (n + 1) * pace)
                for n, word in enumerate(words)
            ),
        )


def _plain(text: str) -> str:
    """The words of a line; signs beside numbers are words, too: `-150` is `minus 150`, `1/2` is `half`."""
    text = text.lower().replace("’", "'")
    while (plain := _words(text)) != text:
        text = plain
    return text


def _words(text: str) -> str:
    """The words of a text in lower case, as far as what else it holds is not between them any more."""
    fraction = r"(?<![\d/])[13]/[24](?![\d/])"
    parts = re.split(f"({fraction})", text)
    parts[::2] = [re.sub(r"(?<=\d)\s*/\s*(?=\d)", " over ", part) for part in parts[::2]]
    text = without_signs("".join(parts))
    text = re.sub(r"(?<!\d)\.(?!\d)|\.(?!\d)|(?<=[^\W\d_])\.(?=\d)", " ", text)
    text = re.sub(r"(?<!\w)'|'(?!\w)", " ", text)
    return " ".join(re.findall(r"(?:[^\W_]|\.(?=\d))(?:[^\W_]|['.])*", text))

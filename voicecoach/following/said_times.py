"""What is said about time: how long something lasts, that its time begins, that it is over or was before."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from voicecoach.events import Word
from voicecoach.following.numbers import amounts

_LENGTH = re.compile(r"\b(seconds?(?! hand)|secs|minutes?)\b")
"""Units of time."""
_FEWEST = 5.0
"""Seconds that may be said in the singular, as learners do; fewer are mostly the second of something."""
_NO_LENGTH = (["beats"], ["breaths"], ["times"], ["wait"], ["just"], ["on"], ["me"])
"""What before `a minute` makes it a rate, or a way to say wait."""
_LONGEST = 10.0
"""Minutes that a step may be said to last; more are something else: `sixty eight a minute`."""
_BETWEEN = ("full", "whole", "entire", "complete", "good", "solid", "more")
"""Said between a number and its unit."""

_STARTS = re.compile(
    r"\b(?:start|begin)(?:n?ing)?(?: to| the| my)?(?: count(?:ing)?| clock| timer| time| minute)?"
    r"(?: now| here| right now)?$"
    r"|\b(?:starting|beginning|counting|start|begin) (?:right )?(?:now|from here)\b"
    r"|\bfrom (?:here|now)(?: on)?\b"
    r"|\b(?:(?:on|at) the twelve|straight up|ready)(?: and| okay| so)? go\b"
    r"|^(?:and |okay |so |ready )*(?:go|now)$|\band (?:go|away|start|mark)$|\bcount(?:ing)?\b.* now$"
    r"|\b(?:two one|one two three|ready|steady|okay|alright|timer|clock)(?: and| so)? (?:go|start|now|mark)\b"
    r"|\b(?:here|off|away) (?:it |we |i )?goe?s?$|^(?:and |so |okay )*(?:off|here) (?:we|i|it) goe?s?\b"
    r"|\b(?:so|one) now$"
    r"|\b(?:hand|hand's|hand is|it's|clock's) (?:on|at|hits|hit|passes|passing) the (?:twelve|top)(?: now)?$"
)
"""That the time begins to run."""
_OVER = re.compile(
    r"^(?:and |okay |ok |so |then |alright |there |um |timer |clock |we )*"
    r"(?:time|time's up|time is up|stop|halt|done|finished|enough|bam|ding)\b(?! (?:to|for|with|of|in))"
    r"|\btime(?:'s| is) (?:up|over)\b"
    r"|\b(?:that's|that is|that was|that makes|there's|there goes|there went|it's been|it has been|been)"
    r"(?: my| the| a| one| about)*(?: full| whole)?(?: \w+){0,3} (?:seconds|minute)\b"
    r"|\b(?:seconds|minute)(?:'s| is| are| have| has)? (?:up|over|done|passed|elapsed|gone|gone by)\b"
    r"|\b(?:that's|that is|this is|for) (?:it )?long enough\b|\bthat's enough\b|\bthat'll do\b"
    r"|\b(?:that|it|which)(?: ought to| should| must| would|'ll|'d)(?: have)? (?:be|been)(?: about)?"
    r"(?: \w+){0,3} (?:seconds|minute)\b"
    r"|\b(?:round|song|counting|minute)(?:'s| is)? (?:over|done|finished)\b"
    r"|\b(?:they're|(?:(?:they|hands|fingers) )?(?:are|feel)|it's|is|both|all|feels|totally|completely)"
    r"(?: all| nice and| now| completely| fully| totally| both| really| quite| bone)* (?:dry|dried)\b"
    r"|\b(?:done|finished|through) (?:with (?:the |my )?)?(?:rubbing|lathering|scrubbing|counting|count)\b"
)
"""That it is over."""
_NOT_YET = re.compile(r"\b(?:until|till|when|once|before|after|if|not|isn't|aren't|for|wait|almost|nearly)\b")
"""What before it speaks against that."""
_GOES_ON = re.compile(r"\b(?:until|till|til|keep|keeping|going|go on|continue|continuing|still|not|let)\b")
"""That it goes on until then."""
_AFTERWARDS = re.compile(
    r"\b(?:i've|i have|we've|i had|i'd|have been|has been|they've been|that was|was|were)\b"
    r"|\bi (?:just |already |did )*(?:\w+ed|did|kept|held|felt|took|got|made|went|gave|ran)\b"
    r"|^(?:okay |so |and |all )*\w+ed (?:\w+ ){0,4}(?:seconds|minute)\b"
)
"""That it was done before it is told of."""
_BEGUN = re.compile(r"\b(?:started|begun|began|got|found|i've got|i have got)\b")
"""What sounds like that and is not."""


def said_seconds(text: str) -> float:
    """Seconds that something is said to last, the longest where several are said; 0 where none is."""
    longest = 0.0
    for unit in _LENGTH.finditer(text):
        words = text[: unit.start()].split()
        while words and words[-1] in _BETWEEN:
            words.pop()
        minute = unit[0].startswith("minute")
        number = _units_before(words, minute) + (0.5 if text[unit.end() :].startswith(" and a half") else 0)
        if minute and not words and text[unit.end() :].startswith("'s"):
            number = 1.0  # `minute's up`
        if (minute and number > _LONGEST) or (unit[0] == "second" and number < _FEWEST):
            continue
        longest = max(longest, number * (60.0 if minute else 1.0))
    return longest


def starts(words: Sequence[Word]) -> Iterator[float]:
    """The moments, in seconds, at which an utterance says that the time begins to run."""
    text, places = _placed(words)
    for mark in _STARTS.finditer(text):
        yield words[places[mark.end()]].end


def overs(words: Sequence[Word]) -> Iterator[float]:
    """The moments, in seconds, at which an utterance begins to say that the time is over."""
    text, places = _placed(words)
    for mark in _OVER.finditer(text):
        if not _NOT_YET.search(text[: mark.start()].rpartition(" and ")[2]):
            yield words[places[mark.start()]].start


def goes_on(text: str) -> bool:
    """Whether a clause says that something goes on until it is over."""
    return bool(_GOES_ON.search(text))


def tells_afterwards(text: str) -> bool:
    """Whether a clause tells of something that is over."""
    return bool(_AFTERWARDS.search(text)) and not _BEGUN.search(text)


def _units_before(words: Sequence[str], minute: bool) -> float:
    """How many seconds, or minutes, the words before that word say; 0 where they say none."""
    if words[-2:] == ["half", "a"]:
        return 0.5
    if words[-2:-1] == ["in"]:
        return 0.0
    if words[-1:] == ["a"]:
        return 0.0 if words[-2:-1] in _NO_LENGTH else 1.0
    if words[-1:] in (["the"], ["that"], ["my"], ["this"]):
        return 1.0 if minute else 0.0
    if words[-1:] == ["per"]:
        return 0.0
    # A number stands right before a word if that word would be its unit.
    found = amounts(" ".join([*words[-4:], "beats"]))
    return found[-1].values[-1] if found and found[-1].unit else 0.0


def _placed(words: Sequence[Word]) -> tuple[str, list[int]]:
    """The text of words, and for each of its letters the word that it belongs to."""
    places: list[int] = []
    for place, word in enumerate(words):
        places += [place] * (len(word.text) + 1)
    return " ".join(word.text for word in words), places

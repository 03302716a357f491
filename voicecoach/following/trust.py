"""How far what was heard can be trusted.

In noise a recognizer still gives words, but knows that they are doubtful. Whoever is judged by them is
judged wrongly, so that it must be known when too little was understood.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from voicecoach.events import Heard, Word

FACTOR, POWER = 0.82, 2.6
"""How the odds that a clause was heard well follow from those of its words: fitted on spoken narrations."""
ENOUGH = 0.8
"""Trust, on average, below which too little was understood to judge anybody: with `whisper`, whatever came to
less on spoken narrations had at most 0.83 of its verdicts right, and all in a quiet room came to more."""
LATELY = 1 / 6
"""What one more utterance counts in the trust of late."""


def trust(words: Sequence[Word]) -> float:
    """Probability that some words were heard well enough to be understood, from the confidence in them."""
    wrong = 1 - sum(word.confidence for word in words) / len(words)
    if wrong <= 0:
        return 1.0
    odds = FACTOR * float(((1 - wrong) / wrong) ** POWER)
    return odds / (1 + odds)


def heard_well(utterances: Iterable[Heard]) -> bool:
    """Whether enough of all that was heard can be trusted; also where nothing was."""
    trusted = [trust(heard.words) for heard in utterances if heard.words]
    return not trusted or sum(trusted) / len(trusted) >= ENOUGH

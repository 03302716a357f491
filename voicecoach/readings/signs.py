"""Whether a balance is below zero by what is said around it: `down two hundred`, `more out than in`."""

from __future__ import annotations

import re
from collections.abc import Sequence

from voicecoach.following.numbers import single
from voicecoach.readings.mentions import Mention, mentions

_BELOW = re.compile(
    r"(?<!put )(?<!write )(?<!writing )(?<!wrote )(?<!jot )(?<!note )(?<!going )(?<!goes )(?<!go )(?<!it )"
    r"(?<!that )(?<!mark )"
    r"\b(?:down|behind|short|deficit|shortfall|negative|minus|lost|losing|under|in the hole|in the red|dry)"
    r" (?!(?:no|not|sorry|wait|i mean|plus|positive)\b)"
)
_BELOW_AFTER = re.compile(
    r"^(?:(?:is|that's|on|in|the|and|it's|of|to|a|as|this|which|so) )*(?:negative|minus side|red|hole|bad"
    r"|below zero"
    r"|behind|short|deficit|down|under|minus(?= $)|more out|lost|in deficit)\b"
)
_ABOVE = re.compile(r"\b(?:positive|plus|ahead|up|to the good) (?:(?:of|by|about) )*$")
_ABOVE_AFTER = re.compile(r"^(?:ahead|positive|to the good|up)\b")

_SIDES = dict.fromkeys("in intake drank drink drinks drunk took takes taken".split(), 1) | dict.fromkeys(
    "out output urine peed pees voided voids urinated".split(), -1
)
"""Words for what went in, and for what came out."""
_MORE = dict.fromkeys(
    "more over above ahead higher greater bigger larger exceeds exceeded exceed beats beat tops topped "
    "outpaced".split(),
    1,
) | dict.fromkeys("less fewer under below behind lower smaller".split(), -1)
_OF_PLACE = frozenset("the a an this that her his my your there it bed".split())
"""Words before which `in` is of a place."""
_ALONE = frozenset("bigger greater higher larger smaller ahead exceeds exceeded beats beat".split())
"""Words that compare even where the other side is not named: `output was higher`."""
_BY = re.compile(rf"\b(?:{'|'.join(_MORE)})\b.* by (?:about |maybe |almost )*$")
_MORE_THAN = re.compile(rf"^(?:{'|'.join(_MORE)}) (?:(?:in|out|\w+) )?(?:than|in|out)\b")


def is_below_zero(mention: Mention) -> bool:
    """Whether the words around a number make it one below zero."""
    if _ABOVE.search(mention.near):
        return False
    if _BELOW.search(mention.near) or _BELOW_AFTER.match(mention.trail):
        return True
    return _more_went(mention.words) < 0 and not _ABOVE_AFTER.match(mention.trail)


def is_the_difference(mention: Mention) -> bool:
    """Whether it is said to be by how much more went in or out: `three fifty more than she put out`."""
    return bool(_more_went(mention.words) and (_BY.search(mention.lead) or _MORE_THAN.match(mention.trail)))


def _more_went(words: Sequence[str]) -> int:
    """1 where more is said to have gone in, -1 where more came out, 0 where nothing is said of it."""
    for index, word in enumerate(words):
        after = list(words[index + 1 : index + 10])
        if word not in _MORE or (word == "less" and "than" not in after[:3]):
            continue
        adverb = after[:1] in (["in"], ["out"]) and not _OF_PLACE.intersection(after[1:2])
        beside = _side(after[:1]) if adverb else 0
        before = _side(words[max(0, index - 8) : index][::-1])
        other = _side(after[after.index("than") + 1 :] if "than" in after else after[:6])
        first = beside or before or -other
        alone = word in _ALONE or (word in ("more", "over") and _side(words[max(0, index - 2) : index]))
        if first and (beside or other == -first or (alone and not other)):
            return first * _MORE[word]
    return 0


def _side(words: Sequence[str]) -> int:
    """The side of the first of the words that names one; 0 where none does."""
    sides = [_SIDES.get(word.removesuffix("'s"), 0) for word in words]
    return next(filter(None, sides), 0)


_EVEN = re.compile(
    r"\b(?:even steven|br[oe]a?ke?s? even|evens? out|cancels? out|a wash"
    r"|(?:is|are|it's|she's|he's|they're|dead|balance|both|out|in) (?:dead |exactly |perfectly |all |about )?"
    r"(?:even|equal|balanced|the same))\b"
)


def is_even(words: Sequence[str], values: Sequence[float]) -> bool:
    """Whether as much came out as went in, as words say beside no number or the same one twice."""
    return bool(_EVEN.search(" ".join(words))) and len(values) in (0, 2) and len(set(values)) < 2


def more_went_out(mention: Mention) -> bool:
    """Whether it is by how much more went out: `in nine hundred out twelve hundred difference three hundred`.

    Not where it is said to be below zero anyway, nor where it is not that difference.
    """
    taken = {
        side: other.value
        for other in mentions(mention.words, single(mention.words))
        if other.placed.start < mention.placed.start and (side := _side(other.lead.split()[::-1]))
    }
    return len(taken) == 2 and 0 < mention.value == taken[-1] - taken[1]

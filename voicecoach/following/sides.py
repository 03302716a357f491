"""Sides: where a side of the resident is named, and whether it is the right one in the case.

`right` is many things that are no side, and what has a side may be the bed, the student or a wheel. A side
that is not found is one remark less; one that is found in vain may become a false accusation.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from voicecoach.following.names import surname
from voicecoach.procedure.case import OTHER_SIDE, Case
from voicecoach.procedure.model import Procedure, Step

_OWNED = frozenset("her his your their ma'am's".split())
_MINE = frozenset("my mine our own".split())
_TITLED = frozenset("mrs missus misses mr mister ms miss".split())
_WHOSE = frozenset("resident's patient's client's person's lady's woman's man's gentleman's".split())
_ARMS = frozenset(
    "arm arms hand hands elbow wrist shoulder finger fingers fingertips thumb palm bicep biceps forearm "
    "sleeve armhole".split()
)
_LEGS = frozenset(
    "leg legs foot feet toe toes knee knees ankle heel thigh calf shin shoe sock slipper".split()
)
_WHOLE = frozenset("side hip flank".split())
_BODY = _ARMS | _LEGS | _WHOLE
_SURELY_HERS = frozenset("arm arms sleeve armhole shoulder elbow".split())
"""What is the resident's without `her`; a hand or a knee may well be the student's."""
_BESIDE = frozenset(
    "weak weaker strong stronger good bad affected unaffected paralyzed floppy droopy limp sleepy poor first "
    "other whole".split()
)
"""Words that may stand between `her` or `the` and the side."""
_ONES = frozenset("one ones one's".split())
_SUBJECTS = frozenset(
    "i we you they she he who it i've we've you've she's he's i'd has have had having been was were just get "
    "gets no any nothing only".split()
)
"""Words after which `left` is something done, or what remains."""
_TAGS = frozenset("all that's thats just feel feels feeling sit sits".split())
"""Words after which `right` says that something is in order."""
_NEAR = frozenset(
    "now away here there up down in on off out over through back beside next by under behind against at "
    "where to before after above below ahead along quick from into onto of way above round around".split()
)
"""Words before which `right` means straight or very: `right beside her`."""
_FURNITURE = frozenset(
    "rest rests rail rails pedal pedals plate plates brake brakes wheel wheels lever of".split()
)
"""Words that make of what stands before them a part of a thing: `left foot rest`, `left side of the bed`."""
_BOUNDARY = frozenset(
    "and so because cause since is isn't was are as i i'm i've i'll we she she's he he's it it's they you "
    "your her his that's that the with which where while then now okay ok um uh at first last before after "
    "but for can't won't doesn't does has gets goes stays comes without though too please sir ma'am dear "
    "missus mister mrs mr weak strong one".split()
)
"""Words before which `the left` stands for itself and is no part of a name."""
_WITH = frozenset("with using".split())
_BEGIN = frozenset("start starts starting begin begins beginning go going first".split())
_WEAK = frozenset("weak weaker weakened affected paralyzed paralysed floppy droopy limp".split())
_STRONG = frozenset("strong stronger unaffected nonaffected".split())
_LINKS = frozenset("is was it's that's being on which the a her his your um uh one".split())
_TAKES = frozenset("took hit weakened affected got on in her his the your".split())
_DENIALS = frozenset(
    "not isn't aren't wasn't doesn't don't no or if whether wrong than enough which what opposite instead "
    "oops sorry mean wait mistake".split()
)
"""Words with which it is not clear what is said of a side."""
_ASKING = frozenset("is are was does do which what".split())
_ELSEWHERE = frozenset(
    "other another both after before already since because cause once while until from away across "
    "remaining lean leans leaning roll rolls rolling turn turns turning".split()
)
"""Words with which a side may be named beside the one on which something is done."""


@dataclass(frozen=True, slots=True)
class Side:
    """A side of the resident, named."""

    place: int
    """Which of the words it is, from 0."""
    which: str
    """left or right."""
    of: str
    """The part of the body or the sleeve named with it, such as arm; empty where none is."""
    sure: bool
    """Whether it is surely the resident's; a hand, or `the left`, may be the student's or a thing's."""


def sides(text: str) -> tuple[Side, ...]:
    """The sides of the resident that are named, in order."""
    words = _words(text)
    return tuple(side for place in range(len(words)) if (side := _side(words, place)))


def as_written(text: str, case: Case, procedure: Procedure) -> str:
    """What was heard in the words of the phrases: for the first weak side and the first resident.

    Word for word: sides change where the weak side of the case is another, and so does the surname.
    """
    said = text.split()
    if case.weak and procedure.weak and case.weak != procedure.weak[0]:
        for side in sides(text):
            said[side.place] = _instead(said[side.place], side.which, OTHER_SIDE[side.which])
    own, first = surname(case.resident), surname(procedure.residents[0] if procedure.residents else "")
    if own and first and own != first:
        plain = _words(text)
        said = [
            _instead(word, own, first) if heard.removesuffix("'s") == own else word
            for word, heard in zip(said, plain, strict=True)
        ]
    return " ".join(said)


def mistaken_side(text: str, step: Step | None, case: Case) -> tuple[str, str] | None:
    """The side that was named and the right one, where what is said does not match the case.

    That is where a side is called weak or strong that is not, or where `step`, which was reported with it,
    is done on a certain side and the other one was named. No fault where it may be meant in another way.
    """
    if not case.weak:
        return None
    words = _words(text)
    found = sides(text)
    called = _called(words, found)
    if called:
        wrong = [which for which, quality in called if which != getattr(case, quality)]
        clear = _DENIALS.isdisjoint(words) and words[0] not in _ASKING
        return (wrong[0], OTHER_SIDE[wrong[0]]) if clear and len(wrong) == len(called) else None
    if step is None or step.side is None or not _DENIALS.isdisjoint(words):
        return None
    wanted = str(getattr(case, step.side))
    if not _ELSEWHERE.isdisjoint(words) or any(_quality(words, place) for place in range(len(words))):
        return None
    # What may be the wanted side keeps one from saying that the other was meant, found or not.
    if any(_which(word) == wanted and not _is_straight(words, place) for place, word in enumerate(words)):
        return None
    if any("behind" in words[max(0, side.place - 2) : side.place] for side in found):
        return None
    told = any(_is_told(words, side, step) for side in found)
    return (OTHER_SIDE[wanted], wanted) if told else None


def _words(text: str) -> list[str]:
    return [word.strip('.,;:!?"()') for word in text.lower().replace("’", "'").split()]


def _which(word: str) -> str:
    """left or right, where the word is one of them; empty where not."""
    bare = word.removesuffix("'s")
    return bare if bare in ("left", "right") else ""


def _instead(word: str, old: str, new: str) -> str:
    """A word with one part replaced, whatever its letters and endings."""
    place = word.lower().index(old)
    return word[:place] + new + word[place + len(old) :]


def _side(words: Sequence[str], place: int) -> Side | None:
    """The side that a word names; None where it names none of the resident's."""
    which = _which(words[place])
    if not which:
        return None
    start = place
    while start and words[start - 1] in _BESIDE:
        start -= 1
    before, behind = words[:start], words[place + 1 :]
    head = behind[0].removesuffix("'s") if behind else ""
    of = head if head in _BODY else ""
    if _is_thing(behind) or _is_mine(words, place):
        return None
    if _is_owned(before):
        # `with her left` may be how she helps.
        return None if _is_straight(words, place) else Side(place, which, of, before[-2:-1] != ["with"])
    last = before[-1] if before else ""
    if (which == "left" and last in _SUBJECTS) or (which == "right" and last in _TAGS):
        return None
    if of:
        return None if _is_with(before) else Side(place, which, of, _is_surely_hers(words, place))
    return Side(place, which, "", sure=False) if _stands_alone(words, start, place) else None


def _stands_alone(words: Sequence[str], start: int, place: int) -> bool:
    """Whether a side with no part of the body is one: `the left`, `left one`, `weak left`, `left's weak`."""
    before, behind = words[:start], words[place + 1 :]
    following = behind[0] if behind else ""
    last = before[-1] if before else ""
    qualities = _WEAK | _STRONG
    if start < place and words[place - 1] in qualities:
        return following in _BOUNDARY or not following
    if words[place].endswith("'s") or following in qualities or following in _ONES:
        return last not in _SUBJECTS
    if last == "the":
        return before[-2:-1] != ["to"] and (not following or following in _BOUNDARY | {"in", "on"})
    linked = last == "is" and before[-2:-1] and before[-2] in qualities | {"side"}
    return bool(linked or last in ("on", "onto")) and (not following or following in _BOUNDARY - {"for"})


def _is_owned(before: Sequence[str]) -> bool:
    """Whether the resident's is what follows these words."""
    if not before:
        return False
    if before[-1] in _OWNED or before[-1] in _WHOSE:
        return True
    return before[-1].endswith("'s") and len(before) > 1 and before[-2] in _TITLED


def _is_straight(words: Sequence[str], place: int) -> bool:
    """Whether `right` is no side: `right beside her`, `all right`, `it's her right`."""
    behind, before = words[place + 1 : place + 2], words[max(0, place - 1) : place]
    if words[place] != "right":
        return False
    # `choosing is her right and keeps her dignity`
    if not {"is", "it's"}.isdisjoint(words[max(0, place - 2) : place - 1]) and {*behind} <= {"and"}:
        return True
    return not _NEAR.isdisjoint(behind) or not _TAGS.isdisjoint(before)


def _is_mine(words: Sequence[str], place: int) -> bool:
    """Whether the side at a place is the student's own."""
    return any(word in _MINE for word in words[max(0, place - 2) : place] if word not in _BODY)


def _is_thing(behind: Sequence[str]) -> bool:
    """Whether a side with these words behind it is that of a thing: `left foot rest`, `left of the bed`."""
    if list(behind[:2]) == ["sleeve", "of"] or behind[2:3] in (["yours"], ["hers"]):
        return False
    return not _FURNITURE.isdisjoint(behind[:2])


def _is_with(before: Sequence[str]) -> bool:
    """Whether these words say with what something is done: `with the left hand`."""
    bare = before[:-1] if before and before[-1] in ("the", "a") else before
    return bool(bare) and bare[-1] in _WITH and not (len(bare) > 1 and bare[-2] in _BEGIN)


def _is_surely_hers(words: Sequence[str], place: int) -> bool:
    """Whether a side of a part of the body without `her` can only be the resident's."""
    around = words[place + 2 : place + 3]
    return words[place + 1].removesuffix("'s") in _SURELY_HERS and around not in (["around"], ["round"])


def _quality(words: Sequence[str], place: int) -> str:
    """weak or strong, where the word at a place calls a side so; empty where not."""
    word, following = words[place], words[place + 1] if place + 1 < len(words) else ""
    if word in _WEAK:
        return "weak"
    if word in _STRONG:
        return "strong"
    named = following in _BODY | _ONES or bool(_which(following))
    if word in ("good", "bad") and named and place and words[place - 1] in _OWNED | {"the", "that", "this"}:
        return "weak" if word == "bad" else "strong"
    if word == "stroke" and (following in _BODY or following in _TAKES):
        return "weak"
    return ""


def _called(words: Sequence[str], found: Iterable[Side]) -> list[tuple[str, str]]:
    """Sides that are called weak or strong, with what they are called."""
    return [
        (side.which, quality)
        for side in found
        for place in range(len(words))
        if (quality := _quality(words, place)) and _belong(words, place, side)
    ]


def _belong(words: Sequence[str], place: int, side: Side) -> bool:
    """Whether a quality is said of a side: `weak left`, `weak side the left`, `left arm is weak`."""
    between = words[min(place, side.place) + 1 : max(place, side.place)]
    if not between:
        return True
    noun = between[0].removesuffix("'s") in _BODY
    links = between[1:] if noun else between
    if words[place] == "stroke" and not noun and place < side.place:
        return all(word in _TAKES for word in links)
    if any(word not in _LINKS for word in links) or len(links) > 3:
        return False
    if place > side.place:
        return True
    # `her weak arm her right hand` speaks of two things, `weak side the left` of one.
    linked = between[0].endswith("'s") or any(word in ("is", "was", "on", "that's", "it's") for word in links)
    return linked or not side.of


def _is_told(words: Sequence[str], side: Side, step: Step) -> bool:
    """Whether a side is surely named of what a step is done to: in walking, where feet go says nothing."""
    done_to = frozenset(step.do.lower().replace(",", " ").split())
    if not side.of:
        # An arm has no other sides than hers, but `the right one` may be the one that is in order.
        one = side.which == "right" and not _ONES.isdisjoint(words[side.place + 1 : side.place + 2])
        return side.sure or (not _ARMS.isdisjoint(done_to) and not one)
    part = _WHOLE if side.of in _WHOLE else _ARMS if side.of in _ARMS else _LEGS
    return side.sure and (part is _WHOLE or not part.isdisjoint(done_to))

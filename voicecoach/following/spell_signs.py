"""Signs that tell which spell a timed step lasted: features of its beginning, its end and what is between."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from voicecoach.following.moments import Moment, Said, Sought

Numbers = NDArray[np.float64]
Places = NDArray[np.int64]

BEGINS = (
    "words",  # it begins with the words of a clause
    "told",  # the chance that these report the step
    "alone",  # the same from the words alone, on a scale of logarithms
    "other",  # the chance that they report another step
    "rival",  # the chance that the clause reports another timed step
    "length",  # they say how long something lasts
    "over",  # they say that something is over
    "before_mark",  # a start mark follows in them
    "cut",  # no silence is before them
    "mark",  # it begins at a start mark
    "pause",  # the silence after the clause, on a scale of logarithms
    "ready",  # the chance that a step was reported that this one needs
    "early",  # the chance that one of these is reported later
    "count",  # it begins with a number that is counted
)
ENDS = (
    "next",  # the chance that the clause at its end reports a step that needs this one
    "next_alone",  # the same from the words alone
    "timed",  # the chance that it reports another timed step
    "own",  # the chance that it reports the step, as of something that is over
    "own_goes_on",  # the same, as of something that goes on
    "over",  # it says there that something is over
    "length",  # it says how long something lasts
    "result",  # it holds a number, where something is counted
    "result_pause",  # such a number, and the silence before it
    "afterwards",  # it tells of something that was done
    "chat",  # nothing of all this
    "cut",  # no silence is before it
    "pause",  # the silence before it, on a scale of logarithms
    "counted",  # counting aloud is right before it
    "last",  # it is the end of the attempt
)
INSIDE = (
    "next",  # clauses between that report steps that need this one, or other timed ones
    "over",  # clauses between that say that something is over
    "start",  # clauses between with a start mark
    "own",  # clauses between that report the step again
    "result",  # clauses between with a number, where something is counted
)
CLOSED = (
    *INSIDE,
    "short",  # how much shorter it is than needed, as a logarithm
    "long",  # how much longer
    "enough",  # it is as long as needed and not much longer
    "longest",  # the longest silence of all is in it
    "count",  # something is counted in it
    "count_cut",  # the counting goes on before or after
    "as_said",  # as long as is said at one of its ends
    "adjacent",  # nothing is said in it
    "told_after",  # nothing is said in it, and then the step is told of
    "told",  # the chance that the step is reported at one of its ends
)
OPEN = (
    "open",
    *INSIDE,
    "overdue",  # how much longer than needed it goes on, as a logarithm
    "counting",  # something is counted at the moment
)
NONE = (
    "none",  # the step was not done
    "told",  # the chance that some clause reports it
    "told_often",  # the sum of these chances
    "next",  # the chance that some clause reports a step that needs it
    "longest",  # the longest silence, by the time needed
)
KINDS = {"begin": BEGINS, "end": ENDS, "closed": CLOSED, "open": OPEN, "none": NONE}
NAMES = tuple(f"{kind}.{name}" for kind, names in KINDS.items() for name in names)
BY_TIME = frozenset(
    "begin.pause end.pause end.result_pause closed.short closed.long closed.enough closed.longest "
    "closed.as_said open.overdue none.longest".split()
)
"""Features that come from times, which say nothing where these are made up."""
_CUT = 0.25
"""Seconds of silence from which words are set off from those before."""
_LONG = 5.0
"""Seconds that a silence must have to be the longest."""
_MOST = 3.0
"""Clauses inside a spell that count at most."""


class Scene:
    """What was said, as rows of numbers for one step, one a clause and a last one for the end."""

    def __init__(self, said: Sequence[Said], sought: Sought, now: float) -> None:
        self.said, self.sought, self.now = said, sought, now
        self.own = _row(one.chances.get(sought.step, 0.0) for one in said)
        self.opener = _row(one.chances.get(sought.opener, 0.0) for one in said)
        self.opener_alone = _row(_scaled(one.alone.get(sought.opener, 0.0)) for one in said)
        self.other = _row(_most(one.chances, one.chances.keys() - {sought.opener}) for one in said)
        self.next = _row(_most(one.chances, sought.ends) for one in said)
        self.next_alone = _row(_scaled(sum(one.alone.get(id, 0.0) for id in sought.ends)) for one in said)
        self.timed = _row(_most(one.chances, sought.others) for one in said)
        needs = _row(_most(one.chances, sought.needs) for one in said)
        self.needs_by = np.maximum.accumulate(needs)
        self.length = _row(one.length for one in said)
        self.over = _row(bool(one.overs) for one in said)
        self.start = _row(bool(one.starts) for one in said)
        self.counting = _row(one.counting for one in said)
        self.result = _row(sought.counts and one.number and not one.counting for one in said)
        self.afterwards = _row(one.afterwards for one in said)
        begins = [one.start for one in said] + [now]
        self.gaps = np.maximum(0.0, np.array(begins) - np.array([0.0, *(one.end for one in said)]))
        """The silence before each clause."""
        self.longest = float(self.gaps[1:].max(initial=0.0))

    def inside(self, first: Places, last: Places) -> list[Numbers]:
        """The features INSIDE, for the clauses from `first` up to `last`, which is none of them."""
        rows = (np.maximum(self.next, self.timed), self.over, self.start, self.own, self.result)
        return [np.minimum(_MOST, _sums(row, first, last)) for row in rows]


def of_closed(scene: Scene, pairs: Sequence[tuple[Moment, Moment]]) -> Numbers:
    """The features of spells that are over, from a moment to another each."""
    first, last = ([pair[side] for pair in pairs] for side in (0, 1))
    return _beside(begin=_begins(scene, first), end=_ends(scene, last), closed=_between(scene, first, last))


def of_open(scene: Scene, first: Sequence[Moment]) -> Numbers:
    """The features of spells that began at some moment and go on."""
    return _beside(begin=_begins(scene, first), open=_going_on(scene, first))


def of_none(scene: Scene) -> Numbers:
    """The features of a step that was not done."""
    features = {
        "none": 1.0,
        "told": scene.own.max(initial=0.0),
        "told_often": scene.own.sum(),
        "next": scene.next.max(initial=0.0),
        "longest": min(1.0, scene.longest / scene.sought.seconds),
    }
    return _beside(none=np.array([[features[name] for name in NONE]]))


def _beside(**parts: Numbers) -> Numbers:
    """Features of some kinds beside each other, with nothing for the other kinds."""
    count = len(next(iter(parts.values())))
    return np.hstack([parts.get(kind, np.zeros((count, len(names)))) for kind, names in KINDS.items()])


def _begins(scene: Scene, moments: Sequence[Moment]) -> Numbers:
    at = _clauses(moments)
    words, counts, mark = (_is(moments, sign) for sign in ("words", "count", "mark"))
    # What a clause reports is done after its end as well.
    known = scene.needs_by[np.where(words + counts > 0, np.maximum(at - 1, 0), at)] * (at > 0)
    features = {
        "words": words,
        "told": scene.opener[at] * (words + counts),
        "alone": scene.opener_alone[at] * words,
        "other": scene.other[at] * words,
        "rival": scene.timed[at],
        "length": (scene.length[at] > 0) * words,
        "over": scene.over[at],
        "before_mark": scene.start[at] * words,
        "cut": (scene.gaps[at] < _CUT) * words,
        "mark": mark,
        "pause": _slow(scene.gaps[at + 1]),
        "ready": known,
        "early": scene.needs_by.max(initial=0.0) - scene.needs_by[at],
        "count": counts,
    }
    return _columns(features, BEGINS, len(moments))


def _ends(scene: Scene, moments: Sequence[Moment]) -> Numbers:
    at = _clauses(moments)
    goes_on = _row(one.goes_on for one in scene.said)[at]
    over, last = _is(moments, "over"), _is(moments, "end")
    features = {
        "next": scene.next[at],
        "next_alone": scene.next_alone[at],
        "timed": scene.timed[at],
        "own": scene.own[at] * (1 - goes_on),
        "own_goes_on": scene.own[at] * goes_on,
        "over": over,
        "length": scene.length[at] > 0,
        "result": scene.result[at],
        "result_pause": scene.result[at] * _slow(scene.gaps[at]),
        "afterwards": scene.afterwards[at],
        "cut": (scene.gaps[at] < _CUT) * (1 - last),
        "pause": _slow(scene.gaps[at]),
        "counted": scene.counting[at - 1] * (at > 0),
        "last": last,
    }
    signs = ("next", "timed", "own", "over", "length", "result", "counted", "last")
    features["chat"] = 1 - np.minimum(1.0, sum(np.asarray(features[sign], float) for sign in signs))
    return _columns(features, ENDS, len(moments))


def _between(scene: Scene, begins: Sequence[Moment], ends: Sequence[Moment]) -> Numbers:
    first, last = _clauses(begins), _clauses(ends)
    lasts = np.array([end.at - begin.at for begin, end in zip(begins, ends, strict=True)])
    share = np.log(np.maximum(lasts, 0.5) / scene.sought.seconds)
    counted = _sums(scene.counting, first, last)
    adjacent = (last == first + 1).astype(float)
    after = scene.own[last] * np.maximum(scene.afterwards[last], scene.over[last])
    silences = np.array(
        [scene.gaps[begin + 1 : end + 1].max(initial=0.0) for begin, end in zip(first, last, strict=True)]
    )
    features = dict(zip(INSIDE, scene.inside(first + 1, last), strict=True)) | {
        "short": np.minimum(0.0, share),
        "long": np.maximum(0.0, share),
        "enough": np.exp(-(((share - 0.05) / 0.1) ** 2)),
        "longest": (silences >= scene.longest - 1e-6) & (scene.longest > _LONG),
        "count": np.minimum(1.0, counted / 5),
        "count_cut": (counted > 0) & (counted < scene.counting.sum()),
        "as_said": np.maximum(_about(lasts, scene.length[first]), _about(lasts, scene.length[last])),
        "adjacent": adjacent,
        "told_after": adjacent * _is(begins, "end") * after,
        "told": np.maximum(scene.opener[first], scene.own[last]),
    }
    return _columns(features, CLOSED, len(begins))


def _going_on(scene: Scene, begins: Sequence[Moment]) -> Numbers:
    first = _clauses(begins)
    since = scene.now - np.array([moment.at for moment in begins])
    until = np.full(len(begins), len(scene.said))
    features = dict(zip(INSIDE, scene.inside(first + 1, until), strict=True)) | {
        "open": np.ones(len(begins)),
        "overdue": np.maximum(0.0, np.log(np.maximum(since, 0.5) / scene.sought.seconds)),
        "counting": np.full(len(begins), scene.said[-1].counting if scene.said else 0.0),
    }
    return _columns(features, OPEN, len(begins))


def _clauses(moments: Sequence[Moment]) -> Places:
    return np.array([moment.clause for moment in moments], np.int64)


def _columns(features: Mapping[str, NDArray[np.generic]], names: Sequence[str], count: int) -> Numbers:
    return (
        np.column_stack([features[name].astype(float) for name in names])
        if count
        else np.zeros((0, len(names)))
    )


def _row(values: Iterable[float]) -> Numbers:
    """A number for each clause, and 0 for the end of the attempt."""
    return np.array([*values, 0.0], float)


def _is(moments: Sequence[Moment], sign: str) -> Numbers:
    return np.array([moment.sign == sign for moment in moments], float)


def _most(chances: Mapping[str, float], steps: Collection[str]) -> float:
    return max((chances.get(step, 0.0) for step in steps), default=0.0)


def _scaled(chance: float) -> float:
    """The logarithm of a chance, from 0 for one in a thousand or less to 1 for certain."""
    return 1 + math.log10(max(chance, 1e-3)) / 3


def _slow(seconds: Numbers) -> Numbers:
    return np.asarray(np.log1p(seconds) / 3)


def _about(seconds: Numbers, said: Numbers) -> Numbers:
    """Where something lasts as long as was said, within a seventh."""
    return np.asarray((np.abs(np.log(np.maximum(seconds, 0.5) / np.maximum(said, 0.1))) < 0.15).astype(float))


def _sums(row: Numbers, first: Places, last: Places) -> Numbers:
    """Sums over the clauses from `first` up to `last`, which is none of them."""
    until = np.concatenate([[0.0], np.cumsum(row)])
    return np.asarray(until[np.maximum(first, last)] - until[first])

"""The spells that a timed step may have lasted, and what speaks for each of them.

A spell begins with the words of a clause, at a start mark in it or where it ends; it is over when a later
clause begins, or a mark in it that it is over; or it goes on still. Each is described by signs whose weights
are learned (`lasting.py`), so that no single one decides: a step that was not understood is still noticed
where all the rest fits.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from voicecoach.following import spell_signs as signs
from voicecoach.following.moments import Said, Sought, Spell, begins, ends
from voicecoach.following.spell_signs import BY_TIME, NAMES, Numbers, Scene

LATEST = 240
"""Clauses that are looked at; a longer attempt has long been settled before."""
_FARTHEST = 6.0
"""How much longer than needed a spell may be."""


def spells(
    said: Sequence[Said], sought: Sought, now: float, ended: bool, timely: bool = True
) -> tuple[list[Spell], Numbers]:
    """All spells that a step may have lasted by what was said until `now`, and the features of each.

    Where the attempt has `ended`, none goes on. Shape (spells, NAMES); the features BY_TIME are 0 where the
    times are not `timely`.
    """
    scene = Scene(said[-LATEST:], sought, now)
    first, last = begins(scene.said), ends(scene.said, now, ended)
    pairs = [
        (begin, end)
        for begin in first
        for end in last
        if begin.clause < end.clause and begin.at < end.at <= begin.at + _FARTHEST * sought.seconds
    ]
    found = [*(Spell(begin.at, end.at) for begin, end in pairs), Spell()]
    features = [signs.of_closed(scene, pairs), signs.of_none(scene)]
    if not ended:
        found = [*(Spell(begin.at) for begin in first), *found]
        features = [signs.of_open(scene, first), *features]
    table = np.concatenate(features)
    if not timely:
        table[:, [place for place, name in enumerate(NAMES) if name in BY_TIME]] = 0.0
    return found, table

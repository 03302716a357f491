"""The order in which steps were done, beside the right order that is nearest to it.

What nothing orders stays where the student put it, so that only what came too late or too early is elsewhere.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from voicecoach.coaching.debrief import Debrief
from voicecoach.procedure.model import Procedure
from voicecoach.procedure.order import Needs, needs

KEPT, DONE, BELONGS, MISSING = "kept", "done", "belongs", "missing"


@dataclass(frozen=True, slots=True)
class Row:
    """A step in one row of the two orders side by side."""

    step: str
    state: str
    """kept, where it was done in its place; else done, where it was done, and belongs, where it had to be;
    missing, where it had to be and was not done at all."""


@dataclass(frozen=True, slots=True)
class Moved:
    """A step that was done elsewhere than where it belongs."""

    step: str
    late: bool
    """True where it came too late, False where it came too early."""
    other: str
    """The step before which it belongs or, where it came too early, after which."""


@dataclass(frozen=True, slots=True)
class Compared:
    """Both orders."""

    rows: tuple[Row, ...]
    """From the first to the last. A step that was moved has two rows, all others have one."""
    moved: tuple[Moved, ...]
    """As they belong."""


def compared(procedure: Procedure, debrief: Debrief) -> Compared:
    """Both orders of an attempt at a procedure."""
    usual = [line.step for line in debrief.lines]
    when = {line.step: line.at for line in debrief.lines if line.at is not None}
    done = sorted(when, key=lambda step: when[step])
    table = needs(procedure)
    late = {required.step for required, _ in debrief.out_of_order}
    right, kept = _nearest(done, table, late)
    missing = [line.step for line in debrief.lines if line.needed and line.at is None]
    needed = _with_missing(right, missing, usual, table)
    pairs = {(required.step, step.step) for required, step in debrief.out_of_order}
    moved = tuple(_moved(step, done, right, pairs) for step in right if step not in kept)
    return Compared(_rows(done, needed, kept), moved)


def _nearest(done: Sequence[str], table: Needs, late: set[str]) -> tuple[list[str], set[str]]:
    """A right order of the steps done, and which of them need not be moved for it.

    Either what came too late moves up or what came too early moves down, whichever moves fewer.
    """
    wanted = {step: [need for need in done if need in table[step]] for step in done}
    wanting = {step: [other for other in done if step in wanted[other]] for step in done}
    up = _pulled(done, wanted)
    down = _pulled(done[::-1], {step: others[::-1] for step, others in wanting.items()})[::-1]
    options = [(order, _kept(done, order, late)) for order in (up, down)]
    return max(options, key=lambda option: len(option[1]))


def _pulled(order: Sequence[str], wanted: Mapping[str, Sequence[str]]) -> list[str]:
    """The order in which each step comes after all that it wants: what came later is pulled up to it."""
    placed: dict[str, None] = {}
    for first in order:
        stack = [first]
        while stack:
            ahead = [need for need in wanted[stack[-1]] if need not in placed and need not in stack]
            if ahead:
                stack.append(ahead[0])
            else:
                placed[stack.pop()] = None
    return list(placed)


def _kept(done: Sequence[str], right: Sequence[str], late: set[str]) -> set[str]:
    """The most steps that have the same order in both; of as many, those that were not late."""
    place = {step: number for number, step in enumerate(right)}
    best: list[tuple[tuple[int, int], tuple[str, ...]]] = []
    for number, step in enumerate(done):
        before = [best[other] for other in range(number) if place[done[other]] < place[step]]
        (length, punctual), chain = max(before, key=lambda one: one[0], default=((0, 0), ()))
        best.append(((length + 1, punctual + (step not in late)), (*chain, step)))
    return set(max(best, key=lambda one: one[0], default=((0, 0), ()))[1])


def _with_missing(
    right: Sequence[str], missing: Sequence[str], usual: Sequence[str], table: Needs
) -> list[str]:
    """The right order with what was left out: as usual, after all that it needs, before what needs it."""
    order = list(right)
    for step in missing:
        place = {other: number for number, other in enumerate(order)}
        earlier = usual[: usual.index(step)]
        after = next((other for other in reversed(earlier) if other in place), None)
        least = [place[other] + 1 for other in (*table[step], after) if other in place]
        most = min((place[other] for other in order if step in table[other]), default=len(order))
        order.insert(min(max(least, default=0), most), step)
    return order


def _moved(step: str, done: Sequence[str], right: Sequence[str], pairs: Collection[tuple[str, str]]) -> Moved:
    """How a step was moved: by what needs it or what it needs, where there is such a step, or by another."""
    was, now = set(done[: done.index(step)]), set(right[: right.index(step)])
    passed = [other for other in right if other in was and other not in now]
    if passed:
        needing = [other for other in passed if (step, other) in pairs]
        return Moved(step, True, (needing or passed)[0])
    left = [other for other in right if other in now and other not in was]
    needed = [other for other in left if (other, step) in pairs]
    return Moved(step, False, (needed or left)[-1])


def _rows(done: Sequence[str], needed: Sequence[str], kept: set[str]) -> tuple[Row, ...]:
    """Both orders in one: what was kept in one row, before it what only one of them has there."""
    rows: list[Row] = []
    left = list(done)
    for step in needed:
        if step not in kept:
            rows.append(Row(step, BELONGS if step in done else MISSING))
            continue
        while left[0] != step:
            rows.append(Row(left.pop(0), DONE))
        rows.append(Row(left.pop(0), KEPT))
    rows += [Row(step, DONE) for step in left]
    return tuple(rows)

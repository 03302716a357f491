"""What the rules of a class make different, as lines of text."""

from __future__ import annotations

from collections.abc import Iterator

from voicecoach.procedure.differences import Difference, differences
from voicecoach.procedure.library import Ruled
from voicecoach.procedure.loading import advice
from voicecoach.procedure.local_rules import Rules
from voicecoach.showing.marks import harmless


def lines(rules: Rules, ruled: tuple[Ruled, ...]) -> tuple[str, ...]:
    """All that rules change, procedure by procedure and step by step, with the reasons, and advice on it."""
    name = f"{harmless(rules.name)}: " if rules.name else ""
    made = [f"{name}{_many(len(rules.rules), 'rule')} for {_many(len(ruled), 'procedure')}, no fault"]
    for one in ruled:
        made += ["", f"{one.before.id}: {harmless(one.before.title)}"]
        made += _told(differences(one.before, one.after, rules.of(one.before.id)))
        known = advice(one.before)
        made += [f"  advice: {harmless(what)}" for what in advice(one.after) if what not in known]
    return tuple(made)


def _told(found: tuple[Difference, ...]) -> Iterator[str]:
    """A line for each difference; a reason that several in a row have stands once, below them."""
    for place, one in enumerate(found):
        yield f"  {one.where}: {harmless(one.what)}"
        following = found[place + 1] if place + 1 < len(found) else None
        if following is None or (following.where, following.because) != (one.where, one.because):
            yield f"      because: {harmless(one.because)}"


def _many(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"

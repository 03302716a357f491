"""What local rules make different in a procedure, in words for the teacher who wrote them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from voicecoach.procedure.local_rules import Rule
from voicecoach.procedure.model import Action, Procedure, Step
from voicecoach.procedure.ruling import effects
from voicecoach.procedure.text import Path

Flat = dict[Path, Any]
"""What stands at each path below an action."""
_MOST_TEXTS = 3
"""How many phrases are named where some come or go; the others are counted."""

_FLAGS: dict[Path, tuple[str, str]] = {
    ("critical",): ("critical now", "critical no longer"),
    ("first",): ("before all others now", "before all others no longer"),
    ("last",): ("after all others now", "after all others no longer"),
    ("when_ounces",): ("needed now where cups are marked in ounces", "not for cups in ounces any longer"),
    ("reading", "pair"): ("two numbers now", "one number now"),
    ("reading", "truth", "ounces"): ("cups in ounces in some cases now", "cups in ounces no longer"),
}
"""What is true or false, in words for both."""
_LABELS: dict[Path, str] = {
    ("do",): "what to do",
    ("again",): "the same action as",
    ("when",): "needed only where",
    ("side",): "on the side that is",
    ("time", "at_least"): "at least",
    ("time", "from"): "timed from",
    ("count", "of"): "counts",
    ("count", "for"): "counted for",
    ("reading", "quantity"): "reads",
    ("reading", "unit"): "in",
    ("reading", "scale"): "a mark every",
    ("reading", "between_marks"): "between marks",
    ("reading", "within"): "within",
    ("reading", "also"): "may be recorded in",
    ("reading", "sense"): "makes sense from",
    ("reading", "truth", "value"): "true value",
    ("reading", "truth", "grain"): "true value in steps of",
    ("reading", "truth", "at"): "found at",
    ("reading", "truth", "shown"): "found as",
    ("reading", "truth", "served_at"): "what was served is learned at",
    ("reading", "truth", "source"): "source of the true value",
    ("cue",): "what the coach says",
    ("cue", "nudge"): "nudge",
    ("cue", "hint"): "hint",
    ("cue", "step"): "instruction",
    ("remedy",): "mended by",
}
"""What else is called other than by its key."""
_SECONDS = {("time", "at_least"), ("count", "for")}
_IN_UNIT = {("reading", key) for key in ("scale", "within", "sense")} | {
    ("reading", "truth", key) for key in ("value", "grain")
}
_NAMES = {
    ("again",), ("side",), ("time", "from"), ("remedy",), ("reading", "unit"), ("reading", "between_marks"),
    ("reading", "truth", "at"), ("reading", "truth", "shown"), ("reading", "truth", "served_at"),
}  # fmt: skip
"""Texts that are names and stand without quotation marks."""


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that is different."""

    where: str
    """Id of the step or of what is to be avoided; `pass` or `case` for what is of the whole procedure."""
    what: str
    """What was and what is now."""
    because: str
    """The reason of the rule, or the reasons, from which it comes."""


def differences(before: Procedure, after: Procedure, rules: tuple[Rule, ...]) -> tuple[Difference, ...]:
    """What is different in a procedure after rules for it, step by step in the usual order."""
    found = [
        Difference(where, what, _because("", path, rules, before))
        for where, path, what in _whole(before, after)
    ]
    old, new = ({action.id: action for action in some.actions} for some in (before, after))
    for id in _order(list(old), list(new)):
        if id not in new:
            told: list[tuple[Path, str]] = [((), f"removed; it was: {_quoted(old[id].do)}")]
        elif id not in old:
            told = [((), _added(new[id], list(new)))]
        else:
            told = list(_changes(old[id], new[id]))
        found += [Difference(id, what, _because(id, path, rules, before)) for path, what in told]
    return tuple(found)


def _order(old: list[str], new: list[str]) -> list[str]:
    """The new order with what is gone behind what it was behind."""
    order = list(new)
    for place, id in enumerate(old):
        if id not in new:
            order.insert(order.index(old[place - 1]) + 1 if place else 0, id)
    return order


def _whole(before: Procedure, after: Procedure) -> Iterator[tuple[str, Path, str]]:
    """What is different in the procedure as a whole."""
    if before.pass_ != after.pass_:
        was, now = (f"{100 * some.pass_.share:g} %" for some in (before, after))
        yield "pass", ("pass", "share"), f"{was} -> {now} of the steps"
    for key, called in (("met", "resident"), ("met_weak", "weak side")):
        if (fixed := getattr(after, key)) != getattr(before, key):
            possible = before.residents if key == "met" else before.weak
            yield "case", (key,), f"{called} {' or '.join(possible)} -> always {fixed}"


def _added(action: Action, order: list[str]) -> str:
    """What a step that is new is."""
    place = order.index(action.id)
    parts = [f"new, {f'behind {order[place - 1]}' if place else 'at the beginning'}: {_quoted(action.do)}"]
    if isinstance(action, Step):
        parts += ["critical"] if action.critical else []
        parts += [f"needs {' and '.join(action.after)} first"] if action.after else []
    return "; ".join(parts)


def _changes(old: Action, new: Action) -> Iterator[tuple[Path, str]]:
    """What is different in one step or one thing to avoid, with its path."""
    was, now = _flat(old), _flat(new)
    for path in dict.fromkeys((*was, *now)):
        if was.get(path) == now.get(path):
            continue
        if path == ("say",):
            yield path, "; ".join(_phrases(was[path], now[path]))
        elif path == ("after",):
            yield path, "; ".join(_needs(was.get(path, ()), now.get(path, ())))
        elif path in _FLAGS:
            yield path, _FLAGS[path][not now.get(path)]
        else:
            yield path, _change(path, was, now)


def _change(path: Path, was: Flat, now: Flat) -> str:
    """What was and what is now at one path."""
    label = _LABELS.get(path, f"left of {path[-1]}" if "items" in path else " ".join(map(str, path)))
    before, after = _shown(path, was), _shown(path, now)
    if not before:
        return f"{label} {after} now"
    return f"{label} {before} -> {after}" if after else f"{label} {before} no longer"


def _shown(path: Path, flat: Flat) -> str:
    """What stands at a path, in words; empty where nothing does."""
    value = flat.get(path)
    if value is None:
        return ""
    of_reading = flat.get(("reading", "unit"))
    # Of a meal the shares of its dishes are left, of all else milliliters.
    unit = f" {of_reading}" if path in _IN_UNIT or ("items" in path and of_reading != "%") else ""
    if path[1:] == ("truth", "value") or "items" in path:
        least, most = ("/".join(f"{number:g}" for number in bound) for bound in value)
        return f"always {most}{unit}" if least == most else f"{least} to {most}{unit}"
    if path == ("reading", "sense"):
        return f"{value[0]:g} to {value[1]:g}{unit}"
    if isinstance(value, int | float):
        return f"{value:g}{' s' if path in _SECONDS else unit}"
    if isinstance(value, list):
        return " or ".join(map(str, value))
    return str(value) if path in _NAMES else _quoted(str(value))


def _flat(action: Action) -> Flat:
    """What stands at each path below an action, where anything does; lists are one thing, but for items."""
    flat: Flat = {}

    def walk(value: Any, path: Path) -> None:
        if isinstance(value, dict):
            for key, part in value.items():
                walk(part, (*path, key))
        elif path == ("reading", "truth", "items"):
            flat.update({(*path, item["of"]): [[bound] for bound in item["left"]] for item in value})
        elif value is not None and value is not False and value != []:
            flat[path] = value

    walk(action.model_dump(mode="json", by_alias=True), ())
    least, most = (flat.pop(("reading", "truth", bound), None) for bound in ("least", "most"))
    if least:
        flat["reading", "truth", "value"] = [least, most]
    return flat


def _phrases(old: Sequence[str], new: Sequence[str]) -> Iterator[str]:
    """Which phrases come and which go."""
    for start, some, others in (("may also be said:", new, old), ("is said no longer:", old, new)):
        texts = [text for text in some if text not in others]
        more = [f"{len(texts) - _MOST_TEXTS} more"] if len(texts) > _MOST_TEXTS else []
        if texts:
            yield f"{start} {', '.join([*map(_quoted, texts[:_MOST_TEXTS]), *more])}"


def _needs(old: Sequence[str], new: Sequence[str]) -> Iterator[str]:
    """Which steps are needed first now, and which no longer."""
    come, go = [id for id in new if id not in old], [id for id in old if id not in new]
    if come:
        yield f"needs {' and '.join(come)} first now"
    if go:
        yield f"needs {' and '.join(go)} first no longer"


def _because(target: str, path: Path, rules: tuple[Rule, ...], before: Procedure) -> str:
    """The reasons for a difference: those of the rules that set it, or of the step that is gone."""
    reasons = [
        rule.because
        for rule in rules
        for effect in effects(rule)
        if effect.target == target and _meet(effect.path, path)
    ]
    if not reasons:
        # Only what a step needs changes by what happens to others.
        removed = [rule for rule in rules if rule.kind == "remove"]
        needed = [rule for rule in removed if rule.about in before.step(target).after]
        reasons = [rule.because for rule in needed or removed]
    return " ".join(dict.fromkeys(reasons))


def _meet(one: Path, other: Path) -> bool:
    """Whether two paths lead to the same thing or one to a part of the other; bounds make the value."""
    bounds = {"least": "value", "most": "value"}
    one = tuple(bounds.get(str(key), key) for key in one) if "truth" in one else one
    shorter = min(len(one), len(other))
    return one[:shorter] == other[:shorter]


def _quoted(text: str) -> str:
    return f"“{text}”"

"""What local rules make of a procedure. The procedure itself stays as it is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from voicecoach.procedure import fixing
from voicecoach.procedure.loading import Faulty, Finding, check
from voicecoach.procedure.local_rules import LISTS, Rule, listed, nearest
from voicecoach.procedure.model import Procedure, Step
from voicecoach.procedure.removing import without
from voicecoach.procedure.text import Path

_PARTS = {
    "time": "at_least: 20 s",
    "count": "of: beats, for: 60 s",
    "reading": "within: 4",
    "cue": "hint: Look at her shoes.",
}
"""Keys of a step that have parts, and some of these to show how they are written."""
_REFERENCES = (
    ("again",),
    ("time", "from"),
    ("reading", "truth", "at"),
    ("reading", "truth", "served_at"),
    ("remedy",),
)
"""Where one step may be named by another, beside `after`."""


@dataclass(frozen=True, slots=True)
class Effect:
    """One thing that a rule sets."""

    key: Path
    """Where it stands in the rule."""
    target: str
    """Id of the step or of what is to be avoided; empty for the procedure itself."""
    path: Path
    """What of it: keys from the target down; empty where all of it comes or goes."""


def effects(rule: Rule) -> tuple[Effect, ...]:
    """All that a rule sets."""
    match rule.kind:
        case "change":
            return tuple(_of_change(rule))
        case "case":
            return tuple(_of_case(rule))
        case "pass":
            return (Effect(("pass",), "", ("pass", "share")),)
        case _:
            return (Effect((rule.kind,), rule.about, ()),)


def applied(procedure: Procedure, rules: tuple[Rule, ...], file: str) -> Procedure:
    """The procedure as rules for it have it. `file` is their name in findings.

    The order in which the rules stand does not matter, but for steps that are added at the same place.
    Faulty where one does not fit the procedure or another rule, changes nothing, or where what comes of
    them is no procedure in order.
    """
    after = procedure
    if not rules:
        return after
    found = [*_misfits(procedure, rules, file), *_conflicts(rules, file)]
    if not found:
        value, lines = _merged(procedure, rules)
        found = [*_dangling(value, lines, rules, file)]
    if not found:
        checked = check(value, lines, file)
        if isinstance(checked, Procedure):
            after = checked
            found = [*_idle(procedure, after, rules, file)]
        else:
            found = [_blamed(finding, procedure, rules) for finding in checked]
    if found:
        raise Faulty(tuple(sorted(found, key=lambda finding: finding.line)))
    return after


def _of_change(rule: Rule) -> Iterator[Effect]:
    for key, value in rule.given.items():
        if key in ("change", "because"):
            continue
        if key == "without":
            for dotted in listed(value):
                yield Effect((key,), rule.about, tuple(dotted.split(".")))
        elif key.startswith("also "):
            for text in listed(value):
                yield Effect((key,), rule.about, (key.removeprefix("also "), "also", text))
        else:
            yield from (Effect(path, rule.about, path) for path in _leaves(value, (key,)))


def _leaves(value: Any, path: Path) -> Iterator[Path]:
    """The paths of all below a place that is no mapping."""
    if isinstance(value, dict) and value:
        for key, part in value.items():
            yield from _leaves(part, (*path, str(key)))
    else:
        yield path


def _of_case(rule: Rule) -> Iterator[Effect]:
    for key, value in rule.given["case"].items():
        at = ("case", str(key))
        if key == "resident":
            yield Effect(at, "", ("met",))
        elif key == "weak":
            yield Effect(at, "", ("met_weak",))
        elif isinstance(value, dict):
            for item in value:
                yield Effect((*at, str(item)), str(key), ("reading", "truth", "items", str(item)))
        else:
            yield Effect(at, str(key), ("reading", "truth", "least"))
            yield Effect(at, str(key), ("reading", "truth", "most"))


def _misfits(procedure: Procedure, rules: tuple[Rule, ...], file: str) -> Iterator[Finding]:
    """Rules that name what is not there, or give a value where parts are expected."""
    actions = {action.id: action for action in procedure.actions}
    steps = [step.id for step in procedure.steps]
    for rule in rules:
        if rule.kind in ("change", "remove"):
            if rule.about not in actions:
                what = f"there is no step {rule.about!r}, {nearest(rule.about, tuple(actions))}"
                yield rule.finding(file, what, rule.kind)
            elif isinstance(actions[rule.about], Step):
                for key, parts in _PARTS.items():
                    if not isinstance(rule.given.get(key, {}), dict):
                        what = f"{key}: its parts are expected, such as `{key}: {{{parts}}}`"
                        yield rule.finding(file, what, key)
        elif rule.kind == "add":
            anchor = next(key for key in ("behind", "before") if key in rule.given)
            if rule.about in actions:
                yield rule.finding(
                    file, f"there is a step {rule.about!r} already, another id is expected", "add"
                )
            place = rule.given[anchor]
            if place not in steps:
                what = f"there is no step {place!r} so far, {nearest(place, tuple(steps))}"
                yield rule.finding(file, what, anchor)
            steps.append(rule.about)
        elif rule.kind == "case":
            for key, value in rule.given["case"].items():
                if what := fixing.misfit(procedure, key, value):
                    yield rule.finding(file, f"{key}: {what}", "case", str(key))


def _conflicts(rules: tuple[Rule, ...], file: str) -> Iterator[Finding]:
    """Rules that set what another sets already."""
    whole: dict[Path, Rule] = {}
    above: dict[Path, Rule] = {}
    for rule in rules:
        for effect in effects(rule):
            path = (effect.target, *effect.path)
            prefixes = [path[:length] for length in range(1, len(path))]
            other = above.get(path) or next(
                (whole[part] for part in (*prefixes, path) if part in whole), None
            )
            if other is None:
                whole[path] = rule
                above |= {part: rule for part in prefixes if part not in above}
            else:
                what = f"line {other.line} ({other}) speaks of the same, one of the two is expected"
                yield rule.finding(file, what, *effect.key)
                break


def _merged(procedure: Procedure, rules: tuple[Rule, ...]) -> tuple[dict[str, Any], dict[Path, int]]:
    """The procedure with the rules in it as plain values, and the lines of what comes from a rule."""
    gone = {rule.about for rule in rules if rule.kind == "remove"}
    value = without(procedure, gone).plain()
    actions = {action["id"]: action for action in (*value["steps"], *value.get("avoid", ()))}
    for rule in rules:
        if rule.kind == "change":
            actions[rule.about] = _changed(actions[rule.about], rule.given)
        elif rule.kind == "add":
            added = rule.given["add"]
            actions[rule.about] = added | {key: listed(added[key]) for key in LISTS if key in added}
        elif rule.kind == "pass":
            value["pass"] = {"share": rule.given["pass"]}
        elif rule.kind == "case":
            for key, fixed in rule.given["case"].items():
                if key in ("resident", "weak"):
                    value["met" if key == "resident" else "met_weak"] = fixed
                else:
                    actions[key] = fixing.fixed_step(actions[key], fixed)
    placed: dict[str, Path] = {}
    order = {"steps": _order(procedure, rules), "avoid": [avoid.id for avoid in procedure.avoid]}
    for group, ids in order.items():
        left = [id for id in ids if id not in gone]
        placed |= {id: (group, index) for index, id in enumerate(left)}
        value[group] = [actions[id] for id in left]
    return value, _lines(rules, placed, actions)


def _order(procedure: Procedure, rules: tuple[Rule, ...]) -> list[str]:
    """Ids of all steps in the usual order, with those added, and those removed still in their places."""
    order = [step.id for step in procedure.steps]
    last: dict[str, str] = {}
    for rule in rules:
        if rule.kind == "add" and "before" in rule.given:
            order.insert(order.index(rule.given["before"]), rule.about)
        elif rule.kind == "add":
            behind = rule.given["behind"]
            order.insert(order.index(last.get(behind, behind)) + 1, rule.about)
            last[behind] = rule.about
    return order


def _changed(action: dict[str, Any], given: Mapping[str, Any]) -> dict[str, Any]:
    """The plain values of an action with what a rule gives."""
    made = dict(action)
    for key, value in given.items():
        if key == "without":
            for dotted in listed(value):
                made = _less(made, dotted.split("."))
        elif key.startswith("also "):
            old = made.get(key.removeprefix("also "), [])
            made[key.removeprefix("also ")] = [*old, *(text for text in listed(value) if text not in old)]
        elif key in LISTS:
            made[key] = listed(value)
        elif key not in ("change", "because"):
            made[key] = _deep(made.get(key), value)
    return made


def _deep(old: Any, new: Any) -> Any:
    """The new value; of mappings the old one with what the new one gives."""
    if isinstance(old, dict) and isinstance(new, dict):
        return old | {key: _deep(old.get(key), value) for key, value in new.items()}
    return new


def _less(value: dict[str, Any], path: list[str]) -> dict[str, Any]:
    """A mapping without what is at a path below it."""
    key, *below = path
    if below and isinstance(value.get(key), dict):
        return value | {key: _less(value[key], below)}
    return {other: part for other, part in value.items() if other != key or below}


def _lines(
    rules: tuple[Rule, ...], placed: Mapping[str, Path], actions: Mapping[str, dict[str, Any]]
) -> dict[Path, int]:
    """The line of each path of a procedure that comes from a rule."""
    lines: dict[Path, int] = {}
    for rule in rules:
        if rule.kind == "pass":
            lines[("pass", "share")] = rule.lines["pass",]
        if rule.kind == "case":
            for effect in effects(rule):
                lines[(*placed.get(effect.target, ()), *effect.path[:3])] = rule.lines[effect.key]
        if rule.kind not in ("add", "change"):
            continue
        here = placed[rule.about]
        lines.setdefault(here, rule.line)
        for path, line in rule.lines.items():
            if rule.kind == "add" and path[:1] == ("add",):
                lines[(*here, *path[1:])] = line
            elif rule.kind == "change" and path and str(path[0]).startswith("also "):
                key = str(path[0]).removeprefix("also ")
                texts = [listed(rule.given[str(path[0])])[place] for place in path[1:]]
                at = [actions[rule.about][key].index(text) for text in texts]
                lines[(*here, key, *at)] = line
            elif rule.kind == "change" and path:
                lines[(*here, *path)] = line
    return lines


def _dangling(
    value: dict[str, Any], lines: Mapping[Path, int], rules: tuple[Rule, ...], file: str
) -> Iterator[Finding]:
    """Steps and things to avoid that still name a step that is gone."""
    gone = {rule.about: rule for rule in rules if rule.kind == "remove"}
    for group in ("steps", "avoid"):
        for index, action in enumerate(value[group]):
            named: list[tuple[Path, str]] = [
                (("after",), id) for id in action.get("after", ()) if isinstance(id, str)
            ]
            named += [(path, id) for path in _REFERENCES if isinstance(id := _at(action, path), str)]
            for path, id in named:
                if id not in gone:
                    continue
                key = ".".join(map(str, path))
                if line := lines.get((group, index, *path)):
                    rule = _rule_at(rules, line)
                    what = f"{key}: {id} is removed in line {gone[id].line}, another step is expected"
                    yield Finding(file, line, f"{rule.procedure}, {rule}", what)
                else:
                    what = (
                        f"`{key}` of {action['id']} names it; remove that too, or change it, `without: {key}`"
                    )
                    yield gone[id].finding(file, what)


def _at(plain: Any, path: Path) -> Any:
    """What stands at a path of plain values, for an item how much is left; None where nothing does."""
    for depth, part in enumerate(path):
        if isinstance(plain, dict):
            plain = plain.get(part)
        elif isinstance(plain, list) and path[depth - 1] == "items":
            plain = next((item["left"] for item in plain if item["of"] == part), None)
        else:
            return None
    return plain


def _blamed(finding: Finding, procedure: Procedure, rules: tuple[Rule, ...]) -> Finding:
    """A finding about the procedure as one about the rule from which it comes."""
    what = f"{finding.where}: {finding.what}"
    if finding.line == 1:
        return _culprit(finding, procedure, rules).finding(finding.file, what)
    rule = _rule_at(rules, finding.line)
    return Finding(finding.file, finding.line, f"{rule.procedure}, {rule}", what)


def _culprit(finding: Finding, procedure: Procedure, rules: tuple[Rule, ...]) -> Rule:
    """The rule with which something gets wrong that is in order without it and those after it."""
    right, wrong = 0, len(rules)
    while wrong - right > 1:
        half = (right + wrong) // 2
        checked = check(*_merged(procedure, rules[:half]), finding.file)
        there = () if isinstance(checked, Procedure) else checked
        if any((other.where, other.what) == (finding.where, finding.what) for other in there):
            wrong = half
        else:
            right = half
    return rules[wrong - 1]


def _rule_at(rules: tuple[Rule, ...], line: int) -> Rule:
    """The rule in which a line stands."""
    return next((rule for rule in reversed(rules) if rule.line <= line), rules[0])


def _idle(before: Procedure, after: Procedure, rules: tuple[Rule, ...], file: str) -> Iterator[Finding]:
    """What rules set that is so already."""
    old, new = _by_id(before), _by_id(after)
    for rule in rules:
        if rule.kind in ("add", "remove"):
            continue
        same: dict[Path, bool] = {}
        for effect in effects(rule):
            was, now = (_now(kept[effect.target], effect.path) for kept in (old, new))
            same[effect.key] = same.get(effect.key, True) and was == now
        for key, idle in same.items():
            if idle:
                yield rule.finding(
                    file, f"{'.'.join(map(str, key))}: this is so already, it changes nothing", *key
                )


def _by_id(procedure: Procedure) -> dict[str, Any]:
    """Plain values of the procedure, and of each action by its id; nothing is left out."""
    plain = procedure.model_dump(mode="json", by_alias=True)
    return {"": plain} | {action["id"]: action for action in (*plain["steps"], *plain["avoid"])}


def _now(plain: dict[str, Any], path: Path) -> Any:
    """What plain values have at the path of an effect."""
    if path[1:2] == ("also",) and path[0] in LISTS:
        return path[2] in plain[path[0]]
    return _at(plain, path)

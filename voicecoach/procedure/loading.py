"""Loading a procedure from YAML, with faults that say where they stand."""

from __future__ import annotations

import json
import math
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path as File
from typing import Any

import yaml
from pydantic import ValidationError

from voicecoach.errors import Complaint
from voicecoach.procedure.case import OUNCE, multiples
from voicecoach.procedure.model import Action, Procedure, Reading, Step, Truth
from voicecoach.procedure.order import Needs, cycle, needs
from voicecoach.procedure.text import Path, parse

LARGEST = 1_000_000
"""Bytes of the largest file that is read."""
ENOUGH_PHRASES = 10
"""Phrasings of a step below which `check` advises to add some."""
PLACES = ("resident", "weak", "strong", "room")
"""What may stand in braces in a scene."""

Fault = tuple[str, str]
"""A key, with those above it joined by points, and what is wrong there."""


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that checking a procedure file found."""

    file: str
    line: int
    """From 1."""
    where: str
    """The place, for a person: `steps.belt.after`."""
    what: str
    """What is wrong and what is expected."""

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.where}: {self.what}"


class Faulty(Complaint):
    """A procedure file cannot be used; its sentences are the findings."""

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        super().__init__("\n".join(map(str, findings)))
        self.findings = findings


def load(file: File) -> Procedure:
    """The procedure in a file. Complaint where it cannot be read, Faulty where it is not in order."""
    return read(text_of(file, "a procedure"), str(file))


def read(text: str, file: str) -> Procedure:
    """The procedure in a YAML text; `file` is the name used in findings. Faulty where not in order."""
    checked = check(*plain(text, file, "a mapping with id, title and steps"), file)
    if isinstance(checked, Procedure):
        return checked
    raise Faulty(checked)


def text_of(file: File, what: str) -> str:
    """The text of a file of `what`. Complaint where it cannot be read, Faulty where it is no text."""
    try:
        size = file.stat().st_size
        raw = file.read_bytes() if size <= LARGEST else b""
    except OSError as error:
        named = what.removeprefix("a ")
        raise Complaint(f"{file}: the {named} cannot be read ({error.strerror}); check the name.") from error
    if size > LARGEST:
        raise Complaint(
            f"{file}: {size} bytes is too large for {what}; at most {LARGEST} bytes are expected."
        )
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        what = "this is not UTF-8 text, save the file as UTF-8"
        raise Faulty((Finding(str(file), line, "text", what),)) from error


def plain(text: str, file: str, expected: str) -> tuple[dict[str, Any], dict[Path, int]]:
    """The mapping that a YAML text is, and the line of each path. Faulty where it is none as `expected`."""
    try:
        value, lines, wrong = parse(text)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line = mark.line + 1 if mark else 1
        problem = f"{error.problem or 'not YAML'}, correct YAML is expected"
        raise Faulty((Finding(file, line, "text", problem),)) from error
    except yaml.YAMLError as error:
        raise Faulty((Finding(file, 1, "text", f"{error}, correct YAML is expected"),)) from error
    except ValueError as error:  # a date or a number that is none
        raise Faulty((Finding(file, 1, "text", f"{error}, plain values are expected"),)) from error
    except RecursionError as error:
        what = "nested too deeply, fewer levels are expected"
        raise Faulty((Finding(file, 1, "text", what),)) from error
    if wrong:
        raise Faulty(tuple(Finding(file, line, *what.split(": ", 1)) for line, what in wrong))
    if not isinstance(value, dict):
        what = "nothing is there" if value is None else f"a {type(value).__name__} stands here"
        raise Faulty((Finding(file, 1, "top", f"{what}, {expected} is expected"),))
    return value, lines


def check(value: dict[str, Any], lines: dict[Path, int], file: str) -> Procedure | tuple[Finding, ...]:
    """The procedure of plain values, or what is wrong with it; line 1 where `lines` has no place."""
    try:
        procedure = Procedure.model_validate(value)
    except ValidationError as error:
        return _from_model(error, value, lines, file)
    return tuple(_cross_check(procedure, lines, file)) or procedure


def advice(procedure: Procedure) -> tuple[str, ...]:
    """What would make a correct procedure easier to follow, a sentence each."""
    return tuple(
        f"{step.id}: {len(step.say)} phrasings, {ENOUGH_PHRASES} that differ in kind are followed better"
        for step in procedure.steps
        if len(step.say) < ENOUGH_PHRASES
    )


def schema() -> str:
    """JSON Schema of a procedure file, for editors."""
    return json.dumps(Procedure.model_json_schema(by_alias=True), indent=2)


def _from_model(
    error: ValidationError, value: dict[str, Any], lines: dict[Path, int], file: str
) -> tuple[Finding, ...]:
    findings = []
    faults = error.errors(include_url=False)
    for fault in faults:
        path = fault["loc"]
        # Items that are faulty themselves are not counted: a list of such alone is not too short.
        if fault["type"] == "too_short" and any(_below(other["loc"], path) for other in faults):
            continue
        findings.append(Finding(file, _line(path, lines), _named(path, value), _expected(fault)))
    return tuple(findings)


def _line(path: Path, lines: dict[Path, int]) -> int:
    """The line of a path; where it does not stand in the file, that of what should hold it."""
    while path not in lines and path:
        path = path[:-1]
    return lines.get(path, 1)


def _below(path: Path, above: Path) -> bool:
    return len(path) > len(above) and path[: len(above)] == above


def _expected(fault: Any) -> str:
    """A pydantic fault in our words."""
    match fault["type"]:
        case "missing":
            return "it is missing, a value is expected"
        case "extra_forbidden":
            return "this key is not known, one of the keys in `voicecoach schema` is expected"
        case "string_pattern_mismatch":
            return f"{fault['input']!r} does not fit, text like {fault['ctx']['pattern']} is expected"
        case _:
            try:
                shown = json.dumps(fault["input"], default=str)
            except TypeError:  # a mapping whose keys are no text
                shown = repr(fault["input"])
            shown = shown if len(shown) <= 60 else shown[:57] + "..."
            return f"{shown} does not fit, {fault['msg'].removeprefix('Value error, ')}"


def _named(path: Path, value: Any) -> str:
    """A path for a person: steps are named by their id where they have one."""
    parts: list[str] = []
    here = value
    for part in path:
        try:
            here = here[part]
        except (KeyError, IndexError, TypeError):
            here = None
        if isinstance(part, int) and isinstance(here, dict) and isinstance(here.get("id"), str):
            parts.append(here["id"])
        else:
            parts.append(str(part + 1) if isinstance(part, int) else part)
    return ".".join(parts) or "top"


def _cross_check(procedure: Procedure, lines: dict[Path, int], file: str) -> Iterator[Finding]:
    """What no single field can show: ids, references, the order, phrases that two steps share."""
    known = [step.id for step in procedure.steps]
    counts = Counter([*known, *(avoid.id for avoid in procedure.avoid)])

    def finding(path: Path, where: str, what: str) -> Finding:
        return Finding(file, _line(path, lines), where, what)

    for group, index, action in _placed(procedure):
        if counts[action.id] > 1:
            what = "the id stands more than once, unique ids are expected"
            yield finding((group, index, "id"), f"{group}.{action.id}", what)
    for index, step in enumerate(procedure.steps):
        references = [("after", id) for id in step.after]
        references += [("again", step.again)] if step.again else []
        references += [("time", step.time.from_)] if step.time and step.time.from_ else []
        for key, id in references:
            if id not in known or id == step.id:
                what = f"there is no other step {id!r}, the id of another step is expected"
                yield finding(("steps", index, key), f"steps.{step.id}.{key}", what)
    for index, avoid in enumerate(procedure.avoid):
        if avoid.remedy is not None and avoid.remedy not in known:
            what = f"there is no step {avoid.remedy!r}, the id of a step is expected"
            yield finding(("avoid", index, "remedy"), f"avoid.{avoid.id}.remedy", what)
    for key in ("first", "last"):
        marked = [(index, step) for index, step in enumerate(procedure.steps) if getattr(step, key)]
        for index, step in marked[1:]:
            what = f"{marked[0][1].id} is {key} already, one step is expected"
            yield finding(("steps", index, key), f"steps.{step.id}.{key}", what)
    ring = cycle(needs(procedure))
    if ring:
        index = known.index(ring[0])
        what = f"these steps need each other: {' > '.join(ring)}, an order without a ring is expected"
        yield finding(("steps", index, "after"), f"steps.{ring[0]}.after", what)
    yield from _shared_phrases(procedure, lines, file)
    for what in _scene_faults(procedure):
        yield finding(("scene",), "scene", what)
    for index, step in enumerate(procedure.steps):
        for key, what in _case_faults(procedure, step):
            yield finding(("steps", index, *key.split(".")), f"steps.{step.id}.{key}", what)


def _shared_phrases(procedure: Procedure, lines: dict[Path, int], file: str) -> Iterator[Finding]:
    """Phrases that stand for two things, unless one is the other done again."""
    same = {step.id: step.again or step.id for step in procedure.steps}
    owner: dict[str, str] = {}
    for group, index, action in _placed(procedure):
        for place, phrase in enumerate(action.say):
            letters = "".join(c if c.isalnum() or c == "'" else " " for c in phrase.lower())
            other = owner.setdefault(" ".join(letters.split()), action.id)
            if same.get(other, other) != same.get(action.id, action.id):
                what = f"{phrase!r} stands under {other} too, a phrase of its own is expected"
                line = lines.get((group, index, "say", place), 1)
                yield Finding(file, line, f"{group}.{action.id}.say", what)


def _placed(procedure: Procedure) -> Iterator[tuple[str, int, Action]]:
    """All actions with the key and the index under which they stand in the file."""
    for group, actions in (("steps", procedure.steps), ("avoid", procedure.avoid)):
        for index, action in enumerate(actions):
            yield group, index, action


def _scene_faults(procedure: Procedure) -> Iterator[str]:
    """What in braces in the scene a case cannot tell."""
    for found in dict.fromkeys(re.findall(r"\{[^{}]*\}?|\}", procedure.scene)):
        name = found.strip("{}")
        if found != f"{{{name}}}" or name not in PLACES:
            known = ", ".join(f"{{{place}}}" for place in PLACES)
            yield f"{found!r} is not known, one of {known} is expected"
        elif name == "resident" and not procedure.residents:
            yield f"{found} stands here without `residents`, some residents are expected"
        elif name in ("weak", "strong") and not procedure.weak:
            yield f"{found} stands here without `weak`, the sides that may be weak are expected"


def _case_faults(procedure: Procedure, step: Step) -> Iterator[Fault]:
    """What keeps a case of a step from being drawn or told."""
    if step.side and not procedure.weak:
        yield "side", "it stands here without `weak`, the sides that may be weak are expected"
    if step.when_ounces:
        readings = [other.reading for other in procedure.steps if other.reading]
        if step.when is None:
            yield "when_ounces", "it stands here without `when`, the case in words is expected"
        if not any(reading.truth and reading.truth.ounces for reading in readings):
            yield "when_ounces", "no reading has a truth with `ounces`, one is expected"
    if step.reading is None:
        return
    if step.reading.sense and not step.reading.sense[0] < step.reading.sense[1]:
        yield "reading.sense", "the least is not below the most, two numbers in that order are expected"
    if truth := step.reading.truth:
        faults = (*_found_faults(procedure, step, truth), *_value_faults(step.reading, truth))
        yield from (
            (f"reading.truth.{key}", what) for key, what in (*faults, *_item_faults(step.reading, truth))
        )


def _found_faults(procedure: Procedure, step: Step, truth: Truth) -> Iterator[Fault]:
    """Steps at which a true value cannot be found."""
    table = needs(procedure)
    for key, id in (("at", truth.at), ("served_at", truth.served_at)):
        if id is None:
            continue
        if id not in table or id == step.id:
            yield key, f"there is no other step {id!r}, the id of another step is expected"
        elif step.id in _needed(table, id):
            yield key, f"{id} comes after {step.id}, a step that comes before it is expected"


def _needed(table: Needs, id: str) -> set[str]:
    """All that must come before a step, however many steps lie between."""
    found: set[str] = set()
    waiting = list(table.get(id, ()))
    while waiting:
        if (need := waiting.pop()) not in found:
            found.add(need)
            waiting.extend(table.get(need, ()))
    return found


def _value_faults(reading: Reading, truth: Truth) -> Iterator[Fault]:
    """Bounds between which no true value can be drawn."""
    count, wanted = (2, "two numbers are") if reading.pair else (1, "one number is")
    if truth.items:
        count, wanted = 0, "none beside items is"
    for key, bounds in (("least", truth.least), ("most", truth.most)):
        if len(bounds) != count:
            yield key, f"[{', '.join(f'{bound:g}' for bound in bounds)}] does not fit, {wanted} expected"
    for least, most in zip(truth.least, truth.most, strict=False):
        if not (math.isfinite(least) and math.isfinite(most) and least <= most):
            yield "least", f"{least:g} to {most:g} does not fit, two numbers in that order are expected"
        elif not multiples(least, most, truth.grain):
            yield "grain", f"no multiple of {truth.grain:g} lies from {least:g} to {most:g}, one is expected"


def _item_faults(reading: Reading, truth: Truth) -> Iterator[Fault]:
    """Items that are missing, or of which nothing can be left."""
    if bool(truth.items) != (truth.shown == "items"):
        where = "shown" if truth.items else "items"
        yield where, "`shown: items` and `items` belong together, both are expected or neither"
    if truth.ounces and not truth.items:
        yield "ounces", "it stands here without `items`, the cups that may be marked in ounces are expected"
    for item in truth.items:
        least, most = item.left
        top = 1.0 if item.kind == "dish" else item.holds
        if (item.kind == "dish") != (reading.unit == "%"):
            yield "items", f"{item.of}: a dish counts in %, and nothing else does"
        if not 0 <= least <= most <= top:
            what = f"left does not fit, two numbers in order from 0 to {top:g} are expected"
            yield "items", f"{item.of}: {what}"
            continue
        for grain in (truth.grain, OUNCE) if truth.ounces else (truth.grain,):
            if not multiples(least, most, grain):
                what = f"no multiple of {grain:g} lies from {least:g} to {most:g}, one is expected"
                yield "items", f"{item.of}: {what}"

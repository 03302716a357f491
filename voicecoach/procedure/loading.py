"""Loading a procedure from YAML, with faults that say where they stand."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path as File
from typing import Any

import yaml
from pydantic import ValidationError

from voicecoach.errors import Complaint
from voicecoach.procedure.model import Action, Procedure
from voicecoach.procedure.order import cycle, needs
from voicecoach.procedure.text import Path, parse

LARGEST = 1_000_000
"""Bytes of the largest file that is read."""
ENOUGH_PHRASES = 10
"""Phrasings of a step below which `check` advises to add some."""


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
    try:
        size = file.stat().st_size
        raw = file.read_bytes() if size <= LARGEST else b""
    except OSError as error:
        what = f"{file}: the procedure cannot be read ({error.strerror}); check the name."
        raise Complaint(what) from error
    if size > LARGEST:
        raise Complaint(
            f"{file}: {size} bytes is too large for a procedure; at most {LARGEST} bytes are expected."
        )
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        what = "this is not UTF-8 text, save the file as UTF-8"
        raise Faulty((Finding(str(file), line, "text", what),)) from error
    return read(text, str(file))


def read(text: str, file: str) -> Procedure:
    """The procedure in a YAML text; `file` is the name used in findings. Faulty where not in order."""
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
        raise Faulty((Finding(file, 1, "text", "nested too deeply, a procedure is expected"),)) from error
    if wrong:
        raise Faulty(tuple(Finding(file, line, *what.split(": ", 1)) for line, what in wrong))
    if not isinstance(value, dict):
        what = "nothing is there" if value is None else f"a {type(value).__name__} stands here"
        raise Faulty((Finding(file, 1, "top", f"{what}, a mapping with id, title and steps is expected"),))
    try:
        procedure = Procedure.model_validate(value)
    except ValidationError as error:
        raise Faulty(_from_model(error, value, lines, file)) from error
    findings = tuple(_cross_check(procedure, lines, file))
    if findings:
        raise Faulty(findings)
    return procedure


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
        known = path
        while known not in lines and known:
            known = known[:-1]
        findings.append(Finding(file, lines.get(known, 1), _named(path, value), _expected(fault)))
    return tuple(findings)


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
        return Finding(file, lines.get(path, 1), where, what)

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

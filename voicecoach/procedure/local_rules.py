"""Local rules: where a class departs from the procedures that come with voicecoach, and why.

A teacher writes them in one YAML file: under the id of a procedure stands a list of rules, each of which is
one of `change`, `remove`, `add`, `pass` and `case`, and gives its reason under `because`. What they make of a
procedure is in `ruling.py`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path as File
from typing import Any

from platformdirs import user_data_path
from rapidfuzz import process

from voicecoach.errors import Complaint
from voicecoach.procedure.loading import Faulty, Finding, plain, text_of
from voicecoach.procedure.model import Avoid, Step
from voicecoach.procedure.text import Path

RULES = "rules"
"""What a file of rules is called where it cannot be read."""
KINDS = ("change", "remove", "add", "pass", "case")
"""What a rule may be; this key says it."""
LISTS = ("say", "after")
"""Keys of a step that hold a list; a single word may stand there too, and `also` before them adds to it."""
PROCEDURE = frozenset({"id", "title", "scene", "steps"})
"""Keys at the top of a file that is a procedure."""
_ALSO = tuple(f"also {key}" for key in LISTS)
_CHANGEABLE = tuple(
    dict.fromkeys(
        field.alias or name
        for kind in (Step, Avoid)
        for name, field in kind.model_fields.items()
        if name != "id"
    )
)
_KEYS = {
    "change": (*_CHANGEABLE, *_ALSO, "without"),
    "remove": (),
    "add": ("behind", "before"),
    "pass": (),
    "case": (),
}
"""The keys that a rule of each kind may have, beside its own and `because`."""
LONGEST = 600
"""Letters of the longest reason."""
_TOP = "the id of a procedure with a list of rules under it"


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule: one thing that a class does in another way."""

    procedure: str
    """Id of the procedure."""
    kind: str
    """change, remove, add, pass or case."""
    about: str
    """Id of the step, or of what is to be avoided; empty for pass and case."""
    given: Mapping[str, Any]
    """All that stands in the rule, as plain values."""
    because: str
    """The reason, in the teacher's words."""
    lines: Mapping[Path, int]
    """The line of each key in it, from 1; that of the rule itself under the empty path."""

    @property
    def line(self) -> int:
        """Where it begins."""
        return self.lines[()]

    def __str__(self) -> str:
        return f"{self.kind} {self.about}".strip()

    def finding(self, file: str, what: str, *at: str | int) -> Finding:
        """A finding about the rule, or about the key in it that the path leads to."""
        known = at
        while known not in self.lines:
            known = known[:-1]
        return Finding(file, self.lines[known], f"{self.procedure}, {self}", what)


@dataclass(frozen=True, slots=True)
class Rules:
    """The rules of a class, as its file has them."""

    file: str
    """The file, for findings."""
    name: str
    """What the class is called; empty where the file does not say."""
    rules: tuple[Rule, ...]
    """In the file's order."""

    @property
    def procedures(self) -> tuple[str, ...]:
        """Ids of the procedures that they change, in the file's order."""
        return tuple(dict.fromkeys(rule.procedure for rule in self.rules))

    def of(self, procedure: str) -> tuple[Rule, ...]:
        """Those for the procedure of that id."""
        return tuple(rule for rule in self.rules if rule.procedure == procedure)


def file() -> File:
    """Where the copy of the rules in force is kept."""
    return user_data_path("voicecoach") / "rules.yaml"


def is_rules(file: File) -> bool:
    """Whether a file holds rules, not a procedure: a mapping with nothing that makes a procedure.

    False for what cannot be read either, so that loading it as a procedure says what is wrong.
    """
    try:
        value, _ = plain(text_of(file, RULES), str(file), _TOP)
    except Complaint:
        return False
    return bool(value) and not PROCEDURE & value.keys()


def read(text: str, file: str, known: tuple[str, ...]) -> Rules:
    """The rules in a YAML text, right in form; `known` are the ids of procedures that there are rules for.

    `file` is the name used in findings. Faulty where a rule is none; whether it fits its procedure is not
    looked at yet.
    """
    value, lines = plain(text, file, _TOP)
    found: list[Finding] = []
    rules: list[Rule] = []
    for procedure, listed in value.items():
        if procedure == "class":
            continue
        line = lines.get((str(procedure),), 1)
        if procedure not in known:
            what = f"there is no procedure of that id, {nearest(procedure, known)}"
            found.append(Finding(file, line, str(procedure), what))
        elif not isinstance(listed, list) or not listed:
            what = "a list of rules is expected, each beginning with `- ` and one of " + _one_of(KINDS)
            found.append(Finding(file, line, procedure, what))
        else:
            for index, given in enumerate(listed):
                rule, faults = _rule(procedure, index, given, lines, file)
                found += faults
                rules += [rule] if rule else []
    name = value.get("class", "")
    if isinstance(name, dict | list) or name is None:
        found.append(Finding(file, lines.get(("class",), 1), "class", "the name of the class is expected"))
    if not found and not rules:
        found.append(Finding(file, 1, "top", f"no rule is there, {_TOP} is expected"))
    if found:
        raise Faulty(tuple(found))
    return Rules(file, str(name), tuple(rules))


def nearest(wrong: object, known: tuple[str, ...]) -> str:
    """Of the names that there are, those nearest to one that is none, for the end of a finding."""
    near = [match for match, *_ in process.extract(str(wrong), known, limit=3)]
    return f"nearest are {', '.join(near)}" if near else "none is known here"


def _rule(
    procedure: str, index: int, given: Any, lines: Mapping[Path, int], file: str
) -> tuple[Rule | None, tuple[Finding, ...]]:
    """The rule in its place, None where it is none, and what is wrong with its form."""
    here = (procedure, index)
    kinds = [key for key in KINDS if key in given] if isinstance(given, dict) else []
    if len(kinds) != 1:
        what = f"{' and '.join(kinds)} stand here together, exactly" if kinds else "this is no rule,"
        what = f"{what} one of {_one_of(KINDS)} is expected"
        return None, (Finding(file, lines.get(here, 1), f"{procedure}, rule {index + 1}", what),)
    kind = kinds[0]
    about = given[kind].get("id") if kind == "add" and isinstance(given[kind], dict) else given[kind]
    named = about if isinstance(about, str) and kind not in ("pass", "case") else ""
    because = given.get("because")
    below = {(): lines.get(here, 1), **{path[2:]: line for path, line in _below(given, here, lines)}}
    rule = Rule(procedure, kind, named, given, because.strip() if isinstance(because, str) else "", below)
    return rule, tuple(
        rule.finding(file, what, *at) for at, what in (*_form_faults(rule), *_own_faults(rule))
    )


def _form_faults(rule: Rule) -> Iterator[tuple[Path, str]]:
    """What is wrong with the form of a rule of any kind, and with which key of it."""
    kind, given = rule.kind, rule.given
    keys = _KEYS[kind]
    for key in given:
        if key not in (kind, "because", *keys):
            yield (
                (str(key),),
                f"the key {key!r} is not known beside `{kind}`, {nearest(key, (*keys, 'because'))}",
            )
        elif given[key] is None and key != "because":
            more = f", or `without: {key}` to take it away" if key in keys and kind == "change" else ""
            yield (key,), f"{key}: nothing stands here, a value is expected{more}"
    if not rule.because:
        yield ("because",), "the reason is missing, `because: ...` is expected"
    elif len(rule.because) > LONGEST:
        yield ("because",), f"the reason is too long, at most {LONGEST} letters are expected"
    if kind in ("change", "remove") and not rule.about and given[kind] is not None:
        yield (kind,), f"{kind}: the id of a step is expected"


def _own_faults(rule: Rule) -> Iterator[tuple[Path, str]]:
    """What rules of one kind alone can have wrong."""
    given = rule.given
    match rule.kind:
        case "change":
            yield from _change_faults(given)
        case "add":
            if not isinstance(given["add"], dict) or not rule.about:
                yield (
                    ("add",),
                    "add: a step is expected, `{id: ..., do: ..., why: ..., cue: ..., say: [...]}`",
                )
            anchors = [key for key in ("behind", "before") if key in given]
            if len(anchors) != 1 or not isinstance(given[anchors[0]], str):
                what = "one of `behind` and `before` with the id of a step is expected"
                yield (), f"{what}, for its place in the usual order"
        case "pass":
            if isinstance(given["pass"], bool) or not isinstance(given["pass"], int | float):
                yield ("pass",), "pass: the share of the steps that must be done is expected, such as 0.9"
        case "case":
            if not isinstance(given["case"], dict) or not given["case"]:
                what = (
                    "case: `resident`, `weak` or the id of a reading's step is expected, each with its value"
                )
                yield ("case",), what


def _change_faults(given: Mapping[str, Any]) -> Iterator[tuple[Path, str]]:
    """What a rule that changes a step can have wrong."""
    if given.keys() <= {"change", "because"}:
        yield (), "it does not say what changes, a key of the step is expected, such as `critical: false`"
    for key in (*LISTS, *_ALSO, "without"):
        texts = listed(given.get(key, []))
        if texts is not None and not (
            isinstance(texts, list) and all(isinstance(text, str) for text in texts)
        ):
            yield (key,), f"{key}: a list of texts is expected, such as `[one, two]`"
    for key in LISTS:
        if key in given and f"also {key}" in given:
            what = f"`{key}` takes the place of all and `also {key}` adds to them, one of them is expected"
            yield (f"also {key}",), what


def listed(value: Any) -> Any:
    """A single word as a list of it; anything else as it is."""
    return [value] if isinstance(value, str) else value


def _below(value: Any, path: Path, lines: Mapping[Path, int]) -> Iterator[tuple[Path, int]]:
    """The line of all that stands below a place."""
    if isinstance(value, dict):
        inner: list[tuple[str | int, Any]] = [(str(key), part) for key, part in value.items()]
    else:
        inner = list(enumerate(value)) if isinstance(value, list) else []
    for key, part in inner:
        if (*path, key) in lines:
            yield (*path, key), lines[(*path, key)]
        yield from _below(part, (*path, key), lines)


def _one_of(words: tuple[str, ...]) -> str:
    return f"{', '.join(words[:-1])} and {words[-1]}"

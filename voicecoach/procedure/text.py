"""Where in a YAML text things stand, so that a fault can name its line."""

from __future__ import annotations

import re
from contextlib import suppress
from typing import Any

import yaml

Path = tuple[str | int, ...]
"""Keys and indexes from the top of the document."""
LOADER: type[yaml.SafeLoader] = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
"""The safe loader, of libyaml where there is one, which is twenty times as fast."""
_ODD = re.compile("[\t\x85\u2028\u2029\ufeff]")
"""Blanks that the two loaders take in different ways."""
_DEEPEST = 100
"""Levels of the deepest text that is read; a procedure has five."""


def parse(text: str) -> tuple[Any, dict[Path, int], list[tuple[int, str]]]:
    """The plain value of a YAML text, the line (from 1) of each path, and what is wrong with its keys.

    The safe loader's own types only. Aliases are wrong: they could make a small file enormous, so
    nothing is read on where one stands. Raises yaml.YAMLError for what is no YAML, and RecursionError
    for what is nested too deeply.
    """
    if not _ODD.search(text):
        # Where something is wrong, the other loader says so more plainly.
        with suppress(yaml.YAMLError, ValueError):
            return _parse(text, LOADER)
    return _parse(text, yaml.SafeLoader)


def _parse(text: str, kind: type[yaml.SafeLoader]) -> tuple[Any, dict[Path, int], list[tuple[int, str]]]:
    # Every alias is written with this sign, so that mostly nobody has to look for them.
    events = yaml.parse(text, Loader=kind) if "*" in text else ()
    aliases = [event for event in events if isinstance(event, yaml.AliasEvent)]
    if aliases:
        what = "text: an alias (*) stands here, the value written out is expected"
        marks = [alias.start_mark for alias in aliases]
        return None, {}, [(mark.line + 1 if mark else 1, what) for mark in marks]
    lines: dict[Path, int] = {}
    wrong: list[tuple[int, str]] = []
    loader = kind(text)
    try:
        node = loader.get_single_node()
        if node is not None:
            _walk(node, (), lines, wrong)
        value = None if node is None or wrong else loader.construct_document(node)
    finally:
        loader.dispose()
    return value, lines, wrong


def _walk(node: yaml.Node, path: Path, lines: dict[Path, int], wrong: list[tuple[int, str]]) -> None:
    """Note the line of a node and of all below it, and keys that stand twice."""
    if len(path) > _DEEPEST:
        raise RecursionError
    lines.setdefault(path, node.start_mark.line + 1)
    if isinstance(node, yaml.MappingNode):
        seen: set[str] = set()
        for key, value in node.value:
            line = key.start_mark.line + 1
            if not isinstance(key, yaml.ScalarNode):
                wrong.append((line, f"{_dotted(path) or 'top'}: this is no key, a plain word is expected"))
                continue
            if key.value in seen:
                wrong.append((line, f"{_dotted((*path, key.value))}: the key stands twice, once is expected"))
            seen.add(key.value)
            lines[(*path, key.value)] = line
            _walk(value, (*path, key.value), lines, wrong)
    elif isinstance(node, yaml.SequenceNode):
        for index, value in enumerate(node.value):
            _walk(value, (*path, index), lines, wrong)


def _dotted(path: Path) -> str:
    return ".".join(str(part) for part in path)

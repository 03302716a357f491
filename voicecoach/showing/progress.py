"""Progress in the terminal: all procedures in a table, or one with its steps."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from voicecoach.coaching.wording import CAUTION
from voicecoach.records.progress import Progress
from voicecoach.showing import progress_words as words
from voicecoach.showing.marks import harmless

Column = tuple[str, bool]
"""A heading, and whether its cells stand at the right and are never broken."""


def overview(found: Sequence[Progress]) -> RenderableType:
    """The progress in each procedure that was tried; reads well from 80 columns on."""
    table = grid(("procedure", False), ("passed", True), ("lately, alone", True), ("", True))
    for one in found:
        cells = (words.counted(one.passed), words.share(one.lately), words.CHANGES[one.change])
        table.add_row(Text(harmless(one.title)), *cells)
    left_out = sum(one.left_out for one in found)
    notes = [*words.OF_PROGRESS]
    if left_out:
        notes.insert(0, f"{words.count(left_out, 'attempt')} broken off or not understood do not count.")
    return Group(Text(), heading("Progress"), Text(), table, *ending(notes))


def detail(one: Progress) -> RenderableType:
    """The progress in one procedure, with its steps; reads well from 80 columns on."""
    table = grid(
        ("step", False), ("done", True), ("in order", True), ("no cue", True), ("right", True), ("good", True)
    )
    for number, step in enumerate(one.steps, 1):
        shares = (step.done, step.in_order, step.unprompted, step.right)
        do = f"{number} {harmless(step.do)}{' (critical)' if step.critical else ''}"
        table.add_row(Text(do), *map(words.times, shares), words.share(step.good))
    parts: list[RenderableType] = [Text(), heading(one.title), item(words.attempts(one))]
    if one.tries:
        parts.append(item(f"Passed: {words.counted(one.passed)}; alone: {words.counted(one.passed_alone)}."))
        parts.append(
            item(f"Passed lately, alone: {words.share(one.lately)}. {words.CHANGES[one.change]}".rstrip())
        )
    parts += [Text(), table] if one.steps else []
    timed = [f"{step.do}: {words.seconds(step.timing)}." for step in one.steps if step.timing]
    if timed:
        parts += [Text(), heading("Times"), *map(item, timed)]
    return Group(*parts, *ending(words.OF_PROGRESS))


def grid(*columns: Column) -> Table:
    """A table with these columns."""
    table = Table(box=None, padding=(0, 2, 0, 0), show_edge=False, header_style="dim")
    for name, number in columns:
        table.add_column(name, justify="right" if number else "left", no_wrap=number)
    return table


def heading(text: str) -> Text:
    """A line that stands out."""
    return Text(harmless(text), "bold")


def item(text: str, style: str = "") -> RenderableType:
    """An indented paragraph."""
    return Padding(Text(harmless(text), style), (0, 0, 0, 2), expand=False)


def ending(notes: Sequence[str]) -> list[RenderableType]:
    """How it is computed, and the caution."""
    return [
        Text(),
        *(Padding(Text(note, "dim"), (0, 0, 0, 2), expand=False) for note in notes),
        Text(),
        item(CAUTION),
    ]

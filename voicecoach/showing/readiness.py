"""Readiness in the terminal: the chance, what it is made of, and what would raise it most."""

from __future__ import annotations

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from voicecoach.records.readiness import Readiness
from voicecoach.showing import progress_words as words
from voicecoach.showing.marks import harmless
from voicecoach.showing.progress import ending, grid, heading, item


def page(found: Readiness) -> RenderableType:
    """How ready a student is; reads well from 80 columns on."""
    parts: list[RenderableType] = [Text(), heading("Readiness"), item(words.test(found)), Text()]
    parts.append(item(words.verdict(found), "bold"))
    if told := words.untried(found):
        parts += [Text(), item(told)]
    table = grid(("procedure", False), ("alone", True), ("chance", True), ("range", True), ("if sure", True))
    for one in found.procedures:
        cells = (words.alone(one), words.chance(one.chance), words.between(one.chance.low, one.chance.high))
        table.add_row(Text(harmless(one.title)), *cells, f"+{words.points(one.gain)}")
    parts += [Text(), table]
    if lowering := words.lowering(found):
        ranked = Table.grid(padding=(0, 1, 0, 0))
        for number, (what, why) in enumerate(lowering, 1):
            ranked.add_row(Text(f"  {number}"), Text(harmless(f"{what}. {why}")))
        parts += [Text(), heading("What would raise it most"), ranked]
    return Group(*parts, *ending(words.OF_READINESS))

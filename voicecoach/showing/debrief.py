"""The debrief in the terminal: the verdict first, then why, then what to work on, then everything."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from voicecoach.coaching.debrief import Debrief, Line
from voicecoach.coaching.not_right import Recorded
from voicecoach.showing.marks import DONE, MISSED, OPEN, clock, harmless


def show(debrief: Debrief, console: Console) -> None:
    """Print a debrief."""
    console.print(page(debrief))


def page(debrief: Debrief) -> RenderableType:
    """A debrief as it is printed; reads well from 80 columns on."""
    verdict, style = _verdict(debrief)
    parts: list[RenderableType] = [
        Text(),
        Text(harmless(f"{debrief.title} ({debrief.mode})"), "bold"),
        Text(),
        Text(f"  {verdict}", style),
        _item(debrief.why),
    ]
    if not debrief.complete:
        parts.append(_item("The attempt was broken off; this is about what was heard until then."))
    missed = [f"{line.do}{' (critical)' if line.critical else ''}" for line in debrief.missed]
    swapped = [f"{step.do}: this came before “{required.do}”" for required, step in debrief.out_of_order]
    parts += _section("Missed" if debrief.judged else "Not heard", missed, MISSED if debrief.judged else OPEN)
    parts += _section("Out of order", swapped, MISSED)
    parts += _section("Mishaps", debrief.mishaps, MISSED)
    parts += _section("Not right", [f"{line.do}: {' '.join(line.wrong)}" for line in debrief.wrong], MISSED)
    parts += _section("Names", debrief.wrong_names, MISSED)
    parts += _readings(debrief.readings)
    parts += _section("Counting", debrief.counting, OPEN)
    parts += [Text(), Text("All steps", "bold"), _steps(debrief), Text(), _item(debrief.caution)]
    # Once more, since the beginning has left a small terminal by now.
    parts += [Text(), Text(f"  {verdict}", style)]
    return Group(*parts)


def _section(title: str, items: list[str] | tuple[str, ...], mark: str) -> list[RenderableType]:
    """A heading and its items; nothing where there are none."""
    if not items:
        return []
    return [Text(), Text(title, "bold"), *(_item(f"{mark} {item}", hanging=True) for item in items)]


def _readings(readings: Sequence[Recorded]) -> list[RenderableType]:
    """What was recorded, and how it compares with the case."""
    marks = {"right": DONE, "": DONE, "not scored": OPEN, "unrounded": OPEN, "wrong": MISSED}
    parts: list[RenderableType] = [Text(), Text("Readings", "bold")] if readings else []
    for reading in readings:
        parts.append(_item(f"{marks[reading.verdict]} {reading.text}. {reading.why}".rstrip(), hanging=True))
    return parts


def _item(text: str, hanging: bool = False) -> RenderableType:
    """An indented paragraph; `hanging` sets its mark apart."""
    if not hanging:
        return Padding(Text(harmless(text)), (0, 0, 0, 2), expand=False)
    mark, _, words = harmless(text).partition(" ")
    grid = Table.grid(padding=(0, 1, 0, 0))
    grid.add_row(Text(f"  {mark}"), Text(words))
    return grid


def _verdict(debrief: Debrief) -> tuple[str, str]:
    """The verdict and its style."""
    if debrief.passed:
        return f"{DONE} PASSED", "bold green"
    return (f"{MISSED} NOT PASSED", "bold red") if debrief.judged else (f"{OPEN} NOT JUDGED", "bold yellow")


def _steps(debrief: Debrief) -> RenderableType:
    table = Table(box=None, padding=(0, 1), show_edge=False, header_style="dim")
    table.add_column("")
    table.add_column("at", justify="right", no_wrap=True)
    table.add_column("took", justify="right", no_wrap=True)
    table.add_column("step")
    for line in debrief.lines:
        words = harmless(line.do) + (" (after a cue)" if line.prompted else "")
        table.add_row(
            _mark(line, debrief.judged),
            Text(clock(line.at) if line.at is not None else ""),
            Text(_took(line)),
            Text(words),
        )
    return table


def _mark(line: Line, judged: bool) -> Text:
    if line.at is not None and line.wrong:
        return Text(f"{MISSED} not right", "bold red")
    if line.at is not None:
        return Text(f"{DONE} done", "green")
    if line.needed and not judged:
        return Text(f"{OPEN} not heard", "yellow")
    return Text(f"{MISSED} missed", "bold red") if line.needed else Text(f"{OPEN} not needed")


def _took(line: Line) -> str:
    """How long a step lasted, and how long it must where that is known."""
    if line.at is None or line.seconds is None:
        return ""
    if line.needed_seconds is None:
        return f"{line.seconds:.0f} s"
    return f"{line.seconds:.0f} s of {line.needed_seconds:.0f} s"

"""A running attempt on the whole terminal: big and calm, to be read from two metres away."""

from __future__ import annotations

from types import TracebackType

from rich import box
from rich.console import Console, Group, RenderableType
from rich.live import Live
from rich.padding import Padding
from rich.panel import Panel
from rich.table import Table
from rich.text import Text

from voicecoach.events import Event
from voicecoach.showing.checklist import Checklist, Row
from voicecoach.showing.marks import DONE, MISSED, OPEN, clock, harmless

_A_SECOND = 8
"""How often the screen is drawn anew."""
_MARKS = {"done": (DONE, "done", "green"), "missed": (MISSED, "missed", "bold red"), "open": (OPEN, "", "")}
_WORD = len(" · critical")


class Terminal:
    """Draws an attempt on the whole terminal while its context is entered."""

    def __init__(self, console: Console) -> None:
        self._console = console
        self._checklist = Checklist()
        self._at = 0.0
        self._partial = ""
        self._notice = ""
        self._live = Live(
            get_renderable=self._drawn, console=console, screen=True, refresh_per_second=_A_SECOND
        )

    def __enter__(self) -> Terminal:
        self._live.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._live.stop()

    def show(self, event: Event) -> None:
        """Something happened; it is seen at once."""
        self._checklist.take(event)
        self._live.refresh()

    def listen(self, at: float, partial: str) -> None:
        """The audio clock has moved, and perhaps somebody speaks."""
        self._at, self._partial = at, partial

    def notice(self, what: str) -> None:
        """A sentence that is not about the procedure; it stays."""
        self._notice = what
        self._live.refresh()

    def _drawn(self) -> RenderableType:
        return screen(self._checklist, self._at, self._partial, self._notice, *self._console.size)


def screen(
    checklist: Checklist, at: float, partial: str, notice: str, width: int, height: int
) -> RenderableType:
    """The whole screen, of `width` columns and `height` lines; a pure function of what is known."""
    done, all_steps = checklist.count
    head = Table.grid(expand=True)
    head.add_column(ratio=1, no_wrap=True, overflow="ellipsis")
    head.add_column(justify="right", no_wrap=True)
    head.add_row(
        Text(f" {checklist.title}", "bold"),
        Text(f" {checklist.mode} · {done} of {all_steps} done · {clock(at)} ", "bold"),
    )
    parts: list[RenderableType] = [head, _state(checklist, at, width)]
    parts.append(_one_line(f"   heard: {partial or checklist.heard}", width, "italic" if partial else ""))
    left = height - len(parts)
    if notice:
        words = Text(f" {MISSED} {harmless(notice)}", "bold")
        parts.append(words)
        left -= len(words.wrap(Console(width=width), width))
    if checklist.cue:
        panel, lines = _cue(checklist.cue, width, high=left >= 22)
        parts.append(panel)
        left -= lines
    else:
        parts.append(Text())
        left -= 1
    if done or not checklist.scene:
        parts.append(_rows(checklist.rows(), width, left, airy=2 * all_steps <= left))
    else:
        parts.append(_scene(checklist))
    return Group(*parts)


def _scene(checklist: Checklist) -> RenderableType:
    """What to read before the first step."""
    cautions = [Text(f"\n{MISSED} {caution}") for caution in checklist.cautions]
    return Padding(Group(Text(checklist.scene, "bold"), *cautions), (1, 3))


def _state(checklist: Checklist, at: float, width: int) -> Text:
    """What the coach is doing, as a bar across the screen: the one thing to see from afar."""
    state, style = "● LISTENING", "cyan"
    if checklist.ended:
        state, style = "■ THE END", "white"
    elif checklist.coach_speaks:
        state, style = "◆ THE COACH SPEAKS", "magenta"
    elif checklist.deaf:
        state, style = f"{MISSED} NO SOUND COMES IN", "red"
    elif checklist.paused:
        state, style = "‖ PAUSED: say “coach, go on”", "yellow"
    if found := checklist.found(at):
        state = f"{state} · {found}"
    return Text(f" {state}".ljust(width)[:width], f"bold reverse {style}", no_wrap=True)


def _one_line(text: str, width: int, style: str) -> Text:
    """The end of a text, as much as one line holds: what was said last matters most."""
    return Text(text if len(text) < width else f"   … {text[-(width - 6) :]}", style, no_wrap=True)


def _cue(cue: str, width: int, high: bool) -> tuple[RenderableType, int]:
    """The coach's words in a panel, and how many lines it has."""
    padding = (1 if high else 0, 2)
    words = Text(cue, "bold", justify="center")
    lines = len(words.wrap(Console(width=width), width - 6))
    panel = Panel(words, title="Coach", box=box.HEAVY, padding=padding, border_style="magenta")
    return panel, lines + 2 + 2 * padding[0]


def _rows(rows: tuple[Row, ...], width: int, lines: int, airy: bool) -> RenderableType:
    """As much of the checklist as fits, about the place where the student stands."""
    first, last = _window(rows, lines)
    table = Table.grid(padding=(0, 1))
    table.add_column(min_width=_WORD, no_wrap=True)
    table.add_column(no_wrap=True, overflow="ellipsis", max_width=max(10, width - _WORD - 2))
    for row in rows[first:last]:
        mark, word, style = _MARKS[row.state]
        if row.state == "open" and row.critical:
            word = "critical"
        table.add_row(Text(f" {mark} {word}", style), Text(row.text, style))
        if airy:
            table.add_row()
    return table


def _window(rows: tuple[Row, ...], lines: int) -> tuple[int, int]:
    """Which rows to show where not all fit: the last one done stands in the middle."""
    if len(rows) <= lines:
        return 0, len(rows)
    stands = max((index for index, row in enumerate(rows) if row.state == "done"), default=0)
    first = min(max(0, stands - lines // 2), len(rows) - lines)
    return first, first + max(lines, 0)

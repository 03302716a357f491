"""The microphone check in the terminal: the devices, a level that moves, and what was found."""

from __future__ import annotations

import re
from collections.abc import Iterator
from types import TracebackType

from rich.console import Console, Group, RenderableType
from rich.live import Live
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from voicecoach.mic import PHRASE, Checked, Equipment
from voicecoach.showing.marks import DONE, MISSED, OPEN, harmless
from voicecoach.showing.mic_advice import WORDS, Part, Problem, problems
from voicecoach.sound.check import Noise
from voicecoach.sound.devices import Device, Devices
from voicecoach.sound.levels import QUIETEST

_A_SECOND = 15
"""How often the level is drawn anew."""
_SCALE = 60
"""Decibels that it shows, from full scale down."""
_FALLS = 1.0
"""Decibels by which it falls with each block at most, so that the eye can follow."""
_TOO_LOUD = -9.0
"""Level in dBFS of a block of speech whose peaks meet the end of the scale; common practice, no source."""
_BAR = 40
_GAP = "…"
"""What stands for words that were not understood."""


class Meter:
    """Shows what is asked for, and in a terminal also the level, while its context is entered."""

    def __init__(self, console: Console) -> None:
        self._level = QUIETEST
        self._left = 0.0
        # In a pipe, what is transient is not printed.
        self._live = Live(
            get_renderable=self._drawn, console=console, transient=True, refresh_per_second=_A_SECOND
        )

    def __enter__(self) -> Meter:
        self._live.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._live.stop()

    def ask(self, what: str) -> None:
        """Ask the user for something."""
        self._left = 0.0
        self._live.console.print(Text(f"\n{what}", "bold"))

    def level(self, dbfs: float, left: float) -> None:
        """Sound of a level has come in; it is listened to for so many seconds more."""
        self._level, self._left = max(dbfs, self._level - _FALLS), left

    def _drawn(self) -> RenderableType:
        return meter(self._level, self._left) if self._left else Text()


def meter(dbfs: float, left: float) -> Text:
    """A level as a bar, and for how many seconds it is still listened to."""
    filled = round(_BAR * min(max(1 + dbfs / _SCALE, 0.0), 1.0))
    style = "red" if dbfs > _TOO_LOUD else "green"
    return Text.assemble(
        f"  {left:2.0f} s  ", ("█" * filled, style), ("░" * (_BAR - filled), "dim"), f" {dbfs:4.0f} dBFS"
    )


def equipment_page(equipment: Equipment) -> RenderableType:
    """The devices that are used, and those there are besides."""
    grid = _grid()
    for name, found in (("Microphone", equipment.microphones), ("Loudspeaker", equipment.loudspeakers)):
        for row, line in enumerate(_devices(found)):
            grid.add_row(Text("" if row else f"  {name}"), line)
    hint = Text("  Another one is chosen in the sound settings of this machine.")
    return Group(Text("Microphone check\n", "bold"), grid, hint)


def checked_page(checked: Checked) -> RenderableType:
    """What was found, the verdict, and what to do; reads well from 80 columns on."""
    found = problems(checked)
    grid = _grid()
    for part, words, heard in _rows(checked):
        faulty = any(problem.about == part for problem in found)
        mark, style = (MISSED, "bold red") if faulty else (DONE, "green") if heard else (OPEN, "")
        grid.add_row(Text(f"  {mark} {part}", style), Text(harmless(words)))
    parts: list[RenderableType] = [Text(), grid, Text(), _verdict(found)]
    for problem in found:
        advice = _grid()
        advice.add_row(Text(f"  {MISSED}"), Text(problem.advice))
        parts += [Text(), advice]
    return Group(*parts)


def _grid() -> Table:
    return Table.grid(padding=(0, 2, 0, 0))


def _devices(devices: Devices | None) -> Iterator[Text]:
    """A line for each device of a kind, the one that is used first."""
    if devices is None:
        yield Text("none: the coach's words are shown instead")
        return
    yield Text(_device(devices.chosen), "bold")
    for other in devices.others:
        yield Text(f"not used: {_device(other)}")


def _device(device: Device) -> str:
    channels = "1 channel" if device.channels == 1 else f"{device.channels} channels"
    return f"{harmless(device.name)} ({device.rate} Hz, {channels})"


def _rows(checked: Checked) -> Iterator[tuple[Part, str, bool]]:
    """What was looked at, what was found, and whether there was anything."""
    if not checked.alive:
        yield "Voice", "nothing", False
        return
    yield "Room", _room(checked.noise), True
    yield "Voice", _voice(checked), True
    if checked.speech:
        yield "Words", f"{sum(checked.understood)} of {WORDS} understood: “{_words(checked)}”", True
    yield "Loudspeaker", _loudspeaker(checked), checked.echo is not None
    if checked.dropped:
        yield "Computer", f"{checked.dropped} blocks of sound lost", True


def _room(noise: Noise) -> str:
    hum = f"hum of {noise.hum.hertz} Hz at {noise.hum.dbfs:.0f} dBFS" if noise.hum else "no hum"
    return f"noise at {noise.dbfs:.0f} dBFS (200 to 4000 Hz), {hum}"


def _voice(checked: Checked) -> str:
    if checked.speech is None:
        return "not heard"
    clipping = checked.clipping
    cut = f"{clipping.share:.1%} cut off, {clipping.runs} times" if clipping.runs else "nothing cut off"
    return f"{checked.speech.dbfs:.0f} dBFS, {checked.speech.ratio:.0f} dB above the noise, {cut}"


def _words(checked: Checked) -> str:
    """The sentence as far as it was understood. What was heard in its place may be no pleasant reading."""
    words = zip(PHRASE.split(), checked.understood, strict=True)
    kept = " ".join(word if understood else _GAP for word, understood in words)
    return re.sub(rf"{_GAP}( {_GAP})+", _GAP, kept)


def _loudspeaker(checked: Checked) -> str:
    if checked.unplayed:
        return f"{checked.unplayed} The coach's words are shown instead."
    if checked.echo is None:
        return (
            "not heard in the microphone, as it should be with a headset; if you have heard no chirp, "
            "check that the loudspeaker is on and turned up"
        )
    heard = f"heard {1000 * checked.echo.delay:.0f} ms later"
    if checked.speech is None:
        return f"{heard}, at {checked.echo.dbfs:.0f} dBFS"
    below = checked.speech.dbfs - checked.echo.dbfs
    return f"{heard}, {abs(below):.0f} dB {'below' if below >= 0 else 'above'} your voice"


def _verdict(found: tuple[Problem, ...]) -> RenderableType:
    if not found:
        words, style = f"{DONE} All is well: the coach can hear you and understand you.", "bold green"
    elif any(problem.unusable for problem in found):
        words, style = f"{MISSED} Not yet: the coach could not follow you like this.", "bold red"
    else:
        words, style = f"{OPEN} It will do, but could be better:", "bold yellow"
    return Padding(Text(words, style), (0, 0, 0, 2), expand=False)

"""What the microphone check shows: the devices, the level, what was found, and what to do."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from rich.console import Console, RenderableType

from voicecoach.mic import PHRASE, Checked, Equipment
from voicecoach.showing.mic import Meter, checked_page, equipment_page, meter
from voicecoach.showing.mic_advice import problems
from voicecoach.sound.check import Clipping, Echo, Hum, Noise, Speech
from voicecoach.sound.devices import Device, Devices

ALL = (True,) * len(PHRASE.split())
GOOD = Checked(
    alive=True,
    noise=Noise(-65.0, None),
    speech=Speech(-25.0, 40.0),
    clipping=Clipping(0.0, 0),
    understood=ALL,
    echo=Echo(0.05, -45.0),
    unplayed="",
    dropped=0,
)
FEW = (True,) * 7 + (False,) * 9
MOST = (True,) * 12 + (False,) * 4
DEAD = replace(GOOD, alive=False, speech=None, understood=(False,) * 16, echo=None)
UNHEARD = replace(GOOD, speech=None, understood=(False,) * 16)
QUIET = replace(GOOD, speech=Speech(-45.0, 30.0), echo=None)
CLIPPED = replace(GOOD, clipping=Clipping(0.012, 340))
NOISY = replace(GOOD, speech=Speech(-25.0, 14.0))
HUMS = replace(GOOD, noise=Noise(-65.0, Hum(50, -50.0)))
BESIDE = replace(GOOD, echo=Echo(0.05, -30.0))
WIRELESS = replace(GOOD, echo=Echo(0.42, -45.0))
MISHEARD = replace(GOOD, understood=MOST)
LOST = replace(GOOD, dropped=3)


def printed(page: RenderableType, width: int = 80) -> list[str]:
    out = io.StringIO()
    Console(file=out, width=width, highlight=False).print(page)
    return [line.rstrip() for line in out.getvalue().split("\n")]


def text(checked: Checked, width: int = 80) -> str:
    return " ".join(" ".join(printed(checked_page(checked), width)).split())


def test_all_is_well() -> None:
    assert problems(GOOD) == ()
    found = text(GOOD)
    assert "✓ All is well: the coach can hear you and understand you." in found
    assert "✓ Room noise at -65 dBFS (200 to 4000 Hz), no hum" in found
    assert "✓ Voice -25 dBFS, 40 dB above the noise, nothing cut off" in found
    assert f"✓ Words 16 of 16 understood: “{PHRASE}”" in found
    assert "✓ Loudspeaker heard 50 ms later, 20 dB below your voice" in found
    assert "!" not in found


@pytest.mark.parametrize(
    ("checked", "about", "says", "unusable"),
    [
        (DEAD, "Voice", "No sound at all", True),
        (UNHEARD, "Voice", "not heard", True),
        (QUIET, "Voice", "too quietly", False),
        (CLIPPED, "Voice", "too loud for the microphone", False),
        (NOISY, "Room", "only 14 dB above", False),
        (HUMS, "Room", "hum of 50 Hz", False),
        (BESIDE, "Loudspeaker", "Turn the loudspeaker down", False),
        (WIRELESS, "Loudspeaker", "0.4 s late", False),
        (MISHEARD, "Words", "Only 12 of 16 words could be understood, although the levels are good", False),
        (replace(GOOD, understood=FEW), "Words", "--hear whisper", True),
        (LOST, "Computer", "Close other programs", False),
    ],
)
def test_each_problem_alone(checked: Checked, about: str, says: str, unusable: bool) -> None:
    (problem,) = problems(checked)
    assert (problem.about, problem.unusable) == (about, unusable)
    assert says in problem.advice
    found = text(checked)
    assert problem.advice in found.replace(" ! ", " ")
    assert f"! {about}" in found
    assert "All is well" not in found
    assert ("Not yet" in found) is unusable
    assert ("It will do" in found) is not unusable


@pytest.mark.parametrize(
    "checked",
    [
        replace(GOOD, speech=Speech(-43.0, 22.0), echo=None),
        replace(GOOD, clipping=Clipping(0.0005, 3)),
        replace(GOOD, speech=Speech(-25.0, 15.5)),
        replace(GOOD, noise=Noise(-65.0, Hum(50, -56.0))),
        replace(GOOD, echo=Echo(0.29, -31.5)),
        replace(GOOD, understood=(False,) * 3 + (True,) * 13),
        replace(GOOD, echo=None),
    ],
)
def test_what_is_still_well(checked: Checked) -> None:
    assert problems(checked) == ()


def test_the_most_important_comes_first() -> None:
    worst = Checked(
        alive=True,
        noise=Noise(-50.0, Hum(60, -40.0)),
        speech=Speech(-46.0, 4.0),
        clipping=Clipping(0.01, 5),
        understood=FEW,
        echo=Echo(0.5, -40.0),
        unplayed="",
        dropped=1,
    )
    about = ["Voice", "Voice", "Room", "Room", "Loudspeaker", "Loudspeaker", "Words", "Computer"]
    assert [problem.about for problem in problems(worst)] == about
    assert "Change what is said above" in text(worst)
    assert "6 dB above your voice" in text(worst)


def test_what_nobody_can_mend_by_itself_is_not_named() -> None:
    (problem,) = problems(replace(DEAD, dropped=3))
    assert problem.unusable
    assert "Words" not in text(UNHEARD)
    assert "Loudspeaker heard 50 ms later, at -45 dBFS" in text(UNHEARD)


def test_words_that_were_not_understood_are_left_out() -> None:
    some = (True, False, False, True, *(True,) * 12)
    found = text(replace(GOOD, understood=some))
    assert "14 of 16 understood: “i … hands i take soap" in found
    assert "No word could be understood" in text(replace(GOOD, understood=(False,) * 16))


def test_a_loudspeaker_that_is_not_heard() -> None:
    assert "· Loudspeaker not heard in the microphone, as it should be with a headset;" in text(
        replace(GOOD, echo=None)
    )
    unplayed = replace(GOOD, echo=None, unplayed="The loudspeaker cannot be opened (busy).")
    assert "· Loudspeaker The loudspeaker cannot be opened (busy). The coach's words" in text(unplayed)


@pytest.mark.parametrize("width", [80, 120])
def test_fits(width: int) -> None:
    for checked in (GOOD, DEAD, replace(MISHEARD, echo=None, dropped=4, clipping=Clipping(0.5, 12345))):
        assert max(map(len, printed(checked_page(checked), width))) <= width


def test_devices_and_where_to_choose_them() -> None:
    microphones = Devices(
        Device("Head\x1b[31mset", 48000, 1), (Device("Webcam", 44100, 2), Device("Line", 8000, 1))
    )
    lines = printed(equipment_page(Equipment(microphones, Devices(Device("Box", 48000, 2), ()))))
    assert "  Microphone   Head [31mset (48000 Hz, 1 channel)" in lines
    assert "               not used: Webcam (44100 Hz, 2 channels)" in lines
    assert "               not used: Line (8000 Hz, 1 channel)" in lines
    assert "  Loudspeaker  Box (48000 Hz, 2 channels)" in lines
    assert any("sound settings" in line for line in lines)
    lines = printed(equipment_page(Equipment(microphones, None)))
    assert "  Loudspeaker  none: the coach's words are shown instead" in lines


@pytest.mark.parametrize(("dbfs", "filled"), [(-100.0, 0), (-60.0, 0), (-30.0, 20), (0.0, 40)])
def test_level_as_a_bar(dbfs: float, filled: int) -> None:
    bar = meter(dbfs, 2.4).plain
    assert bar.count("█") == filled
    assert bar.count("█") + bar.count("░") == 40
    assert "2 s" in bar
    assert f"{dbfs:.0f} dBFS" in bar


def shown(terminal: bool) -> str:
    out = io.StringIO()
    with Meter(Console(file=out, width=80, force_terminal=terminal, highlight=False)) as screen:
        screen.ask("Be quiet.")
        screen.level(-30.0, 2.0)
        screen.level(-60.0, 1.9)
        screen._live.refresh()
    return out.getvalue()


def test_the_level_moves_in_a_terminal_and_falls_slowly() -> None:
    assert "Be quiet." in shown(terminal=True)
    assert "-31 dBFS" in shown(terminal=True)


def test_in_a_pipe_only_what_is_asked_is_printed() -> None:
    assert shown(terminal=False).split() == ["Be", "quiet."]

"""What stands on the screen while an attempt runs."""

from __future__ import annotations

import io
from dataclasses import replace
from functools import cache

import pytest
from rich.console import Console

from voicecoach.events import (
    Asked,
    Begun,
    Cued,
    Elapsed,
    Ended,
    Event,
    Followed,
    Heard,
    Lost,
    Paused,
    Read,
    Remarked,
    Resumed,
    Simulated,
    Unfollowed,
    Voiced,
    Withdrawn,
    Word,
)
from voicecoach.procedure import library
from voicecoach.procedure.model import Procedure
from voicecoach.showing.checklist import Checklist
from voicecoach.showing.lines import Lines
from voicecoach.showing.terminal import Terminal, screen

MISSED = Cued(65.0, 1, "missed", ("lock-wheels",), 1, "Think of the wheels.")


@cache
def procedure_of(name: str) -> Procedure:
    return library.find(name)


def begun(mode: str, procedure: str = "gait-belt-walk", **changes: object) -> Begun:
    plain = procedure_of(procedure).plain() | changes
    return Begun(0.0, "one", "2026-11-25T09:15:00+00:00", mode, "sphinx", plain)


def followed(at: float, step: str) -> Followed:
    return Followed(at, step, at - 1, at, 1, "said", 0.9)


def heard(at: float, text: str) -> Heard:
    return Heard(at, 1, at - 1, at, tuple(Word(word, at - 1, at) for word in text.split()))


def missed(at: float, cue: int, step: str, strength: int, text: str = "Think of the wheels.") -> Cued:
    return Cued(at, cue, "missed", (step,), strength, text)


def filled(*events: Event) -> Checklist:
    checklist = Checklist()
    for event in events:
        checklist.take(event)
    return checklist


def drawn(checklist: Checklist, width: int = 80, height: int = 24, notice: str = "") -> list[str]:
    out = io.StringIO()
    console = Console(file=out, width=width, height=height, highlight=False)
    console.print(screen(checklist, 75.2, "", notice, width, height))
    return out.getvalue().removesuffix("\n").split("\n")


def states(checklist: Checklist) -> list[tuple[str, str]]:
    return [(row.state, row.text) for row in checklist.rows()]


def test_in_practise_all_steps_are_named_and_fill_in() -> None:
    checklist = filled(begun("practise", "hand-rub"), followed(3.0, "palms"))
    steps = procedure_of("hand-rub").steps
    assert states(checklist) == [("done" if step.id == "palms" else "open", step.do) for step in steps]
    assert checklist.count == (1, len(steps))
    checklist.take(Unfollowed(4.0, "palms", "no"))
    assert {state for state, _ in states(checklist)} == {"open"}


def test_in_rehearse_nobody_can_read_off_what_comes_next() -> None:
    checklist = filled(begun("rehearse"), followed(3.0, "greet"), followed(9.0, "bed-low"))
    assert states(checklist) == [
        ("done", procedure_of("gait-belt-walk").step("greet").do),
        ("open", "2 steps are open"),
        ("done", procedure_of("gait-belt-walk").step("bed-low").do),
        ("open", "12 steps are open"),
    ]


def test_a_missed_step_is_named_only_when_the_coach_has_named_it() -> None:
    wheels = procedure_of("gait-belt-walk").step("lock-wheels").do
    checklist = filled(begun("rehearse"), followed(9.0, "sit-edge"), missed(10.0, 2, "lock-wheels", 1))
    assert ("missed", "something belongs here") in states(checklist)
    checklist.take(missed(20.0, 3, "lock-wheels", 3))
    assert ("missed", wheels) in states(checklist)
    checklist.take(followed(25.0, "lock-wheels"))
    assert ("done", wheels) in states(checklist)


def test_a_selftest_shows_what_was_done_as_it_was_said_and_no_gap() -> None:
    checklist = filled(begun("selftest"), followed(3.0, "shoes"), followed(9.0, "greet"))
    procedure = procedure_of("gait-belt-walk")
    assert states(checklist) == [("done", procedure.step("shoes").do), ("done", procedure.step("greet").do)]


def test_a_cue_stands_until_its_step_is_done() -> None:
    checklist = filled(begun("rehearse"), missed(10.0, 1, "lock-wheels", 1))
    assert checklist.coach_speaks
    checklist.take(Voiced(12.0, 1, 10.0))
    assert not checklist.coach_speaks
    assert checklist.cue == "Think of the wheels."
    checklist.take(followed(13.0, "shoes"))
    assert checklist.cue
    checklist.take(followed(15.0, "lock-wheels"))
    assert not checklist.cue


def test_a_withdrawn_reminder_leaves_the_step_open_and_a_restart_all_steps() -> None:
    checklist = filled(begun("practise"), missed(10.0, 1, "shoes", 1), Withdrawn(11.0, "shoes", "said"))
    assert {state for state, _ in states(checklist)} == {"open"}
    checklist.take(followed(12.0, "shoes"))
    checklist.take(Asked(20.0, "restart", "start over"))
    assert checklist.count[0] == 0


@pytest.mark.parametrize("mode", ["practise", "rehearse", "selftest"])
@pytest.mark.parametrize(("width", "height"), [(80, 24), (120, 40), (50, 14)])
def test_the_screen_fits_and_says_what_matters(mode: str, width: int, height: int) -> None:
    for name in ("bed-to-wheelchair", "wash-hands", "hand-rub"):
        steps = procedure_of(name).steps
        checklist = filled(begun(mode, name), heard(2.0, "and now i " * 30))
        for number, step in enumerate(steps):
            if number != 1:
                checklist.take(followed(float(number), step.id))
            checklist.take(missed(40.0, number + 1, steps[1].id, 1, step.cue.step))
            if number % 4 and step is not steps[-1]:
                continue
            lines = drawn(checklist, width, height)
            assert len(lines) <= height
            assert max(map(len, lines)) <= width
            assert "COACH SPEAKS" in lines[1]
            assert "heard: " in lines[2] or "… " in lines[2]
            assert step.cue.step.split()[0] in "\n".join(lines[3:7])
            # The step done last is always in sight.
            last = steps[number if number != 1 else 0]
            assert any("✓ done" in line and last.do[:20] in line for line in lines)


def test_before_the_first_step_the_scene_is_read() -> None:
    lines = " ".join(" ".join(drawn(filled(begun("rehearse")))).split())
    procedure = procedure_of("gait-belt-walk")
    assert procedure.scene in lines
    assert procedure.cautions[0] in lines


def test_the_state_is_told_in_words() -> None:
    checklist = filled(begun("rehearse"))
    assert "LISTENING" in drawn(checklist)[1]
    checklist.take(Paused(1.0))
    assert "PAUSED" in drawn(checklist)[1]
    checklist.take(Resumed(2.0))
    assert "LISTENING" in drawn(checklist)[1]
    checklist.take(Ended(3.0, "finished"))
    assert "THE END" in drawn(checklist)[1]


@pytest.mark.parametrize(
    ("what", "values", "shown", "seconds"),
    [
        ("beats", (72.0,), "beats can be felt", 180),
        ("breaths", (16.0,), "breaths can be heard", 180),
        # From 140 down to 60 mmHg, 2 mmHg a second.
        ("sounds", (118.0, 76.0), "the needle is falling", 40),
    ],
)
def test_the_screen_shows_that_something_can_be_found_but_not_its_value(
    what: str, values: tuple[float, ...], shown: str, seconds: float
) -> None:
    simulated = Simulated(60.0, "pulse", what, values, "In one full minute you feel 72 beats.")
    over = Simulated(70.0, "pulse", "", (), "")
    checklist = filled(begun("rehearse"), simulated)
    assert f"LISTENING · {shown}" in drawn(checklist)[1]
    assert len(drawn(checklist, 50, 14)[1]) <= 50
    another = replace(simulated, values=tuple(value - 2 for value in values))
    assert drawn(filled(begun("rehearse"), another)) == drawn(checklist)
    assert checklist.found(60.0 + seconds - 0.1) == shown
    assert checklist.found(60.0 + seconds) == ""
    assert f"THE COACH SPEAKS · {shown}" in drawn(filled(begun("rehearse"), simulated, MISSED))[1]
    for after in (over, Paused(70.0), Lost(70.0, "The microphone is gone."), Ended(70.0, "finished")):
        assert shown not in "".join(drawn(filled(begun("rehearse"), simulated, after)))
    out = io.StringIO()
    lines = Lines(Console(file=out, width=80))
    lines.show(simulated)
    lines.show(over)
    assert out.getvalue() == f"01:00.0 {shown}\n"


def test_a_notice_stays_in_sight() -> None:
    assert any(
        "! The disk is full." in line for line in drawn(filled(begun("rehearse")), notice="The disk is full.")
    )


def test_text_from_outside_is_shown_as_it_is_and_steers_nothing() -> None:
    title = "Walk [bold]with[/bold] \x1b[2J [/nonsense] a belt"
    shown = "Walk [bold]with[/bold] [2J [/nonsense] a belt"
    assert shown in drawn(filled(begun("rehearse", title=title)))[0]
    out = io.StringIO()
    lines = Lines(Console(file=out, width=80))
    lines.show(begun("rehearse", title=title))
    lines.show(heard(1.0, "[red]\x1b[31mred"))
    assert out.getvalue().startswith(shown)
    assert "heard: [red] [31mred" in out.getvalue()
    assert "\x1b" not in out.getvalue()


def test_the_terminal_draws_what_happens_and_gives_the_screen_back() -> None:
    out = io.StringIO()
    console = Console(file=out, force_terminal=True, width=80, height=24, _environ={"TERM": "xterm"})
    with Terminal(console) as terminal:
        terminal.show(begun("rehearse"))
        terminal.listen(3.0, "good morning")
        terminal.notice("The loudspeaker is gone.")
    assert "good morning" in out.getvalue()
    assert "The loudspeaker is gone." in out.getvalue()
    assert out.getvalue().rstrip().endswith("\x1b[?25h\x1b[?1049l")  # cursor and screen as before


def test_each_event_that_means_something_is_a_line() -> None:
    out = io.StringIO()
    lines = Lines(Console(file=out, width=80))
    lines.show(begun("rehearse", "drainage-bag"))
    out.seek(0)
    out.truncate()
    do = {action.id: action.do for action in procedure_of("drainage-bag").actions}
    events: list[Event] = [
        heard(72.46, "now i open the drain"),
        Heard(73.0, 2, 72.0, 73.0, ()),
        followed(73.0, "open-drain"),
        Unfollowed(74.0, "open-drain", "no"),
        Remarked(75.0, "mishap", "tip-touch", 3, "oops"),
        Remarked(76.0, "later", "", 4, "that comes later"),
        Read(77.0, "level", (350.0,), "mL", "three fifty"),
        Read(77.0, "level", (120.0, 80.0), "", "one twenty over eighty"),
        Asked(78.0, "repeat", "say that again"),
        missed(79.0, 1, "wipe-drain", 1, "What about the tip?"),
        Elapsed(79.5),
        Voiced(80.0, 1, 79.0),
        Withdrawn(81.0, "wipe-drain", "said"),
        Paused(82.0),
        Resumed(83.0),
        Ended(84.0, "finished"),
    ]
    for event in events:
        lines.show(event)
    lines.notice("The disk is full.")
    assert out.getvalue().splitlines() == [
        "01:12.5 heard: now i open the drain",
        "01:13.0 heard: (nothing about this procedure)",
        f"01:13.0 ✓ {do['open-drain']}",
        f"01:14.0 · taken back: {do['open-drain']}",
        f"01:15.0 ! mishap: {do['tip-touch']}",
        "01:16.0 · for later: that comes later",
        "01:17.0 ✓ reading: 350 mL",
        "01:17.0 ✓ reading: 120 over 80",
        "01:18.0 asked for: repeat",
        "01:19.0 coach: What about the tip?",
        f"01:21.0 · no reminder needed: {do['wipe-drain']}",
        "01:22.0 paused",
        "01:23.0 going on",
        "01:24.0 ended: finished",
        "! The disk is full.",
    ]

"""The debrief as it is printed."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from rich.console import Console

from voicecoach.coaching.debrief import Debrief, Line
from voicecoach.coaching.not_right import Recorded
from voicecoach.showing.debrief import page
from voicecoach.showing.marks import OPEN


def line(step: str, at: float | None, **more: object) -> Line:
    plain = Line(step, f"Do the {step}", False, True, at, None, None, False)
    return replace(plain, **more)  # type: ignore[arg-type]


GLOVES = line("gloves", 61.4)
WASH = line("wash", 5.0, seconds=12.3, needed_seconds=20.0, critical=True)
BELL = line("bell", None, critical=True)
SMILE = line("smile", None)

DEBRIEF = Debrief(
    procedure="care",
    title="Care [bold]for[/bold] somebody",
    mode="rehearse",
    lines=(replace(WASH, prompted=True), SMILE, GLOVES, BELL, line("wipe", None, needed=False)),
    missed=(BELL, SMILE),
    out_of_order=((WASH, GLOVES),),
    mishaps=("Dropping the towel on the \x1b[31mfloor",),
    readings=(
        Recorded("chart", "urine output: 350 mL", "", ""),
        Recorded("weigh", "weight: 150 lb", "wrong", "The display shows 160 lb."),
    ),
    wrong=(replace(WASH, wrong=("That was 12 seconds. It takes 20 seconds.",)),),
    counting=("14 left out",),
    wrong_names=("You said Mrs. Fenn. This is Mrs. Alder.",),
    passed=False,
    judged=True,
    why="A critical step is missing.",
    caution="The instructor, the facility's policy and the state's own handbook come first. " * 2,
    complete=True,
)


def printed(debrief: Debrief, width: int = 80) -> list[str]:
    out = io.StringIO()
    Console(file=out, width=width, highlight=False).print(page(debrief))
    return [line.rstrip() for line in out.getvalue().split("\n")]


def test_where_too_little_was_understood_nothing_is_called_missed() -> None:
    text = "\n".join(printed(replace(DEBRIEF, judged=False)))
    assert "NOT JUDGED" in text
    assert "NOT PASSED" not in text
    assert "issed" not in text
    assert "Not heard" in text
    assert f"{OPEN} Do the bell (critical)" in text


def test_the_verdict_and_why_come_first_then_what_to_work_on_then_everything() -> None:
    lines = printed(DEBRIEF)
    assert max(map(len, lines)) <= 80
    assert [line for line in lines if line][:3] == [
        "Care [bold]for[/bold] somebody (rehearse)",
        "  ! NOT PASSED",
        "  A critical step is missing.",
    ]
    headings = ["Missed", "Out of order", "Mishaps", "Not right", "Names", "Readings", "Counting"]
    headings.append("All steps")
    assert [line for line in lines if line in headings] == headings
    text = "\n".join(lines)
    assert text.index("! Do the bell (critical)") < text.index("! Do the smile")
    assert "! Do the gloves: this came before “Do the wash”" in text
    assert "! Dropping the towel on the [31mfloor" in text
    assert "✓ urine output: 350 mL" in text
    assert "! weight: 150 lb. The display shows 160 lb." in text
    assert "! Do the wash: That was 12 seconds. It takes 20 seconds." in text
    assert "! You said Mrs. Fenn. This is Mrs. Alder." in text
    assert "· 14 left out" in text
    assert " ".join(DEBRIEF.caution.split()) in " ".join(text.split())


def test_every_step_has_its_time_and_what_it_took() -> None:
    lines = [line.split() for line in printed(DEBRIEF)]
    assert "✓ done 00:05 12 s of 20 s Do the wash (after a cue)".split() in lines
    assert "✓ done 01:01 Do the gloves".split() in lines
    assert "! missed Do the bell".split() in lines
    assert "· not needed Do the wipe".split() in lines


def test_what_went_well_has_no_list_of_faults() -> None:
    good = replace(
        DEBRIEF,
        passed=True,
        missed=(),
        out_of_order=(),
        mishaps=(),
        readings=(),
        wrong=(),
        counting=(),
        wrong_names=(),
        why="All is done.",
    )
    text = "\n".join(printed(good))
    assert "✓ PASSED" in text
    assert "NOT PASSED" not in text
    headings = ("Missed", "Out of order", "Mishaps", "Not right", "Names", "Readings", "Counting")
    assert not any(heading in text for heading in headings)


def test_an_attempt_that_was_broken_off_is_said_to_be() -> None:
    assert "broken off" in "\n".join(printed(replace(DEBRIEF, complete=False)))
    assert "broken off" not in "\n".join(printed(DEBRIEF))


@pytest.mark.parametrize("width", [80, 120])
def test_nothing_is_cut_off(width: int) -> None:
    long = replace(DEBRIEF, lines=(line("x" * 50 + " " + "y" * 40, 3.0),))
    text = " ".join(" ".join(printed(long, width)).split())
    assert "x" * 50 in text
    assert "y" * 40 in text


def test_a_step_that_was_not_right_is_not_called_done() -> None:
    short = replace(DEBRIEF, lines=(replace(WASH, wrong=("That was 12 seconds.",)), GLOVES))
    lines = [line.split() for line in printed(short)]
    assert "! not right 00:05 12 s of 20 s Do the wash".split() in lines
    assert "✓ done 01:01 Do the gloves".split() in lines

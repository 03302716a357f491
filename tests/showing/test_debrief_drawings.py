"""The drawings in the page of a debrief: the two orders and the time line."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import isotonic_regression

from tests.coaching.test_debrief import ids, journal
from tests.narrated import procedure
from tests.showing import example_attempts as examples
from tests.showing.example_attempts import ALL
from tests.showing.pages_read import Make
from voicecoach.coaching.debrief import debrief
from voicecoach.events import Asked, Cued, Ended, Event, Followed, Heard, Timed
from voicecoach.procedure.model import Procedure
from voicecoach.showing.order_drawing import order_drawing
from voicecoach.showing.timeline import PITCH, SCREENS, Room, timeline

WALK = procedure("gait-belt-walk")


DESK = SCREENS[0]
WIDE = Room("wide", 1000, clocks=True)


def _ends(events: list[Event], of: Procedure) -> list[tuple[float, float]]:
    """Where each line of the drawing of the orders begins on the left and ends on the right, in tracks."""
    ends = []
    for line in order_drawing(of, debrief(events)).lines:
        path = r'class="line-(?:kept|moved)" d="M8 (\d+)C50 \d+ 50 \d+ 92 (\d+)"'
        for left, right in re.findall(path, str(line.drawing)):
            high = (line.bottom - line.top) / 100
            ends.append((line.top + int(left) * high, line.top + int(right) * high))
    return sorted(ends)


@settings(deadline=None)
@given(st.permutations(ids(WALK)), st.integers(0, len(WALK.steps)))
def test_lines_cross_if_and_only_if_something_was_out_of_order(order: list[str], count: int) -> None:
    events = journal(WALK, order[:count])
    ends = _ends(events, WALK)
    assert len(ends) == count
    assert [left for left, _ in ends] == sorted({left for left, _ in ends})
    crossing = any(one[1] > other[1] for place, other in enumerate(ends) for one in ends[:place])
    assert crossing == bool(debrief(events).out_of_order)


def test_steps_done_in_another_order_that_is_right_too_are_level() -> None:
    done = ["call-light", "shoes", *ids(WALK, "call-light", "shoes")]
    assert all(left == right for left, right in _ends(journal(WALK, done), WALK))


def test_a_line_reaches_from_the_middle_of_a_row_to_the_middle_of_another() -> None:
    drawn = order_drawing(WALK, debrief(examples.walk()))
    middles = {row.top + 1 for row in drawn.rows}
    assert [row.top for row in drawn.rows] == [2 + 2 * place for place in range(len(drawn.rows))]
    ends = _ends(examples.walk(), WALK)
    assert len(ends) == sum(bool(row.at) for row in drawn.rows)
    assert {place for both in ends for place in both} <= middles


def test_what_the_lines_show_is_told_in_words() -> None:
    drawn = order_drawing(WALK, debrief(examples.walk()))
    assert all(fault in drawn.told for fault in drawn.faults)
    assert drawn.told.endswith(f"Missing: {len(debrief(examples.walk()).missed)}.")


@pytest.mark.parametrize("room", [*SCREENS, Room("paper", 44, clocks=True)])
@pytest.mark.parametrize("make", ALL)
def test_labels_of_the_time_line_are_in_order_apart_and_inside(make: Make, room: Room) -> None:
    drawn = timeline(make(), debrief(make()), room)
    assert [label.at for label in drawn.labels] == sorted(label.at for label in drawn.labels)
    for one, other in pairwise(drawn.labels):
        assert other.y - one.y >= (one.lines + other.lines) / 2 * PITCH - 1e-6
    for label in drawn.labels:
        half = label.lines / 2 * PITCH
        assert half - 1e-6 <= label.y <= drawn.rows * PITCH - half + 1e-6


@given(st.lists(st.floats(0, 600), min_size=1, max_size=30, unique=True))
def test_labels_are_moved_as_little_as_can_be(times: list[float]) -> None:
    # Least squares with a least distance is isotonic regression of what is left without it: scipy's.
    steps = ids(procedure("bed-to-wheelchair"))[: len(times)]
    reports = [Followed(at, step, at, at, 1, "", 1.0) for at, step in zip(sorted(times), steps, strict=False)]
    begun = journal(procedure("bed-to-wheelchair"), [])[0]
    events: list[Event] = [begun, *reports, Ended(600.0, "finished")]
    drawn = timeline(events, debrief(events), WIDE)
    height = drawn.rows * PITCH
    wanted = [PITCH / 2 + label.at / 600 * (height - PITCH) for label in drawn.labels]
    free = isotonic_regression([y - place * PITCH for place, y in enumerate(wanted)]).x
    most = height - PITCH * (len(wanted) - 0.5)
    for place, (label, y) in enumerate(zip(drawn.labels, free, strict=True)):
        assert label.y == pytest.approx(min(max(y, PITCH / 2), most) + place * PITCH)


def test_a_timed_step_has_a_mark_at_the_time_that_it_needed() -> None:
    events = examples.wash()
    drawn = timeline(events, debrief(events), DESK)
    timed = next(event for event in events if isinstance(event, Timed))
    length = events[-1].at
    scale = (drawn.rows - 1) * PITCH / length
    lanes = str(drawn.lanes)
    (mark,) = re.findall(r'class="timed-needed" d="M[\d.]+ ([\d.]+)h14"', lanes)
    # 20 seconds of lather: CDC, Clinical Safety: Hand Hygiene for Healthcare Workers.
    assert float(mark) == pytest.approx(PITCH / 2 + (timed.start + 20.0) * scale, abs=0.1)
    (bar,) = re.findall(r'<rect class="timed-wrong"[^>]*y="([\d.]+)"[^>]*height="([\d.]+)"', lanes)
    assert float(bar[0]) == pytest.approx(PITCH / 2 + timed.start * scale, abs=0.1)
    assert float(bar[1]) == pytest.approx((timed.end - timed.start) * scale, abs=0.1)
    assert "timed-lacking" in lanes
    assert drawn.timed


def test_there_is_a_bar_for_each_utterance_and_a_node_for_each_step_and_cue() -> None:
    events = examples.longest()
    lanes = str(timeline(events, debrief(events), DESK).lanes)
    assert lanes.count('class="speech"') == sum(isinstance(event, Heard) for event in events)
    done = sum(line.at is not None for line in debrief(events).lines)
    assert lanes.count('class="node-step"') + lanes.count('class="node-wrong"') == done
    assert lanes.count('class="node-coach"') == sum(isinstance(event, Cued) for event in events)


def test_who_started_over_sees_when_and_only_the_steps_since() -> None:
    events = examples.again()
    labels = timeline(events, debrief(events), DESK).labels
    (restart,) = (event.at for event in events if isinstance(event, Asked))
    assert [label.at for label in labels if label.kind == "again"] == [restart]
    assert all(label.at > restart for label in labels if label.kind == "step")

"""Captions, read back by another parser of WebVTT: webvtt-py."""

from __future__ import annotations

import html
import re
from collections.abc import Sequence
from itertools import pairwise

import pytest
import webvtt
from hypothesis import given
from hypothesis import strategies as st

from tests.narrated import Narrated, procedure, utterance
from tests.showing import example_attempts as examples
from voicecoach.events import Cued, Ended, Event, Heard, Voiced, Word
from voicecoach.records.captions import LETTERS, SECONDS_A_WORD, captions
from voicecoach.showing.marks import harmless

WALK = procedure("gait-belt-walk")


def read(events: Sequence[Event]) -> list[tuple[str, float, float, str]]:
    """The captions of a journal as another parser reads them: who, from when to when, and what."""
    return [
        (
            cue.voice or "",
            cue.start_in_seconds + _rest(cue.start),
            cue.end_in_seconds + _rest(cue.end),
            cue.text,
        )
        for cue in webvtt.from_string(captions(events)).captions
    ]


def _rest(time: str) -> float:
    """The thousandths of a time, which webvtt-py leaves out of its seconds."""
    return float(f"0.{time.rpartition('.')[2]}")


def cued(at: float, text: str, number: int = 1) -> Cued:
    return Cued(at, number, "missed", (), 1, text)


def test_who_speaks_when_and_what_comes_back() -> None:
    events: list[Event] = [
        utterance(1, "i lock the wheels", 61.25),
        cued(70.0, "Good, that was missing."),
        Voiced(72.5, 1, 70.125),
    ]
    assert read(events) == [
        ("Student", 61.25, 62.45, "i lock the wheels"),
        ("Coach", 70.125, 72.5, "Good, that was missing."),
    ]


def test_the_form_is_that_of_the_standard() -> None:
    # W3C, WebVTT: The Web Video Text Tracks Format: the file begins with WEBVTT and an empty line; hours have
    # two digits or more, minutes and seconds two, thousandths three.
    text = captions([utterance(1, "hello", 3600.0), utterance(2, "hello", 360_000.0)])
    assert text.split("\n") == [
        "WEBVTT",
        "",
        "01:00:00.000 --> 01:00:00.300",
        "<v Student>hello</v>",
        "",
        "100:00:00.000 --> 100:00:00.300",
        "<v Student>hello</v>",
        "",
    ]


@pytest.mark.parametrize("text", [*examples.HARD, "--> & < > &amp; </v> <v Coach> WEBVTT NOTE x"])
def test_no_text_can_break_a_caption(text: str) -> None:
    events: list[Event] = [cued(1.0, text), Voiced(9.0, 1, 1.0), utterance(1, text, 10.0)]
    written = captions(events)
    shown = " ".join(cue.text for cue in webvtt.from_string(written).captions if cue.voice == "Coach")
    assert html.unescape(shown) == harmless(text)
    assert written.count("-->") == len(webvtt.from_string(written).captions)
    # Nothing but the voice is markup, and an ampersand only begins an escape.
    for line in written.split("\n"):
        assert re.fullmatch(r"(WEBVTT|[\d:.]+ --> [\d:.]+|<v (Student|Coach)>[^<>]*</v>|)", line)
        assert not re.search(r"&(?!(amp|lt|gt);)", line)


TIMES = st.floats(0, 5000, allow_nan=False)


@given(
    st.lists(st.tuples(TIMES, st.floats(0, 60), st.text(max_size=200)), max_size=8),
    st.lists(st.tuples(TIMES, st.floats(0, 60), st.text(max_size=200), st.booleans()), max_size=8),
)
def test_times_only_go_forward_whatever_was_said(
    student: list[tuple[float, float, str]], coach: list[tuple[float, float, str, bool]]
) -> None:
    events: list[Event] = []
    for number, (start, length, text) in enumerate(student, 1):
        words = tuple(Word(word, start, start + length) for word in text.split())
        events.append(Heard(start + length, number, start, start + length, words))
    for number, (start, length, text, cut) in enumerate(coach, 1):
        events += [cued(start, text, number), Voiced(start + length, number, start, cut)]
    # W3C, WebVTT: a cue begins no earlier than those before it, and ends after its beginning.
    starts = []
    for _, start, end, _ in read([*events, Ended(9000.0, "finished")]):
        assert end > start
        starts.append(start)
    assert starts == sorted(starts)


def test_what_is_long_is_cut_between_words_by_their_times() -> None:
    words = " ".join(["palm to palm and over the backs"] * 6)
    parts = read([utterance(1, words, 5.0)])
    assert len(parts) > 2
    assert all(len(text) <= LETTERS for *_, text in parts)
    assert " ".join(text for *_, text in parts) == words
    spoken = 5.0
    for _, start, end, text in parts:
        assert start == pytest.approx(spoken, abs=0.002)
        spoken += 0.3 * len(text.split())
        assert end == pytest.approx(spoken, abs=0.002)


def test_what_the_coach_says_at_length_is_cut_and_fills_its_time() -> None:
    text = "You did not pass yet. Missing: lock the wheels; shoes; call light. " * 4
    parts = read([cued(8.0, text), Voiced(30.0, 1, 10.0)])
    assert all(len(part) <= LETTERS for *_, part in parts)
    assert parts[0][1] == 10.0
    assert parts[-1][2] == pytest.approx(30.0, abs=0.002)
    for (_, _, end, _), (_, start, _, _) in pairwise(parts):
        assert start == pytest.approx(end, abs=0.002)


def test_a_word_too_long_for_a_caption_stays_whole() -> None:
    assert [text for *_, text in read([utterance(1, f"a {'b' * 200} c")])] == ["a", "b" * 200, "c"]


def test_what_the_coach_took_back_is_not_in_it_and_what_was_cut_short_is() -> None:
    events: list[Event] = [
        cued(1.0, "Never said.", 1),
        Voiced(2.0, 1, 2.0, cut=True),
        cued(3.0, "Half said.", 2),
        Voiced(4.0, 2, 3.0, cut=True),
        cued(5.0, "Still waiting.", 3),
    ]
    assert read(events) == [("Coach", 3.0, 4.0, "Half said.")]


def test_what_only_stood_on_the_screen_is_there_as_long_as_it_takes_to_read() -> None:
    assert read([cued(3.0, "What is on her feet?"), Voiced(3.0, 1, 3.0)]) == [
        ("Coach", 3.0, 4.8, "What is on her feet?")
    ]
    # BBC, Subtitle Guidelines: 160 to 180 words in a minute.
    assert 60 / 180 <= SECONDS_A_WORD <= 60 / 160


def test_what_is_said_when_it_is_over_follows_the_end() -> None:
    closing = cued(50.0, "You passed.")
    assert read([closing, Ended(50.0, "finished")]) == [("Coach", 50.0, 50.72, "You passed.")]
    assert read([closing, Ended(50.0, "interrupted")]) == []


def test_sound_about_something_else_makes_no_caption() -> None:
    assert read([utterance(1, "", 3.0)]) == []
    assert captions([]) == "WEBVTT\n"


def test_a_whole_attempt_has_all_that_both_said_in_order() -> None:
    attempt = Narrated("hand-rub", "practise")
    attempt.say_all(step.say[0] for step in attempt.procedure.steps)
    attempt.stop()
    cues = [event.text for event in attempt.events if isinstance(event, Cued)]
    voiced = {event.cue for event in attempt.events if isinstance(event, Voiced)}
    assert not voiced, "the attempt made by hand has no mouth"
    said = [text for who, *_, text in read(attempt.events) if who == "Student"]
    assert said == [step.say[0] for step in attempt.procedure.steps]
    closing = " ".join(text for who, *_, text in read(attempt.events) if who == "Coach")
    assert cues[-1] in closing

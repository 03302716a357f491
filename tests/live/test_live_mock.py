"""A mock test by voice, with stand-ins of real devices: what is said and shown, and what is kept of it."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from contextlib import closing

import numpy as np
import pytest
import soxr

from tests.live.coach import Running
from tests.live.pulse import Room
from tests.live.test_live import WASHING, place, say, where
from voicecoach import mocking
from voicecoach.coaching import choosing, offers, wording
from voicecoach.procedure import library
from voicecoach.records import mock, store
from voicecoach.records.results import Result
from voicecoach.sound import RATE
from voicecoach.speaking.voice import Voice

NUMBER = 6
"""It draws the two shortest skills."""
SKILLS = ("wash-hands", "hand-rub")
CHOICES = [choosing.choice(library.find(id)) for id in SKILLS]
TITLES = [choice.title for choice in CHOICES]
ANNOUNCED = [mocking.announced(place, 2, title) for place, title in enumerate(TITLES, 1)]
FINISHED = "coach i have finished"
LATE = 1.5
"""Seconds by which gaps may put off what is said."""


@pytest.fixture(scope="module", autouse=True)
def _models(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """What takes long to make is made once, and the tests that follow find it in the cache."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        yield


@pytest.fixture
def test(a_room: Room, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> Iterator[Running]:
    """`voicecoach mock` with the options that the test asks for; the store here is the store there."""
    drawn = ("--number", str(NUMBER), "--skills", str(len(SKILLS)), "--hear", "sphinx")
    running = Running(a_room, "mock", *drawn, *request.param)
    monkeypatch.setenv("XDG_DATA_HOME", str(running.data))
    with closing(running):
        yield running


def taking(*options: str) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("test", [options], indirect=True)


def begin(room: Room, test: Running, skill: int) -> None:
    """Wait until a skill, from 1, is announced to the end, say start, and wait until it can be narrated.

    Who is not understood says it again.
    """
    test.until_printed(ANNOUNCED[skill - 1])
    time.sleep(lasting(ANNOUNCED[skill - 1]) + 1.0)
    for _ in range(3):
        say(room, "start", pause=3.0)
        if test.printed.count(f"coach: {offers.BEGINNING}") == skill:
            break
    test.until(lambda: len(test.journals()) == skill, f"journal of skill {skill}")
    test.until_event("voiced", cue=1)
    time.sleep(0.5)  # Nobody begins sooner.


def lasting(text: str) -> float:
    """Seconds that the coach takes to say something."""
    voice = Voice()
    return len(voice.render(text)) / voice.rate


def spoken(recording: np.ndarray, *texts: str) -> list[float]:
    """Where the coach says each text, in seconds; that it does is asserted.

    A busy sound server leaves gaps, so that a text is looked for second by second: most of it must be there,
    in its order. Two texts may have some words in common.
    """
    found = {text: said_at(recording, text) for text in texts}
    assert all(share >= 0.6 for _, share in found.values()), found
    return [at for at, _ in found.values()]


def said_at(recording: np.ndarray, text: str) -> tuple[float, float]:
    """Where a text is most likely said, in seconds, and which share of its first six seconds is there."""
    voice = Voice()
    wanted = soxr.resample(voice.render(text), voice.rate, RATE)
    seconds = [
        wanted[start : start + RATE] for start in range(0, min(6 * RATE, len(wanted) - RATE // 2), RATE)
    ]

    def share(begin: float) -> float:
        alike = 0
        for number, second in enumerate(seconds):
            first = round((begin + number - LATE) * RATE)
            near = recording[max(0, first) : first + round((1 + 2 * LATE) * RATE)]
            alike += len(near) >= len(second) and where(near, second)[1] > 0.9
        return alike / len(seconds)

    begins = {where(recording, second)[0] - number for number, second in enumerate(seconds)}
    return max(((begin, share(begin)) for begin in begins), key=lambda one: one[1])


def heard(test: Running) -> list[str]:
    """All words that were heard, in the attempts and between them."""
    return re.findall(r"heard: ([^(].*)", test.printed)


@taking("--student", "s07")
def test_of_two_skills_gone_through_by_voice_the_verdict_is_spoken_and_both_are_kept(
    a_room: Room, test: Running
) -> None:
    a_room.echo(-9.0)
    with a_room.recorded() as recordings:
        begin(a_room, test, 1)
        say(a_room, WASHING["water-on"][0], WASHING["wet"][0], WASHING["soap"][0], FINISHED)
        begin(a_room, test, 2)
        say(a_room, "my hands look clean", "i pump a palmful of gel into my hand", FINISHED)
        assert test.process.wait(60) == 0
    verdict = (
        f"Not passed yet: 0 of 2 skills. Not passed: {'; '.join(TITLES)}. Look first at the page of "
        f"{TITLES[0]}. {mocking.ON_SCREEN} {wording.CAUTION}"
    )
    assert f"coach: {verdict}\n" in test.printed, test.printed
    times = spoken(recordings[0].coach, *ANNOUNCED, verdict)
    assert times == sorted(times)
    spoken(recordings[0].coach, offers.BEGINNING, wording.SKILL_OVER)
    # Of all that the loudspeaker said nothing was taken for the student.
    assert [said.split()[-1][:6] for said in heard(test)] == [
        "start", "on", "wet", "on", "finish", "start", "clean", "hand", "finish",
    ], test.printed  # fmt: skip
    assert test.replays()
    first, second = kept("s07")
    assert (first.procedure, second.procedure) == SKILLS
    assert mock.number_of(first.mock) == NUMBER
    assert first.mock == second.mock
    for one in (first, second):
        assert (one.mode, one.complete, one.passed) == ("selftest", True, False)
        assert f"voicecoach debrief {one.attempt}\n" in test.printed


@taking()
def test_ctrl_c_between_two_skills_leaves_the_first_as_it_was(a_room: Room, test: Running) -> None:
    with a_room.recorded() as recordings:
        begin(a_room, test, 1)
        say(a_room, WASHING["water-on"][0], FINISHED)
        test.until_printed(ANNOUNCED[1])
        time.sleep(0.5)
        assert test.stop() == 130
        time.sleep(0.5)
    # The coach was silent at once.
    assert place(recordings[0].coach, ANNOUNCED[1])[1] < 0.9
    assert re.search(rf"{TITLES[1]} +not gone through", test.printed)
    assert "passed: 0 of 2 skills" not in test.printed.split("coach:")[-1]
    assert test.replays()
    (only,) = kept("")
    assert only.complete


def kept(student: str) -> list[Result]:
    """What the store has of a student, in order of time."""
    store.bring_up_to_date()
    return store.results(student)

"""A mock test by voice, with stand-ins of real devices: what is said and shown, and what is kept of it."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from contextlib import closing

import numpy as np
import pytest

from tests.live.coach import Running
from tests.live.pulse import Room
from tests.live.test_live import WASHING, place, say
from voicecoach import mocking
from voicecoach.coaching import choosing, offers, wording
from voicecoach.procedure import library
from voicecoach.records import mock, store
from voicecoach.records.results import Result
from voicecoach.speaking.voice import Voice

NUMBER = 6
"""It draws the two shortest skills."""
SKILLS = ("wash-hands", "hand-rub")
CHOICES = [choosing.choice(library.find(id)) for id in SKILLS]
TITLES = [choice.title for choice in CHOICES]
ANNOUNCED = [mocking.announced(place, 2, title) for place, title in enumerate(TITLES, 1)]
FINISHED = "coach i have finished"


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
    """Wait until a skill, from 1, is announced to the end, say start, and wait until it can be narrated."""
    test.until_printed(ANNOUNCED[skill - 1])
    time.sleep(lasting(ANNOUNCED[skill - 1]) + 1.0)
    say(room, "start", pause=0.1)
    test.until(lambda: len(test.journals()) == skill, f"journal of skill {skill}")
    test.until_event("voiced", cue=1)
    time.sleep(0.5)  # Nobody begins sooner.


def lasting(text: str) -> float:
    """Seconds that the coach takes to say something."""
    voice = Voice()
    return len(voice.render(text)) / voice.rate


def spoken(recording: np.ndarray, *texts: str) -> list[float]:
    """Where the coach says each text, in seconds; that it does is asserted."""
    found = [place(recording, text) for text in texts]
    assert min(likeness for _, likeness in found) > 0.9, dict(zip(texts, found, strict=True))
    return [at for at, _ in found]


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


@taking("--minutes", "1")
def test_when_the_time_runs_out_in_the_second_skill_the_verdict_is_that_of_the_first(
    a_room: Room, test: Running
) -> None:
    with a_room.recorded() as recordings:
        begin(a_room, test, 1)
        say(a_room, *(WASHING[step][0] for step in ("water-on", "wet", "soap", "lather")), pause=0.8)
        time.sleep(19.0)
        rest = ("nails", "hands-low", "rinse", "dry", "water-off")
        say(a_room, *(WASHING[step][0] for step in rest), FINISHED, pause=0.8)
        begin(a_room, test, 2)
        say(a_room, "i pump a palmful of gel into my hand")
        verdict = f"Time is up. Not passed yet: 1 of 2 skills. Not passed: {TITLES[1]}."
        test.until_printed(f"coach: {verdict}")
        time.sleep(0.5)
        # Who has heard enough presses Ctrl-C, and sees it all the same.
        assert test.stop() == 130
    assert test.printed.count(verdict) == 2
    spoken(recordings[0].coach, ANNOUNCED[1], wording.SKILL_OVER)
    assert test.replays()
    assert test.journals()[1][-1]["why"] == "time is up"
    assert [event["step"] for event in test.journals()[1] if event["event"] == "followed"] == ["palmful"]
    first, second = kept("")
    assert (first.passed, second.passed) == (True, False)
    assert first.mock == second.mock
    # What is said between the two does not count.
    assert first.seconds + second.seconds == pytest.approx(60.0, abs=0.002)


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

"""A mock test by voice: what is said, what is counted, and how it ends."""

from __future__ import annotations

import random
import signal
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import pytest
import typer

from tests.narrated import utterance
from tests.records.made_results import attempt as made
from tests.records.made_results import failed
from tests.records.small_journals import home
from tests.test_attempt import WASHED
from tests.test_listening import Voice, heard
from voicecoach import mock_commands, mocking, replay, sources
from voicecoach.coaching import choosing, offers, wording
from voicecoach.ear import Moment
from voicecoach.errors import Complaint
from voicecoach.events import Begun, Cued, Ended
from voicecoach.mocking import Gone
from voicecoach.mouth import Mouth
from voicecoach.procedure import library
from voicecoach.records import journal, mock, store
from voicecoach.records.mock import MockVerdict
from voicecoach.records.results import Result

__all__ = ["home"]

IDS = ("wash-hands", "hand-rub", "mouth-care")
SKILLS = tuple(choosing.choice(library.find(id)) for id in IDS)
LIMIT = 1800.0


class Live:
    """Gives what the test says for each time that somebody listens."""

    def __init__(self, *talks: list[Moment]) -> None:
        self.mouth = Quick()
        self._talks = iter(talks)

    def hear(self, recognizer: object, patience: Callable[[str], float]) -> Iterator[Moment]:
        return iter(next(self._talks))


class Quick(Voice):
    """Has said everything at once."""

    def say(self, text: str, at: float) -> float:
        super().say(text, at)
        self.sounds = False
        return 0.0


class Attempts:
    """Notes what is gone through, and with how much time; gives what the test says."""

    def __init__(self, **came: Result) -> None:
        self.asked: list[tuple[str, float]] = []
        self.came = {name.replace("_", "-"): result for name, result in came.items()}
        self.on = True

    def __call__(self, id: str, seconds: float) -> Gone:
        self.asked.append((id, seconds))
        return Gone(replace(self.came.get(id, made()), procedure=id), self.on)


START = [heard(1, "start")]


def hold(
    attempts: Attempts,
    *talks: list[Moment],
    limit: float = LIMIT,
    interrupted: Callable[[], bool] = lambda: False,
) -> tuple[MockVerdict, list[str], list[str]]:
    """A test: its verdict, what the coach said, and what was shown."""
    live: Any = Live(*talks)
    shown: list[str] = []
    nothing: Any = None
    came = mocking.hold(live, nothing, SKILLS, limit, attempts, shown.append, interrupted)
    return came, live.mouth.said, shown


def announced(place: int) -> str:
    return f"Skill {place} of 3: {SKILLS[place - 1].title}. Say start when you are ready."


def test_a_whole_test_goes_from_skill_to_skill_and_ends_with_one_verdict() -> None:
    attempts = Attempts()
    came, said, shown = hold(attempts, START, [heard(1, "i am ready")], [heard(1, "coach start")])
    assert came.passed
    # Each of them took 150 s; nothing else counts.
    assert attempts.asked == [("wash-hands", 1800.0), ("hand-rub", 1650.0), ("mouth-care", 1500.0)]
    assert said == [
        announced(1),
        offers.BEGINNING,
        announced(2),
        offers.BEGINNING,
        announced(3),
        offers.BEGINNING,
        f"You passed the mock test: 3 of 3 skills. {mocking.ON_SCREEN} {wording.CAUTION}",
    ]
    assert f"> 2  {SKILLS[1].title}" in shown
    assert shown.count(f"  2  {SKILLS[1].title}") == 2
    assert [line for line in shown if line.startswith("Time left")] == [
        "Time left: 30:00", "Time left: 27:30", "Time left: 25:00",
    ]  # fmt: skip


def test_a_skill_that_is_not_passed_is_told_at_the_end_alone() -> None:
    came, said, _ = hold(Attempts(hand_rub=failed()), START, START, START)
    assert not came.passed
    title = SKILLS[1].title
    assert said[-1] == (
        f"Not passed yet: 2 of 3 skills. Not passed: {title}. Look first at the page of {title}. "
        f"{mocking.ON_SCREEN} {wording.CAUTION}"
    )
    assert not any("passed" in text for text in said[:-1])


def test_whoever_leaves_in_the_middle_hears_goodbye_and_no_verdict() -> None:
    attempts = Attempts()
    came, said, _ = hold(attempts, START, [heard(1, "coach goodbye"), heard(2, "start")])
    assert [id for id, _ in attempts.asked] == ["wash-hands"]
    assert said[2:] == [announced(2), offers.GOODBYE]
    assert [skill.told for skill in came.skills] == ["passed", "not gone through", "not gone through"]
    assert not came.passed


def test_when_the_time_is_up_in_the_third_skill_the_verdict_follows() -> None:
    third = replace(failed(), seconds=300.0)
    attempts = Attempts(mouth_care=third)
    came, said, _ = hold(attempts, START, START, START, limit=600.0)
    assert attempts.asked[-1] == ("mouth-care", 300.0)
    assert said[-1].startswith("Time is up. Not passed yet: 2 of 3 skills.")
    assert came.skills[-1].told == "missing: Lock the wheels"


def test_after_the_time_no_skill_is_begun() -> None:
    attempts = Attempts()
    # 0.1 + 0.7 is less than 0.8 in binary.
    attempts.came = {"wash-hands": replace(made(), seconds=0.1), "hand-rub": replace(made(), seconds=0.7)}
    came, said, _ = hold(attempts, START, START, limit=0.8)
    assert len(attempts.asked) == 2
    assert came.skills[-1].told == "the time was up"
    assert said[-1].startswith("Time is up.")


def test_an_interrupted_skill_ends_the_test_without_a_word() -> None:
    attempts = Attempts(wash_hands=made(complete=False))
    attempts.on = False
    came, said, _ = hold(attempts, START)
    assert said == [announced(1), offers.BEGINNING]
    assert came.skills[0].told == "broken off"


def test_ctrl_c_between_two_skills_ends_the_test_without_a_word() -> None:
    presses = iter([False, True, True])
    came, said, _ = hold(
        Attempts(), START, [Moment(1.0), heard(1, "start")], interrupted=lambda: next(presses)
    )
    assert said == [announced(1), offers.BEGINNING, announced(2)]
    assert len(came.missed) == 2


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("good morning missus marlow how are you", []),
        ("coach say that again", ["again"]),
        ("repeat that", ["again"]),
        ("coach help", ["again"]),
        ("coach i want a sandwich with cheese", ["unclear"]),
        ("no not ready", []),
        ("coach no", ["unclear"]),
        ("goodbye", []),
        ("start washing hands", [offers.BEGINNING]),
        ("yes please", [offers.BEGINNING]),
    ],
)
def test_what_is_said_before_a_skill(text: str, said: list[str]) -> None:
    words = {"again": announced(1), "unclear": mocking.UNCLEAR}
    _, told, _ = hold(Attempts(), [heard(1, text)], START, START)
    assert told[1:2] == [words.get(one, one) for one in said]


def test_the_coach_does_not_say_again_and_again_that_it_did_not_understand() -> None:
    talk = [heard(number, "coach i want a sandwich with cheese") for number in range(1, 6)]
    _, said, _ = hold(Attempts(), talk)
    assert said == [announced(1), *[mocking.UNCLEAR] * choosing.PATIENCE]


def test_what_is_said_is_known_beforehand() -> None:
    came, said, _ = hold(Attempts(), START, START, START)
    assert {*said} - {*mocking.fixed(SKILLS)} == {mocking.closing(came)}


# The command


class Ear:
    """Stands for a recognizer."""

    name = "sphinx"


@pytest.fixture
def told(
    home: object, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., tuple[int, str, str]]:
    """Runs the command with what is heard in a test: exit code, standard output and standard error."""
    app = typer.Typer()
    app.command()(mock_commands.mock)
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.setattr(sources, "recognizer_of", lambda *_: Ear())
    monkeypatch.setattr(sources, "recognizer", lambda *_: Ear())

    def told(*arguments: object, talks: list[list[Moment]]) -> tuple[int, str, str]:
        class Room(Live):
            notices = ("There is no loudspeaker.",)

            def __init__(self) -> None:
                super().__init__(*talks)
                self.mouth: Any = Mouth()

            def __enter__(self) -> Room:
                return self

            def __exit__(self, *_: object) -> None:
                pass

        monkeypatch.setattr(mock_commands, "Live", Room)
        code = app([*map(str, arguments)], standalone_mode=False)
        printed = capsys.readouterr()
        return int(code or 0), printed.out, printed.err

    return told


def washing() -> list[Moment]:
    """Somebody who washes hands in time and says so."""
    moments: list[Moment] = []
    at = 1.0
    for number, text in enumerate([*WASHED.values(), "i have finished"], 1):
        # Time to lather and rinse.
        said = utterance(number, text, at)
        moments.append(Moment(said.end, heard=said))
        at = said.end + 25.0
    return [*moments, Moment(at), Moment(at + 10.0)]


def test_a_test_by_command_has_one_verdict_and_journals_that_replay_to_the_byte(
    told: Callable[..., tuple[int, str, str]],
) -> None:
    talks = [START, washing(), START, [Moment(float(at)) for at in range(0, 100, 10)]]
    code, out, err = told("--number", 7, "--skills", 2, "--minutes", 6, "--student", "s07", talks=talks)
    assert (code, err) == (0, "")
    first, second = sorted(store.results("s07"), key=lambda one: one.procedure != "wash-hands")
    assert (first.procedure, first.passed, first.mode) == ("wash-hands", True, "selftest")
    assert second.procedure == mock.draw(library.shipped(), 7, 2, ())[1]
    assert (second.passed, second.complete) == (False, True)
    # What the first took is taken from the time of the second, to the thousandth.
    assert round(first.seconds + second.seconds, 3) == 360.0
    assert first.mock == second.mock
    assert first.mock.endswith("-0007")
    for one in (first, second):
        path = journal.folder() / f"{one.attempt}.jsonl"
        events = journal.read(path)
        assert isinstance(events[0], Begun)
        assert events[0].mock == one.mock
        assert [event.text for event in events if isinstance(event, Cued)][-1] == wording.SKILL_OVER
        assert replay.difference(tuple(replay.replay(events)), path) is None
        assert f"voicecoach debrief {one.attempt}" in out
    assert events[-1] == Ended(second.seconds, "time is up")
    assert "--number 7 --skills 2 --minutes 6 --student s07" in out
    assert "! There is no loudspeaker." in out
    assert "Time is up. Not passed yet: 1 of 2 skills." in out
    assert "Passed: every critical step" not in out
    assert wording.CAUTION in out


def test_a_number_gives_the_same_test_again_and_without_one_another_is_drawn(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    pool = library.shipped()
    numbers = iter([4, 5])

    class Chance:
        def randint(self, least: int, most: int) -> int:
            return next(numbers)

    last = replace(made(), mock="2026-11-26-0004")
    past = [replace(made(), mock="2026-11-25-0003"), last, made()]
    monkeypatch.setattr(random, "SystemRandom", Chance)
    assert mock_commands._drawn(pool, 4, 5, past) == (4, mock.draw(pool, 4, 5, ()))
    # The generator gives 4 first, which was the last test.
    assert mock_commands._drawn(pool, None, 5, past) == (5, mock.draw(pool, 5, 5, ()))


def test_a_pool_of_one_set_is_drawn_again(monkeypatch: pytest.MonkeyPatch) -> None:
    past = [replace(made(), mock="2026-11-26-0004")]
    assert {*mock_commands._drawn(("wash-hands", "a"), None, 2, past)[1]} == {"wash-hands", "a"}


def test_whoever_breaks_off_by_voice_is_shown_how_far_it_went(
    told: Callable[..., tuple[int, str, str]],
) -> None:
    code, out, _ = told("--skills", 2, talks=[[heard(1, "coach goodbye")]])
    assert code == 0
    assert out.count("not gone through") == 2
    assert "voicecoach mock --number" in out
    assert store.results() == []


def test_a_microphone_that_is_lost_ends_the_test_with_a_sentence_and_exit_code_2(
    told: Callable[..., tuple[int, str, str]],
) -> None:
    def lost() -> Iterator[Moment]:
        yield Moment(1.0)
        raise Complaint("The microphone gives no more sound.")

    talks: Any = [START, lost()]
    code, out, err = told("--skills", 2, talks=talks)
    assert (code, err) == (2, "The microphone gives no more sound.\n")
    assert "not gone through" in out


@pytest.mark.parametrize(("before", "kept"), [(0, 0), (1, 1)])
def test_ctrl_c_shows_how_far_it_went_and_leaves_with_exit_code_130(
    told: Callable[..., tuple[int, str, str]], before: int, kept: int
) -> None:
    def pressed() -> Iterator[Moment]:
        yield Moment(1.0)
        signal.raise_signal(signal.SIGINT)
        yield Moment(2.0)
        raise AssertionError("nobody listens any more")

    talks: Any = [*[START] * before, pressed()]
    code, out, err = told("--skills", 2, talks=talks)
    assert (code, err) == (130, "")
    assert out.count("broken off") == out.count("voicecoach debrief") == kept
    assert [one.complete for one in store.results()] == [False] * kept


def test_ctrl_c_while_a_skill_is_made_ready_ends_the_test_and_not_only_after_the_skill(
    told: Callable[..., tuple[int, str, str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    def pressed(*_: object) -> Ear:
        signal.raise_signal(signal.SIGINT)
        return Ear()

    monkeypatch.setattr(sources, "recognizer", pressed)
    code, out, _ = told("--skills", 2, talks=[START, washing()])
    assert code == 130
    assert out.count("broken off") == out.count("not gone through") == 1
    assert [one.complete for one in store.results()] == [False]


@pytest.mark.parametrize(
    ("arguments", "why"),
    [(("--student", "../s07"), "cannot be a student's code"), (("--skills", 99), "1 to 16 skills, not 99")],
)
def test_what_cannot_be_is_refused_before_anything_begins(
    told: Callable[..., tuple[int, str, str]], arguments: tuple[object, ...], why: str
) -> None:
    with pytest.raises(Complaint, match=why):
        told(*arguments, talks=[])

"""The dialogue between attempts: what is heard goes to it, and it lets itself be interrupted."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest

from tests.narrated import utterance
from voicecoach import listening
from voicecoach.coaching import choosing, offers
from voicecoach.coaching.choosing import Choosing
from voicecoach.ear import Moment
from voicecoach.errors import Complaint
from voicecoach.mouth import Mouth
from voicecoach.procedure import library

CHOICES = tuple(choosing.choice(library.find(name)) for name in ("hand-rub", "wash-hands"))
Script = Callable[["Voice"], Iterator[Moment]]


class Voice(Mouth):
    """Sounds until it is stopped or the test says that it is over."""

    def __init__(self, fails: str = "") -> None:
        self.fails = fails
        self.said: list[str] = []
        self.sounds = False
        self.stops = 0

    @property
    def sounding(self) -> bool:
        return self.sounds

    def say(self, text: str, at: float) -> float:
        if self.fails:
            raise Complaint(self.fails)
        self.said.append(text)
        self.sounds = True
        return 1.0

    def stop(self) -> None:
        self.sounds = False
        self.stops += 1


def heard(number: int, text: str) -> Moment:
    said = utterance(number, text, float(number))
    return Moment(said.end, heard=said)


def talk(
    script: Script, voice: Voice, interrupted: Callable[[], bool] = lambda: False
) -> tuple[Any, list[str]]:
    shown: list[str] = []
    chosen = listening.choose(Choosing(CHOICES), script(voice), voice, shown.append, interrupted)
    return chosen, shown


def test_a_choice_is_said_back_and_begins_after_a_yes() -> None:
    def script(voice: Voice) -> Iterator[Moment]:
        yield heard(1, "good morning missus marlow")
        assert len(voice.said) == 1
        yield heard(2, "coach rehearse washing hands")
        yield heard(3, "start")
        raise AssertionError("nobody listens any more")

    voice = Voice()
    chosen, shown = talk(script, voice)
    assert chosen == ("rehearse", "wash-hands")
    assert [text.partition(":")[0] for text in voice.said] == [
        "Say, for example",
        "Rehearse",
        offers.BEGINNING,
    ]
    assert shown == [
        f"coach: {voice.said[0]}",
        "heard: good morning missus marlow",
        "heard: coach rehearse washing hands",
        f"coach: {voice.said[1]}",
        "heard: start",
        f"coach: {voice.said[2]}",
    ]


def test_whoever_talks_over_the_coach_is_listened_to() -> None:
    def script(voice: Voice) -> Iterator[Moment]:
        yield Moment(1.0)
        assert voice.sounds
        yield Moment(1.5, speaking=True)
        assert not voice.sounds
        yield Moment(1.6, speaking=True)
        yield heard(2, "coach goodbye")
        voice.sounds = False

    voice = Voice()
    # Goodbye is heard to its end before the command ends.
    ends = iter([False] * 6 + [True])
    chosen, _ = talk(script, voice, lambda: next(ends, True))
    assert chosen is None
    assert voice.stops == 1
    assert voice.said[-1] == offers.GOODBYE


def test_ctrl_c_leaves() -> None:
    def script(voice: Voice) -> Iterator[Moment]:
        yield Moment(1.0)
        raise AssertionError("nobody listens any more")

    assert talk(script, Voice(), lambda: True)[0] is None


def test_what_happens_to_the_devices_is_shown_once() -> None:
    def script(voice: Voice) -> Iterator[Moment]:
        yield Moment(1.0, notice="Some sound was lost.")
        for _ in range(3):
            yield Moment(1.0, gap="The microphone is gone.")
        yield Moment(1.1)

    _, shown = talk(script, Voice("The loudspeaker is gone."), lambda: False)
    assert shown[1:] == [
        "The loudspeaker is gone. The coach's words are shown instead.",
        "Some sound was lost.",
        "The microphone is gone.",
    ]


@pytest.mark.parametrize("goes_on", [True, False])
def test_after_an_attempt_it_is_asked_what_comes_next(goes_on: bool) -> None:
    heard_so_far = iter(
        [
            [heard(1, "coach practise hand rub"), heard(2, "yes")],
            [heard(1, "coach again"), heard(2, "no self test"), heard(3, "start")],
            [heard(1, "coach goodbye")],
        ]
    )

    class Live:
        mouth = Mouth()

        def hear(self, recognizer: object, patience: Callable[[str], float]) -> Iterator[Moment]:
            assert 0.3 <= patience("well") <= 1.0
            return iter(next(heard_so_far))

    attempts: list[tuple[str, str]] = []

    def attempt(mode: str, procedure: str) -> bool:
        attempts.append((mode, procedure))
        return goes_on

    shown: list[str] = []
    live: Any = Live()
    recognizer: Any = None
    listening.listen(live, recognizer, CHOICES, attempt, shown.append, lambda: False)
    expected = [("practise", "hand-rub"), ("selftest", "hand-rub")]
    assert attempts == (expected if goes_on else expected[:1])
    assert shown.count(f"coach: {offers.AGAIN}") == (2 if goes_on else 0)


def test_the_last_words_before_an_attempt_are_heard_out() -> None:
    """What makes a recognizer ready keeps the loudspeaker waiting."""

    class Slow(Voice):
        looks = 3

        @property
        def sounding(self) -> bool:
            self.looks -= self.sounds
            return self.looks > 0

    class Live:
        mouth = Slow()

        def hear(self, recognizer: object, patience: Callable[[str], float]) -> Iterator[Moment]:
            return iter([heard(1, "coach practise hand rub"), heard(2, "yes")])

    def attempt(*_: str) -> bool:
        assert live.mouth.said[-1] == offers.BEGINNING
        assert not live.mouth.sounding
        return False

    live: Any = Live()
    recognizer: Any = None
    listening.listen(live, recognizer, CHOICES, attempt, lambda _: None, lambda: False)
    assert live.mouth.looks <= 0

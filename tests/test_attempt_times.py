"""Timed steps of an attempt, from the words to what is told of them."""

from __future__ import annotations

from tests.narrated import Narrated, kinds
from voicecoach.events import Cued, Followed, Timed, Unfollowed

BEFORE = ("warm water is running", "i wet my hands and wrists", "two pumps of soap")


def washed(*said: tuple[str, float]) -> Narrated:
    """Hands washed until they are soaped, and then what is said, each after so many seconds."""
    scene = Narrated("wash-hands", "rehearse", "clock")
    scene.say_all(BEFORE)
    for text, after in said:
        scene.say(text, after)
    return scene


def followed(scene: Narrated) -> set[str]:
    return {event.step for event in scene.events if isinstance(event, Followed)}


def lather(scene: Narrated) -> list[Timed]:
    return [event for event in scene.events if isinstance(event, Timed) and event.step == "lather"]


def test_a_step_that_no_words_report_is_followed_by_its_time_and_judged() -> None:
    scene = washed(("this is the long part everybody hates", 1.0), ("now i rinse the soap off", 23.0))
    assert "lather" in followed(scene)
    (timed,) = lather(scene)
    assert 20 <= timed.end - timed.start <= 26


def test_where_no_time_was_left_for_it_it_is_not_taken_as_done() -> None:
    scene = washed(("now i rinse the soap off", 1.0), ("i dry them with a paper towel", 4.0))
    scene.stop()
    assert "lather" not in followed(scene)
    assert lather(scene) == []


def test_to_say_that_the_time_is_over_takes_no_report_back() -> None:
    scene = washed(
        ("i generate a lather and rub every surface of both hands", 1.0),
        ("the required twenty seconds have elapsed", 18.0),
        ("i rinse downwards", 1.0),
    )
    assert kinds(scene.events, Unfollowed) == []
    (timed,) = lather(scene)
    assert timed.said == 20.0


def test_who_did_not_do_it_for_long_enough_is_told_so() -> None:
    scene = washed(("i rub up a lather", 1.0), ("now i rinse the soap off", 5.0))
    (timed,) = lather(scene)
    assert timed.end - timed.start < 8
    cues = [event for event in scene.events if isinstance(event, Cued) and event.kind == "time"]
    assert [cue.about for cue in cues] == [("lather",)]

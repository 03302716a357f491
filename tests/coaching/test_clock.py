"""The clock of timed steps, on reports and words made by hand; the times needed are those of the sources."""

from __future__ import annotations

import pytest

from tests.narrated import procedure, utterance
from voicecoach.coaching.clock import Clock, lasted, seconds_needed, too_short
from voicecoach.events import Timed
from voicecoach.following.clauses import Clause
from voicecoach.following.follower import Leaning

WASH = procedure("wash-hands")
RUB = procedure("hand-rub")
PULSE = procedure("pulse-breaths")


class Scene:
    """Words and reports on a clock, one after the other."""

    def __init__(self, name: str, times: str = "clock") -> None:
        self.clock = Clock(procedure(name), times)
        self.now = 0.0
        self._said = 0

    def say(self, text: str, after: float = 1.0, step: str = "", maybe: str = "") -> list[Timed]:
        """Say something so many seconds after what was said before; it reports `step`, or `maybe` another."""
        self._said += 1
        heard = utterance(self._said, text, self.now + after)
        self.now = heard.end
        chances = {step: 0.95} if step else {maybe: 0.3} if maybe else {}
        self.clock.heard(heard, [Leaning(Clause(heard.words), chances, chances)])
        if step:
            self.clock.reported(step, heard.start)
        return self.clock.settle(self.now)

    def end(self, after: float = 1.0) -> list[Timed]:
        """The attempt is over."""
        return self.clock.settle(self.now + after, over=True)


def seconds(timed: list[Timed]) -> dict[str, float]:
    return {one.step: round(one.end - one.start, 1) for one in timed}


def test_the_times_needed_are_those_of_the_published_sources() -> None:
    # CDC, handwashing: scrub at least 20 s. WHO, How to Handrub: 20 to 30 s from the palmful until dry.
    assert seconds_needed(WASH.step("lather")) == 20
    assert seconds_needed(RUB.step("until-dry")) == 20
    # A full minute for pulse and breaths: NLM MedlinePlus, How to take your pulse; common practice.
    assert seconds_needed(PULSE.step("count-pulse")) == 60
    assert seconds_needed(PULSE.step("count-breaths")) == 60
    assert seconds_needed(WASH.step("dry")) == 0


def test_a_step_lasts_from_its_words_to_those_of_the_step_that_needs_it() -> None:
    scene = Scene("wash-hands")
    assert scene.say("i rub up a lather", step="lather") == []
    assert scene.say("my hands stay low", after=10.0, step="hands-low") == []
    assert scene.say("and the nails", after=5.0, step="nails") == []
    assert seconds(scene.say("now i rinse", after=6.0, step="rinse")) == {"lather": 24.6}


def test_it_is_over_when_the_student_says_so() -> None:
    scene = Scene("wash-hands")
    scene.say("i rub up a lather", step="lather")
    assert seconds(scene.say("that's twenty seconds", after=5.0)) == {"lather": 6.5}
    assert scene.say("now i rinse", after=20.0, step="rinse") == []


def test_what_is_said_of_it_is_kept_beside_the_clock() -> None:
    scene = Scene("wash-hands")
    scene.say("i lather for twenty seconds", step="lather")
    (timed,) = scene.say("rinse", after=5.0, step="rinse")
    assert (timed.said, timed.counted) == (20.0, 0)
    assert lasted(timed, WASH.step("lather"), "clock") is False
    assert lasted(timed, WASH.step("lather"), "said") is True
    assert too_short(timed, WASH.step("lather"), "clock") == "You said 20 seconds, but it was 6 seconds."


def test_counting_too_fast_is_noticed_and_counts_where_it_is_only_talked_through() -> None:
    scene = Scene("wash-hands")
    scene.say("i lather now", step="lather")
    scene.say(" ".join("one two three four five six seven eight nine ten".split()), after=0.3)
    scene.say("eleven twelve thirteen fourteen sixteen seventeen eighteen nineteen twenty", after=0.3)
    (timed,) = scene.say("rinse", step="rinse")
    assert (timed.counted, timed.slips) == (20, ("15 left out",))
    assert lasted(timed, WASH.step("lather"), "clock") is False
    assert lasted(timed, WASH.step("lather"), "said") is True
    assert too_short(timed, WASH.step("lather"), "clock").startswith("You counted to 20 in 8 seconds.")


def test_where_times_are_made_up_a_few_numbers_say_nothing_of_the_time() -> None:
    timed = Timed(90.0, "lather", 10.0, 12.0, 4, (), 0.0)
    assert lasted(timed, WASH.step("lather"), "unknown") is None


def test_beats_that_are_counted_aloud_are_no_seconds() -> None:
    timed = Timed(90.0, "count-pulse", 10.0, 40.0, 72, (), 0.0)
    assert lasted(timed, PULSE.step("count-pulse"), "said") is False


def test_a_start_mark_begins_it_and_starting_over_begins_it_anew() -> None:
    scene = Scene("pulse-breaths")
    scene.say("i count the pulse", step="count-pulse")
    scene.say("starting now", after=3.0)
    scene.say("i lost it so i start over and go", after=8.0)
    begun = scene.now
    (timed,) = scene.say("time", after=60.0)
    assert timed.start == pytest.approx(begun)
    assert timed.end == pytest.approx(begun + 60.0)
    assert lasted(timed, PULSE.step("count-pulse"), "clock")


def test_what_is_told_afterwards_was_done_in_the_silence_before() -> None:
    scene = Scene("wash-hands")
    scene.say("soap on my hands", step="soap")
    assert seconds(scene.say("i've scrubbed them all over", after=22.0, step="lather")) == {"lather": 22.0}


def test_a_number_after_a_long_silence_is_the_result_of_a_count() -> None:
    scene = Scene("pulse-breaths")
    scene.say("i count the pulse", step="count-pulse")
    assert seconds(scene.say("seventy six", after=61.0)) == {"count-pulse": 62.2}


def test_the_next_count_ends_the_one_before_and_does_not_begin_it_again() -> None:
    scene = Scene("pulse-breaths")
    scene.say("i count the pulse", step="count-pulse")
    assert seconds(scene.say("now her breathing", after=62.0, step="count-breaths")) == {"count-pulse": 63.2}
    scene.say("the second hand's on the twelve go", step="count-pulse")
    assert set(seconds(scene.say("time", after=60.0))) == {"count-breaths"}


def test_who_does_it_once_more_is_judged_by_the_longer_time() -> None:
    scene = Scene("wash-hands")
    scene.say("i lather", step="lather")
    scene.say("rinse", after=5.0, step="rinse")
    scene.say("i lather again", step="lather")
    assert seconds(scene.say("now i dry them", after=21.0, step="dry")) == {"lather": 21.9}


def test_the_clock_of_a_rub_runs_from_the_palmful_until_the_hands_are_dry() -> None:
    scene = Scene("hand-rub")
    scene.say("a palmful of rub", step="palmful")
    scene.say("palm to palm", after=4.0, step="palms")
    scene.say("i keep rubbing until they are dry", after=6.0, step="until-dry")
    (timed,) = scene.say("they're dry", after=8.0)
    assert timed.start == pytest.approx(1.0)
    assert timed.end == pytest.approx(scene.now - 0.6)


def test_where_the_step_after_it_was_not_understood_the_words_before_the_next_one_end_it() -> None:
    scene = Scene("wash-hands")
    scene.say("i lather", step="lather")
    scene.say("what a day it is", after=5.0)
    assert seconds(scene.say("let the water take it all away", after=20.0, maybe="rinse")) == {"lather": 27.1}
    assert seconds(scene.say("now i dry them", after=6.0, step="dry")) == {}


def test_a_number_in_a_count_aloud_is_no_result_and_one_after_it_is() -> None:
    scene = Scene("pulse-breaths")
    scene.say("i count the pulse", step="count-pulse")
    scene.say("fifty one", after=50.0)
    scene.say("fifty two", after=0.5)
    assert seconds(scene.say("fifty three", after=0.5)) == {}
    assert seconds(scene.say("it is ninety four", after=8.0)) == {"count-pulse": 62.0}


def test_at_the_end_of_an_attempt_the_last_words_end_it() -> None:
    scene = Scene("wash-hands")
    scene.say("i lather", step="lather")
    assert seconds([*scene.say("i am finished", after=30.0), *scene.end()]) == {"lather": 30.6}
    silent = Scene("wash-hands")
    silent.say("i lather", step="lather")
    assert seconds(silent.end(after=25.0)) == {"lather": 25.6}


def test_a_step_of_which_no_words_were_understood_is_known_by_its_time() -> None:
    scene = Scene("wash-hands")
    scene.say("soap on my hands", step="soap")
    scene.say("this is the long part everybody hates")
    assert scene.clock.unreported() == []
    scene.say("now i rinse", after=22.0, step="rinse")
    ((step, start, chance),) = scene.clock.unreported()
    assert step == "lather"
    assert 3 < start < 8
    assert chance > 0.8


def test_where_times_are_made_up_only_counting_aloud_tells_of_a_step_that_was_not_understood() -> None:
    for counts in (False, True):
        scene = Scene("wash-hands", "unknown")
        scene.say("soap on my hands", step="soap")
        scene.say("this is the long part everybody hates")
        scene.say("one two three four five six seven eight" if counts else "what a day it is")
        scene.say("now i rinse", after=22.0, step="rinse")
        assert bool(scene.clock.unreported()) is counts


def test_a_number_that_was_misheard_neither_ends_a_count_nor_is_it_left_out() -> None:
    scene = Scene("wash-hands")
    scene.say("i lather", step="lather")
    for word in "one two three four by six seven eight nine then eleven twelve".split():
        assert scene.say(word, after=0.7) == []
    (timed,) = scene.say("now i rinse", step="rinse")
    assert (timed.counted, timed.slips) == (12, ())
    assert timed.end - timed.start > 12


def test_a_step_that_was_taken_back_has_no_time() -> None:
    scene = Scene("wash-hands")
    scene.say("i lather", step="lather")
    scene.clock.retracted("lather")
    assert scene.say("rinse", after=5.0, step="rinse") == []
    assert scene.clock.running() == ""


def test_the_time_that_the_coach_kept_counts() -> None:
    scene = Scene("wash-hands")
    scene.say("i lather", step="lather")
    assert scene.clock.running() == "lather"
    scene.clock.keep("lather", 3.0, 23.0)
    assert seconds(scene.clock.settle(23.0)) == {"lather": 20.0}


@pytest.mark.parametrize(
    ("start", "end", "said", "times", "verdict"),
    [
        (0.0, 19.6, 0.0, "clock", True),  # no word's time is surer than half a second
        (0.0, 19.4, 0.0, "clock", False),
        (0.0, 5.0, 20.0, "said", True),
        (0.0, 5.0, 10.0, "said", False),
        (0.0, 25.0, 0.0, "said", True),
        (0.0, 5.0, 0.0, "unknown", None),
        (0.0, 5.0, 10.0, "unknown", False),
        (0.0, 5.0, 20.0, "unknown", True),
    ],
)
def test_what_shows_that_it_lasted(
    start: float, end: float, said: float, times: str, verdict: bool | None
) -> None:
    assert lasted(Timed(end, "lather", start, end, 0, (), said), WASH.step("lather"), times) is verdict

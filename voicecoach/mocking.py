"""A mock test by voice: skill after skill in selftest, within a time, and one verdict at the end."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from voicecoach import listening
from voicecoach.coaching import offers, wording
from voicecoach.coaching.choosing import PATIENCE, Choice, Reply
from voicecoach.coaching.wishes import Wishes
from voicecoach.following.samples import samples
from voicecoach.hearing.recognizer import Recognizer
from voicecoach.listening import Tell
from voicecoach.live import Live
from voicecoach.records.mock import MockVerdict, verdict
from voicecoach.records.results import Result
from voicecoach.showing.marks import clock

MODE = "selftest"
START = "Say start when you are ready."
UNCLEAR = f"I did not get that. {START}"
ON_SCREEN = "How to see the page of each skill is on the screen."


@dataclass(frozen=True, slots=True)
class Gone:
    """A skill that has been gone through."""

    result: Result
    on: bool
    """False where the test cannot go on: it was interrupted, or a device is lost."""


class Ready:
    """One student before one skill, who begins it or leaves; a `listening.Talk`."""

    def __init__(self, skill: str, invitation: str, wishes: Wishes) -> None:
        """`skill` is its id; `wishes` know the names of the skills."""
        self.invitation = invitation
        self._skill = skill
        self._wishes = wishes
        self._unclear = 0
        """Times that something was not understood."""

    def hear(self, text: str) -> Reply:
        """What follows from an utterance."""
        wish = self._wishes.wish(text)
        if "leave" in wish.asks and wish.addressed:
            return Reply(offers.GOODBYE, leave=True)
        if not (wish.addressed or wish.whole):
            return Reply()
        if "yes" in wish.asks and "no" not in wish.asks and wish.clear:
            return Reply(start=(MODE, self._skill))
        if wish.asks & {"repeat", "help"}:
            return Reply(self.invitation)
        self._unclear += wish.addressed
        return Reply(UNCLEAR if wish.addressed and self._unclear <= PATIENCE else "")


def hold(
    live: Live,
    recognizer: Recognizer,
    skills: Sequence[Choice],
    limit: float,
    attempt: Callable[[str, float], Gone],
    tell: Tell,
    interrupted: Callable[[], bool],
) -> MockVerdict:
    """Hold a test of these skills; the verdict is said only where the student has not broken it off.

    `attempt` goes through the skill with an id, in so many seconds of the audio clock at most. Only what it
    takes counts against the `limit`, in seconds.
    """
    wishes = Wishes({skill.id: skill.names for skill in skills}, samples().chat)
    titles = {skill.id: skill.title for skill in skills}
    results: list[Result] = []
    seconds = 0.0
    for place, skill in enumerate(skills, 1):
        # To the thousandth, as journals keep times.
        left = round(limit - seconds, 3)
        if left <= 0:
            break
        for line in listed(skills, place, left):
            tell(line)
        ready = Ready(skill.id, announced(place, len(skills), skill.title), wishes)
        moments = live.hear(recognizer, listening.patience)
        if listening.choose(ready, moments, live.mouth, tell, interrupted) is None:
            return verdict(results, titles, seconds, limit)
        # What makes a recognizer ready may keep the loudspeaker waiting, in the middle of a word.
        listening.hear_out(live.mouth, interrupted)
        gone = attempt(skill.id, left)
        results.append(gone.result)
        seconds += gone.result.seconds
        if not gone.on:
            return verdict(results, titles, seconds, limit)
    came = verdict(results, titles, seconds, limit)
    listening.speaker(live.mouth, tell)(closing(came))
    listening.hear_out(live.mouth, interrupted)
    return came


def announced(place: int, of: int, title: str) -> str:
    """Which skill comes next, from 1, and how to begin it."""
    return f"Skill {place} of {of}: {title}. {START}"


def closing(came: MockVerdict) -> str:
    """The last words: the verdict, what it is worth, and which page to look at."""
    begun = [skill.title for skill in came.missed if skill.attempt]
    page = f"Look first at the page of {begun[0]}. {ON_SCREEN}" if begun else ON_SCREEN
    return f"{came.why} {page} {wording.CAUTION}"


def listed(skills: Sequence[Choice], place: int, left: float) -> tuple[str, ...]:
    """The list as lines, with a mark at the skill that comes next, from 1, and the seconds that are left."""
    lines = (
        f"{'>' if number == place else ' '} {number}  {skill.title}" for number, skill in enumerate(skills, 1)
    )
    return ("", *lines, f"Time left: {clock(left)}")


def fixed(skills: Sequence[Choice]) -> tuple[str, ...]:
    """Texts that can be known beforehand, to be rendered then."""
    titles = (announced(place, len(skills), skill.title) for place, skill in enumerate(skills, 1))
    return (*titles, offers.BEGINNING, wording.SKILL_OVER, UNCLEAR, offers.GOODBYE)

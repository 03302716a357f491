"""Attempts made by hand: with everything a debrief can show, long ones, and text that is hard to show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import count

from tests.narrated import procedure, utterance
from voicecoach.events import (
    Asked,
    Begun,
    Cued,
    Ended,
    Event,
    Followed,
    Heard,
    Mistaken,
    Read,
    Remarked,
    Timed,
    Voiced,
)
from voicecoach.procedure import case
from voicecoach.procedure.model import Procedure

WALL = "2026-11-25T09:15:00+00:00"
HARD = (
    '<script>alert("x")</script> & \'quoted\' "text"',
    "Pneumonoultramicroscopicsilicovolcanoconiosis" * 4,
    "Wash 🧼🖐🏽 the ﬁngers 👩‍⚕️ now",
    "שטוף את הידיים",
    "اغسل يديك بالماء والصابون",
    "line\nbreak\u2028and \u202eoverride\x1b[31m",
)
"""Text that must neither run nor tear a page: HTML, a long word, emoji, right to left, controls."""


class Attempt:
    """Builds a journal: every step said takes some seconds."""

    def __init__(self, of: Procedure, mode: str = "rehearse", student: str | None = None, number: int = 0):
        drawn = case.draw(of, number) if number else None
        plain = (case.fitted(of, drawn) if drawn else of).plain()
        self.of = of
        self.now = 1.0
        self._utterances, self._cues = count(1), count(1)
        known = drawn.plain() if drawn else None
        begun = Begun(0.0, "2026-11-25-091500-test", WALL, mode, "typed", plain, "clock", known, student)
        self.events: list[Event] = [begun]

    def say(self, text: str, *steps: str) -> Heard:
        """Say something that is taken for some steps."""
        heard = utterance(next(self._utterances), text, self.now)
        self.events.append(heard)
        for step in steps:
            self.events.append(Followed(heard.end, step, heard.start, heard.end, heard.utterance, text, 0.99))
        self.now = heard.end + 2.0
        return heard

    def do(self, *steps: str) -> None:
        """Say each step in the first words of its phrases, as utterances of their own."""
        for step in steps:
            self.say(self.of.step(step).say[0], step)

    def cue(self, kind: str, text: str, *about: str, seconds: float = 1.5, cut: bool = False) -> None:
        """The coach says something."""
        number = next(self._cues)
        self.events += [
            Cued(self.now, number, kind, about, 1, text),
            Voiced(self.now + seconds, number, self.now, cut),
        ]
        self.now += seconds

    def add(self, *events: Event) -> None:
        """Something else happens."""
        self.events += events

    def end(self, why: str = "finished") -> list[Event]:
        """The whole journal."""
        return [*self.events, Ended(self.now, why)]


def walk() -> list[Event]:
    """A step too late, one left out, one on the wrong side, a wrong name, and cues."""
    attempt = Attempt(procedure("gait-belt-walk"), student="s07", number=3)
    attempt.do("greet", "clean-hands", "privacy", "bed-low", "sit-edge")
    attempt.cue("missed", "What would happen if she leaned hard on the bed?", "lock-wheels")
    attempt.do("lock-wheels", "dizzy", "belt", "belt-check", "signal", "stand")
    attempt.add(Mistaken(attempt.now, "", "resident", "Mrs. Fenn", "Mrs. Beckwith"))
    attempt.do("walk")
    attempt.add(Mistaken(attempt.now, "walk", "side", "right", "left"))
    attempt.do("sit-back", "call-light", "clean-hands-end")
    return attempt.end()


def wash() -> list[Event]:
    """A timed step that was too short, with a slip in counting, and a mishap."""
    attempt = Attempt(procedure("wash-hands"), mode="practise")
    steps = [step.id for step in attempt.of.steps]
    for step in steps:
        attempt.do(step)
        if step == "lather":
            start = attempt.now
            attempt.say("one two three four six")
            attempt.add(
                Timed(attempt.now, "lather", start - 2.0, attempt.now, 6, ("5 was left out",), 20.0),
                Remarked(attempt.now, "mishap", "touch-sink", 4, "oops i touched the sink"),
            )
    return attempt.end()


def bag() -> list[Event]:
    """A reading that is wrong by the case."""
    attempt = Attempt(procedure("drainage-bag"), number=12)
    attempt.do(*(step.id for step in attempt.of.steps))
    attempt.add(Read(attempt.now, "record", (100.0,), "mL", "one hundred milliliters"))
    return attempt.end()


def longest() -> list[Event]:
    """The procedure with the most steps, some of them late, with many cues and long talk besides."""
    attempt = Attempt(
        procedure("bed-to-wheelchair"), "practise", "student-with-a-rather-long-code-0123456789", 7
    )
    steps = [step.id for step in attempt.of.steps]
    late, missing = ("lock-chair", "shoes", "lock-bed"), ("feet-up", "footrests")
    for step in steps:
        if step in missing or step in late:
            continue
        attempt.do(step)
        attempt.cue("missed", attempt.of.step(step).cue.nudge, late[0])
        attempt.say(" ".join(["and i tell her that it is a lovely day outside"] * 4))
        attempt.now += 25.0
    for step in late:
        attempt.do(step)
        attempt.add(Mistaken(attempt.now, step, "side", "right", "left"))
    attempt.add(Mistaken(attempt.now, "", "resident", "Mrs. Fenn", "Mrs. Alder"))
    return attempt.end()


def again() -> list[Event]:
    """The student starts over."""
    attempt = Attempt(procedure("hand-rub"))
    attempt.do("inspect", "backs")
    attempt.add(Asked(attempt.now, "restart", "start over"))
    attempt.now += 1.0
    attempt.do(*(step.id for step in attempt.of.steps))
    return attempt.end()


def hard() -> list[Event]:
    """A procedure, student, case and words that are hard to show, everywhere where there is text."""
    plain = procedure("gait-belt-walk").plain()
    steps = [
        step | {"do": HARD[place % len(HARD)], "why": HARD[(place + 1) % len(HARD)]}
        for place, step in enumerate(plain["steps"])
    ]
    of = Procedure.model_validate(
        plain | {"title": " ".join(HARD), "steps": steps, "residents": [HARD[0]], "scene": HARD[0]}
    )
    attempt = Attempt(of, HARD[0], " ".join(HARD), 3)
    for step in reversed([step.id for step in of.steps][:-3]):
        attempt.say(HARD[0], step)
    attempt.cue("missed", HARD[0] + " --> " + HARD[4], "shoes")
    for text in HARD:
        attempt.say(text)
        attempt.add(
            Mistaken(attempt.now, "belt", "side", text, text),
            Mistaken(attempt.now, "", "resident", text, text),
            Read(attempt.now, "belt", (1.0,), text, text),
            Asked(attempt.now, text, text),
        )
    begun = attempt.events[0]
    assert isinstance(begun, Begun)
    attempt.events[0] = replace(begun, attempt=HARD[0], wall=HARD[0], hear=HARD[0])
    return attempt.end()


def many(steps: int) -> list[Event]:
    """A procedure of so many steps, each needing the one before, done backwards."""
    plain = procedure("gait-belt-walk").plain()
    some = [
        {**plain["steps"][0], "id": f"step-{place}", "do": f"Do it for the {place}. time"}
        | ({"after": [f"step-{place - 1}"]} if place else {})
        for place in range(steps)
    ]
    attempt = Attempt(Procedure.model_validate(plain | {"steps": some, "avoid": []}))
    for place in reversed(range(steps)):
        attempt.say("now", f"step-{place}")
    return attempt.end()


ALL = (walk, wash, bag, longest, again, hard)
"""All that are not made to a length."""


def words(events: Sequence[Event]) -> list[str]:
    """The text of every utterance."""
    return [event.text for event in events if isinstance(event, Heard)]

"""Choosing by voice: utterances and what they come to, those never tuned on kept apart, and real sound."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from tests.hearing.synthetic_voice import spoken
from tests.procedure.examples import SHIPPED, plain_step, procedure, reproducible, shipped
from voicecoach.coaching import offers
from voicecoach.coaching.choosing import PATIENCE, Attempt, Choice, Choosing, Reply, choice, phrases
from voicecoach.coaching.wishes import ASKS, MODES
from voicecoach.following.normal import plain
from voicecoach.hearing.pronunciation import without_pronunciation
from voicecoach.hearing.sphinx import Sphinx

CHOICES = [choice(shipped(id)) for id in SHIPPED]
TITLES = {choice.id: choice.title for choice in CHOICES}
PRONOUNCE = {word: phones for id in SHIPPED for word, phones in shipped(id).pronounce.items()}
UNCLEAR = offers.unclear("weighing")
FREE = 0.9
"""Share of utterances in free wording, never tuned on, that must come to the right thing."""
MISHEARD = {"tuned": 0.4, "aside": 0.4}
"""The same of what a recognizer got wrong, some of it beyond all recognition."""


@dataclass(frozen=True, slots=True)
class Case:
    """An utterance where something has been said before, and what it must come to."""

    before: tuple[str, ...]
    last: Attempt | None
    said: str
    wanted: str
    """As `outcome` puts it; empty where there must be no answer."""

    def come_to(self) -> str:
        """What it does come to."""
        choosing = Choosing(CHOICES, self.last)
        for text in self.before:
            choosing.hear(text)
        return outcome(choosing, self.said)


def outcome(choosing: Choosing, said: str) -> str:
    """What an utterance comes to, in short.

    `rehearse wash-hands` is understood and waits for a yes; `start ...` begins; a question mark stands
    where something is asked.
    """
    reply = choosing.hear(said)
    if reply.start:
        return f"start {' '.join(reply.start)}"
    if reply.leave:
        return "leave"
    if reply.say.startswith("First, "):
        return "list"
    if reply.say.startswith("Which one: "):
        return " ".join(["which?", *(id for id in TITLES if TITLES[id].lower() in reply.say.lower())])
    return {
        "": "",
        UNCLEAR: "unclear",
        choosing.invitation: "help",
        offers.INSTEAD: "instead",
        offers.which_procedure(None): "procedure?",
        **{offers.which_procedure(mode): f"procedure? {mode}" for mode in MODES},
        **{offers.which_mode(title): f"mode? {id}" for id, title in TITLES.items()},
        **{offers.chosen(mode, TITLES[id]): f"{mode} {id}" for mode in MODES for id in TITLES},
    }[reply.say]


def cases(name: str, group: str) -> list[Case]:
    """The utterances of a group in the file `choosing_NAME.yaml`."""
    file = Path(__file__).with_name(f"choosing_{name}.yaml")
    return [case for block in yaml.safe_load(file.read_text("utf-8"))[group] for case in _block(block)]


def _block(block: dict[str, object]) -> Iterator[Case]:
    before, last, said = block.get("before", []), block.get("last"), block["said"]
    assert isinstance(before, list)
    assert isinstance(said, dict | list)
    mode, _, id = str(last).partition(" ")
    for text in said:
        wanted = said[text] if isinstance(said, dict) else ""
        yield Case(tuple(before), (mode, id) if last else None, text, wanted)


def wrong(some: list[Case]) -> dict[tuple[str, ...], str]:
    """The cases that do not come to what is wanted, with what they come to."""
    found = {(*case.before, case.said, case.wanted): case.come_to() for case in some}
    return {key: come_to for key, come_to in found.items() if key[-1] != come_to}


@pytest.mark.parametrize("group", ["plain", "free"])
def test_what_is_said_comes_to_what_is_wanted(group: str) -> None:
    assert wrong(cases("tuned", group)) == {}


@pytest.mark.parametrize(("group", "share"), [("plain", 1.0), ("free", FREE)])
def test_so_does_what_was_never_tuned_on(group: str, share: float) -> None:
    some = cases("aside", group)
    missed = wrong(some)
    assert len(missed) <= (1 - share) * len(some), missed


@pytest.mark.parametrize("name", ["tuned", "aside"])
def test_much_that_was_misheard_is_understood_and_nothing_else_begins(name: str) -> None:
    some = cases(name, "errors")
    missed = wrong(some)
    assert len(missed) <= (1 - MISHEARD[name]) * len(some), missed
    assert not [come_to for come_to in missed.values() if come_to.startswith(("start", "leave"))]


@pytest.mark.parametrize("name", ["tuned", "aside"])
def test_chat_a_resident_and_narration_get_no_answer(name: str) -> None:
    assert wrong(cases(name, "chat")) == {}


def test_there_are_enough_utterances_and_a_good_part_is_kept_apart() -> None:
    counts = {
        name: sum(len(cases(name, group)) for group in ("plain", "free", "errors"))
        for name in ("tuned", "aside")
    }
    assert sum(counts.values()) >= 120
    assert counts["aside"] >= sum(counts.values()) / 3
    assert len(cases("tuned", "chat")) >= 60


NAMES = ("tuned", "aside")
EVERYTHING = [
    case.said for name in NAMES for group in ("plain", "free", "chat") for case in cases(name, group)
]
UTTERANCES = st.sampled_from(EVERYTHING) | st.sampled_from(ASKS["yes"])
ATTEMPTS = st.tuples(st.sampled_from(list(MODES)), st.sampled_from(SHIPPED))
AGREEMENT = [" ".join(plain(saying)) for saying in ASKS["yes"]]


@reproducible
@given(
    st.lists(st.sampled_from(EVERYTHING) | st.sampled_from(ASKS["yes"]), max_size=12), st.none() | ATTEMPTS
)
def test_nothing_begins_that_was_not_agreed_to(said: list[str], last: Attempt | None) -> None:
    proposals = {offers.chosen(mode, TITLES[id]): (mode, id) for mode in MODES for id in TITLES}
    choosing = Choosing(CHOICES, last)
    proposed: Attempt | None = None
    for text in said:
        reply = choosing.hear(text)
        if reply.start:
            assert reply.start == proposed
            assert any(f" {agreed} " in f" {' '.join(plain(text))} " for agreed in AGREEMENT)
            proposed = None
        elif reply.leave:
            break
        elif reply.say not in ("", UNCLEAR, choosing.invitation):
            proposed = proposals.get(reply.say)


@given(st.text())
@reproducible
def test_whatever_is_heard_it_copes(text: str) -> None:
    assert Choosing(CHOICES).hear(text).start is None


def test_the_coach_does_not_answer_itself() -> None:
    first = "coach practise gloves", "coach blood pressure", "coach practise", "coach rehearse washing hands"
    for said in (*first, "coach no", "coach what can i do", "coach the weather is nice", "coach help"):
        choosing = Choosing(CHOICES)
        assert choosing.hear(choosing.hear(said).say) == Reply()


def test_it_begins_once() -> None:
    choosing = Choosing(CHOICES)
    replies = [choosing.hear(text) for text in ("coach rehearse washing hands", "yes", "yes", "coach yes")]
    assert [reply.start for reply in replies] == [None, ("rehearse", "wash-hands"), None, None]


def test_not_understanding_does_not_nag_and_help_is_always_given() -> None:
    choosing = Choosing(CHOICES)
    strange = [choosing.hear("coach the weather is nice").say for _ in range(PATIENCE + 3)]
    assert strange == [UNCLEAR] * PATIENCE + [""] * 3
    assert choosing.hear("coach help").say == choosing.invitation
    assert choosing.hear("coach the weather is nice").say == UNCLEAR


def test_the_list_is_read_some_at_a_time_and_begins_anew_after_its_end() -> None:
    choosing = Choosing(CHOICES)
    pages = [
        choosing.hear(text).say for text in ("coach what can i do", "more", "coach more", "more", "more")
    ]
    assert pages[4] == pages[0] != pages[1]
    for page, choices in zip(pages, (CHOICES[:4], CHOICES[4:8], CHOICES[8:12], CHOICES[12:]), strict=False):
        assert all(choice.title[1:] in page for choice in choices)
    assert [page.endswith("That is all. Choose one.") for page in pages] == [False, False, False, True, False]


def test_the_next_one_after_the_last_is_the_first() -> None:
    reply = Choosing(CHOICES, ("practise", SHIPPED[-1])).hear("coach the next one")
    assert reply.say == offers.chosen("practise", TITLES[SHIPPED[0]])


def test_what_nobody_calls_by_a_name_is_chosen_by_its_title_or_its_id() -> None:
    made = choice(procedure(plain_step("boil"), id="hot-drink", title="Make tea, for two"))
    assert made == Choice("hot-drink", "Make tea, for two", ("make tea for two", "hot drink"))
    for said in ("coach practise make tea for two", "coach practise the hot drink", "coach practise tea"):
        choosing = Choosing([*CHOICES, made])
        assert choosing.hear(said).say == offers.chosen("practise", "Make tea, for two")


@pytest.mark.parametrize("mode", MODES)
def test_each_procedure_is_understood_by_each_name_in_each_mode(mode: str) -> None:
    missed = {}
    for choice_ in CHOICES:
        for name in choice_.names:
            reply = Choosing(CHOICES).hear(f"coach {MODES[mode][0]} {name}")
            if reply.say != offers.chosen(mode, choice_.title):
                missed[name] = reply.say
    assert missed == {}


def test_the_phrases_are_what_may_be_said_here() -> None:
    made = phrases(CHOICES)
    assert {"coach start", "start", "yes", "no", "coach goodbye", "washing hands"} <= set(made)
    assert all(any(f" {said[0]} " in phrase for phrase in made) for said in MODES.values())
    assert 300 <= len(made) == len(set(made)) <= 1000
    words = {word for phrase in made for word in phrase.split()}
    assert without_pronunciation(words, PRONOUNCE) == ["selftest"]  # of two words, and so guessed right


def test_the_coach_says_nothing_that_cannot_be_spoken() -> None:
    assert offers.chosen("selftest", "PPE on") == "Self-test: PPE on. Say start when you are ready."
    assert offers.which_one(["Wash up", "A bath"]) == "Which one: first, wash up, or second, a bath?"


def test_a_dialogue_with_sound_leads_to_the_right_start() -> None:
    sphinx = Sphinx(phrases(CHOICES), PRONOUNCE)
    choosing = Choosing(CHOICES)
    come_to = []
    for text in DIALOGUE:
        sound = spoken(text)
        sphinx.begin(0.0)
        for place in range(0, len(sound), 480):
            sphinx.feed(sound[place : place + 480])
        come_to.append(outcome(choosing, sphinx.end(0.0).text))
    assert come_to == list(DIALOGUE.values())


DIALOGUE = {
    "coach what can i do": "list",
    "good morning missus marlow how did you sleep": "",
    "coach rehearse washing hands": "rehearse wash-hands",
    "coach no the gait belt": "rehearse gait-belt-walk",
    "no practise": "practise gait-belt-walk",
    "coach test me on blood pressure": "selftest blood-pressure",
    "coach start": "start selftest blood-pressure",
}
"""What a voice says and what it must come to."""

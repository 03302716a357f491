"""Cutting an utterance into clauses."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.narrated import utterance, words
from voicecoach.events import Word
from voicecoach.following.clauses import LONGEST, OPENERS, PAUSE, UNOPENED, Clause, borders, cut
from voicecoach.following.follower import Finding, Follower, Report
from voicecoach.procedure import library

reproducible = settings(derandomize=True, deadline=None, database=None, max_examples=60)

VOCABULARY = [*sorted(OPENERS), "bed", "lock", "gloves", "pull", "towel"]


@st.composite
def spoken(draw: st.DrawFn) -> tuple[Word, ...]:
    """Words with a pause of any length before each."""
    now = 0.0
    out = []
    for text in draw(st.lists(st.sampled_from(VOCABULARY), max_size=30)):
        now += draw(st.sampled_from([0.0, 0.1, 0.3, 0.5, 2.0]))
        out.append(Word(text, now, now + 0.25))
        now += 0.25
    return tuple(out)


def by_first_word(clauses: Sequence[Clause]) -> list[tuple[float, str]]:
    """A fitness that looks at the first word alone, so that every way to cut comes up."""
    return [(-(len(clause.words[0].text) % 5) / 2, clause.words[0].text[:1]) for clause in clauses]


@given(spoken(), st.sampled_from([0.0, 1.0, 2.5, 50.0]))
@reproducible
def test_the_clauses_put_together_are_the_utterance(said: tuple[Word, ...], cost: float) -> None:
    clauses = cut(said, by_first_word, cost)
    assert tuple(word for clause in clauses for word in clause.words) == said
    assert all(clause.words for clause in clauses)


@given(spoken())
@reproducible
def test_borders_are_where_a_clause_may_begin(said: tuple[Word, ...]) -> None:
    marks = borders(said)
    assert marks[0] == 0
    assert marks[-1] == len(said)
    assert marks == sorted(set(marks))
    for mark in marks[1:-1]:
        assert said[mark].text in OPENERS or said[mark].start - said[mark - 1].end > PAUSE


@given(spoken())
@reproducible
def test_neighbours_with_the_same_label_are_one_clause(said: tuple[Word, ...]) -> None:
    clauses = cut(said, lambda pieces: [(-1.0, "same") for _ in pieces], 0.0)
    assert len(clauses) == (1 if said else 0)


@given(spoken())
@reproducible
def test_a_cut_that_costs_too_much_is_not_made(said: tuple[Word, ...]) -> None:
    clauses = cut(said, by_first_word, 1e6)
    # Even then no clause holds more pieces than it may.
    assert len(clauses) <= -(-(len(borders(said)) - 1) // LONGEST) if said else not clauses


def test_a_pause_is_a_border_whatever_the_word() -> None:
    together = words("lock wheels lower bed")
    assert borders(together) == [0, 4]
    apart = (*words("lock wheels"), *words("lower bed", start=0.6 + PAUSE + 0.01))
    assert borders(apart) == [0, 2, 4]


def test_joined_openers_open_one_clause() -> None:
    assert borders(words("gloves on and then i lock a bed")) == [0, 2, 8]
    assert borders(words("gloves on so now lock a bed")) == [0, 2, 7]


def test_the_cut_is_made_where_the_parts_fit_better_than_the_whole() -> None:
    said = words("lock the wheels and then lower the bed")

    def fitness(clauses: Sequence[Clause]) -> list[tuple[float, str]]:
        good = ("lock the wheels", "and then lower the bed")
        return [(-0.1 if clause.text in good else -2.0, clause.text) for clause in clauses]

    assert [clause.text for clause in cut(said, fitness, 2.5)] == [
        "lock the wheels",
        "and then lower the bed",
    ]
    assert [clause.text for clause in cut(said, fitness, 25.0)] == [" ".join(word.text for word in said)]


def test_a_clause_that_fits_badly_is_cut_anywhere_where_that_gains_much() -> None:
    said = words("tie it at the neck tie it at the waist")
    whole = " ".join(word.text for word in said)

    def fitness(clauses: Sequence[Clause]) -> list[tuple[float, str]]:
        good = ("tie it at the neck", "tie it at the waist")
        return [(-0.1 if clause.text in good else -3.0, clause.text) for clause in clauses]

    gain = 3.0 * 10 - 0.1 * 10
    assert [clause.text for clause in cut(said, fitness, gain - UNOPENED - 0.5)] == [
        "tie it at the neck",
        "tie it at the waist",
    ]
    assert [clause.text for clause in cut(said, fitness, gain - UNOPENED + 0.5)] == [whole]


def said_of(procedure: str, text: str) -> list[tuple[str, str]]:
    """The steps that one long utterance reports, each with the clause that reports it."""
    found: list[Finding] = Follower(library.find(procedure)).hear(utterance(1, text))
    return [(finding.step, finding.clause.text) for finding in found if isinstance(finding, Report)]


@pytest.mark.parametrize(
    ("procedure", "parts"),
    [
        (
            "wash-hands",
            [
                ("water-on", "i turn on the faucet so the water is warm"),
                ("wet", "and i wet my hands and wrists all over"),
                ("soap", "then i pump some soap into my palm"),
            ],
        ),
        (
            "gait-belt-walk",
            [
                ("bed-low", "i lower the bed so that her feet touch the floor"),
                ("lock-wheels", "and then i lock the wheels of the bed"),
                ("shoes", "now i put her non slip shoes on"),
            ],
        ),
        (
            "gown-gloves",
            [
                ("clean-hands", "i clean my hands with sanitizer"),
                ("unfold", "then i pick up the gown and let it unfold"),
                ("sleeves", "and i put my arms through the sleeves"),
                ("neck-tie", "now i tie it behind my neck"),
                ("waist-tie", "and then i tie the strings around my waist"),
            ],
        ),
        (
            "blood-pressure",
            [
                ("cuff", "i wrap the cuff around his bare upper arm"),
                ("earpieces", "and i put the earpieces of the stethoscope in my ears"),
            ],
        ),
        (
            "gown-gloves",
            [
                ("clean-hands", "i clean my hands with sanitizer"),
                ("unfold", "unfolding the gown away from the floor"),
                ("sleeves", "slipping both arms into the sleeves"),
            ],
        ),
    ],
)
def test_a_run_on_sentence_is_cut_where_the_step_changes(
    procedure: str, parts: list[tuple[str, str]]
) -> None:
    said = said_of(procedure, " ".join(part for _, part in parts))
    assert [step for step, _ in said] == [step for step, _ in parts]
    # Where the cut falls may differ by some words: the steps are what must be right.
    for (_, clause), (_, part) in zip(said, parts, strict=True):
        inside = [word for word in part.split() if word in clause.split()]
        assert len(inside) >= 2


def test_a_step_told_at_length_is_one_report() -> None:
    text = "and now i put the shoes on her feet and they are the ones that don't slip so she has shoes on"
    assert [step for step, _ in said_of("gait-belt-walk", text)] == ["shoes"]

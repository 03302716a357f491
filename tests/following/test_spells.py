"""The spells that a timed step may have lasted: which there are, and which is the likeliest."""

from __future__ import annotations

import math
from importlib.resources import files

import numpy as np
import pytest
import yaml

from voicecoach.following.lasting import believed, together, weights
from voicecoach.following.moments import Said, Sought, Spell
from voicecoach.following.spell_signs import BY_TIME, NAMES
from voicecoach.following.spells import spells

SCRUB = Sought("scrub", "scrub", 20.0, False, frozenset({"soap"}), frozenset({"rinse"}), frozenset({"count"}))
COUNT = Sought("count", "count", 60.0, True, frozenset({"soap"}), frozenset({"record"}), frozenset({"scrub"}))


def said(start: float, end: float, step: str = "", chance: float = 0.97, **more: object) -> Said:
    chances = {step: chance} if step else {}
    plain = {"counting": False, "starts": (), "overs": (), "length": 0.0, "afterwards": False}
    return Said(start, end, chances, chances, **(plain | {"goes_on": False, "number": False} | more))  # type: ignore[arg-type]


WASHED = (said(1, 2, "soap"), said(4, 6, "scrub"), said(31, 32, "rinse"))


def test_a_spell_is_from_any_clause_to_any_later_one_or_goes_on_or_there_was_none() -> None:
    found, features = spells(WASHED, SCRUB, 32.0, ended=False)
    assert features.shape == (len(found), len(NAMES))
    assert {(spell.start, spell.end) for spell in found if spell.over} == {
        (1, 4), (1, 31), (2, 4), (2, 31), (4, 31), (6, 31),
    }  # fmt: skip
    assert {spell.start for spell in found if not spell.over and not spell.none} == {1, 2, 4, 6, 31, 32}
    assert sum(spell.none for spell in found) == 1


def test_at_the_end_of_an_attempt_nothing_goes_on() -> None:
    found, _ = spells(WASHED, SCRUB, 40.0, ended=True)
    assert all(spell.over or spell.none for spell in found)
    assert Spell(4, 40) in found


def test_a_mark_begins_one_and_counting_aloud_is_not_cut() -> None:
    scene = (said(1, 3, "scrub", starts=(2.9,)), *(said(n, n + 0.4, counting=True) for n in range(4, 8)))
    found, _ = spells((*scene, said(9, 10, "rinse")), SCRUB, 10.0, ended=False)
    assert {spell.start for spell in found if spell.over} == {1, 2.9, 4}
    assert {spell.end for spell in found if spell.over} == {9}


def test_times_that_are_made_up_count_nothing() -> None:
    _, features = spells(WASHED, SCRUB, 32.0, ended=False, timely=False)
    assert not features[:, [NAMES.index(name) for name in BY_TIME]].any()
    assert features.any()


def test_nothing_said_is_no_spell() -> None:
    found, features = spells((), SCRUB, 0.0, ended=False)
    assert (found, features.shape) == ([Spell()], (1, len(NAMES)))


def test_every_feature_has_its_weight() -> None:
    learned = yaml.safe_load(files("voicecoach.following").joinpath("spell_weights.yaml").read_text("utf-8"))
    assert list(learned) == list(NAMES)
    assert weights().tolist() == list(learned.values())


def test_a_step_that_is_reported_lasts_until_the_one_that_needs_it() -> None:
    belief = believed(WASHED, [SCRUB], 32.0, False, True, 0.5)["scrub"]
    assert belief.spell == Spell(4, 31)
    assert belief.over == pytest.approx(1.0, abs=0.2)
    assert belief.short < 0.2


def test_a_step_of_which_no_words_were_understood_was_done_in_the_time_between() -> None:
    heard = (said(1, 2, "soap"), said(4, 6), said(31, 32, "rinse"))
    belief = believed(heard, [SCRUB], 32.0, False, True, 0.5)["scrub"]
    assert belief.spell in (Spell(4, 31), Spell(6, 31))
    assert belief.over > 0.8


def test_where_there_was_no_time_for_it_it_was_not_done() -> None:
    heard = (said(1, 2, "soap"), said(3, 4, "rinse"))
    ended = believed(heard, [SCRUB], 4.0, True, True, 0.5)["scrub"]
    assert ended.over < 0.1


def test_two_steps_never_last_at_the_same_time() -> None:
    both = [Spell(1, 10), Spell(2, 9), Spell()]
    chances = together([(both, np.array([2.0, 0.0, 0.0])), ([Spell(5, 20), Spell()], np.array([3.0, 0.0]))])
    # The two together are worth 3, the first alone 2, and neither 0: no way has both spells that overlap.
    assert chances[0][Spell()] == pytest.approx(
        (math.exp(3) + 1) / (math.exp(3) + 1 + math.exp(2) + 1), abs=1e-6
    )
    assert chances[1][Spell(5, 20)] == pytest.approx(
        math.exp(3) / (math.exp(3) + 1 + math.exp(2) + 1), abs=1e-6
    )


def test_the_usual_order_is_the_likelier_one() -> None:
    either = [Spell(1, 2), Spell(3, 4), Spell()]
    odds = np.array([0.0, 0.0, -9.0])
    first, second = together([(either, odds), (either, odds)])
    assert first[Spell(1, 2)] > 0.9
    assert second[Spell(3, 4)] > 0.9

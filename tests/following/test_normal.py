"""The normal form of what was said."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from voicecoach.following.normal import FILLERS, NUMBER_WORDS, numbered, plain, stems, telling, words

reproducible = settings(derandomize=True, deadline=None, database=None, max_examples=100)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", []),
        ("...", []),
        ("Now, I'm LOCKING it!", ["now", "i'm", "locking", "it"]),
        ("it’s the resident’s bed", ["it's", "the", "resident's", "bed"]),
        ("non-slip shoes", ["non", "slip", "shoes"]),
        ("'quoted' words'", ["quoted", "words"]),
        ("20 s", ["20", "s"]),
    ],
)
def test_words(text: str, expected: list[str]) -> None:
    assert words(text) == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("um i'm er done", "i am done"),
        ("i can't and i won't", "i can not and i will not"),
        ("she doesn't", "she does not"),
        ("i've we'll they're he'd", "i have we will they are he would"),
        ("gonna gotta wanna", "going to got to want to"),
        ("let's see", "let us see"),
        ("it ain't locked", "it is not locked"),
        ("the bed's low", "the bed low"),
    ],
)
def test_contractions_are_written_out_and_fillers_left_out(text: str, expected: str) -> None:
    assert " ".join(plain(text)) == expected


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("lock the wheels", "locking the wheel"),
        ("I'm rinsing", "i am rinse"),
        ("um so i rubbed", "so i rubbing"),
        ("drying her hands", "Dried her hand."),
    ],
)
def test_inflections_have_the_same_stems(one: str, other: str) -> None:
    assert stems(one) == stems(other)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("one twenty over eighty", "number over number"),
        ("one hundred and twenty", "number and number"),
        ("rub for twenty seconds", "rub for number seconds"),
        ("one two three stand", "number stand"),
        ("one of the two wheels", "one of the two wheels"),
        ("76 beats", "number beats"),
    ],
)
def test_which_number_it_is_makes_no_difference(text: str, expected: str) -> None:
    assert " ".join(numbered(text)) == expected


@given(st.text(alphabet="abcdeghimnorstuvw'’ -,.!?0129TSN", max_size=60))
@reproducible
def test_the_normal_form_does_not_depend_on_case_and_is_its_own_normal_form(text: str) -> None:
    once = plain(text)
    assert plain(text.upper()) == once
    assert plain(" ".join(once)) == once
    assert not FILLERS & set(once)


@given(st.text(max_size=80))
@reproducible
def test_any_text_at_all_has_a_normal_form(text: str) -> None:
    assert all(word and word.isascii() and word.isalnum() for word in plain(text))
    number = {*NUMBER_WORDS, "number"}
    kept = [word for word in numbered(text) if word not in number and not word.isdigit()]
    assert kept == [word for word in plain(text) if word not in number and not word.isdigit()]
    assert len(stems(text)) == len(numbered(text))


@pytest.mark.parametrize(
    "text", ["", "oh", "uh and then", "and you", "that's it now", "one", "so that you can"]
)
def test_function_words_alone_tell_nothing(text: str) -> None:
    assert not telling(text)


@pytest.mark.parametrize("text", ["both on", "there it's off", "seventy six", "i'm washing", "76"])
def test_a_particle_a_number_or_a_verb_tells_something(text: str) -> None:
    assert telling(text)

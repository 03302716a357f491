"""Typed lines become utterances."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicecoach.errors import Complaint
from voicecoach.following.numbers import Amount, amounts
from voicecoach.hearing.typed import Typed, parse_line


@pytest.mark.parametrize(
    ("line", "time", "words"),
    [
        ("01:12.5 now i rinse", 72.5, "now i rinse"),
        ("1:02:03.25 text", 3723.25, "text"),
        ("75:00 late", 4500.0, "late"),
        ("12.5 text", None, "12.5 text"),
        ("Now I rinse, both hands!", None, "now i rinse both hands"),
        ("  0:05   I'm   done  ", 5.0, "i'm done"),
        ("it’s the residents' 'gown'", None, "it's the residents gown"),
        ("pressure 118/76, pulse 72.", None, "pressure 118 over 76 pulse 72"),
        ("temperature 98.6. two-step", None, "temperature 98.6 two step"),
        ("0:05", 5.0, ""),
        ("...", None, ""),
        ("10:30pm is late", None, "10 30pm is late"),
        ("he/she - soap + water", None, "he she soap water"),
    ],
)
def test_line(line: str, time: float | None, words: str) -> None:
    assert parse_line(line) == (time, words)


@pytest.mark.parametrize(
    ("line", "amount"),
    [
        ("-150", Amount((-150.0,), "")),
        ("balance -150 mL", Amount((-150.0,), "mL")),
        ("net -275ml", Amount((-275.0,), "mL")),
        ("+300", Amount((300.0,), "")),
        ("ate 75%", Amount((75.0,), "%")),
        ("1,200 mL", Amount((1200.0,), "mL")),
        ("1/2 of lunch", Amount((0.5,), "")),
        ("3/4 eaten", Amount((0.75,), "")),
        ("1 1/2 cups", Amount((1.5,), "cup")),
        (".5 L", Amount((0.5,), "L")),
        ("98.6°F", Amount((98.6,), "degF")),
        ("118/76", Amount((118.0, 76.0), "")),
        ("16 breaths/min", Amount((16.0,), "breaths/min")),
    ],
)
def test_signs_beside_numbers_are_typed_as_they_would_be_said(line: str, amount: Amount) -> None:
    assert amounts(parse_line(line)[1]) == [amount]


@pytest.mark.parametrize("line", ["0:60 x", "00:75.5 x", "1:60:00 x"])
def test_impossible_time(line: str) -> None:
    with pytest.raises(Complaint, match="not one that a clock shows"):
        parse_line(line)


@given(st.text())
def test_any_text_is_taken(line: str) -> None:
    try:
        _, words = parse_line(line)
    except Complaint:
        return
    assert words == " ".join(words.split())
    assert parse_line(words)[1] == words


def test_words_without_a_time_end_when_the_line_came() -> None:
    heard = Typed().heard("wash my hands", 10.0)
    assert heard.start == pytest.approx(9.1)
    assert (heard.end, heard.at, heard.utterance) == (10.0, 10.0, 1)
    assert [word.text for word in heard.words] == ["wash", "my", "hands"]
    assert [round(word.end - word.start, 6) for word in heard.words] == [0.3, 0.3, 0.3]
    assert heard.words[-1].end == pytest.approx(10.0)


def test_words_with_a_time_begin_then() -> None:
    heard = Typed().heard("1:00 wash my hands", 5.0)
    assert heard.start == 60.0
    assert heard.at == pytest.approx(60.9)
    assert heard.words[0].start == 60.0


def test_a_line_does_not_begin_before_the_last_one_ended() -> None:
    typed = Typed()
    first = typed.heard("0:10 one two three four five six seven eight nine ten", 0.0)
    second = typed.heard("0:11 eleven", 0.0)
    third = typed.heard("twelve thirteen", 13.4)
    assert second.start == first.end == 13.0
    assert third.start == second.end == pytest.approx(13.3)
    assert third.words[-1].end == pytest.approx(13.4)
    assert [heard.utterance for heard in (first, second, third)] == [1, 2, 3]


def test_times_that_go_backwards_are_named_by_line() -> None:
    typed = Typed()
    typed.heard("0:10 one", 0.0)
    with pytest.raises(Complaint, match=r"^Line 2 has the time 9\.0 s"):
        typed.heard("0:09 two", 0.0)


def test_impossible_times_are_named_by_line() -> None:
    with pytest.raises(Complaint, match=r"^Line 1: The time '0:61'"):
        Typed().heard("0:61 one", 0.0)


def test_a_line_without_words() -> None:
    heard = Typed().heard("...", 4.0)
    assert heard.words == ()
    assert heard.start == heard.end == 4.0

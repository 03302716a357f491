"""Numbers that are worked out from those before them, against the sums done here."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.procedure.examples import reproducible
from voicecoach.following.numbers import said, single
from voicecoach.readings.mentions import mentions
from voicecoach.readings.results import results


def worked_out(text: str) -> list[float]:
    """The values of the results in a text."""
    around = mentions(said(text), single(said(text)))
    return [mention.value for mention in around if mention.placed.start in results(around)]


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("one twenty of juice and one eighty of milk so three hundred", [300.0]),
        ("two forty less sixty is one eighty and thirty makes two ten", [210.0]),
        ("eight ounces times thirty is two forty", [240.0]),
        ("six ounces so one eighty and four ounces so one twenty three hundred altogether", [300.0]),
        ("thirty eight times two seventy six", [76.0]),
        ("two forty and one eighty and sixty come to four eighty", [480.0]),
        ("pulse seventy six respirations sixteen", []),
        ("three hundred", []),
    ],
)
def test_the_last_of_an_arithmetic_is_its_result(text: str, values: list[float]) -> None:
    assert worked_out(text) == values


@given(st.lists(st.integers(3, 90).map(lambda tens: 10 * tens), min_size=2, max_size=5))
@reproducible
def test_a_sum_is_a_result_whatever_its_parts_are(parts: list[int]) -> None:
    text = " and ".join(map(str, parts)) + f" makes {sum(parts)}"
    if sum(parts) < 1000 and all(one != other for one, other in pairwise(parts)):
        assert float(sum(parts)) in worked_out(text)

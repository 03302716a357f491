"""Parts are taken out where they are used."""

from __future__ import annotations

from unittest import mock

import pytest

from tests.benchmarks.ablation import PARTS


@pytest.mark.parametrize("part", [part for part in PARTS if part != "everything"])
def test_each_part_is_something_else_without_it(part: str) -> None:
    for where, name, other in PARTS[part]:
        assert getattr(where, name) is not other
        with mock.patch.object(where, name, other):
            assert getattr(where, name) is other

"""Each part is still there to be taken out."""

from __future__ import annotations

import pytest

from tests.benchmarks.ablation import PARTS


@pytest.mark.parametrize("part", [part for part in PARTS if part != "everything"])
def test_each_part_is_something_else_without_it(part: str) -> None:
    assert PARTS[part]
    for where, name, other in PARTS[part]:
        assert getattr(where, name) is not other

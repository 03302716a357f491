"""A PulseAudio room for each test that wants one; where there is no PulseAudio, such tests are skipped."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.live.pulse import Room, lacking, room


@pytest.fixture
def a_room() -> Iterator[Room]:
    """Microphone and loudspeaker, and nobody in it."""
    if why := lacking():
        pytest.skip(why)
    # Not pytest's own folder: the name of a socket must be short.
    with tempfile.TemporaryDirectory(prefix="vc") as folder, room(Path(folder)) as made:
        yield made

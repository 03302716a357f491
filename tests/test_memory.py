"""Memory is given back: less is held than before, and where that cannot be, nothing breaks."""

from __future__ import annotations

import ctypes
import threading

import pytest

from tests.benchmarks.soak import memory_mb
from voicecoach import memory

HELD_MB = 60
"""What the test frees, in pieces too small to be given back by themselves."""


def last_of_many() -> bytes:
    """Make many pieces in a thread and free all but the last, above which the allocator would give back."""
    made: list[bytes] = []

    def work() -> None:
        made.extend(bytes(1000) for _ in range(HELD_MB * 1000))

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()
    return made[-1]


@pytest.mark.skipif(not hasattr(ctypes.CDLL(None), "malloc_trim"), reason="this system has no malloc_trim")
def test_what_was_freed_is_given_back() -> None:
    kept = last_of_many()
    before = memory_mb()
    memory.give_back()
    assert memory_mb() < before - HELD_MB / 2
    assert kept


def test_another_allocator_is_left_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[object] = []
    monkeypatch.setattr(ctypes, "CDLL", asked.append)  # gives None, which has no such function
    memory.give_back()
    assert asked == [None]

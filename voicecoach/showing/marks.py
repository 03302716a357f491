"""How single things are written everywhere: marks, times, and text that comes from outside."""

from __future__ import annotations

DONE = "✓"
MISSED = "!"
OPEN = "·"


def clock(at: float) -> str:
    """A time in seconds as mm:ss."""
    whole = int(at)
    return f"{whole // 60:02d}:{whole % 60:02d}"


def fine_clock(at: float) -> str:
    """A time in seconds as mm:ss.f."""
    tenths = int(at * 10 + 0.5)
    return f"{tenths // 600:02d}:{tenths // 10 % 60:02d}.{tenths % 10}"


def harmless(text: str) -> str:
    """Text from a file or a person, on one line and without what could steer a terminal."""
    return " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())

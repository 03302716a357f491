"""The narration that the demo plays: its words with their times, its sound, and how that was made."""

from __future__ import annotations

from pathlib import Path

PROCEDURE = "gait-belt-walk"
WORDS = Path(__file__).with_name("gait-belt-walk.txt")
"""A line for each utterance, with the time at which it begins; can be fed to an attempt as it is."""
SOUND = Path(__file__).with_name("gait-belt-walk.ogg")
"""The same, spoken; mono at 16 kHz."""

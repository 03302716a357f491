"""Samples: microphone, sound files, endpointing, levels, playing. Knows no words."""

RATE = 16_000
"""Samples a second of all sound inside the program, mono, 16 bit."""

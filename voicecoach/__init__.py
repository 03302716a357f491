"""Voicecoach listens to a student narrate a care procedure and speaks up about what was missed."""

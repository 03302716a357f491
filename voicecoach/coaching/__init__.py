"""Steps to cues. Pure: no device, no clock, no file."""

"""Words to steps. Pure: no device, no clock, no file."""

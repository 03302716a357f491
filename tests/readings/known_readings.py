"""Readings of these tests: some of shipped procedures, and some of other quantities."""

from __future__ import annotations

from tests.narrated import procedure
from voicecoach.procedure.model import Reading


def reading(name: str, step: str) -> Reading:
    found = procedure(name).step(step).reading
    assert found is not None
    return found


PRESSURE = reading("blood-pressure", "record")
URINE = reading("drainage-bag", "record")
INTAKE = reading("fluid-intake", "record")
PULSE = reading("pulse-breaths", "record-pulse")
BREATHS = reading("pulse-breaths", "record-breaths")
WEIGHT = Reading(quantity="body weight", unit="lb", also=("kg",), within=2)
TEMPERATURE = Reading(quantity="body temperature", unit="degF", also=("degC",), within=0.2)
MEAL = Reading(quantity="share of the meal eaten", unit="%", within=10)
BALANCE = Reading(quantity="fluid balance", unit="mL", within=30)
ALL = (PRESSURE, URINE, INTAKE, PULSE, BREATHS, WEIGHT, TEMPERATURE, MEAL, BALANCE)

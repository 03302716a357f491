"""Units against the published factors, and against the library pint asked directly."""

from __future__ import annotations

import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pint import UnitRegistry

from tests.procedure.examples import reproducible
from voicecoach.readings.units import TRADE_OUNCE, convert, exact_ounce, needed, same_kind, spoken, written

REGISTRY: UnitRegistry[float] = UnitRegistry()
PINT = {
    "mL": "milliliter", "L": "liter", "dL": "deciliter", "oz": "US_fluid_ounce", "cup": "US_liquid_cup",
    "tsp": "teaspoon", "tbsp": "tablespoon", "pt": "liquid_pint", "qt": "liquid_quart",
    "gal": "US_liquid_gallon", "lb": "avoirdupois_pound", "kg": "kilogram", "g": "gram", "mg": "milligram",
    "st": "stone", "in": "inch", "ft": "foot", "cm": "centimeter", "mm": "millimeter", "m": "meter",
    "degF": "degree_Fahrenheit", "degC": "degree_Celsius", "mmHg": "millimeter_Hg", "kPa": "kilopascal",
    "%": "percent",
}  # fmt: skip
"""Our spelling of a unit, to the full name that pint has for it."""
RATES = ("beats/min", "breaths/min")
UNITS = (*PINT, *RATES)


def alike(unit: str, other: str) -> bool:
    return REGISTRY.Unit(PINT[unit]).dimensionality == REGISTRY.Unit(PINT[other]).dimensionality


ALIKE = [(unit, other) for unit in PINT for other in PINT if same_kind(unit, other)]


def test_a_pound_is_that_of_the_international_agreement() -> None:
    """NIST SP 811 (2008), appendix B: 1 lb = 0.453 592 37 kg, exactly; 16 CFR 500.19(a): 1 lb = 453.592 g."""
    assert convert(1, "lb", "kg") == pytest.approx(0.45359237, rel=1e-12)
    assert convert(1, "lb", "g") == pytest.approx(453.592, abs=0.0005)
    assert convert(1, "kg", "lb") == pytest.approx(2.20462, abs=0.000005)


def test_a_fluid_ounce_is_the_american_one() -> None:
    """NIST Handbook 44, appendix C: 1 fl oz = 29.573 53 mL; 16 CFR 500.19(a): 29.5735 mL."""
    assert convert(1, "oz", "mL") == pytest.approx(29.57353, abs=0.000005)
    assert exact_ounce() == pytest.approx(29.5735, abs=0.00005)


def test_the_ounce_of_the_trade_is_thirty_milliliters() -> None:
    """21 CFR 101.9(b)(5)(viii): 30 milliliters on labels; in charting it is common practice, no source."""
    assert TRADE_OUNCE == 30
    assert 8 * TRADE_OUNCE == 240
    assert 8 * exact_ounce() == pytest.approx(236.6, abs=0.05)


def test_an_inch_is_that_of_the_international_agreement() -> None:
    """16 CFR 500.19(a): 1 inch = 2.54 cm exactly."""
    assert convert(66, "in", "cm") == pytest.approx(167.64)


@given(st.floats(-100, 300))
@reproducible
def test_temperatures_follow_the_published_formula(fahrenheit: float) -> None:
    """NIST SP 811 (2008), appendix B: C = (F - 32) / 1.8."""
    assert convert(fahrenheit, "degF", "degC") == pytest.approx((fahrenheit - 32) / 1.8, abs=1e-9)


@pytest.mark.parametrize(
    ("value", "unit", "to", "expected"),
    [
        (98.6, "degF", "degC", 37.0),
        (100.4, "degF", "degC", 38.0),
        (150, "lb", "kg", 68.0),
        (66, "in", "cm", 167.6),
    ],
)
def test_the_usual_checks(value: float, unit: str, to: str, expected: float) -> None:
    """Worked out by hand from the factors of NIST SP 811."""
    assert round(convert(value, unit, to), 1) == expected


@pytest.mark.parametrize(("unit", "to"), ALIKE)
def test_pint_asked_directly_says_the_same(unit: str, to: str) -> None:
    expected = REGISTRY.Quantity(40.0, PINT[unit]).to(PINT[to]).magnitude
    assert convert(40.0, unit, to) == pytest.approx(float(expected), rel=1e-9)


@pytest.mark.parametrize("unit", PINT)
def test_what_turns_into_what_is_what_pint_says(unit: str) -> None:
    assert [other for other in PINT if same_kind(unit, other)] == [
        other for other in PINT if alike(unit, other)
    ]


@given(st.sampled_from(ALIKE), st.floats(0, 10_000))
@reproducible
def test_there_and_back_again_is_the_same(units: tuple[str, str], value: float) -> None:
    unit, to = units
    assert convert(convert(value, unit, to), to, unit) == pytest.approx(value, rel=1e-9, abs=1e-9)


@given(st.sampled_from(UNITS), st.sampled_from(UNITS))
@reproducible
def test_what_measures_something_else_is_refused(unit: str, to: str) -> None:
    if not same_kind(unit, to):
        with pytest.raises(ValueError, match="does not turn into"):
            convert(1.0, unit, to)


def test_beats_are_no_breaths() -> None:
    assert not same_kind("beats/min", "breaths/min")
    with pytest.raises(ValueError, match="does not turn into"):
        convert(60, "beats/min", "breaths/min")


def test_degrees_without_a_scale_are_of_neither() -> None:
    assert same_kind("degrees", "degF")
    assert same_kind("degrees", "degC")
    with pytest.raises(ValueError, match="does not turn into"):
        convert(98.6, "degrees", "degC")


def test_volumes_weights_temperatures_and_lengths_need_their_unit() -> None:
    assert [unit for unit in ("mL", "oz", "lb", "kg", "degF", "degrees", "in") if not needed(unit)] == []
    assert [unit for unit in ("beats/min", "breaths/min", "mmHg", "%") if needed(unit)] == []


@pytest.mark.parametrize("unit", UNITS)
def test_every_unit_can_be_said_in_words(unit: str) -> None:
    assert spoken(unit).replace(" ", "").isalpha()


def test_a_unit_as_it_is_said_and_written() -> None:
    assert (spoken("mL"), spoken("beats/min"), spoken("degF")) == (
        "milliliters",
        "beats a minute",
        "degrees Fahrenheit",
    )
    assert (written("mL"), written("degF"), written("degC")) == ("mL", "F", "C")


def test_the_units_library_is_not_loaded_until_something_is_converted() -> None:
    code = "import sys, voicecoach.readings.judging, voicecoach.readings.taking; print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert "voicecoach.readings.units" in loaded.split()
    assert "pint" not in loaded.split()

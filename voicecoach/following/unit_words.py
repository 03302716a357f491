"""Units in words, as recognizers and typists write them: `milliliters`, `c c`, `beats per minute`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

_NAMES = {
    "mL": "milliliter, millilitre, milli liter, mililiter, millileter, mil, mill, cubic centimeter, "
    "cubic centimetre",
    "L": "liter, litre",
    "dL": "deciliter, decilitre",
    "oz": "ounce, fluid ounce, fl ounce",
    "cup": "cup, cupful",
    "tsp": "teaspoon, teaspoonful",
    "tbsp": "tablespoon, tablespoonful",
    "pt": "pint",
    "qt": "quart",
    "gal": "gallon",
    "kPa": "kilopascal",
    "lb": "pound",
    "kg": "kilo, kilogram, kilogramme",
    "g": "gram, gramme",
    "mg": "milligram",
    "st": "stone",
    "degrees": "degree",
    "cm": "centimeter, centimetre",
    "mm": "millimeter, millimetre",
    "m": "meter, metre",
}
"""Names that take an s in the plural."""
_SIGNS = {
    "mL": "ml, mls, ml's, m l, m ls, m l s, m l's, cc, ccs, cc's, c c, c cs, c c s, c c's",
    "L": "l",
    "dL": "dl",
    "oz": "oz, ozs, o z, fl oz, fluid oz",
    "tsp": "tsp",
    "tbsp": "tbsp",
    "mmHg": "mmhg, mm hg, m m h g, m m hg, mm of hg, mm of mercury, mm mercury, mercury",
    "kPa": "kpa",
    "lb": "lb, lbs, lb's, l b, l b s, l b's",
    "kg": "kg, kgs, kg's, k g, k g s, k g's",
    "g": "g",
    "mg": "mg",
    "degF": "f, degf, fahrenheit, farenheit",
    "degC": "c, degc, celsius, celcius, centigrade",
    "degrees": "deg",
    "in": "inch, inches",
    "ft": "foot, feet, ft",
    "cm": "cm",
    "mm": "mm",
    "%": "%, percent, per cent, pct",
    "beats/min": "bpm, b p m",
}
_RATES = {
    "beats/min": "beat, beats, heartbeat, heartbeats, heart beats",
    "breaths/min": "breath, breaths, breathes",
}
_A_MINUTE = (
    "", "per minute", "a minute", "in a minute", "each minute", "every minute", "per min", "a min",
    "slash min", "slash minute",
)  # fmt: skip
RATES = frozenset(_RATES)
"""Units whose name is a noun that may begin something else: `seventy six breaths sixteen`."""


def _spellings() -> Iterator[tuple[str, str]]:
    """Each way to write a unit, and the unit in the spelling of procedures."""
    for unit, names in _NAMES.items():
        for name in names.split(", "):
            yield from ((name, unit), (f"{name}s", unit))
    for unit, signs in _SIGNS.items():
        yield from ((sign, unit) for sign in signs.split(", "))
    for unit, nouns in _RATES.items():
        yield from ((f"{noun} {a_minute}", unit) for noun in nouns.split(", ") for a_minute in _A_MINUTE)
    for name in ("millimeter", "millimeters", "millimetre", "millimetres"):
        yield from ((f"{name} {mercury}", "mmHg") for mercury in ("of mercury", "mercury", "hg", "of hg"))
    for degrees in ("degree", "degrees", "deg"):
        for unit in ("degF", "degC"):
            yield from ((f"{degrees} {scale}", unit) for scale in _SIGNS[unit].split(", "))


_UNITS = {tuple(words.split()): unit for words, unit in _spellings()}
_LONGEST = max(map(len, _UNITS))


def unit_at(words: Sequence[str]) -> tuple[int, str]:
    """How many words at the beginning name a unit, and the unit; 0 words where none does."""
    for length in range(min(_LONGEST, len(words)), 0, -1):
        if unit := _UNITS.get(tuple(words[:length])):
            return length, unit
    return 0, ""

"""What recognizers expect of a procedure besides its phrases: numbers, counting, times, sides and names.

For recognizers alone; following never reads it. The numbers of a reading are there over all that makes sense,
in all ways to say them, marks of its scale and what is likely in anybody more often than the rest, and else
each as often as the others: nothing tilts towards the true value of a case. A number in a longer phrase
stands for any of them, and one after which another follows for any that follows: a count that leaves one out
is as likely as one that does not.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from voicecoach.hearing.number_words import short, usual, ways
from voicecoach.hearing.sayings import TIMED, sayings, with_number
from voicecoach.procedure.case import OTHER_SIDE
from voicecoach.procedure.model import Procedure, Reading

_SPANS = {
    "beats/min": (20, 220), "breaths/min": (4, 60), "mmHg": (30, 280), "mL": (0, 3000), "lb": (1, 500),
    "kg": (1, 250), "degF": (90, 110), "degC": (30, 44), "%": (0, 100),
}  # fmt: skip
"""The least and the most that is said with a unit; wide, so that nonsense is heard as what it is."""
_EACH = 1000
"""Up to here each whole number is named, above it every fifth, since only three words count at once."""
_HIGHEST = 9999
"""No higher number is named, whatever a reading allows."""
_MOST_WAYS = 8
"""How often each number is named, about: those with fewer ways are named more often in each."""
_SHORT = 2
"""How much more often a number is said as `one twenty` than in any other way."""
_ROUND = 4
"""How much more often a number is named that a scale has a mark for, a round volume, or what is likely."""
_ROUND_VOLUMES = (10, 25)
"""Volumes are read and reckoned in these, and in multiples of them."""
_LIKELY = {"breaths/min": (8, 40)}
"""What is found in nearly everybody, named as much more often: `sixteen` breaths sound like `sixty`."""
_TENTHS = frozenset(("degF", "degC", "lb", "kg"))
"""Units with tenths after the point."""
_WITH_TENTHS = 120
"""Numbers below are named with tenths; in higher ones the words before the point are the same."""
_UNITS = {
    "beats/min": ("beats", "beats per minute", "beats a minute", "beats in a minute", "b p m"),
    "breaths/min": ("breaths", "breaths per minute", "breaths a minute", "respirations"),
    "mmHg": ("millimeters of mercury",),
    "mL": ("milliliters", "milliliter", "m l", "c c", "ounces", "liters"),
    "lb": ("pounds", "pound", "and a half pounds", "and a quarter pounds", "and a half"),
    "kg": ("kilograms", "kilos"),
    "degF": ("degrees", "degrees fahrenheit", "fahrenheit", "even", "and six tenths"),
    "degC": ("degrees celsius", "celsius"),
    "%": ("percent", "percent of the meal", "percent eaten"),
}
_USUAL = 15
"""How much more often a unit follows a number than any other word does."""
_NAMES = {
    "beats/min": ("pulse", "heart rate", "radial pulse", "pulse rate"),
    "breaths/min": ("respirations", "breathing", "breathing rate", "breaths"),
    "mmHg": ("blood pressure", "pressure", "b p", "systolic", "diastolic", "top number", "bottom number"),
    "mL": ("output", "urine", "intake", "total", "amount", "balance", "fluids", "total intake"),
    "lb": ("weight", "scale"),
    "degF": ("temperature", "temp"),
    "%": ("meal intake", "intake"),
}
"""What a reading is called, by its unit."""
_BEFORE = (
    "it's", "it is", "it was", "that's", "that is", "that makes", "so that's", "i got", "i get", "i have",
    "i count", "i counted", "i read", "i see", "i record", "i'm recording", "i write", "i'm writing",
    "i write down", "i'm writing down", "i chart", "i'm charting", "charting", "recording", "writing down",
    "i put down", "i'm putting down", "i've recorded", "i wrote", "i wrote down", "it says", "it reads",
    "it shows", "it comes to", "it looks like", "about", "exactly", "only", "is", "was", "are", "were", "of",
    "at", "as", "and", "so", "um", "uh", "i heard", "so i write", "that would be", "equals", "plus", "minus",
    "negative", "positive", "to", "from", "then", "for", "between", "in", "times",
)  # fmt: skip
_AFTER = (
    "today", "for the pulse", "on the sheet", "at rest", "left arm", "right arm", "regular", "is her pulse",
    "is his pulse", "is the pulse", "is what i got", "is the number", "for the minute", "in a minute",
    "in one minute", "in the left arm", "in the right arm", "in the bag", "in the cup", "in all", "of urine",
    "of juice", "of water", "and", "and now", "and i", "so", "so i", "so that's", "which is", "now", "nurse",
    "on the scale", "on the chart", "with shoes", "was", "then", "times", "for her", "for his", "for the day",
    "the", "she", "he", "i", "it's", "it", "that's",
)  # fmt: skip
_BETWEEN = (
    "no", "sorry", "sorry make that", "make that", "wait", "no wait", "i mean", "wait i mean", "actually",
    "no actually", "scratch that", "correction", "i meant", "not", "to", "and", "times", "minus", "plus",
)  # fmt: skip
"""What a correction or a sum has between two numbers."""
_SHARES = ("half", "a half", "a quarter", "three quarters", "a third", "two thirds", "all", "none")
_TIMES = (
    *_USUAL * ("for twenty seconds", "twenty seconds"), "at least twenty seconds",
    "for a full twenty seconds", "that's twenty seconds", "that was twenty seconds", "after twenty seconds",
    "twenty seconds are up", "twenty seconds is up", "another twenty seconds", "twenty more seconds",
    "about twenty seconds", "it's been twenty seconds", "in twenty seconds", "a full minute",
    "for a full minute", "for one full minute", "one full minute", "for one minute", "a whole minute",
    "for a minute", "half a minute", "for half a minute", "that's a minute", "that's one minute",
    "that's a full minute", "that was a minute", "the minute is up", "two minutes", "starting now",
    "i start now", "i'm starting now", "start", "begin", "counting now", "i start counting",
    "i begin counting", "time", "time's up", "stop", "stop now", "time is up", "and stop", "and time",
    "done counting", "i stop counting", "i'm counting", "counting out loud", "ready set go", "go",
)  # fmt: skip
"""What is said of times; twenty stands for any number."""
_LONGEST_COUNT = 60
_COUNTING = (
    "one mississippi", "twenty mississippi", "and one", "and twenty", "twenty and", "twenty one thousand",
)  # fmt: skip
"""Ways to count other than by numbers alone."""

_TITLES = {"mrs": "missus", "mr": "mister", "ms": "miss"}


def phrases(procedure: Procedure) -> tuple[str, ...]:
    """What is said of numbers, times, sides and names in a procedure, lower case without punctuation.

    Those that are a number and nothing else say which numbers there are, and how often each comes.
    """
    found: list[str] = []
    for step in procedure.steps:
        if step.reading:
            found += _recorded(step.reading)
    if any(step.time or step.count for step in procedure.steps):
        for number in range(1, _LONGEST_COUNT + 1):
            found += (usual(number), f"one thousand {usual(number)}")
        found += (*_TIMES, *_COUNTING)
        found += (with_number(saying, usual(_LONGEST_COUNT)) for saying in sayings(TIMED))
    return (*found, *_other_sides(procedure), *_other_names(procedure))


def _recorded(reading: Reading) -> Iterator[str]:
    """What is said when a reading is recorded."""
    units = (reading.unit, *reading.also)
    numbers = _numbers(reading, units)
    for number in numbers:
        said = (*ways(number), *_SHORT * short(number))
        yield from said * round(_MOST_WAYS / len(said)) * _times_as_often(number, reading)
    if _TENTHS.intersection(units):
        few = [usual(number) for number in numbers if number < _WITH_TENTHS]
        yield from 2 * [f"{number} point {usual(tenth)}" for number in few for tenth in range(10)]
    if reading.unit == "mL":
        yield from (f"{usual(liters)} point {usual(tenth)}" for liters in range(5) for tenth in range(10))
    any_number = usual(numbers[-1])
    yield from (with_number(saying, any_number) for saying in sayings(reading.unit))
    for name in (_words(reading.quantity), *_NAMES.get(reading.unit, ())):
        yield from (f"{name}{verb} {any_number}" for verb in ("", " is", " was", " are", " of"))
        yield from (f"the {name} is {any_number}", f"{any_number} {name}")
    yield from (f"{before} {any_number}" for before in _BEFORE)
    yield from (f"{any_number} {after}" for after in _AFTER)
    yield from _USUAL * [f"{any_number} {named}" for unit in units for named in _UNITS.get(unit, ())]
    yield from (f"{any_number} {between} {any_number}" for between in _BETWEEN)
    if reading.pair:
        pair = f"{any_number} over {any_number}"
        yield from (pair, f"{any_number} on {any_number}", *(f"{pair} {after}" for after in _AFTER))
        yield from (f"{before} {pair}" for before in (*_BEFORE, *_BETWEEN))
    if reading.unit == "mL":
        yield from ("half a liter", "a half liter", "a liter", "half a cup", "a cup")
    if reading.unit == "%":
        for share in _SHARES:
            yield from (f"{share} of the meal", f"{share} of it", f"ate {share}")


def _times_as_often(number: int, reading: Reading) -> int:
    """How much more often a number is named than others: `one fifteen` is no mark where `one fifty` is."""
    if reading.unit in _LIKELY:
        least, most = _LIKELY[reading.unit]
        return _ROUND if least <= number <= most else 1
    marks = (reading.scale,) if reading.scale else _ROUND_VOLUMES if reading.unit == "mL" else ()
    return _ROUND if any(number % mark == 0 for mark in marks) else 1


def _numbers(reading: Reading, units: Sequence[str]) -> list[int]:
    """The whole numbers that make sense in one of the units, in rising order."""
    found: set[int] = set()
    for unit in units:
        least, most = _SPANS.get(unit, (0, _EACH))
        if reading.sense and unit == reading.unit:
            # What is below nothing is said as `minus` and a number.
            most = min(int(max(map(abs, reading.sense))), _HIGHEST)
            least = min(max(0, int(reading.sense[0])), most)
        found.update(number for number in range(least, most + 1) if number <= _EACH or number % 5 == 0)
    return sorted(found)


def _other_sides(procedure: Procedure) -> Iterator[str]:
    """The phrases that name a side, with the other one named, where either may be the weak one."""
    if len(procedure.weak) > 1:
        for phrase in procedure.phrases:
            swapped = re.sub(r"\b(left|right)\b", lambda side: OTHER_SIDE[side[0]], phrase)
            if swapped != phrase:
                yield swapped


def _other_names(procedure: Procedure) -> Iterator[str]:
    """All residents as they are addressed, and the phrases that name the first, with each other one named."""
    names = [name for name in map(_addressed, procedure.residents) if name]
    yield from names
    surnames = [name.split()[-1] for name in names]
    named = [phrase.split() for phrase in procedure.phrases if surnames and surnames[0] in phrase.split()]
    for surname in surnames[1:]:
        yield from (" ".join(surname if word == surnames[0] else word for word in said) for said in named)


def _addressed(resident: str) -> str:
    """A resident as addressed: `missus pruitt` for `Mrs. Pruitt`."""
    words = _words(resident).split()
    return " ".join(_TITLES.get(word, word) for word in words)


def _words(text: str) -> str:
    """The words of a text for people, without figures and marks that nobody says."""
    return " ".join(re.findall(r"[a-z]+(?:'[a-z]+)*", text.lower()))

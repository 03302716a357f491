"""Which of the numbers said is the one recorded: phrasings by kind, and every style of saying a number."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from tests.procedure.examples import reproducible
from tests.readings.known_readings import (
    BALANCE,
    BREATHS,
    INTAKE,
    MEAL,
    PRESSURE,
    PULSE,
    TEMPERATURE,
    URINE,
    WEIGHT,
)
from voicecoach.following.numbers import Amount
from voicecoach.procedure.model import Reading
from voicecoach.readings.taking import found

Said = tuple[Reading, str, Amount | None]


def one(wanted: Reading, said: str, value: float, unit: str = "") -> Said:
    return wanted, said, Amount((float(value),), unit)


def pair(said: str, upper: float, lower: float, unit: str = "") -> Said:
    return PRESSURE, said, Amount((float(upper), float(lower)), unit)


def nothing(wanted: Reading, said: str) -> Said:
    return wanted, said, None


CORRECTED = [
    one(PULSE, "ninety no make that ninety two", 92),
    one(PULSE, "that's ninety i mean nineteen no ninety", 90),
    one(PULSE, "i said seventy eight but it's eighty eight", 88),
    one(PULSE, "the pulse is not seventy it's ninety", 90),
    one(PULSE, "ninety two not ninety", 92),
    one(PULSE, "ninety two instead of ninety", 92),
    one(PULSE, "seventy nine or make it eighty", 80),
    one(PULSE, "seventy six scratch that seventy eight", 78),
    one(PULSE, "pulse seventy six no skipped beats and respirations sixteen", 76),
    one(URINE, "two hundred milliliters no two fifty", 250),
    one(URINE, "four hundred twenty five ounces i mean milliliters", 425, "mL"),
    one(WEIGHT, "one fifty pounds no kilos sorry pounds", 150, "lb"),
    one(BALANCE, "plus two hundred sorry minus two hundred", -200),
    pair("one twenty over eighty no eighty two", 120, 82),
    pair("one twenty over eighty i mean one twenty two", 122, 80),
    pair("systolic one eighteen no one sixteen diastolic seventy", 116, 70),
    pair("not one twenty over eighty but one thirty over eighty", 130, 80),
    nothing(PULSE, "seventy six scratch that"),
    nothing(PULSE, "seventy six no wait let me count again"),
    nothing(PULSE, "i lost count at forty two"),
    one(PULSE, "i record seventy six and will check it again at two", 76),
    pair("one twenty over seven no over eighty", 120, 80),
    nothing(PRESSURE, "one twenty over eighty scratch that"),
    one(PULSE, "i counted seventy but the watch stopped so i counted again and got seventy four", 74),
    one(PULSE, "i said ninety four out loud but wrote down forty nine it's ninety four", 94),
    one(BALANCE, "plus fifty nuh uh minus fifty", -50),
    one(BALANCE, "plus one fifty er minus one fifty", -150),
    one(BREATHS, "eighteen no i missed one nineteen", 19),
    pair("one forty over seventy nine it has to be even so seventy eight", 140, 78),
    nothing(URINE, "i'd guess three hundred but let me pour it"),
]
TIMES = [
    one(PULSE, "i write seventy six at nine fifteen", 76),
    one(PULSE, "it's ten fifteen a m and the pulse is seventy seven", 77),
    one(PULSE, "time 09:15 pulse 84", 84),
    one(PULSE, "eighty eight at nineteen thirty hours", 88),
    one(PULSE, "i wrote seventy nine as her pulse at a quarter past nine", 79),
    one(PULSE, "this time it's eighty two", 82),
    one(BREATHS, "ten at ten o'clock", 10),
    one(BREATHS, "respirations at twelve", 12),
    one(URINE, "at fourteen hundred i write three hundred", 300),
    one(URINE, "the level's at three fifty", 350),
    one(URINE, "it's noon and the output is six hundred cc", 600, "mL"),
    one(URINE, "on november twenty sixth he put out three hundred", 300),
    one(INTAKE, "i write three hundred sixty milliliters and the hour thirteen", 360, "mL"),
    pair("one twenty over eighty at six thirty p m in the left arm", 120, 80),
    nothing(URINE, "i record it at ten"),
    nothing(URINE, "i record it at six thirty"),
    nothing(URINE, "the time is fourteen thirty"),
    nothing(PULSE, "my watch says ten to six i start counting"),
    nothing(PULSE, "the watch shows ten after nine"),
    nothing(PULSE, "it's the twenty sixth of november twenty twenty five"),
    nothing(URINE, "empty at 0600, 1400 and 2200"),
    nothing(INTAKE, "trays at seven thirty twelve and five"),
    one(TEMPERATURE, "still at one hundred and two", 102),
    pair("one thirty six over seventy eight lower than last tuesday's one fifty over ninety", 136, 78),
    one(WEIGHT, "one forty five today you were one forty six on monday", 145),
]
SPOKEN_OF = [
    nothing(INTAKE, "she'll get another eight ounces with her pills"),
    nothing(INTAKE, "i'll bring her eight ounces of water in a bit"),
    nothing(INTAKE, "he asked for sixteen ounces of soda"),
    nothing(INTAKE, "that's two forty if he drinks the whole thing"),
    nothing(INTAKE, "if she drinks the other half it'll be two forty"),
    nothing(MEAL, "she needs at least half for her insulin"),
    nothing(MEAL, "he'll eat fifty percent if you sit with him"),
    nothing(PULSE, "a pulse of seventy five would be average"),
    nothing(PULSE, "her pacemaker is set at seventy"),
    nothing(BREATHS, "babies breathe forty times a minute"),
    nothing(BREATHS, "take ten slow breaths for me"),
    nothing(PRESSURE, "the doctor wants to know if it's over one forty over ninety"),
    nothing(PRESSURE, "the last aide wrote one forty over eighty eight"),
    one(URINE, "i will take three hundred twenty five", 325),
    one(INTAKE, "it'll be three sixty milliliters for the shift", 360, "mL"),
    one(INTAKE, "she could only drink one twenty", 120),
]
THINGS = [
    nothing(URINE, "this jug is for a thousand so i don't fill it higher"),
    nothing(URINE, "this hat measures up to eight hundred"),
    nothing(URINE, "the marks go up in twenty five milliliter steps"),
    nothing(URINE, "there's ten milliliters of water in the balloon"),
    nothing(WEIGHT, "the lift is rated at six hundred pounds"),
    nothing(WEIGHT, "his shoes weigh like three pounds"),
    nothing(WEIGHT, "a wet diaper weighs two pounds"),
    nothing(WEIGHT, "she's two pounds over yesterday"),
    nothing(INTAKE, "this popsicle's two ounces"),
    nothing(INTAKE, "these shakes are eight ounces each"),
    nothing(INTAKE, "an eight ounce glass is two forty"),
    nothing(INTAKE, "a carton of milk is two forty"),
    one(WEIGHT, "two oh one that's three pounds heavier than yesterday", 201),
    one(WEIGHT, "one fifty since the wheelchair is forty and both are one ninety", 150),
    one(URINE, "the jug is at four twenty five", 425),
]
NO_VALUES = [
    nothing(PULSE, "i go to room two oh four"),
    nothing(PULSE, "i check her name band and her room which is one oh six"),
    nothing(PULSE, "i watch the clock for one whole minute"),
    nothing(PULSE, "one two three four five"),
    nothing(PULSE, "one one thousand two one thousand three one thousand"),
    nothing(PULSE, "i wait until the second hand gets to twelve"),
    nothing(PULSE, "i'll count for thirty seconds and times it by two"),
    nothing(PULSE, "a normal pulse is sixty to a hundred"),
    nothing(BREATHS, "one breath two breaths three breaths"),
    nothing(BREATHS, "i still hold two fingers on her wrist"),
    nothing(URINE, "i wipe the spout with two alcohol swabs"),
    nothing(URINE, "i take the five hundred milliliter graduate"),
    nothing(URINE, "with one glove on i pour it out"),
    nothing(URINE, "i wash my hands for twenty seconds"),
    nothing(WEIGHT, "i ask her to stand on two feet"),
    nothing(WEIGHT, "i zero the scale"),
    nothing(TEMPERATURE, "i raise the head of the bed to ninety degrees"),
    nothing(PRESSURE, "the doctor wants it under one thirty over eighty"),
    nothing(PRESSURE, "the pressure was one fifty over ninety yesterday"),
    one(PULSE, "she walked here ten minutes ago so i waited and it's eighty", 80),
    one(PULSE, "missus pruitt eighty six years old pulse seventy", 70),
    one(PULSE, "she's usually seventy but today it's ninety", 90),
    one(PULSE, "eighty four which is in the normal range of sixty to one hundred", 84),
    one(PULSE, "her pulse went from eighty to ninety two", 92),
    one(URINE, "both gloves off and i write two hundred seventy five", 275),
    one(URINE, "a little over a hundred so one twenty five", 125),
    one(URINE, "above the three hundred line below three twenty five so three twenty five", 325),
    one(URINE, "each mark is twenty five so it's two seventy five", 275),
    one(WEIGHT, "big weight at one hundred small weight at thirty two so one thirty two pounds", 132, "lb"),
]
SEVERAL = [
    one(PULSE, "pulse seventy six and respirations sixteen", 76),
    one(BREATHS, "pulse seventy six and respirations sixteen", 16),
    one(PULSE, "seventy six beats sixteen breaths", 76, "beats/min"),
    one(BREATHS, "seventy six beats sixteen breaths", 16, "breaths/min"),
    one(PULSE, "her pulse and respirations are eighty two and fourteen", 82),
    one(BREATHS, "her pulse and respirations are eighty two and fourteen", 14),
    one(BREATHS, "while my fingers are still on the pulse i count eighteen", 18),
    one(PULSE, "pulse ox is ninety six and pulse is seventy", 70),
    one(TEMPERATURE, "temp ninety eight point six pulse eighty respirations eighteen", 98.6),
    one(URINE, "intake four hundred and output three fifty milliliters", 350, "mL"),
    one(INTAKE, "intake four fifty output three hundred", 450),
    one(WEIGHT, "weight one fifty height sixty six inches", 150),
    one(MEAL, "seventy five per cent of the meal and two hundred forty milliliters of juice", 75, "%"),
    pair("one eighteen over seventy six pulse seventy four", 118, 76),
]
WORKED_OUT = [
    one(PULSE, "thirty six in thirty seconds doubled that's seventy two", 72),
    one(PULSE, "forty one times two eighty two", 82),
    one(BREATHS, "nine in thirty seconds doubles to eighteen", 18),
    one(URINE, "it's between two marks one fifty and one seventy five i take one seventy five", 175),
    one(URINE, "three hundred ten rounds up to three twenty five", 325),
    one(INTAKE, "eight ounces minus two is six ounces times thirty that's one eighty milliliters", 180, "mL"),
    one(INTAKE, "he had two forty and left sixty so he drank one eighty", 180),
    one(INTAKE, "two forty minus sixty leaves one eighty", 180),
    one(INTAKE, "milk one twenty juice ninety coffee one fifty total three sixty", 360),
    one(INTAKE, "240 ml + 120 ml = 360 ml", 360, "mL"),
    one(INTAKE, "one ounce is thirty milliliters so eight ounces is two forty", 240),
    one(MEAL, "she left twenty five percent so i write seventy five percent", 75, "%"),
    one(BALANCE, "twelve hundred minus nine hundred is three hundred", 300),
    one(BALANCE, "nine hundred take away eleven hundred that's minus two hundred", -200),
    nothing(INTAKE, "he left two ounces in the cup"),
    nothing(INTAKE, "the eight ounce juice glass is empty"),
    nothing(INTAKE, "two four ounce glasses"),
    nothing(INTAKE, "served two hundred forty"),
    nothing(BALANCE, "intake fifteen hundred output thirteen hundred"),
    one(INTAKE, "one eighty cause she had two forty and left sixty", 180),
    one(URINE, "three fifty because five hundred was in the jug and one fifty of that was rinse water", 350),
    one(INTAKE, "oj 120, milk 240, coffee 180 = 540", 540),
    one(BALANCE, "she took in three fifty more than she put out", 350),
    one(BALANCE, "she put out two hundred more than she drank", -200),
    one(BALANCE, "intake was two hundred less than output", -200),
    one(BALANCE, "his output is ahead of intake by three hundred", -300),
    one(BALANCE, "one hundred more in than out", 100),
    one(BALANCE, "nine hundred in nine hundred out it's a wash", 0),
    one(BALANCE, "eight fifty minus nine hundred minus fifty", -50),
]
OTHER_WORDS = [
    pair("one eighteen seventy six", 118, 76),
    pair("one thirty on top and eighty on the bottom", 130, 80),
    pair("first beat at one forty two last one at ninety four", 142, 94),
    pair("first i hear at one eighteen then it go away at sixty six", 118, 66),
    pair("i start hearing it at one twenty six and it's gone at eighty two", 126, 82),
    pair("one eighteen systolic seventy six diastolic", 118, 76),
    pair("one twenty six above and seventy eight below", 126, 78),
    pair("one forty up top and eighty two underneath", 140, 82),
    pair("i get one twenty six for the top and the bottom is seventy", 126, 70),
    pair("one sixteen again over seventy four", 116, 74),
    one(PULSE, "apical 66 full min", 66),
    one(BREATHS, "nineteen of them breaths", 19, "breaths/min"),
    one(TEMPERATURE, "ninety eight six", 98.6),
    one(TEMPERATURE, "fahrenheit ninety eight point four", 98.4, "degF"),
    one(TEMPERATURE, "thirty seven point five that's celsius", 37.5, "degC"),
    one(URINE, "in milliliters that's three fifty", 350, "mL"),
    one(MEAL, "she ate about half", 50),
    one(MEAL, "ate 3/4 of lunch", 75),
    one(BALANCE, "two hundred milliliters negative", -200, "mL"),
    one(WEIGHT, "ten stone four", 10, "st"),
    one(WEIGHT, "sixty four inches", 64, "in"),
]


@pytest.mark.parametrize(
    ("wanted", "said", "expected"),
    [*CORRECTED, *TIMES, *SPOKEN_OF, *THINGS, *NO_VALUES, *SEVERAL, *WORKED_OUT, *OTHER_WORDS],
)
def test_the_value_is_told_from_all_else_that_is_said(
    wanted: Reading, said: str, expected: Amount | None
) -> None:
    assert found(wanted, said) == expected


def spelled(number: int) -> str:
    """A number as num2words writes it out, in the form that recognizers print."""
    return str(num2words(number)).replace("-", " ").replace(",", "")


def styles(number: int) -> list[str]:
    """Ways to say a whole number from 1 to 999."""
    high, low = divmod(number, 100)
    said = [spelled(number), spelled(number).replace(" and ", " "), str(number)]
    if high and low >= 10 and low != high + 1:
        said.append(f"{spelled(high)} {spelled(low)}")
    return said


FRAMES = {
    PULSE: ("i record {}", "pulse is {}", "{} goes on the sheet", "respirations eighteen pulse {}"),
    BREATHS: ("i record {}", "respirations are {}", "{} goes on the sheet", "pulse seventy and breathing {}"),
    URINE: ("i record {}", "output is {}", "{} goes on the sheet", "intake six hundred and output {}"),
    INTAKE: (
        "i record {}",
        "total intake {}",
        "{} goes on the sheet",
        "the cup holds two forty and he drank {}",
    ),
    WEIGHT: (
        "i record {}",
        "she weighs {}",
        "{} goes on the sheet",
        "last week it was two ten and today it's {}",
    ),
}
UNITS = {
    PULSE: {"": "", " beats": "beats/min", " bpm": "beats/min"},
    BREATHS: {"": "", " breaths a minute": "breaths/min"},
    URINE: {"": "", " milliliters": "mL", " c c": "mL"},
    INTAKE: {"": "", " mils": "mL", " ml": "mL"},
    WEIGHT: {"": "", " pounds": "lb", " lbs": "lb"},
}
BOUNDS = {PULSE: (50, 180), BREATHS: (9, 40), URINE: (50, 999), INTAKE: (50, 999), WEIGHT: (80, 400)}
BEFORE = (
    "", "okay so ", "um ", "at ten fifteen a m ", "it's two p m and ", "room one twelve and ", "sorry ",
    "after sixty seconds ", "with both gloves off ", "missus pruitt ", "i counted one full minute and ",
)  # fmt: skip
AFTER = (
    "", " thank you", " at ten fifteen", " at six thirty p m", " in the chart", " at fourteen hundred hours",
    " and i take off one glove", " and throw away two paper towels", " with my initials", " missus pruitt",
)  # fmt: skip


@given(st.data())
@reproducible
def test_a_value_is_found_however_it_is_said_and_whatever_stands_around_it(data: st.DataObject) -> None:
    wanted = data.draw(st.sampled_from(list(FRAMES)))
    number = data.draw(st.integers(*BOUNDS[wanted]))
    said, unit = data.draw(st.sampled_from(list(UNITS[wanted].items())))
    frame = data.draw(st.sampled_from(FRAMES[wanted]))
    value = data.draw(st.sampled_from(styles(number))) + said
    text = data.draw(st.sampled_from(BEFORE)) + frame.format(value) + data.draw(st.sampled_from(AFTER))
    assert found(wanted, text) == Amount((float(number),), unit), text


@given(st.data())
@reproducible
def test_what_is_said_after_a_correction_counts(data: st.DataObject) -> None:
    wanted = data.draw(st.sampled_from(list(FRAMES)))
    wrong, right = (data.draw(st.integers(*BOUNDS[wanted])) for _ in range(2))
    cue = data.draw(
        st.sampled_from(("no", "sorry", "i mean", "no make that", "scratch that", "wait no", "actually"))
    )
    said, unit = data.draw(st.sampled_from(list(UNITS[wanted].items())))
    text = f"i record {spelled(wrong)} {cue} {spelled(right)}{said}"
    assert found(wanted, text) == Amount((float(right),), unit), text

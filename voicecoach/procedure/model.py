"""The model of a procedure: what is done, in what order, what is critical, what students may say."""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints, model_validator

Id = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$", max_length=60)]
"""Lower-case words joined by hyphens."""
Line = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=600)]
"""A sentence or a short paragraph."""
Phrase = Annotated[
    str, StringConstraints(strip_whitespace=True, min_length=2, max_length=200, pattern=r"[A-Za-z]")
]
"""Something a student may say."""


def _seconds(value: Any) -> Any:
    """A duration such as `20 s` or `1 min` in seconds; anything else goes on to be refused."""
    if isinstance(value, str) and (match := re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(s|min)\s*", value)):
        return float(match[1]) * (60 if match[2] == "min" else 1)
    if isinstance(value, str):
        raise ValueError("a duration such as `20 s` or `1 min` is expected")
    return value


Seconds = Annotated[float, BeforeValidator(_seconds), Field(gt=0, le=7200)]
"""A duration, written `20 s` or `1 min`."""


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True)


class Cue(_Part):
    """What the coach says of a step, in three strengths."""

    nudge: Line
    """A question that makes the student think and does not name the action."""
    hint: Line
    """Points at the thing, without the whole answer."""
    step: Line
    """The step itself, as an instruction."""

    def of(self, strength: int) -> str:
        """The words for a strength: 1 a nudge, 2 a hint, 3 the step."""
        return (self.nudge, self.hint, self.step)[strength - 1]


class Timing(_Part):
    """How long a step must last."""

    at_least: Seconds
    """The shortest time allowed."""
    from_: Id | None = Field(default=None, alias="from")
    """The step whose report starts the clock; without it, the step's own report does."""


class Count(_Part):
    """Something counted for a fixed time."""

    of: Line
    """What is counted, for example beats."""
    for_: Seconds = Field(alias="for")
    """For how long."""


class Item(_Part):
    """Something served or passed, of which a part is left: a drink, a dish, or an output."""

    of: Line
    """What it is, for example orange juice."""
    holds: float = Field(gt=0, allow_inf_nan=False)
    """How much was served or, of an output, how much there may be at most, in milliliters; of a dish its
    share of the meal."""
    left: tuple[float, float]
    """The least and the most that may be left; of an output, that may be measured."""
    kind: Literal["drink", "dish", "output"] = "drink"
    """What it is counted as."""


class Truth(_Part):
    """The true value of a reading in a case: how it is drawn, and how the student finds it."""

    at: Id
    """The step at which the student finds it, before the one that records it."""
    shown: Literal["beats", "breaths", "sounds", "level", "display", "items"]
    """As what: beats under the fingers, breaths to be seen, the sounds of a deflating cuff, a level beside
    marks, a number on a display, or the items that it is worked out from."""
    least: tuple[float, ...] = ()
    """The least true value, two numbers for a pair; none where it is worked out from items."""
    most: tuple[float, ...] = ()
    """The most that it may be."""
    grain: float = Field(default=1.0, gt=0, allow_inf_nan=False)
    """What the true value, or what is left of an item, is a multiple of."""
    items: tuple[Item, ...] = ()
    """What it is worked out from: intake is what was drunk, a percentage what was eaten, a balance both."""
    served_at: Id | None = None
    """The step at which the student learns how much was served; without it, that at which all is found."""
    ounces: bool = False
    """True where in some cases the cups are marked in ounces, thirty milliliters each."""
    source: Line = "common practice, no source"
    """The published source of the range."""


class Reading(_Part):
    """A value that the student reads and records."""

    quantity: Line
    """What is measured, for example urine output."""
    unit: Line
    """Its unit, for example mL."""
    pair: bool = False
    """True for two numbers, such as systolic over diastolic."""
    scale: float | None = Field(default=None, gt=0, allow_inf_nan=False)
    """Distance between two marks of the scale, in the unit; may be written with it, `25 mL`."""
    between_marks: Literal["up"] | None = None
    """`up` where a level between two marks is recorded as the higher one."""
    within: float = Field(ge=0, allow_inf_nan=False)
    """How far off the recorded value may be, in the unit; may be written with it, `25 mL`."""
    also: tuple[Line, ...] = ()
    """Other units in which it may be recorded, for example kg beside lb."""
    sense: tuple[float, float] | None = None
    """The least and the most that makes any sense, in the unit; without it, what is usual for the unit."""
    truth: Truth | None = None
    """Its true value in a case; without it, what is recorded is not judged."""

    @model_validator(mode="before")
    @classmethod
    def _plain_numbers(cls, data: Any) -> Any:
        """Take the unit off `scale` and `within` where it is written and is the reading's own."""
        if not isinstance(data, dict):
            return data
        unit = data.get("unit")
        plain = dict(data)
        for key in ("scale", "within"):
            value = data.get(key)
            if isinstance(value, str) and isinstance(unit, str):
                number = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(.*?)\s*", value)
                if number is None or number[2] not in ("", unit):
                    raise ValueError(f"{key}: a number, alone or with the unit {unit}, is expected")
                plain[key] = float(number[1])
        return plain


class Action(_Part):
    """What steps and things to avoid have in common."""

    id: Id
    """Its name in files; unique in the procedure."""
    do: Line
    """The action, for a person to read."""
    why: Line
    """Why it matters, in a short sentence."""
    source: Line = "common practice, no source"
    """The published source of the action, its order, its time or its rule."""
    say: tuple[Phrase, ...] = Field(min_length=1)
    """What students may say when it happens: at least ten phrasings that differ in kind."""


class Step(Action):
    """One step of a procedure."""

    critical: bool = False
    """True where leaving it out fails the attempt."""
    after: tuple[Id, ...] = ()
    """Steps that must be finished first. Without it the step may come at any time."""
    first: bool = False
    """True where it must come before all others."""
    last: bool = False
    """True where it must come after all others."""
    again: Id | None = None
    """The step of which this is the same action, done once more."""
    when: Line | None = None
    """The case in which it is needed; leaving it out is a fault only there."""
    when_ounces: bool = False
    """True where that is the case whose cups are marked in ounces."""
    side: Literal["weak", "strong"] | None = None
    """The side of the resident on which it is done, where one is weak."""
    time: Timing | None = None
    """How long it must last."""
    count: Count | None = None
    """What is counted in it."""
    reading: Reading | None = None
    """What is read and recorded in it."""
    cue: Cue
    """What the coach says when it is missed."""


class Avoid(Action):
    """Something that must not happen; its phrases are how a student says that it happened."""

    remedy: Id | None = None
    """The step that mends it, which is then needed again."""
    cue: Line
    """What the coach says when it happened."""


class PassRule(_Part):
    """What it takes to pass. Every critical step is always needed."""

    share: float = Field(default=0.8, ge=0, le=1)
    """Share of all needed steps that must be done, 0 to 1."""


class Procedure(_Part):
    """A care procedure."""

    id: Id
    """Its name in files and commands."""
    title: Line
    """Its name for people."""
    called: tuple[Phrase, ...] = ()
    """What students call it, in lower-case words, so that it can be chosen by voice."""
    scene: Line
    """The invented situation in which the student does it; `{resident}`, `{weak}`, `{strong}` and `{room}`
    stand for what the case says."""
    residents: tuple[Line, ...] = ()
    """Residents who may be met, such as `Mrs. Pruitt`; the first is the one whom the phrases name."""
    weak: tuple[Literal["left", "right"], ...] = ()
    """Sides that may be weak; the first is the one that the phrases name. None where no side is weak."""
    met: Line | None = None
    """The resident who is met in every case, where a class wants that; else one of `residents` is drawn."""
    met_weak: Literal["left", "right"] | None = None
    """The side that is weak in every case, likewise."""
    cautions: tuple[Line, ...] = ()
    """What to be careful of, shown before it begins."""
    pass_: PassRule = Field(default=PassRule(), alias="pass")
    """What it takes to pass."""
    steps: tuple[Step, ...] = Field(min_length=1, max_length=500)
    """The steps, in their usual order."""
    avoid: tuple[Avoid, ...] = ()
    """What must not happen."""
    pronounce: dict[str, str] = Field(default={})
    """Pronunciations, in the phones of the CMU dictionary without stress, of words it lacks."""

    def step(self, id: str) -> Step:
        """The step of that id. KeyError where there is none."""
        for step in self.steps:
            if step.id == id:
                return step
        raise KeyError(id)

    def avoided(self, id: str) -> Avoid:
        """What is to be avoided under that id. KeyError where there is none."""
        for avoid in self.avoid:
            if avoid.id == id:
                return avoid
        raise KeyError(id)

    @property
    def phrases(self) -> tuple[str, ...]:
        """Everything the procedure expects a student to say."""
        return tuple(phrase for action in self.actions for phrase in action.say)

    @property
    def words(self) -> frozenset[str]:
        """The words of its phrases and of what it is called: all whose sound should be known."""
        return frozenset(word for said in (*self.phrases, *self.called) for word in said.lower().split())

    @property
    def actions(self) -> tuple[Action, ...]:
        """The steps and then what is to be avoided."""
        return (*self.steps, *self.avoid)

    @property
    def same_action(self) -> tuple[int, ...]:
        """A number for each step, the same for steps that are the same action done again."""
        first: dict[str, int] = {}
        return tuple(first.setdefault(step.again or step.id, len(first)) for step in self.steps)

    def plain(self) -> dict[str, Any]:
        """The procedure as plain values, for a journal; `Procedure.model_validate` reads it back."""
        return self.model_dump(mode="json", by_alias=True, exclude_defaults=True)

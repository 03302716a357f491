"""The model: what it takes and refuses, what it answers, and that a journal gets it whole."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from tests.procedure.examples import (
    SHIPPED,
    plain_avoid,
    plain_procedure,
    plain_step,
    procedure,
    reproducible,
    shipped,
)
from voicecoach.procedure import model
from voicecoach.procedure.loading import schema
from voicecoach.procedure.model import Avoid, Cue, PassRule, Procedure, Reading, Step, Timing

PARTS = [
    part
    for part in vars(model).values()
    if isinstance(part, type) and issubclass(part, BaseModel) and part.__module__ == model.__name__
]


@pytest.mark.parametrize(
    "part", [part for part in PARTS if part.model_fields], ids=lambda part: part.__name__
)
def test_every_field_is_explained(part: type[BaseModel]) -> None:
    assert part.__doc__
    for name, field in part.model_fields.items():
        assert field.description, f"{part.__name__}.{name} has no docstring"
        assert field.description.endswith((".", "`"))


def test_the_schema_explains_every_key_by_the_name_it_has_in_a_file() -> None:
    made = json.loads(schema())
    tables = [made, *made["$defs"].values()]
    assert {"Step", "Avoid", "Cue", "Timing", "Count", "Reading", "PassRule"} <= made["$defs"].keys()
    for table in tables:
        assert table["additionalProperties"] is False
        assert all("description" in value for value in table["properties"].values())
    assert "pass" in made["properties"]
    assert set(made["$defs"]["Timing"]["properties"]) == {"at_least", "from"}
    assert set(made["$defs"]["Count"]["properties"]) == {"of", "for"}


@pytest.mark.parametrize(
    ("written", "seconds"),
    [
        ("20 s", 20),
        ("20s", 20),
        (" 1 min ", 60),
        ("0.5 min", 30),
        ("2.5 s", 2.5),
        ("120 min", 7200),
        (45, 45),
    ],
)
def test_a_duration_is_in_seconds(written: str | int, seconds: float) -> None:
    assert Timing.model_validate({"at_least": written}).at_least == seconds


@pytest.mark.parametrize(
    "written", ["20 seconds", "s", "", "1 h", "-5 s", "1,5 s", "0 s", "121 min", 0, -1, 7201, [20], None]
)
def test_what_is_no_duration_is_refused(written: Any) -> None:
    with pytest.raises(ValidationError):
        Timing.model_validate({"at_least": written})


@pytest.mark.parametrize(
    ("unit", "written", "number"),
    [
        ("mL", "25 mL", 25),
        ("mL", "25mL", 25),
        ("mL", "25", 25),
        ("mL", 25, 25),
        ("beats/min", "4 beats/min", 4),
    ],
)
def test_a_reading_may_carry_its_unit(unit: str, written: str | int, number: float) -> None:
    plain = {"quantity": "something", "unit": unit, "within": written, "scale": written}
    reading = Reading.model_validate(plain)
    assert (reading.within, reading.scale) == (number, number)
    assert plain["within"] == written, "the values given are not changed"


@pytest.mark.parametrize("key", ["scale", "within"])
@pytest.mark.parametrize("written", ["25 oz", "about 25", "mL", "", "25 mL mL", "-1 mL", -1])
def test_a_reading_refuses_another_unit_and_what_is_no_number(key: str, written: str | int) -> None:
    plain = {"quantity": "urine output", "unit": "mL", "within": 25} | {key: written}
    with pytest.raises(ValidationError):
        Reading.model_validate(plain)


@pytest.mark.parametrize(
    "wrong",
    [
        {"scale": 0},
        {"between_marks": "down"},
        {"pair": "perhaps"},
        {"unit": ""},
        {"within": None},
        {"digits": 2},
    ],
)
def test_a_reading_refuses(wrong: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        Reading.model_validate({"quantity": "urine output", "unit": "mL", "within": 25} | wrong)


def test_a_reading_is_no_text() -> None:
    with pytest.raises(ValidationError):
        procedure(plain_step("a", reading="250 mL"))


@pytest.mark.parametrize("id", ["a", "bed-low", "step2", "a-2-b", "a" * 60])
def test_ids(id: str) -> None:
    assert procedure(plain_step(id)).steps[0].id == id


@pytest.mark.parametrize(
    "id", ["", "A", "2a", "bed_low", "bed low", "-a", "a-", "a--b", "a\n", "é", "a" * 61, 7]
)
def test_what_is_no_id_is_refused(id: Any) -> None:
    with pytest.raises(ValidationError):
        procedure(plain_step(id))


@pytest.mark.parametrize("missing", ["id", "do", "why", "say", "cue"])
def test_a_step_and_what_to_avoid_need_all_that_has_no_default(missing: str) -> None:
    for plain, part in ((plain_step("a"), Step), (plain_avoid("a"), Avoid)):
        part.model_validate(plain)
        del plain[missing]
        with pytest.raises(ValidationError):
            part.model_validate(plain)


@pytest.mark.parametrize("phrase", ["", " ", "a", "12 34", "?!", "x" * 201, None])
def test_what_nobody_says_is_no_phrase(phrase: Any) -> None:
    with pytest.raises(ValidationError):
        procedure(plain_step("a", say=["doing it", phrase]))


@pytest.mark.parametrize("share", [-0.1, 1.1, float("nan")])
def test_a_share_is_from_none_to_all(share: float) -> None:
    with pytest.raises(ValidationError):
        PassRule(share=share)


def test_defaults() -> None:
    made = procedure(plain_step("a"))
    assert (made.pass_.share, made.cautions, made.avoid, made.pronounce) == (0.8, (), (), {})
    step = made.steps[0]
    assert (step.critical, step.first, step.last, step.after) == (False, False, False, ())
    assert (step.again, step.when, step.time, step.count, step.reading) == (None,) * 5
    assert step.source == "common practice, no source"


def test_too_few_and_too_many_steps() -> None:
    steps = [plain_step(f"s{number}") for number in range(501)]
    assert len(procedure(*steps[:500]).steps) == 500
    for wrong in ([], steps):
        with pytest.raises(ValidationError):
            procedure(*wrong)


def test_a_procedure_does_not_change() -> None:
    made = procedure(plain_step("a"))
    with pytest.raises(ValidationError):
        made.steps[0].critical = True


def test_a_cue_by_strength() -> None:
    cue = Cue(nudge="What now?", hint="Look down.", step="Lock it.")
    assert [cue.of(strength) for strength in (1, 2, 3)] == ["What now?", "Look down.", "Lock it."]


def test_steps_and_what_to_avoid_by_id() -> None:
    made = procedure(plain_step("a"), plain_step("b"), avoid=[plain_avoid("c")])
    assert made.step("b") is made.steps[1]
    assert made.avoided("c") is made.avoid[0]
    for search in (made.step, made.avoided):
        with pytest.raises(KeyError):
            search("d")
    with pytest.raises(KeyError):
        made.step("c")
    with pytest.raises(KeyError):
        made.avoided("a")


def test_actions_and_phrases_are_the_steps_first() -> None:
    made = procedure(plain_step("a", say=["one", "two"]), plain_step("b"), avoid=[plain_avoid("c")])
    assert [action.id for action in made.actions] == ["a", "b", "c"]
    assert made.phrases == ("one", "two", "doing b", "oops c")


def test_what_it_is_called_is_no_phrase_but_its_words_must_be_known() -> None:
    made = procedure(plain_step("a", say=["Oh two"]), called=["tea time", "two cups"])
    assert made.called == ("tea time", "two cups")
    assert made.phrases == ("Oh two",)
    assert made.words == {"oh", "two", "tea", "time", "cups"}
    with pytest.raises(ValidationError):
        procedure(plain_step("a"), called=["12"])


def test_a_step_done_again_has_the_number_of_the_first() -> None:
    made = procedure(
        plain_step("wash"), plain_step("dry"), plain_step("wash-more", again="wash"), plain_step("go")
    )
    assert made.same_action == (0, 1, 0, 2)
    # the step of which it is a repetition may stand later in the file
    assert procedure(plain_step("end", again="wash"), plain_step("a"), plain_step("wash")).same_action == (
        0,
        1,
        0,
    )


ids = st.from_regex(re.compile(r"[a-z][a-z0-9]{0,4}(-[a-z0-9]{1,3}){0,2}", re.ASCII), fullmatch=True)
lines = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), min_size=1, max_size=30
).filter(lambda text: bool(text.strip()))
phrases = st.from_regex(re.compile(r"[a-z]{2,8}( [a-z']{1,6}){0,3}", re.ASCII), fullmatch=True)
durations = st.one_of(
    st.integers(1, 7200).map(lambda n: f"{n} s"),
    st.integers(1, 120).map(lambda n: f"{n} min"),
    st.floats(0.1, 7200),
)
amounts = st.floats(0.001, 1e6)
maybe = st.booleans()


@st.composite
def actions(draw: st.DrawFn, id: str) -> dict[str, Any]:
    made = {
        "id": id,
        "do": draw(lines),
        "why": draw(lines),
        "say": draw(st.lists(phrases, min_size=1, max_size=3)),
    }
    return made | ({"source": draw(lines)} if draw(maybe) else {})


@st.composite
def procedures(draw: st.DrawFn) -> dict[str, Any]:
    """Procedures as plain values, with every key present or absent."""
    names = draw(st.lists(ids, min_size=1, max_size=4, unique=True))
    reading = st.fixed_dictionaries(
        {"quantity": lines, "unit": st.just("mL"), "within": amounts | st.just("25 mL")},
        optional={"pair": maybe, "scale": amounts | st.just("5 mL"), "between_marks": st.just("up")},
    )
    cue = st.fixed_dictionaries({"nudge": lines, "hint": lines, "step": lines})
    some = st.sampled_from(names)
    steps = []
    for name in names:
        optional = st.fixed_dictionaries(
            {"cue": cue},
            optional={
                "critical": maybe,
                "after": st.lists(some, max_size=3),
                "first": maybe,
                "last": maybe,
                "again": some,
                "when": lines,
                "time": st.fixed_dictionaries({"at_least": durations}, optional={"from": some}),
                "count": st.fixed_dictionaries({"of": lines, "for": durations}),
                "reading": reading,
            },
        )
        steps.append(draw(actions(name)) | draw(optional))
    avoided = st.fixed_dictionaries({"cue": lines}, optional={"remedy": some})
    top = st.fixed_dictionaries(
        {},
        optional={
            "called": st.lists(phrases, max_size=2),
            "cautions": st.lists(lines, max_size=2),
            "pass": st.fixed_dictionaries({"share": st.floats(0, 1)}),
            "avoid": avoided.flatmap(lambda more: actions("never").map(lambda made: [made | more])),
            "pronounce": st.dictionaries(phrases, st.just("T IY"), max_size=2),
        },
    )
    return plain_procedure(*steps, **draw(top))


@settings(reproducible, max_examples=60)
@given(plain=procedures())
def test_plain_values_read_back_give_the_same_procedure(plain: dict[str, Any]) -> None:
    made = Procedure.model_validate(plain)
    written = json.dumps(made.plain())
    again = Procedure.model_validate(json.loads(written))
    assert again == made
    assert json.dumps(again.plain()) == written


@pytest.mark.parametrize("id", SHIPPED)
def test_shipped_procedures_read_back_from_a_journal(id: str) -> None:
    written = json.dumps(shipped(id).plain())
    assert Procedure.model_validate(json.loads(written)) == shipped(id)


def test_plain_values_use_the_keys_of_a_file_and_leave_out_what_is_usual() -> None:
    plain = plain_procedure(
        plain_step("a", time={"at_least": "1 min", "from": "b"}, count={"of": "beats", "for": "30 s"}),
        plain_step("b"),
        **{"pass": {"share": 0.5}},
    )
    made = Procedure.model_validate(plain).plain()
    assert made["pass"] == {"share": 0.5}
    assert made["steps"][0]["time"] == {"at_least": 60.0, "from": "b"}
    assert made["steps"][0]["count"] == {"of": "beats", "for": 30.0}
    assert made["steps"][1] == plain["steps"][1]
    assert not made.keys() & {"called", "cautions", "avoid", "pronounce"}

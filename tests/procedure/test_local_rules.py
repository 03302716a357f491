"""Local rules: what each kind makes of a procedure, and that nothing else is changed."""

from __future__ import annotations

from typing import Any

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.procedure.examples import (
    SHIPPED,
    graph,
    plain_step,
    procedure,
    reproducible,
    required,
    shipped,
)
from tests.procedure.ruled import ADDED, TEA, differences_of, ruled
from tests.procedure.test_order import procedures
from voicecoach.procedure import local_rules
from voicecoach.procedure.case import draw
from voicecoach.procedure.loading import Faulty
from voicecoach.procedure.model import Procedure
from voicecoach.procedure.order import needs
from voicecoach.procedure.removing import without
from voicecoach.procedure.ruling import applied


def test_a_file_is_read_as_rules_with_their_lines_and_reasons() -> None:
    text = (
        "class: Evening class\ntea:\n"
        "  - remove: warm\n    because: >\n      No time.\n  - pass: 0.9\n    because: Why not.\n"
    )
    rules = local_rules.read(text, "rules.yaml", ("tea", "milk"))
    assert (rules.name, rules.procedures) == ("Evening class", ("tea",))
    told = [(str(rule), rule.line, rule.because) for rule in rules.of("tea")]
    assert told == [("remove warm", 3, "No time."), ("pass", 6, "Why not.")]
    assert rules.of("milk") == ()


@pytest.mark.parametrize(("written", "name"), [("class: 101\n", "101"), ("", "")])
def test_the_class_may_be_a_number_or_missing(written: str, name: str) -> None:
    text = f"{written}tea: [{{remove: warm, because: No time.}}]\n"
    assert local_rules.read(text, "rules.yaml", ("tea",)).name == name


def test_change_sets_keys_and_leaves_all_else() -> None:
    after = ruled("  - {change: wash, critical: false, why: Germs., because: We say so.}\n")
    assert after.step("wash").critical is False
    assert after.step("wash").why == "Germs."
    assert after.step("wash").model_copy(update={"critical": True, "why": "It matters."}) == TEA.step("wash")
    assert after.model_copy(update={"steps": TEA.steps}) == TEA


def test_change_merges_parts_and_keeps_the_others() -> None:
    after = ruled(
        "  - change: read\n"
        "    reading: {within: 5 F, truth: {most: [180]}}\n"
        "    cue: {hint: Look at the display.}\n"
        "    because: We are not so strict.\n"
        "  - {change: boil, time: {at_least: 1 min}, because: So it is here.}\n"
    )
    reading, old = after.step("read").reading, TEA.step("read").reading
    assert reading is not None
    assert old is not None
    assert reading.truth is not None
    assert (reading.unit, reading.scale, reading.within) == ("F", 1, 5)
    assert (reading.truth.at, reading.truth.least, reading.truth.most) == ("pour", (150,), (180,))
    cue = after.step("read").cue
    assert (cue.nudge, cue.hint, cue.step) == ("What of read?", "Look at the display.", "Do read.")
    time = after.step("boil").time
    assert time is not None
    assert (time.at_least, time.from_) == (60, "wash")


def test_change_replaces_lists_and_also_adds_to_them() -> None:
    after = ruled(
        "  - {change: pour, say: [tea time], also after: wash, because: One.}\n"
        "  - {change: warm, also say: [warming it up, doing warm], because: Two.}\n"
        "  - {change: read, after: boil, because: Three.}\n"
    )
    assert after.step("pour").say == ("tea time",)
    assert after.step("pour").after == ("boil", "warm", "wash")
    assert after.step("warm").say == ("doing warm", "warming it up")
    assert after.step("read").after == ("boil",)


def test_two_rules_may_each_add_phrases_to_one_step() -> None:
    after = ruled(
        "  - {change: pour, also say: one more, because: One.}\n"
        "  - {change: pour, also say: two more, because: Two.}\n"
    )
    assert after.step("pour").say == ("pouring it", "in it goes", "one more", "two more")


def test_without_takes_a_key_or_a_part_away() -> None:
    after = ruled(
        "  - {change: boil, without: time.from, because: One.}\n"
        "  - {change: wash-again, without: [when, again], because: Two.}\n"
        "  - {change: read, without: reading, because: Three.}\n"
    )
    time = after.step("boil").time
    assert time is not None
    assert (time.at_least, time.from_) == (20, None)
    assert (after.step("wash-again").when, after.step("wash-again").again) == (None, None)
    assert after.step("read").reading is None
    assert ruled("  - {change: boil, without: time, because: One.}\n").step("boil").time is None


def test_what_is_to_be_avoided_is_changed_and_removed_too() -> None:
    after = ruled(
        "  - {change: spill, cue: Wipe it up., without: remedy, because: One.}\n"
        "  - {remove: burn, because: Two.}\n"
    )
    assert [avoid.id for avoid in after.avoid] == ["spill"]
    assert (after.avoided("spill").cue, after.avoided("spill").remedy) == ("Wipe it up.", None)


def test_steps_are_added_where_the_rules_say_in_the_order_of_the_file() -> None:
    before = procedure(plain_step("boil"), plain_step("pour", after=["boil"]))
    places = {
        "a": "behind: pour",
        "b": "behind: pour",
        "c": "before: boil",
        "d": "before: pour",
        "e": "behind: a",
    }
    more = {"c": "first: true", "e": "after: a", "d": "after: [c, boil]"}
    text = "".join(
        f"  - add: {{id: {id}, {ADDED.replace('smiling', f'smiling {id}')}, "
        f"{more.get(id, 'critical: true')}}}\n    {place}\n    because: Nice.\n"
        for id, place in places.items()
    )
    after = ruled(text, before)
    assert [step.id for step in after.steps] == ["c", "boil", "d", "pour", "a", "e", "b"]
    assert after.step("c").first
    assert after.step("a").critical
    assert required(after, "d") == {"boil", "c"}
    assert required(after, "e") == {"a", "c"}


def test_an_added_step_may_take_the_place_of_one_that_is_removed() -> None:
    after = ruled(
        "  - {remove: warm, because: No pot.}\n"
        f"  - {{add: {{id: smile, {ADDED}, after: wash}}, behind: warm, because: Nice.}}\n"
    )
    assert [step.id for step in after.steps][:4] == ["wash", "boil", "smile", "pour"]


def test_the_share_that_it_takes_to_pass() -> None:
    assert ruled("  - {pass: 0.9, because: The course is over.}\n").pass_.share == 0.9


NUMBERS = range(60)


def test_a_resident_a_side_and_values_that_every_case_has() -> None:
    assert len({draw(TEA, number).values["press"] for number in NUMBERS}) > 10
    after = ruled(
        "  - case: {resident: Mr. Alder, weak: right, read: 152 F, press: 122/78}\n    because: The same.\n"
    )
    cases = [draw(after, number) for number in NUMBERS]
    assert {case.resident for case in cases} == {"Mr. Alder"}
    assert {case.weak for case in cases} == {"right"}
    assert (after.residents, after.weak) == (TEA.residents, TEA.weak), "the first are what the phrases name"
    assert {case.values["read"] for case in cases} == {(152,)}
    assert {case.values["press"] for case in cases} == {(122, 78)}
    assert len({case.values["total"] for case in cases}) > 3, "what is not fixed is still drawn"


def test_a_value_that_is_worked_out_is_fixed_by_what_is_left() -> None:
    after = ruled("  - case: {total: {black tea: 40, water: 10 mL}}\n    because: The same for all.\n")
    cases = [draw(after, number) for number in NUMBERS]
    # 240 - 40 and 120 - 10 were drunk
    assert {case.values["total"] for case in cases} == {(310,)}
    after = ruled("  - case: {total: {black tea: 40}}\n    because: The same for all.\n")
    cases = [draw(after, number) for number in NUMBERS]
    assert {case.shares["total"][0].left for case in cases} == {40}
    assert len({case.shares["total"][1].left for case in cases}) > 3


def _order_of(made: Procedure, of: set[str]) -> set[tuple[str, str]]:
    """Which of these steps must come before which, by networkx."""
    closure = nx.transitive_closure(graph(needs(made)))
    return {(one, other) for one, other in closure.edges if {one, other} <= of}


def test_what_needed_a_step_that_is_removed_needs_what_that_one_needed() -> None:
    after = ruled(
        "  - {remove: pour, because: No tea.}\n"
        "  - {change: read, reading: {truth: {at: boil}}, because: So.}\n"
        "  - {change: total, reading: {truth: {at: boil}}, because: So.}\n"
    )
    assert after.step("read").after == ("boil", "warm")
    assert "pour" not in {step.id for step in after.steps}


def test_only_what_is_not_needed_by_another_way_is_needed_anew() -> None:
    before = procedure(
        plain_step("a"),
        plain_step("b", after=["a"]),
        plain_step("c", after=["b"]),
        plain_step("d", after=["b", "c"]),
    )
    after = ruled("  - {remove: b, because: No.}\n", before)
    assert {step.id: step.after for step in after.steps} == {"a": (), "c": ("a",), "d": ("c",)}


@pytest.mark.parametrize("id", SHIPPED)
def test_without_any_step_of_a_shipped_procedure_the_order_of_the_others_stays(id: str) -> None:
    before = shipped(id)
    for step in before.steps:
        others = {other.id for other in before.steps if other is not step}
        after = without(before, {step.id})
        assert {other.id for other in after.steps} == others
        assert _order_of(after, others) == _order_of(before, others)
        reduced = set(nx.transitive_reduction(graph(needs(after))).edges)
        for other in after.steps:
            new = set(other.after) - set(before.step(other.id).after)
            assert {(need, other.id) for need in new} <= reduced, "nothing is needed that another need brings"


@pytest.mark.parametrize("id", SHIPPED)
def test_a_rule_that_removes_a_step_of_a_shipped_procedure_leaves_no_reference_to_it(id: str) -> None:
    before = shipped(id)
    for step in before.steps:
        text = f"tea: [{{remove: {step.id}, because: We do not.}}]"
        rules = local_rules.read(text, "rules.yaml", ("tea",)).of("tea")
        # Nothing stands against it but a reference that would lead nowhere, or ounces that are nowhere.
        named = _named_by_others(before, step.id)
        if step.reading and step.reading.truth and step.reading.truth.ounces:
            named.add("ounces")
        if named:
            with pytest.raises(Faulty) as caught:
                applied(before, rules, "rules.yaml")
            assert {str(finding).split("`")[1] for finding in caught.value.findings} <= named
        else:
            after = applied(before, rules, "rules.yaml")
            assert not _named_by_others(after, step.id)
            assert after == without(before, {step.id})


def _named_by_others(made: Procedure, id: str) -> set[str]:
    """The keys, but `after`, under which a step is named by others; the search is for its id anywhere."""
    found: set[str] = set()

    def look(value: Any, path: str) -> None:
        if isinstance(value, dict):
            for key, part in value.items():
                look(part, f"{path}.{key}".strip("."))
        elif value == id and path not in ("id", "after"):
            found.add(path)

    for action in made.actions:
        look(action.model_dump(by_alias=True), "")
    return found


@reproducible
@given(made=procedures(), data=st.data())
def test_without_any_steps_of_any_procedure_the_order_of_the_others_stays(
    made: Procedure, data: st.DataObject
) -> None:
    ids = [step.id for step in made.steps]
    gone = data.draw(st.sets(st.sampled_from(ids), max_size=len(ids) - 1))
    others = set(ids) - gone
    if not nx.is_directed_acyclic_graph(graph(needs(made))):
        return
    after = without(made, gone)
    assert [step.id for step in after.steps] == [id for id in ids if id in others]
    assert _order_of(after, others) == _order_of(made, others)
    assert all(set(step.after) <= others for step in after.steps)


RULES = (
    "{change: wash, critical: false, because: A.}",
    "{change: wash, also say: scrubbing, because: B.}",
    "{change: pour, after: [boil], because: C.}",
    "{change: read, reading: {within: 1}, because: D.}",
    "{remove: warm, because: E.}",
    "{case: {read: 160}, because: F.}",
    "{pass: 0.5, because: G.}",
    f"{{add: {{id: smile, {ADDED}, after: [pour]}}, behind: warm, because: H.}}",
)


@reproducible
@given(order=st.permutations(RULES))
def test_the_order_in_which_rules_stand_does_not_matter(order: list[str]) -> None:
    def text(rules: tuple[str, ...] | list[str]) -> str:
        return "".join(f"  - {rule}\n" for rule in rules)

    assert ruled(text(order)) == ruled(text(RULES))
    assert set(differences_of(text(order))) == set(differences_of(text(RULES)))
    reasons = {reason for one in differences_of(text(order)) for reason in one.because.split()}
    assert reasons == {f"{letter}." for letter in "ABCDEFGH"}

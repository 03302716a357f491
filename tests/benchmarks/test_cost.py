"""The procedures of which the cost is measured."""

from __future__ import annotations

from tests.benchmarks.cost import put_together
from voicecoach.procedure import library


def test_a_long_procedure_has_phrases_of_its_own_and_is_narrated_in_others() -> None:
    procedure, narrated = put_together(200)
    assert len(procedure.steps) == len(narrated) == 200
    kinds = sum(len(library.find(id).steps) for id in library.shipped())
    for step, again in zip(procedure.steps, procedure.steps[kinds:], strict=False):
        assert not set(step.say) & set(again.say)
    for step, said in zip(procedure.steps, narrated, strict=True):
        assert said not in step.say

"""A procedure with something of everything that local rules may change, and rules for it."""

from __future__ import annotations

import pytest

from tests.procedure.examples import plain_avoid, plain_step, procedure
from voicecoach.procedure import local_rules
from voicecoach.procedure.differences import Difference, differences
from voicecoach.procedure.loading import Faulty
from voicecoach.procedure.model import Procedure
from voicecoach.procedure.ruling import applied

ADDED = "do: Smile, why: It is nice., say: [smiling], cue: {nudge: And?, hint: Her face., step: Smile.}"
"""What an added step has beside its id."""
TEA = procedure(
    plain_step("wash", first=True, critical=True),
    plain_step("boil", after=["wash"], time={"at_least": "20 s", "from": "wash"}),
    plain_step("warm", after=["wash"]),
    plain_step("pour", after=["boil", "warm"], say=["pouring it", "in it goes"]),
    plain_step(
        "read",
        after=["pour"],
        reading={
            "quantity": "heat",
            "unit": "F",
            "within": "2 F",
            "scale": 1,
            "sense": [90, 212],
            "truth": {"at": "pour", "shown": "display", "least": [150], "most": [200]},
        },
    ),
    plain_step(
        "press",
        reading={
            "quantity": "pressure",
            "unit": "mmHg",
            "pair": True,
            "within": 8,
            "truth": {"at": "wash", "shown": "sounds", "least": [100, 60], "most": [140, 90], "grain": 2},
        },
    ),
    plain_step(
        "total",
        reading={
            "quantity": "intake",
            "unit": "mL",
            "within": 30,
            "truth": {
                "at": "pour",
                "shown": "items",
                "grain": 10,
                "items": [
                    {"of": "black tea", "holds": 240, "left": [0, 120]},
                    {"of": "water", "holds": 120, "left": [0, 60]},
                ],
            },
        },
    ),
    plain_step("wash-again", again="wash", say=["washing once more"], when="it went over"),
    avoid=[plain_avoid("spill", remedy="wash-again"), plain_avoid("burn")],
    residents=["Mrs. Lane", "Mr. Alder"],
    weak=["left", "right"],
)


def ruled(text: str, before: Procedure = TEA) -> Procedure:
    """The procedure with the rules of a text, which are those for it alone and begin in line 2."""
    rules = local_rules.read(f"tea:\n{text}", "rules.yaml", ("tea",))
    return applied(before, rules.of("tea"), "rules.yaml")


def found(text: str, before: Procedure = TEA) -> list[str]:
    """What is found to be wrong with the rules of a text."""
    with pytest.raises(Faulty) as caught:
        ruled(text, before)
    assert all(finding.file == "rules.yaml" for finding in caught.value.findings)
    return [str(finding).removeprefix("rules.yaml:") for finding in caught.value.findings]


def differences_of(text: str, before: Procedure = TEA) -> tuple[Difference, ...]:
    """What is different by the rules of a text."""
    rules = local_rules.read(f"tea:\n{text}", "rules.yaml", ("tea",)).of("tea")
    return differences(before, applied(before, rules, "rules.yaml"), rules)

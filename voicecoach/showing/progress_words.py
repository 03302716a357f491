"""The words of progress and readiness: shares, ranges, and a sentence for each step that holds a student
back."""

from __future__ import annotations

from voicecoach.records.intervals import Share
from voicecoach.records.progress import Progress, Timing
from voicecoach.records.readiness import Chance, ProcedureReadiness, Readiness, StepReadiness

FIRST = 10
"""Steps that are named as holding a student back."""
TOO_LITTLE = "too little to say"
NOTHING = "–"
_HARDLY = 0.0005
"""A rise of a chance that would be told as none."""
CHANGES = {1: "↑ better", -1: "↓ worse", 0: ""}

OF_PROGRESS = (
    "Counted are attempts that went to their end and were understood. After each share stands the range in "
    "which it may well lie (95% score interval, Wilson 1927): after one or two attempts that is nearly "
    "anything. In order, without a cue and right are counted where the step was done; good is all of these "
    "together.",
    "“Lately” is of attempts without the coach's lead alone, in rehearse and selftest, and newer ones weigh "
    "more: an attempt weighs half as much after two more (exponential forgetting).",
)
OF_READINESS = (
    "Passed is here what the debrief passes: every critical step done and right, and enough of all steps. A "
    "step that needed a cue is not taken for done, since nobody gives cues in a test; the order does not "
    "decide. What it takes in a real test, your state says.",
    "Counted are rehearse and selftest, and newer attempts weigh more. A procedure never done alone is at "
    "best a toss of a coin. The chance is computed as if steps went well or not each by itself, which makes "
    "it low for who is still learning. The range is as wide as holds the true chance of nine in ten "
    "simulated students; people may be different.",
)


def percent(share: float) -> str:
    """A share in whole percent, never called sure or impossible where it is not."""
    if 0 < share < 0.005:
        return "under 1%"
    return "over 99%" if 0.995 <= share < 1 else f"{share:.0%}"


def between(low: float, high: float) -> str:
    """A range in percent, for example 21–94%."""
    return f"{100 * low:.0f}–{100 * high:.0f}%"


def times(share: Share) -> str:
    """How often of how many, for example 5 of 6."""
    return f"{share.well:.0f} of {share.of:.0f}" if share.of else NOTHING


def counted(share: Share) -> str:
    """The same with its range, for example 5 of 6 (44–97%)."""
    return f"{times(share)} ({between(share.low, share.high)})" if share.of else NOTHING


def share(of: Share) -> str:
    """A share with its range, for example 83% (44–97%)."""
    return NOTHING if of.value is None else f"{percent(of.value)} ({between(of.low, of.high)})"


def seconds(timing: Timing) -> str:
    """How long a timed step took, for example latest 22 s, usually 20 s, 20 s needed."""
    return f"latest {timing.latest:.0f} s, usually {timing.usual:.0f} s, {timing.needed:.0f} s needed"


def attempts(one: Progress) -> str:
    """What is counted of a procedure, in a sentence."""
    words = f"{count(len(one.tries), 'attempt')}, {len(one.alone)} of them alone"
    if one.left_out:
        words += f"; {one.left_out} more broken off or not understood"
    return f"{words}."


def chance(of: Chance) -> str:
    """A chance, or that there is too little to say."""
    return percent(of.value) if of.known else TOO_LITTLE


def test(found: Readiness) -> str:
    """What kind of test the chance is of."""
    passed = "all" if found.must_pass == found.items else f"at least {found.must_pass}"
    if found.items == len(found.procedures):
        return f"A skills test of all {count(found.items, 'procedure')}, of which {passed} must be passed."
    hands = ", hand washing always among them," if found.hands else ""
    return (
        f"A skills test that draws {found.items} of {count(len(found.procedures), 'procedure')} at random"
        f"{hands} of which {passed} must be passed (random draw: 42 CFR 483.154(b)(2); the rest: common "
        "practice)."
    )


def verdict(found: Readiness) -> str:
    """The chance of passing the test, in a sentence."""
    fits = f"{between(found.chance.low, found.chance.high)} would fit what was done"
    if not found.chance.known:
        return f"Chance of passing it today: too little practised to say ({fits})."
    return f"Chance of passing it today: {percent(found.chance.value)} ({fits})."


def lowering(found: Readiness) -> list[tuple[str, str]]:
    """The steps that hold the student back most: which each is, and a sentence or two."""
    return [
        (f"{one.title}: “{one.do}”{' (critical)' if one.critical else ''}", lowers(one))
        for one in found.tried[:FIRST]
    ]


def untried(found: Readiness) -> str:
    """How many procedures were never done alone; empty where there is none."""
    never = sum(not one.alone for one in found.procedures)
    if not never:
        return ""
    if never == len(found.procedures):
        return "Nothing was done alone yet. Rehearse or selftest a procedure, and there will be more to say."
    of = count(len(found.procedures), "procedure")
    return f"{never} of {of} never done alone yet: little is known of these."


def alone(one: ProcedureReadiness) -> str:
    """How often a procedure was done alone."""
    return str(one.alone) if one.alone else "never"


def lowers(step: StepReadiness) -> str:
    """Why a step holds the student back, and what it would bring to be sure of it."""
    faults = [
        words
        for number, words in (
            (step.missed, f"missed {_often(step.missed)}"),
            (step.wrong, f"not right {_often(step.wrong)}"),
            (step.prompted, f"only after a cue {_often(step.prompted)}"),
        )
        if number
    ]
    if not step.of:
        seen = "Not needed yet in any attempt alone."
    elif faults:
        seen = f"Well in {step.well} of {count(step.of, 'attempt')} alone: {', '.join(faults)}."
    else:
        seen = f"Well in {count(step.of, 'attempt')} alone, which is too few to be sure."
    return f"{seen} Sure of it, the chance would {_rises(step.gain)}."


def points(gain: float) -> str:
    """A rise of a chance in points of percent."""
    if gain < _HARDLY:
        return "hardly anything"
    return f"{100 * gain:.1f} points" if gain < 0.0095 else count(round(100 * gain), "point")


def _rises(gain: float) -> str:
    return "hardly rise" if gain < _HARDLY else f"rise by {points(gain)}"


def count(number: int, noun: str) -> str:
    """A number of things."""
    return f"{number} {noun}{'' if number == 1 else 's'}"


def _often(number: int) -> str:
    return {1: "once", 2: "twice"}.get(number, f"{number} times")

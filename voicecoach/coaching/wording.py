"""The words of the coach that do not stand in a procedure."""

from __future__ import annotations

from voicecoach.procedure.model import Procedure

READY = "I am listening."
THANKS = "Good, that was missing."
LATE = "Good that you remembered. It belongs earlier."
NOTHING_YET = "I have not said anything yet."
NOTHING_LEFT = "Nothing is left. Say, I have finished."
PAUSED = "Paused. Say, coach, go on."
RESUMED = "Go on."
RESTARTED = "Starting over."
WAITING = "I wait."
HEARS_AGAIN = "I can hear you again. Go on."
CLOSER = "Come closer to the microphone, or find a quieter place."
UNCLEAR = f"I can hardly understand you. {CLOSER}"
NOT_JUDGED = "I could not judge this, since I understood too little."
SKILL_OVER = "That is all for this skill."
NOTHING_TIMED = "Nothing here has to last."
TIME_IS_UP = "Time."
NO_CASE = "There is nothing to see yet."
CHECK_VALUE = "Check that value once more."
WHICH_SIDE = "Which side is it?"
WHOSE_NAME = "What is the resident's name?"
HOW_LONG = "Say how long it lasts."
CAUTION = (
    "This is practice, not an evaluation. Your instructor, the facility's policy and your state's own "
    "handbook come first."
)


def fixed_cues(procedure: Procedure, mode: str, introduction: str = "") -> tuple[str, ...]:
    """All texts that can be known before an attempt begins, to be rendered then, the first one first."""
    if mode == "selftest":
        return (introduction,) if introduction else ()
    steps = [words for step in procedure.steps for words in (step.cue.nudge, step.cue.hint, step.cue.step)]
    fixed = [introduction] if introduction else []
    fixed += [
        READY,
        THANKS,
        LATE,
        NOTHING_YET,
        NOTHING_LEFT,
        PAUSED,
        RESUMED,
        RESTARTED,
        HEARS_AGAIN,
        UNCLEAR,
    ]
    fixed += [TIME_IS_UP, CHECK_VALUE, WHICH_SIDE, WHOSE_NAME]
    return tuple(dict.fromkeys([*fixed, *steps, *(avoid.cue for avoid in procedure.avoid)]))


def standing(done: int, needed: int, critical: int) -> str:
    """How the student is doing: steps done, steps needed, critical steps that somebody has passed over."""
    words = f"{done} of {needed} steps so far."
    if critical:
        words += f" {_count(critical, 'critical step')} {'is' if critical == 1 else 'are'} missing."
    return words


def duration(seconds: float) -> str:
    """Whole seconds or minutes in words."""
    if seconds % 60 == 0 and seconds:
        return "one minute" if seconds == 60 else f"{seconds / 60:g} minutes"
    return _count(round(seconds), "second")


def from_now(seconds: float) -> str:
    """What the coach says before it keeps the time."""
    words = duration(seconds)
    return f"{words[0].upper()}{words[1:]}, from now."


def seconds_more(seconds: float) -> str:
    """What it says in the middle of that time."""
    return f"{seconds:.0f} more."


def wrong_side(said: str, right: str) -> str:
    """The student named the wrong side."""
    return f"You said {said}. It is the {right} side."


def wrong_resident(right: str) -> str:
    """The student named somebody else than the resident."""
    return f"This is {right}."


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"

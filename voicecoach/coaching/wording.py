"""The words of the coach that do not stand in a procedure."""

from __future__ import annotations

from collections.abc import Sequence

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
CAUTION = (
    "This is practice, not an evaluation. Your instructor, the facility's policy and your state's own "
    "handbook come first."
)


def fixed_cues(procedure: Procedure, mode: str) -> tuple[str, ...]:
    """All texts that can be known before an attempt begins, to be rendered then."""
    if mode == "selftest":
        return ()
    steps = [words for step in procedure.steps for words in (step.cue.nudge, step.cue.hint, step.cue.step)]
    fixed = [READY, THANKS, LATE, NOTHING_YET, NOTHING_LEFT, PAUSED, RESUMED, RESTARTED, HEARS_AGAIN, UNCLEAR]
    return tuple(dict.fromkeys([*fixed, *steps, *(avoid.cue for avoid in procedure.avoid)]))


def standing(done: int, needed: int, critical: int) -> str:
    """How the student is doing: steps done, steps needed, critical steps that somebody has passed over."""
    words = f"{done} of {needed} steps so far."
    if critical:
        words += f" {_count(critical, 'critical step')} {'is' if critical == 1 else 'are'} missing."
    return words


def spoken_debrief(passed: bool, missed: Sequence[str], late: Sequence[str], mishaps: Sequence[str]) -> str:
    """The debrief aloud, most important first, at most three of each kind."""
    parts = ["You passed." if passed else "You did not pass yet."]
    for title, items in (("Missing", missed), ("Too late", late), ("Mishap", mishaps)):
        if items:
            parts.append(f"{title}: {'; '.join(items[:3])}.")
            if len(items) > 3:
                parts.append(f"And {len(items) - 3} more.")
    if passed and not (missed or late or mishaps):
        parts.append("Every step was done, in order.")
    return " ".join(parts)


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"

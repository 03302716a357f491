"""Steps to cues: when the coach speaks up, how strongly, and when it holds back.

The coach knows what has been reported and how sure that is. It never speaks of a missing step while
the evidence leaves real doubt whether it was reported: a false accusation costs more than a late cue.
"""

from __future__ import annotations

from collections.abc import Mapping

from voicecoach.coaching import wording
from voicecoach.coaching.clock import lasted, seconds_needed, too_short
from voicecoach.events import Cued, Outgoing, Timed, Withdrawn
from voicecoach.procedure.model import Procedure
from voicecoach.procedure.order import needs, ready

DOUBT = 0.07
"""Probability that a step was reported after all, above which no cue says that it is missing."""
CERTAIN = 0.8
"""Probability of the step that needs it, below which no cue says that something is missing."""
PATIENCE = 7.0
"""Seconds of silence after which the coach leads on, in practise."""
STRONGEST = 3


class Coach:
    """Coaches one attempt in one mode."""

    def __init__(self, procedure: Procedure, mode: str) -> None:
        self.procedure = procedure
        self.mode = mode
        self._needs = needs(procedure)
        self._cues = 0
        self._unclear = False
        """True while too little is understood to speak of what is missing."""
        self._told_unclear = False
        self._last_text = wording.NOTHING_YET
        self.start_over()

    def start_over(self) -> None:
        """Forget what was done; the numbers of cues go on."""
        self.done: dict[str, int] = {}
        """Steps reported, with the number of the report."""
        self._starts: dict[str, float] = {}
        self._given: dict[str, int] = {}
        """Strength of the latest cue that a step is missing."""
        self._hinted: dict[str, int] = {}
        """Strength of the latest cue that led on to a step."""
        self._since: dict[str, int] = {}
        self._reports = 0
        self._led = 0
        self._quiet_since: float | None = None
        self._unvoiced = 0

    # What happens to steps

    def reported(self, at: float, step: str, start: float) -> list[Outgoing]:
        """A step is reported in words that began at `start`, in seconds.

        The coach may thank for it or say that it belongs earlier.
        """
        # It is late by when it was said, not by when the core became sure of it.
        late = any(step in self._needs[id] and self._starts[id] < start for id in self.done)
        self._reports += 1
        self.done[step] = self._reports
        self._starts[step] = start
        self._led = 0
        cued = self._given.pop(step, 0)
        if self.mode == "selftest" or not (late or cued):
            return []
        late = late and not self._unclear
        withdrawn: list[Outgoing] = [Withdrawn(at, step, "it was reported after the cue")] if cued else []
        if not late:
            return withdrawn
        words = ("thanks", wording.THANKS) if cued else ("order", wording.LATE)
        return [*withdrawn, self.cue(at, words[0], (step,), 0, words[1])]

    def retracted(self, step: str) -> None:
        """A report turned out not to stand."""
        self.done.pop(step, None)

    def happened(self, at: float, about: str) -> list[Outgoing]:
        """Something that must not happen did."""
        if self.mode != "practise" or not about:
            return []
        return [self.cue(at, "mishap", (about,), 0, self.procedure.avoided(about).cue)]

    def understood(self, at: float, clear: bool) -> list[Outgoing]:
        """Whether enough was understood of late; the first time that it was not, the student is told."""
        self._unclear = not clear
        if clear or self._told_unclear or self.mode == "selftest":
            return []
        self._told_unclear = True
        return [self.cue(at, "unclear", (), 0, wording.UNCLEAR)]

    def settle(self, at: float, likely: Mapping[str, float]) -> list[Outgoing]:
        """After an utterance: at most one cue about what is missing; none while too little is understood."""
        if self.mode == "selftest" or self._unclear:
            return []
        for need in self._open():
            dependents = [id for id in self.done if need in self._needs[id]]
            certain = any(likely[id] >= CERTAIN for id in dependents)
            if not certain or likely[need] > DOUBT or not self._is_due(need, dependents):
                continue
            return [self._missed(at, need)]
        return []

    def timed(self, timed: Timed, times: str) -> list[Outgoing]:
        """It is known how long a timed step lasted; `times` is that of `Begun`."""
        step = self.procedure.step(timed.step)
        if self.mode == "selftest" or self._unclear or lasted(timed, step, times) is not False:
            return []
        return [self.cue(timed.at, "time", (timed.step,), 0, too_short(timed, step, times))]

    # Time

    def quiet(self, at: float) -> None:
        """Somebody, student or coach, spoke until `at`."""
        self._quiet_since = max(at, self._quiet_since or at)

    def voiced(self, at: float) -> None:
        """A cue has been spoken."""
        self._unvoiced = max(0, self._unvoiced - 1)
        self.quiet(at)

    @property
    def leads_at(self) -> float | None:
        """When the coach leads on if nobody speaks before; None where it will not."""
        waits = self.mode == "practise" and self._unvoiced == 0 and self._led < STRONGEST
        if not waits or self._quiet_since is None or self._next() is None:
            return None
        return self._quiet_since + PATIENCE + self._lasting()

    def lead(self, at: float) -> list[Outgoing]:
        """Nobody spoke for long: lead on to what is missing or comes next."""
        step = self._next()
        if step is None:
            return []
        self._led += 1
        strength = min(STRONGEST, max(self._led, self._given.get(step, 0) + 1))
        self._hinted[step] = strength
        if step in self._open():
            self._given[step] = strength
        return [self.cue(at, "lead", (step,), strength, self.procedure.step(step).cue.of(strength))]

    # Requests

    def answer(self, at: float, request: str) -> list[Outgoing]:
        """Answer a request; selftest keeps its silence."""
        if self.mode == "selftest":
            return []
        if request in ("next", "hint"):
            return [self._answer_step(at, STRONGEST if request == "next" else None)]
        fixed = {"pause": wording.PAUSED, "resume": wording.RESUMED, "restart": wording.RESTARTED}
        text = fixed.get(request, wording.READY)
        if request == "repeat":
            text = self._last_text
        elif request == "standing":
            needed = [step for step in self.procedure.steps if step.when is None or step.id in self.done]
            critical = sum(self.procedure.step(id).critical for id in self._open())
            text = wording.standing(len(self.done), len(needed), critical)
        return [self.cue(at, "answer", (), 0, text)]

    def before_finish(self, at: float) -> list[Outgoing]:
        """In practise, the first time that a student finishes with a critical step missing: a cue instead.

        Not where too little is understood to say that it is missing.
        """
        if self.mode != "practise" or self._unclear:
            return []
        missing = [step.id for step in self.procedure.steps if step.critical and step.id not in self.done]
        unasked = [id for id in missing if not self._given.get(id)]
        return [self._missed(at, unasked[0])] if unasked else []

    def tell(self, at: float, text: str) -> list[Outgoing]:
        """Something about the devices, in any mode."""
        return [self.cue(at, "device", (), 0, text)]

    def close(self, at: float, text: str) -> list[Outgoing]:
        """The closing words."""
        return [self.cue(at, "closing", (), 0, text)]

    # How it is worked out

    def _open(self) -> list[str]:
        """Steps that something done needs and that are not done: critical first, then in the usual order."""
        needed = {need for id in self.done for need in self._needs[id] if need not in self.done}
        steps = [step for step in self.procedure.steps if step.id in needed and step.when is None]
        return [step.id for step in sorted(steps, key=lambda step: not step.critical)]

    def _is_due(self, need: str, dependents: list[str]) -> bool:
        """Whether to speak of it now: at first, then once more for each step begun in spite of it."""
        given = self._given.get(need, 0)
        if given == 0:
            return True
        newest = max(self.done[id] for id in dependents)
        enough = 2 if self.mode == "practise" else 3
        passed_over = newest > self._since[need] or self._reports - self._since[need] >= enough
        return given < STRONGEST and passed_over

    def _missed(self, at: float, step: str) -> Cued:
        strength = min(STRONGEST, max(self._given.get(step, 0), self._hinted.get(step, 0)) + 1)
        self._given[step] = strength
        self._since[step] = self._reports
        return self.cue(at, "missed", (step,), strength, self.procedure.step(step).cue.of(strength))

    def _answer_step(self, at: float, strength: int | None) -> Cued:
        """A hint, stronger each time, or the next step outright."""
        step = self._next()
        if step is None:
            return self.cue(at, "answer", (), 0, wording.NOTHING_LEFT)
        given = strength or min(STRONGEST, max(2, self._given.get(step, 0) + 1))
        self._given[step] = given
        self._since[step] = self._reports
        return self.cue(at, "answer", (step,), given, self.procedure.step(step).cue.of(given))

    def _next(self) -> str | None:
        """What to do now: what is missing, else the first step that may come."""
        return next(iter(self._open()), None) or next(
            (id for id in ready(self._needs, self.done) if self.procedure.step(id).when is None), None
        )

    def _lasting(self) -> float:
        """Seconds that the latest step takes by the clock."""
        latest = max(self.done, key=self.done.__getitem__, default=None)
        if latest is None:
            return 0.0
        return seconds_needed(self.procedure.step(latest))

    def cue(self, at: float, kind: str, about: tuple[str, ...], strength: int, text: str) -> Cued:
        """A cue, with the next number."""
        self._cues += 1
        self._unvoiced += 1
        self._last_text = text
        return Cued(at, self._cues, kind, about, strength, text)

"""The coach in a case: tells what the student finds, speaks up where a value, a side or a name is wrong."""

from __future__ import annotations

from dataclasses import replace

from voicecoach.coaching import telling, wording
from voicecoach.coaching.coach import Coach
from voicecoach.events import Mistaken, Outgoing, Read, Simulated
from voicecoach.following import names, sides
from voicecoach.procedure.case import Case
from voicecoach.procedure.model import Procedure, Reading, Step
from voicecoach.readings import judging


class CaseCoach:
    """The case of one attempt; with None in its place, nothing is told and nothing can be wrong."""

    def __init__(self, procedure: Procedure, case: Case | None, coach: Coach) -> None:
        self._procedure = procedure
        self._case = case
        self._coach = coach
        self.start_over()

    def start_over(self) -> None:
        """Forget what was found; who the resident is stays."""
        self._found: list[str] = []
        """What was told of the case, the latest last."""
        self._sounding: Simulated | None = None
        self._spoken_of: set[str] = set()

    def as_written(self, text: str) -> str:
        """Words as the phrases of the procedure have them: its first resident, its first weak side."""
        return sides.as_written(text, self._case, self._procedure) if self._case else text

    def begin(self, at: float) -> list[Outgoing]:
        """Tell whom the student meets."""
        text = telling.introduction(self._case) if self._case else ""
        self._found = [text] if text else []
        return [self._coach.cue(at, "case", (), 0, text)] if text else []

    def reported(self, at: float, step: Step, said: str) -> list[Outgoing]:
        """A step was reported: what is found in it, and the side if it was the wrong one."""
        if self._case is None:
            return []
        out = self._silence(at) if self._sounding and self._sounding.step == step.id else []
        for reading, recorded in self._readings():
            truth = reading.truth
            if truth and step.id in (truth.at, truth.served_at):
                out += self._tell(at, recorded, reading, step.id)
        if mistake := sides.mistaken_side(said, step, self._case):
            out += self._mistaken(at, step.id, "side", *mistake)
        return out

    def heard(self, at: float, step: str, said: str) -> list[Outgoing]:
        """An utterance, which may name the wrong resident; `step` is one that it reports, or empty."""
        if self._case is None:
            return []
        mistake = names.mistaken_resident(said, self._case, self._procedure.residents)
        return self._mistaken(at, step, "resident", *mistake) if mistake else []

    def read(self, at: float, read: Read) -> list[Outgoing]:
        """A value was recorded: speak up where it is wrong."""
        step = self._procedure.step(read.step)
        judgement = judging.judged(step, read, self._case) if self._case else None
        if judgement is None or judgement.verdict == "right" or self._coach.mode == "selftest":
            return []
        text = judgement.spoken if self._coach.mode == "practise" else wording.CHECK_VALUE
        return [self._coach.cue(at, "reading", (step.id,), 0, text)]

    def look(self, at: float) -> list[Outgoing]:
        """The student wants to be told, or to hear, once more what is found."""
        out: list[Outgoing] = []
        if self._found:
            out.append(self._coach.cue(at, "case", (), 0, self._found[-1]))
        elif self._sounding is None:
            out.append(self._coach.cue(at, "answer", (), 0, wording.NO_CASE))
        return [*out, *self.go_on(at)]

    def go_on(self, at: float) -> list[Outgoing]:
        """What sounded before a pause sounds again."""
        if self._sounding is None:
            return []
        self._coach.quiet(at + telling.lasting(self._sounding))
        return [replace(self._sounding, at=at)]

    def _readings(self) -> list[tuple[Reading, Step]]:
        return [(step.reading, step) for step in self._procedure.steps if step.reading]

    def _tell(self, at: float, recorded: Step, reading: Reading, step: str) -> list[Outgoing]:
        """What the student finds in a step of the value that another one records."""
        assert self._case is not None
        out: list[Outgoing] = []
        if text := telling.found(reading, recorded, self._case, step):
            self._found.append(text)
            out.append(self._coach.cue(at, "case", (recorded.id,), 0, text))
        if simulated := telling.simulated(at, reading, recorded, self._case):
            # Whoever counts or listens is not to be led on meanwhile.
            self._coach.quiet(at + telling.lasting(simulated))
            self._sounding = simulated
            out.append(simulated)
        return out

    def _silence(self, at: float) -> list[Outgoing]:
        """What sounds is over, since its value is recorded."""
        assert self._sounding is not None
        over = replace(self._sounding, at=at, what="", values=(), text="")
        self._sounding = None
        return [over]

    def _mistaken(self, at: float, step: str, what: str, said: str, right: str) -> list[Outgoing]:
        """Something was named that does not match the case; the coach speaks of each kind once."""
        out: list[Outgoing] = [Mistaken(at, step, what, said, right)]
        if self._coach.mode == "selftest" or what in self._spoken_of:
            return out
        self._spoken_of.add(what)
        if self._coach.mode == "rehearse":
            text = wording.WHICH_SIDE if what == "side" else wording.WHOSE_NAME
        else:
            text = wording.wrong_side(said, right) if what == "side" else wording.wrong_resident(right)
        about = (step,) if step else ()
        return [*out, self._coach.cue(at, "mistake", about, 0, text)]

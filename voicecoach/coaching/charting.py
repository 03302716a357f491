"""Charting: from a step that records a reading to its value, said at once, a breath later or when asked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from voicecoach.events import Read
from voicecoach.following.numbers import Amount
from voicecoach.procedure.model import Procedure, Reading
from voicecoach.readings import taking

_ASKED = 2
"""Utterances in which an answer may come to what the coach asked; a value that was not asked for has one."""


@dataclass(frozen=True, slots=True)
class Question:
    """A value cannot be taken as it was said."""

    step: str
    text: str
    """What to ask the student."""


@dataclass(frozen=True, slots=True)
class _Awaited:
    """A reading of which the value, or what is not clear of it, may still be said."""

    left: int
    """Utterances in which it may."""
    amount: Amount | None = None
    """What was said of it and cannot be taken as it is."""
    said: str = ""


class Charting:
    """The readings of one attempt."""

    def __init__(self, procedure: Procedure) -> None:
        self._readings = {step.id: step.reading for step in procedure.steps if step.reading}
        self.start_over()

    def start_over(self) -> None:
        """Forget what was recorded."""
        self._awaited: dict[str, _Awaited] = {}

    def hear(self, at: float, said: str, reports: Mapping[str, str]) -> list[Read | Question]:
        """What an utterance records; `reports` are the steps that it reports, with the clause of each."""
        out: list[Read | Question] = []
        for step, clause in reports.items():
            if step in self._readings:
                # What is recorded may stand in the clause after the one that says so.
                amount = self._found(step, clause) or self._found(step, said)
                out += self._weigh(at, step, amount, said if amount else "")
        # Another step was begun, so that a number belongs to that.
        waiting = () if reports else tuple(self._awaited)
        for step in waiting:
            out += self._answered(at, step, said)
        return out

    def again(self, step: str) -> None:
        """The coach spoke of a value, so that the student may say another."""
        self._awaited[step] = _Awaited(_ASKED)

    def close(self, at: float) -> list[Read]:
        """The attempt is over: what could not be taken stands as it was said."""
        return [
            _read(at, step, awaited.amount, awaited.said)
            for step, awaited in self._awaited.items()
            if awaited.amount
        ]

    def _found(self, step: str, said: str) -> Amount | None:
        return taking.found(self._readings[step], said)

    def _weigh(self, at: float, step: str, amount: Amount | None, said: str) -> list[Read | Question]:
        """Take a value, or ask for what is not clear of it, or wait for it."""
        self._awaited.pop(step, None)
        if amount is None:
            self._awaited[step] = _Awaited(1)
            return []
        reading = self._readings[step]
        why = taking.doubt(reading, amount)
        if not why:
            return [_read(at, step, amount, said)]
        self._awaited[step] = _Awaited(_ASKED, amount, said)
        return [Question(step, taking.question(reading, amount, why))]

    def _answered(self, at: float, step: str, said: str) -> list[Read | Question]:
        """An utterance that reports nothing may hold the value that is waited for, or complete it."""
        awaited = self._awaited[step]
        reading: Reading = self._readings[step]
        amount = self._found(step, said)
        if awaited.amount:
            amount = taking.completed(reading, awaited.amount, said)
        if amount and (awaited.amount is None or not taking.doubt(reading, amount)):
            return self._weigh(at, step, amount, said)
        del self._awaited[step]
        if awaited.left > 1:
            self._awaited[step] = replace(awaited, left=awaited.left - 1)
        elif awaited.amount:
            return [_read(at, step, awaited.amount, awaited.said)]
        return []


def _read(at: float, step: str, amount: Amount, said: str) -> Read:
    return Read(at, step, amount.values, amount.unit, said)

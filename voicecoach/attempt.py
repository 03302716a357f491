"""The core: one attempt, events in, events out.

It opens no device, reads no clock and starts no thread. The same events in give the same events out,
so a journal can be replayed.
"""

from __future__ import annotations

from functools import cache

from voicecoach.coaching import wording
from voicecoach.coaching.coach import Coach
from voicecoach.coaching.debrief import debrief
from voicecoach.coaching.readings import recorded
from voicecoach.coaching.requests import Requests, is_addressed
from voicecoach.events import (
    Asked,
    Begun,
    Elapsed,
    Ended,
    Event,
    Followed,
    Found,
    Heard,
    Incoming,
    Lost,
    Outgoing,
    Paused,
    Remarked,
    Resumed,
    Stopped,
    Unfollowed,
    Voiced,
)
from voicecoach.following.clauses import Clause, goes_on
from voicecoach.following.follower import Finding, Follower, Remark, Report, Retraction
from voicecoach.following.likeness import Learn, Likeness
from voicecoach.following.samples import samples
from voicecoach.following.trust import ENOUGH, LATELY, trust
from voicecoach.procedure.model import Procedure

GRACE = 2.5
"""Seconds after a student says to have finished in which a further step keeps the attempt open."""
SHORT, USUAL, LONG = 0.3, 0.5, 0.75
"""Seconds of silence that end an utterance: a plain one, any, and one that breaks off in the middle."""


@cache
def _requests(learn: Learn) -> Requests:
    return Requests(samples(), learn)


class Attempt:
    """One student, one procedure, from beginning to end."""

    def __init__(self, begun: Begun, learn: Learn = Likeness) -> None:
        """Prepare; `begun` is then the first event to take. ValueError where it holds no procedure.

        `learn` is told the phrases that are followed: it may know what was learned from them before.
        """
        self.procedure = Procedure.model_validate(begun.procedure)
        self.mode = begun.mode
        self.ended = False
        self._follower = Follower(self.procedure, learn)
        self._coach = Coach(self.procedure, begun.mode)
        self._requests = _requests(learn)
        self._events: list[Event] = []
        self._paused = False
        self._lost = False
        """True where it is paused only because no sound comes in."""
        self._finishes_at: float | None = None
        self._awaited: str | None = None
        self._trust = 1.0
        """How far what was heard of late can be trusted."""

    @property
    def wakes_at(self) -> float | None:
        """When to send Elapsed at the latest, in seconds; None where there is nothing to wait for."""
        if self.ended or self._paused:
            return None
        if self._finishes_at is not None:
            return self._finishes_at
        return self._coach.leads_at

    def take(self, event: Incoming) -> tuple[Outgoing, ...]:
        """What follows from an event. After the end, nothing."""
        if self.ended:
            return ()
        self._events.append(event)
        match event:
            case Begun():
                out = self._coach.answer(event.at, "begin")
            case Heard():
                out = self._hear(event)
            case Voiced():
                self._coach.voiced(event.at)
                out = []
            case Elapsed():
                out = self._elapsed(event.at)
            case Lost():
                out = self._lose(event)
            case Found():
                out = self._find(event.at)
            case Stopped():
                out = self._end(event.at, event.why)
        self._events.extend(out)
        return tuple(out)

    def patience(self, said: str) -> float:
        """Seconds of silence after which an utterance is over, by its words so far.

        Short where they report a step plainly or ask the coach by name, long where more is to come.
        """
        if self._requests.is_plain(said) if is_addressed(said) else self._follower.is_plain(said):
            return SHORT
        return LONG if goes_on(said) else USUAL

    def _hear(self, heard: Heard) -> list[Outgoing]:
        self._coach.quiet(heard.end)
        request = self._requests.request(heard.text) if heard.words else ""
        out: list[Outgoing] = []
        findings = self._follower.hear(heard)
        if self._paused:
            # Whoever reports a step is at work again, whether or not that was said.
            at_work = any(isinstance(finding, Report) for finding in findings)
            if not at_work:
                return self._ask(heard.at, request, heard.text) if request == "resume" else []
            self._paused = False
            out.append(Resumed(heard.at))
        for finding in findings:
            out.extend(self._finding(heard, finding))
        followed = any(isinstance(finding, Report) for finding in findings)
        if followed:
            self._finishes_at = None
        elif request:
            return [*out, *self._ask(heard.at, request, heard.text)]
        out.extend(self._reading(heard, findings))
        if heard.words:
            self._trust += LATELY * (trust(heard.words) - self._trust)
            out.extend(self._coach.understood(heard.at, self._trust >= ENOUGH))
        return [*out, *self._coach.settle(heard.at, self._follower.likely())]

    def _lose(self, lost: Lost) -> list[Outgoing]:
        """Wait until sound comes in again; who has paused already goes on waiting for the student."""
        said = self._coach.tell(lost.at, f"{lost.why} {wording.WAITING}")
        if self._paused:
            return said
        self._paused = self._lost = True
        return [Paused(lost.at), *said]

    def _find(self, at: float) -> list[Outgoing]:
        self._coach.quiet(at)
        if not self._lost:
            return []
        self._paused = self._lost = False
        return [Resumed(at), *self._coach.tell(at, wording.HEARS_AGAIN)]

    def _finding(self, heard: Heard, finding: Finding) -> list[Outgoing]:
        at, said = heard.at, finding.clause.text
        match finding:
            case Report(step, clause, utterance, sure):
                start, end = _times(clause)
                followed = Followed(at, step, start, end, utterance, said, sure)
                return [followed, *self._coach.reported(at, step, start)]
            case Retraction(step):
                self._coach.retracted(step)
                return [Unfollowed(at, step, said)]
            case Remark(stage, about):
                remarked = Remarked(at, stage, about, heard.utterance, said)
                return [remarked, *(self._coach.happened(at, about) if stage == "mishap" else [])]

    def _reading(self, heard: Heard, findings: list[Finding]) -> list[Outgoing]:
        """The value that goes with a step just reported, said in the same breath or in the next."""
        out: list[Outgoing] = []
        awaited, self._awaited = self._awaited, None
        for finding in findings:
            if isinstance(finding, Report):
                awaited = None
                step = self.procedure.step(finding.step)
                if step.reading:
                    read = recorded(heard.at, step.id, step.reading, finding.clause.text)
                    out.extend([read] if read else [])
                    self._awaited = None if read else step.id
        if awaited and not out:
            reading = self.procedure.step(awaited).reading
            read = recorded(heard.at, awaited, reading, heard.text) if reading else None
            out.extend([read] if read else [])
        return out

    def _ask(self, at: float, request: str, said: str) -> list[Outgoing]:
        asked = Asked(at, request, said)
        if request == "finish":
            instead = self._coach.before_finish(at)
            if not instead:
                self._finishes_at = at + GRACE
            return [asked, *instead]
        out: list[Outgoing] = [asked]
        if request == "pause":
            self._paused = True
            out.append(Paused(at))
        elif request == "resume" and self._paused:
            self._paused = False
            out.append(Resumed(at))
        elif request == "restart":
            self._follower.start_over()
            self._coach.start_over()
            self._awaited = None
        return [*out, *self._coach.answer(at, request)]

    def _elapsed(self, at: float) -> list[Outgoing]:
        if self._finishes_at is not None and at >= self._finishes_at:
            return self._end(at, "finished")
        leads_at = self._coach.leads_at
        return self._coach.lead(at) if leads_at is not None and at >= leads_at and not self._paused else []

    def _end(self, at: float, why: str) -> list[Outgoing]:
        self.ended = True
        result = debrief([*self._events, Ended(at, why)])
        if not result.judged:
            return [*self._closing(at, why, f"{wording.NOT_JUDGED} {wording.CLOSER}"), Ended(at, why)]
        missed = [line.do for line in result.missed]
        late = [required.do for required, _ in result.out_of_order]
        text = wording.spoken_debrief(result.passed, missed, late, result.mishaps)
        return [*self._closing(at, why, text), Ended(at, why)]

    def _closing(self, at: float, why: str, text: str) -> list[Outgoing]:
        return self._coach.close(at, text) if why != "interrupted" else []


def _times(clause: Clause) -> tuple[float, float]:
    """When a clause begins and ends, in seconds."""
    return clause.words[0].start, clause.words[-1].end

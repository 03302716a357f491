"""The core: one attempt, events in, events out.

It opens no device, reads no clock and starts no thread. The same events in give the same events out,
so a journal can be replayed.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

from voicecoach.coaching import wording
from voicecoach.coaching.case_coach import CaseCoach
from voicecoach.coaching.charting import Charting
from voicecoach.coaching.clock import Clock
from voicecoach.coaching.coach import Coach
from voicecoach.coaching.debrief import debrief, spoken
from voicecoach.coaching.requests import Requests, is_addressed
from voicecoach.coaching.timekeeper import Timekeeper
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
    Read,
    Remarked,
    Resumed,
    Stopped,
    Unfollowed,
    Voiced,
)
from voicecoach.following.clauses import Clause, goes_on
from voicecoach.following.counting import counted
from voicecoach.following.follower import Finding, Follower, Remark, Repeat, Report, Retraction
from voicecoach.following.likeness import Learn, Likeness
from voicecoach.following.said_times import said_seconds
from voicecoach.following.samples import samples
from voicecoach.following.trust import ENOUGH, LATELY, trust
from voicecoach.procedure import case
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
        self._times = begun.times
        self._mock = begun.mock
        self._coach = Coach(self.procedure, begun.mode)
        self._case = CaseCoach(self.procedure, case.read(begun.case) if begun.case else None, self._coach)
        self._follower = Follower(self.procedure, learn, self._case.as_written)
        self.clock = Clock(self.procedure, begun.times)
        """Keeps the time of the timed steps."""
        self._keeper = Timekeeper(self.procedure, self._coach)
        self._charting = Charting(self.procedure)
        self._requests = _requests(learn)
        self._events: list[Event] = []
        self._paused = False
        self._lost = False
        """True where it is paused only because no sound comes in."""
        self._finishes_at: float | None = None
        self._trust = 1.0
        """How far what was heard of late can be trusted."""

    @property
    def wakes_at(self) -> float | None:
        """When to send Elapsed at the latest, in seconds; None where there is nothing to wait for."""
        if self.ended or self._paused:
            return None
        if self._finishes_at is not None:
            return self._finishes_at
        return self._keeper.next_at if self._keeper.busy else self._coach.leads_at

    def take(self, event: Incoming) -> tuple[Outgoing, ...]:
        """What follows from an event. After the end, nothing."""
        if self.ended:
            return ()
        self._events.append(event)
        match event:
            case Begun():
                out = [*self._case.begin(event.at), *self._coach.answer(event.at, "begin")]
            case Heard():
                out = self._hear(event)
            case Voiced():
                self._coach.voiced(event.at)
                self._keeper.voiced(event)
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
        out: list[Outgoing] = []
        findings = self._follow(heard)
        request = self._request(heard)
        if self._paused:
            # Whoever reports a step is at work again, whether or not that was said.
            at_work = any(isinstance(finding, Report) for finding in findings)
            if not at_work:
                return self._ask(heard.at, request, heard.text) if request == "resume" else []
            out += self._go_on(heard.at)
        for finding in findings:
            out.extend(self._finding(heard, finding))
        reports = {finding.step: finding.clause.text for finding in findings if isinstance(finding, Report)}
        if reports:
            self._finishes_at = None
        elif request:
            return [*out, *self._ask(heard.at, request, heard.text)]
        out.extend(self._case.heard(heard.at, next(iter(reports), ""), heard.text))
        out.extend(self._record(heard, reports))
        out.extend(self._settle_times(heard.at))
        if heard.words:
            self._trust += LATELY * (trust(heard.words) - self._trust)
            out.extend(self._coach.understood(heard.at, self._trust >= ENOUGH))
        return [*out, *self._coach.settle(heard.at, self._follower.likely())]

    def _follow(self, heard: Heard) -> list[Finding]:
        """What an utterance means, and the silence before it, where something takes its time."""
        counts_on = self.clock.counts_on(heard)
        findings = [] if counts_on else self._follower.hear(heard)
        self.clock.heard(heard, () if counts_on else self._follower.leanings)
        self._note(findings)
        for step, start, chance in self.clock.unreported():
            inferred = self._follower.infer(step, start, chance)
            self._note(inferred)
            findings += inferred
        return findings

    def _note(self, findings: Iterable[Finding]) -> None:
        """Tell the clock what was found."""
        for finding in findings:
            match finding:
                case Report(step, clause):
                    self.clock.reported(step, clause.words[0].start)
                case Retraction(step):
                    self.clock.retracted(step)

    def _request(self, heard: Heard) -> str:
        """What the student asks for; empty where nothing. No request is counting, nor `stop` to the clock."""
        if not heard.words or counted(heard.words):
            return ""
        of_the_clock = self.clock.tells(heard) and self.clock.times and not self._paused
        return "" if of_the_clock and not is_addressed(heard.text) else self._requests.request(heard.text)

    def _lose(self, lost: Lost) -> list[Outgoing]:
        """Wait until sound comes in again; who has paused already goes on waiting for the student."""
        said = self._coach.tell(lost.at, f"{lost.why} {wording.WAITING}")
        self._keeper.stop()
        if self._paused:
            return said
        self._paused = self._lost = True
        return [Paused(lost.at), *said]

    def _find(self, at: float) -> list[Outgoing]:
        self._coach.quiet(at)
        if not self._lost:
            return []
        self._lost = False
        return [*self._go_on(at), *self._coach.tell(at, wording.HEARS_AGAIN)]

    def _go_on(self, at: float) -> list[Outgoing]:
        self._paused = False
        return [Resumed(at), *self._case.go_on(at)]

    def _finding(self, heard: Heard, finding: Finding) -> list[Outgoing]:
        at, said = heard.at, finding.clause.text
        match finding:
            case Report(step, clause, utterance, sure):
                start, end = _times(clause)
                followed = Followed(at, step, start, end, utterance, said, sure)
                told = self._case.reported(at, self.procedure.step(step), said)
                return [followed, *self._coach.reported(at, step, start), *told]
            case Repeat():
                return []
            case Retraction(step):
                self._coach.retracted(step)
                return [Unfollowed(at, step, said)]
            case Remark(stage, about):
                remarked = Remarked(at, stage, about, heard.utterance, said)
                return [remarked, *(self._coach.happened(at, about) if stage == "mishap" else [])]

    def _record(self, heard: Heard, reports: dict[str, str]) -> list[Outgoing]:
        """The values that go with the steps just reported, said in the same breath or in the next."""
        out: list[Outgoing] = []
        for one in self._charting.hear(heard.at, heard.text, reports):
            if isinstance(one, Read):
                said = self._case.read(heard.at, one)
                out += [one, *said]
                if said:
                    self._charting.again(one.step)
            elif self.mode != "selftest":
                out.append(self._coach.cue(heard.at, "reading", (one.step,), 0, one.text))
        return out

    def _settle_times(self, at: float, over: bool = False) -> list[Outgoing]:
        """How long timed steps lasted that are over now."""
        out: list[Outgoing] = []
        for timed in self.clock.settle(at, over):
            self._keeper.stop(timed.step)
            out += [timed, *([] if over else self._coach.timed(timed, self._times))]
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
            self._keeper.stop()
            out.append(Paused(at))
        elif request == "resume" and self._paused:
            out += self._go_on(at)
        elif request == "look":
            return [*out, *self._case.look(at)]
        elif request == "time" and self.mode != "selftest":
            return [*out, *self._keeper.ask(at, self.clock.running(), said_seconds(said))]
        elif request == "restart":
            for part in (self._follower, self._coach, self.clock, self._charting, self._case):
                part.start_over()
        return [*out, *self._coach.answer(at, request)]

    def _elapsed(self, at: float) -> list[Outgoing]:
        if self._finishes_at is not None and at >= self._finishes_at:
            return self._end(at, "finished")
        if self._keeper.busy:
            out, kept = self._keeper.elapsed(at)
            if kept:
                self.clock.keep(kept.step, kept.end - kept.seconds, kept.end)
                out += self._settle_times(at)
            return out
        leads_at = self._coach.leads_at
        return self._coach.lead(at) if leads_at is not None and at >= leads_at and not self._paused else []

    def _end(self, at: float, why: str) -> list[Outgoing]:
        self.ended = True
        last = [*self._settle_times(at, over=True), *self._charting.close(at)]
        ended = Ended(at, why)
        if why == "interrupted":
            return [*last, ended]
        # The one verdict of a mock test comes at its end.
        told = wording.SKILL_OVER if self._mock else spoken(debrief([*self._events, *last, ended]))
        return [*last, *self._coach.close(at, told), ended]


def _times(clause: Clause) -> tuple[float, float]:
    """When a clause begins and ends, in seconds."""
    return clause.words[0].start, clause.words[-1].end

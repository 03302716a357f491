"""Words to steps: an utterance in, what it means for the procedure out."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from voicecoach.events import Heard, Word
from voicecoach.following.clauses import Clause, cut, goes_on
from voicecoach.following.evidence import STAGES, Evidence, Judge, Written
from voicecoach.following.expectation import Expectation, Numbers
from voicecoach.following.likeness import Learn, Likeness
from voicecoach.following.meaning import meanings
from voicecoach.following.said_times import overs, said_seconds
from voicecoach.following.samples import samples
from voicecoach.following.tracker import Tracker
from voicecoach.following.trust import trust
from voicecoach.following.weights import weights
from voicecoach.procedure.model import Procedure
from voicecoach.procedure.order import needs

SURE = 0.5
"""Probability from which a step counts as reported."""
DOUBT = 0.35
"""Probability below which a report is taken back."""
UNDERSTOOD = 0.5
"""Trust in the clause that speaks most for a step from which it is reported; less makes it likely at best."""
CUT_COST = 5.0
"""What a cut between two clauses must gain, in log probability times words."""
UNLIKE = 2.0
"""What a clause loses, in log probability, that is like nothing said of its label, or as like another."""
HEARD = 0.2
"""Confidence from which a word counts: below, the recognizer's two opinions speak against it."""
DENIED = 0.9
"""How far a student is believed who says that a reported step was not done."""
PLAIN = -1.6
"""Fitness of the last clause from which it is a plain report."""
BY_WORD = 2.0
"""How much likelier a step that must last becomes by a duration in the clause, in log odds."""
UNTOLD = 100
"""Clauses that reported nothing that are kept: one of them may yet be found to have told of a step."""
INFERRED = 4.0
"""Log odds by which what the clock knows of a step outweighs what is usual at this point."""
QUESTIONS = ("did i", "have i", "do i", "should i", "must i", "was i", "did we", "do we", "have we")
"""How a question about a step begins."""
LIKE = 0.25
"""Likeness from which a remark is taken to be about a step."""

Weighed = tuple[Evidence, Numbers]
"""What a clause speaks for, and the log odds of each step and of nothing."""


@lru_cache(maxsize=3)
def _judge(procedure: str, learn: Learn) -> Judge:
    """The judge of a procedure given as JSON; kept, since learning its phrases takes about a second."""
    return Judge(Procedure.model_validate_json(procedure), samples(), meanings, learn)


@dataclass(frozen=True, slots=True)
class Report:
    """A step is now sure to be reported."""

    step: str
    clause: Clause
    """The clause that spoke most for it."""
    utterance: int
    """The utterance of that clause."""
    sure: float
    """Probability."""


@dataclass(frozen=True, slots=True)
class Retraction:
    """A step that was reported no longer is."""

    step: str
    clause: Clause


@dataclass(frozen=True, slots=True)
class Remark:
    """A clause that reports no step but speaks of one, or of something to be avoided."""

    stage: str
    """later, undone, mishap or avoiding."""
    about: str
    """Id of the step or the thing to be avoided; empty where it is not known."""
    clause: Clause


@dataclass(frozen=True, slots=True)
class Repeat:
    """A clause reports once more a step that was reported already, and nothing new."""

    step: str
    clause: Clause


Finding = Report | Retraction | Remark | Repeat


@dataclass(frozen=True, slots=True)
class Leaning:
    """What a clause may report."""

    clause: Clause
    chances: Mapping[str, float]
    """Probability that it reports each step, by id, from where the attempt stood."""
    alone: Mapping[str, float]
    """The same from the words alone."""


class Follower:
    """Follows one attempt at a procedure."""

    def __init__(self, procedure: Procedure, learn: Learn = Likeness, written: Written = str) -> None:
        """`learn` is told the phrases of the procedure and of other speech.

        `written` puts what was said into the words of the phrases before it is compared with them; what is
        found keeps the words that were said.
        """
        self.procedure = procedure
        self._written = written
        self._ids = [step.id for step in procedure.steps]
        # Its phrases are the same in every case; only the scene is not.
        anywhere = procedure.model_copy(update={"scene": procedure.title})
        self._judge = _judge(anywhere.model_dump_json(by_alias=True), learn)
        self._expectation = Expectation(needs(procedure), procedure.same_action, weights())
        actions = np.array([*procedure.same_action, -1])
        self._same = (actions[:, None] == actions).astype(float)
        """Which labels are the same action; the last is nothing."""
        lasting = [step.time is not None or step.count is not None for step in procedure.steps]
        self._timed = np.array([*lasting, False]).astype(float)
        """Which labels are steps that must last."""
        self._labels = [*(self._ids[self._twins(place)[0]] for place in range(len(self._ids))), ""]
        """The first step that is the same action, for each label."""
        self.start_over()

    def start_over(self) -> None:
        """Forget all that was reported."""
        self._tracker = Tracker(self._expectation)
        self._reported: set[str] = set()
        self._strongest: dict[str, tuple[float, Clause, int]] = {}
        self._untold: list[tuple[Evidence, Numbers, int]] = []
        """Clauses that reported nothing, with their utterances."""
        self.leanings: list[Leaning] = []
        """What each clause of the utterance heard last may report."""

    def hear(self, heard: Heard) -> list[Finding]:
        """What an utterance means for the procedure."""
        words = tuple(word for word in heard.words if word.confidence >= HEARD)
        known: dict[Clause, Weighed] = {}

        def weighed(clauses: Sequence[Clause]) -> list[Weighed]:
            if new := [clause for clause in clauses if clause not in known]:
                known.update(zip(new, self._weighed(new), strict=True))
            return [known[clause] for clause in clauses]

        clauses = cut(words, lambda spans: self._fitness(weighed(spans)), CUT_COST)
        findings: list[Finding] = []
        self.leanings = []
        for evidence, log_odds in weighed(clauses):
            tells = evidence.verbatim is not None or self._judge.tells(evidence.clause, self._written)
            if said_seconds(evidence.clause.text) and not any(overs(evidence.clause.words)):
                log_odds = log_odds + BY_WORD * self._timed_and_open()
            nothing: tuple[list[Finding], Numbers] = [], np.zeros(len(log_odds))
            found, chances = self._take(evidence, log_odds, heard.utterance) if tells else nothing
            self.leanings.append(self._leaning(evidence.clause, log_odds, chances))
            if not any(isinstance(finding, Report | Repeat) for finding in found):
                self._untold = [*self._untold[-UNTOLD:], (evidence, log_odds, heard.utterance)]
            findings += found
        return findings

    def _leaning(self, clause: Clause, log_odds: Numbers, reported: Numbers) -> Leaning:
        """What a clause may report; `reported` is the chance of each label from where the attempt stood."""
        alone = np.exp(log_odds - np.logaddexp.reduce(log_odds))
        chances, words = (dict(zip(self._ids, row.tolist(), strict=False)) for row in (reported, alone))
        return Leaning(clause, chances, words)

    def _timed_and_open(self) -> Numbers:
        """A one for each label that is a step that must last and was not reported."""
        reported = [id in self._reported for id in self._ids]
        return np.where([*reported, True], 0.0, self._timed)

    def infer(self, step: str, at: float, chance: float) -> list[Finding]:
        """What it means that a step was begun at `at` seconds, with that chance, though no words report it.

        The clause that began the nearest to that, of those that told nothing, is taken to tell of it.
        """
        if step in self._reported or not self._untold:
            return []
        place = self._ids.index(step)
        near = min(
            range(len(self._untold)), key=lambda one: abs(self._untold[one][0].clause.words[0].start - at)
        )
        evidence, log_odds, utterance = self._untold.pop(near)
        believed = log_odds.copy()
        sure = math.log(chance / (1 - min(chance, 0.99)))
        believed[place] = np.logaddexp.reduce(log_odds) + INFERRED + sure
        return self._take(evidence, believed, utterance, inferred=True)[0]

    def is_plain(self, text: str) -> bool:
        """Whether words end in a plain report of a step, so that there is no need to wait for more."""
        words = tuple(Word(word, float(place), float(place)) for place, word in enumerate(text.split()))
        if not words or goes_on(text):
            return False
        clauses = cut(words, lambda spans: self._fitness(self._weighed(spans)), CUT_COST)
        last = clauses[-1]
        ((fit, label),) = self._fitness(self._weighed([last]))
        return label != "" and fit >= PLAIN and self._judge.tells(last, self._written)

    def likely(self) -> dict[str, float]:
        """Probability that each step has been reported, by id."""
        return dict(zip(self._ids, self._tracker.done().tolist(), strict=True))

    def _weighed(self, clauses: Sequence[Clause]) -> list[Weighed]:
        """What clauses speak for, at least one, and how much; without regard to the standing."""
        evidence = self._judge.evidence(clauses, self._written)
        return list(zip(evidence, self._expectation.log_odds(evidence), strict=True))

    def _fitness(self, weighed: Sequence[Weighed]) -> list[tuple[float, str]]:
        """How well the best label of each clause fits, and the label; without regard to the standing.

        That a label is likelier than the others is not enough: a clause that is like two steps holds two
        reports, so that its likeness to another step counts against it. A phrase word for word fits wholly.
        """
        chances = np.array([log_odds for _, log_odds in weighed])
        chances -= np.logaddexp.reduce(chances, axis=1, keepdims=True)
        together = np.exp(chances) @ self._same
        fits = []
        for (evidence, _), row, place in zip(weighed, together, chances.argmax(axis=1).tolist(), strict=True):
            if evidence.verbatim is not None:
                fits.append((0.0, self._labels[evidence.verbatim]))
                continue
            like = max(evidence.none, float(evidence.stage[1:].max()))
            if place < len(self._ids):
                of_steps = evidence.steps @ self._same[:-1, :-1]
                others = of_steps[self._same[place, :-1] == 0]
                like = min(1.0, float(of_steps[place])) - float(others.max(initial=0.0))
            fits.append((float(np.log(row[place])) - UNLIKE * (1 - min(1.0, like)), self._labels[place]))
        return fits

    def _twins(self, place: int) -> list[int]:
        """Places of the steps that are the same action as that one."""
        actions = self._expectation.actions
        return [step for step, action in enumerate(actions) if action == actions[place]]

    def _take(
        self, evidence: Evidence, log_odds: Numbers, utterance: int, inferred: bool = False
    ) -> tuple[list[Finding], Numbers]:
        """What a clause is found to mean, and the chance that it reports each label."""
        clause = evidence.clause
        before = self._tracker.done()
        # What is inferred does not come from its words.
        reported = self._tracker.weigh(log_odds, 1.0 if inferred else trust(clause.words))
        findings: list[Finding] = []
        best = int(reported.argmax())
        known = best < len(self._ids) and self._ids[best] in self._reported
        # A step spoken of once more reports nothing, but it may be to say that it was not done.
        if best == len(self._ids) or known:
            findings.extend(self._remark(evidence))
        after = self._tracker.done()
        for place, id in enumerate(self._ids):
            gain = float(after[place] - before[place])
            if gain > self._strongest.get(id, (0.0, clause, utterance))[0]:
                self._strongest[id] = (gain, clause, utterance)
            _, said, number = self._strongest.get(id, (0.0, clause, utterance))
            sure = after[place] >= SURE and (inferred or trust(said.words) >= UNDERSTOOD)
            if id not in self._reported and sure:
                self._reported.add(id)
                findings.append(Report(id, said, number, round(float(after[place]), 3)))
            elif id in self._reported and after[place] < DOUBT:
                self._reported.discard(id)
                self._strongest.pop(id, None)
                findings.append(Retraction(id, clause))
        if known and not findings and reported[best] >= SURE and _is_plain_report(evidence):
            findings.append(Repeat(self._ids[best], clause))
        return findings, reported

    def _remark(self, evidence: Evidence) -> list[Finding]:
        """What a clause that reports nothing says of a step or a thing to be avoided."""
        stage = STAGES[int(evidence.stage.argmax())]
        if stage not in ("later", "undone", "avoiding", "mishap"):
            return []
        about = self._about(evidence, stage)
        # `the twenty seconds have elapsed` is like what is said of a step left out, and is not.
        timed = said_seconds(evidence.clause.text) or any(overs(evidence.clause.words))
        if stage == "undone" and about and not timed:
            self._tracker.deny(self._ids.index(about), DENIED)
        return [Remark(stage, about, evidence.clause)]

    def _about(self, evidence: Evidence, stage: str) -> str:
        """Id of what a remark is about."""
        if stage in ("avoiding", "mishap"):
            avoid = self.procedure.avoid
            if not avoid or evidence.avoid.max() < LIKE:
                return ""
            return avoid[int(evidence.avoid.argmax())].id
        if evidence.steps.max() < LIKE:
            return ""
        twins = self._twins(int(evidence.steps.argmax()))
        open_first = sorted(twins, key=lambda place: (self._ids[place] in self._reported, place))
        return self._ids[open_first[0] if stage == "later" else twins[0]]


def _is_plain_report(evidence: Evidence) -> bool:
    """Whether a clause was understood and says that something is done or was, and does not ask it."""
    if evidence.clause.text.startswith(QUESTIONS):
        return False
    return STAGES[int(evidence.stage.argmax())] == "report" and trust(evidence.clause.words) >= UNDERSTOOD

"""Evidence: how well a clause speaks for each step, and what stage it has."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from jellyfish import metaphone
from numpy.typing import NDArray

from voicecoach.following.clauses import Clause
from voicecoach.following.likeness import Learn, Likeness, Meaning
from voicecoach.following.normal import plain, stem, stems, telling
from voicecoach.following.samples import Samples
from voicecoach.procedure.model import Procedure

NONE = ""
"""Label of a clause about nothing in the procedure."""
STAGES = ("report", "later", "undone", "avoiding", "mishap", "chat", "request")
"""Stages that the classifier tells apart; `report` is doing or having done, to whomever it is said."""
SOUNDED = 4
"""Letters of a stem from which its sound counts, too: many short words sound alike by chance."""
FEW = 4
"""One in so many of a procedure's phrases teaches how a report sounds; all would outweigh the rest."""
VERBATIM = 1.3
"""Likeness, at least, of a clause that is one of the procedure's phrases word for word."""

Written = Callable[[str], str]
"""What was said, in the words of the procedure's phrases, which name one resident and one weak side."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What a clause speaks for."""

    clause: Clause
    steps: NDArray[np.float64]
    """Likeness to the phrases of each step, in the usual order."""
    avoid: NDArray[np.float64]
    """Likeness to the phrases of each thing to be avoided."""
    none: float
    """Likeness to speech about nothing in the procedure."""
    stage: NDArray[np.float64]
    """Likeness to the samples of each of STAGES."""
    verbatim: int | None
    """Place of the step of which the clause is a phrase word for word; None where it is none."""


class Judge:
    """Judges clauses by the phrases of one procedure and the samples of other speech."""

    def __init__(
        self, procedure: Procedure, samples: Samples, meaning: Meaning | None, learn: Learn = Likeness
    ) -> None:
        self._actions = procedure.actions
        self._steps = [step.id for step in procedure.steps]
        self._avoid = [avoid.id for avoid in procedure.avoid]
        requests = [phrase for phrases in samples.requests.values() for phrase in phrases]
        content = [(phrase, action.id) for action in procedure.actions for phrase in (*action.say, action.do)]
        content += [(step.cue.step, step.id) for step in procedure.steps]
        content += [(phrase, NONE) for phrase in (*samples.chat, *requests)]
        self._content = learn(content, pieces=sounded, meaning=meaning)
        said = [phrase for step in procedure.steps for phrase in step.say]
        staged = [(phrase, "report") for phrase in (*said[::FEW], *samples.report)]
        staged += [(phrase, "mishap") for avoid in procedure.avoid for phrase in avoid.say]
        for stage in ("later", "undone", "avoiding", "mishap", "chat"):
            staged += [(phrase, stage) for phrase in getattr(samples, stage)]
        staged += [(phrase, "request") for phrase in requests]
        self._stage = learn(staged, pieces=turns, meaning=meaning, meaning_weight=0.5)
        order = {label: place for place, label in enumerate(self._stage.labels)}
        self._stage_columns = [order[stage] for stage in STAGES]
        place = {label: column for column, label in enumerate(self._content.labels)}
        self._step_columns = [place[id] for id in self._steps]
        self._avoid_columns = [place[id] for id in self._avoid]
        self._none_column = place[NONE]
        self._verbatim = {
            tuple(plain(phrase)): column for column, step in enumerate(procedure.steps) for phrase in step.say
        }

    def evidence(self, clauses: Sequence[Clause], written: Written = str) -> list[Evidence]:
        """What each clause speaks for; at least one clause."""
        texts = [written(clause.text) for clause in clauses]
        content = self._content.scores(texts)
        stage = self._stage.scores(texts)
        return [
            self._judged(clause, text, row, stages)
            for clause, text, row, stages in zip(clauses, texts, content, stage, strict=True)
        ]

    def tells(self, clause: Clause, written: Written = str) -> bool:
        """Whether a clause may be a report: two of its words tell anything, or one that is known here."""
        words = telling(written(clause.text))
        return len(words) > 1 or any(stem(word) in self._known for word in words)

    @cached_property
    def _known(self) -> frozenset[str]:
        """Stems of all that is said or done in the procedure."""
        phrases = (phrase for action in self._actions for phrase in (*action.say, action.do))
        return frozenset(piece for phrase in phrases for piece in stems(phrase))

    def _judged(
        self, clause: Clause, text: str, row: NDArray[np.float64], stages: NDArray[np.float64]
    ) -> Evidence:
        steps = row[self._step_columns]
        verbatim = self._verbatim.get(tuple(plain(text)))
        if verbatim is not None:
            # What stands in the procedure as said of a step is a report, even `i haven't charted that yet`.
            steps[verbatim] = max(steps[verbatim], VERBATIM)
            stages = np.zeros_like(stages)
            stages[self._stage_columns[STAGES.index("report")]] = 1.0
        return Evidence(
            clause,
            steps=steps,
            avoid=row[self._avoid_columns],
            none=float(row[self._none_column]),
            stage=stages[self._stage_columns],
            verbatim=verbatim,
        )


def sounded(text: str) -> list[str]:
    """Stems, and how each longer word sounds: a recognizer takes a word for one that sounds alike."""
    words = stems(text)
    return [*words, *(f"~{metaphone(word)}" for word in words if len(word) >= SOUNDED)]


def turns(text: str) -> list[str]:
    """Runs of one to three words and how the text begins: what tells stages apart."""
    words = plain(text)
    runs = [" ".join(words[start : start + n]) for n in (1, 2, 3) for start in range(len(words) - n + 1)]
    return [*runs, "^" + " ".join(words[:2])]

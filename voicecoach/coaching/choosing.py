"""Choosing by voice what to do, before an attempt and between two: what was said in, what to say out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import cycle

from voicecoach.coaching import offers
from voicecoach.coaching.requests import ADDRESS
from voicecoach.coaching.wishes import ASKS, MODES, NAMED, Wish, Wishes
from voicecoach.following.normal import words
from voicecoach.following.samples import samples
from voicecoach.procedure.model import Procedure

TWIN = 0.5
"""Share of the nearest's nearness from which another procedure may be meant as well."""
OTHER = 0.05
"""Nearness from which a procedure can be `the other one`."""
PAGE = len(offers.ORDINALS)
"""Procedures of the list that are read in one go."""
PATIENCE = 2
"""Times in a row that the coach says that it did not understand."""
_PLAINEST = 5
"""Ways to name each mode that are expected before the name of a procedure."""

Attempt = tuple[str, str]
"""A mode and the id of a procedure."""

_ANSWERS: dict[str, frozenset[str]] = {
    "": frozenset(),
    "last": frozenset({"mode"}),
    "procedure": frozenset({"procedure", "no"}),
    "mode": frozenset({"mode", "no", *offers.ORDINALS}),
    "which": frozenset({"procedure", "no", *offers.ORDINALS}),
    "start": frozenset({"yes", "no", "mode"}),
    "instead": frozenset({"mode", "procedure"}),
    "list": frozenset({"procedure", "more", *offers.ORDINALS}),
}
"""What answers each question though the coach is not named."""


@dataclass(frozen=True, slots=True)
class Choice:
    """A procedure that can be chosen."""

    id: str
    title: str
    names: tuple[str, ...]
    """What it may be called, in lower-case words, the best example first."""


@dataclass(frozen=True, slots=True)
class Reply:
    """What follows from something that was said."""

    say: str = ""
    """Empty where there is nothing to say, above all where it was not meant for the coach."""
    start: Attempt | None = None
    """What is to begin now."""
    leave: bool = False
    """True where the student wants no more."""


def choice(procedure: Procedure) -> Choice:
    """A procedure as it can be chosen: by what students call it and by its title, else by its id as well."""
    called = (*procedure.called, procedure.title) if procedure.called else (procedure.title, procedure.id)
    names = tuple(filter(None, (" ".join(words(name)) for name in called)))
    return Choice(procedure.id, procedure.title, names)


def phrases(choices: Sequence[Choice]) -> tuple[str, ...]:
    """What a student may say here, for the language model of a recognizer."""
    return tuple(dict.fromkeys(_phrases(choices)))


class Choosing:
    """One student who chooses; nothing begins before the student has agreed to what was understood."""

    def __init__(self, choices: Sequence[Choice], last: Attempt | None = None) -> None:
        """`choices` are one or more; `last` is the attempt at one of them that has just ended."""
        self._titles = {choice.id: choice.title for choice in choices}
        self._order = tuple(self._titles)
        self._example = choices[-1].names[0]
        self._wishes = _wishes(tuple(choices))
        self._mode: str | None = last[0] if last else None
        self._procedure: str | None = last[1] if last else None
        self._other: str | None = None
        """The procedure that was nearest but for the one chosen."""
        self._question = "last" if last else ""
        """What was asked last, a key of _ANSWERS."""
        self._offered: tuple[str, ...] = ()
        """Modes or procedures that may be answered with `the first`."""
        self._read = 0
        """How many procedures of the list have been read."""
        self._unclear = 0
        """Times in a row that something was not understood."""
        self.invitation = offers.AGAIN if last else offers.invitation(self._example)
        """What a student can say here."""
        self._said = self.invitation

    def hear(self, text: str) -> Reply:
        """What follows from an utterance."""
        wish = self._wishes.wish(text)
        named = self._named(wish)
        if not self._is_meant(wish, named):
            return Reply()
        if "leave" in wish.asks and not named:
            return Reply(offers.GOODBYE, leave=True)
        if self._mode and self._procedure and self._agreed(wish, named):
            self._question = "last"
            return Reply(start=(self._mode, self._procedure))
        say = self._choose(wish, named) if named or wish.modes else self._answer(wish)
        if say is None:
            self._unclear += 1
            return Reply(offers.unclear(self._example) if self._unclear <= PATIENCE else "")
        self._unclear = 0
        self._said = say
        return Reply(say)

    # What was said

    def _named(self, wish: Wish) -> list[str]:
        """The procedures that are named: none, one, or two that may both be meant; nearest first."""
        near = list(wish.near)
        # `no, not washing hands, the alcohol rub` names both: what was refused is not meant again, unless it
        # is only the mode that is wrong.
        if "no" in wish.asks and not (near[0][0] == self._procedure and self._new_mode(wish)):
            near = [pair for pair in near if pair[0] != self._procedure]
        if not near or near[0][1] < NAMED:
            return []
        return [id for id, score in near[:2] if score >= TWIN * near[0][1]]

    def _new_mode(self, wish: Wish) -> str | None:
        """The mode that is named; None where none or more than one is."""
        modes = wish.modes - {self._mode} if "no" in wish.asks else wish.modes
        return next(iter(modes)) if len(modes) == 1 else None

    def _is_meant(self, wish: Wish, named: list[str]) -> bool:
        """Whether it is for the coach: it is named, or it is a plain choice or answer and nothing else."""
        if wish.addressed or not wish.whole:
            return wish.addressed
        if named and wish.modes:
            return True
        answers = _ANSWERS[self._question]
        if named and named != [self._procedure] and "procedure" not in answers:
            return "no" in wish.asks & answers
        said = wish.asks | ({"procedure"} if named else set()) | ({"mode"} if wish.modes else set())
        return bool(answers & said)

    def _agreed(self, wish: Wish, named: list[str]) -> bool:
        """Whether the student agrees to what was understood, and says nothing else."""
        agreed = self._question == "start" and "yes" in wish.asks and "no" not in wish.asks and wish.clear
        return agreed and wish.modes <= {self._mode} and set(named) <= {self._procedure}

    # What follows

    def _choose(self, wish: Wish, named: list[str]) -> str:
        """Take what is named; what is not stays as it was."""
        if wish.modes:
            self._mode = self._new_mode(wish)
        if len(named) == 1:
            self._other = next((id for id, score in wish.near if id != named[0] and score >= OTHER), None)
            self._procedure = named[0]
        elif named:
            self._question = "which"
            self._procedure = None
            self._offered = tuple(sorted(named, key=self._order.index))
            return offers.which_one([self._titles[id] for id in self._offered])
        elif pointed := self._pointed(wish):
            self._take(pointed)
        return self._ask()

    def _answer(self, wish: Wish) -> str | None:
        """What to say where neither a mode nor a procedure is named; None where that is not clear."""
        if pointed := self._pointed(wish):
            self._take(pointed)
            return self._ask()
        requests: dict[str, Callable[[], str]] = {
            "other": self._swap,
            "next": self._go_on,
            "more": self._read_list,
            "list": self._list,
            "again": self._ask,
            "repeat": lambda: self._said,
            "help": lambda: self.invitation,
            "no": self._instead,
            "yes": self._ask,
        }
        return next((answer() for ask, answer in requests.items() if ask in wish.asks), None)

    def _pointed(self, wish: Wish) -> str | None:
        """What was pointed at by its place in what was offered."""
        offered = zip(offers.ORDINALS, self._offered, strict=False)
        return next((id for ordinal, id in offered if ordinal in wish.asks), None)

    def _take(self, pointed: str) -> None:
        if pointed in MODES:
            self._mode = pointed
            return
        pair = self._offered if self._question == "which" else ()
        self._procedure = pointed
        self._other = next((id for id in pair if id != pointed), None)

    def _ask(self) -> str:
        """Ask for what is not known yet, or whether to start."""
        self._offered = ()
        if self._procedure is None:
            self._question = "procedure"
            return offers.which_procedure(self._mode)
        title = self._titles[self._procedure]
        if self._mode is None:
            self._question = "mode"
            self._offered = tuple(offers.MODES)
            return offers.which_mode(title)
        self._question = "start"
        return offers.chosen(self._mode, title)

    def _swap(self) -> str:
        """`The other one`."""
        if self._other is None:
            return self._instead()
        self._procedure, self._other = self._other, self._procedure
        return self._ask()

    def _go_on(self) -> str:
        """`The next one`: of the list that is being read, else of all procedures."""
        if self._question == "list":
            return self._read_list()
        if self._procedure is not None:
            place = self._order.index(self._procedure) + 1
            self._procedure = self._order[place % len(self._order)]
            self._other = None
        return self._ask()

    def _list(self) -> str:
        self._read = 0
        return self._read_list()

    def _read_list(self) -> str:
        """Some more of the list; after its end it begins anew."""
        begin = self._read if self._read < len(self._order) else 0
        self._offered = self._order[begin : begin + PAGE]
        self._read = begin + len(self._offered)
        self._question = "list"
        return offers.listed([self._titles[id] for id in self._offered], more=self._read < len(self._order))

    def _instead(self) -> str:
        self._question = "instead"
        self._offered = ()
        return offers.INSTEAD


@cache
def _wishes(choices: tuple[Choice, ...]) -> Wishes:
    return Wishes({choice.id: choice.names for choice in choices}, samples().chat)


def _phrases(choices: Sequence[Choice]) -> Iterator[str]:
    """Requests and modes by themselves, and each name alone, refused, and after one of the ways in turn."""
    for saying in (saying for sayings in (*ASKS.values(), *MODES.values()) for saying in sayings):
        yield from (saying, f"{ADDRESS} {saying}")
    ways = cycle(_ways())
    for name in (name for choice in choices for name in choice.names):
        yield from (name, f"no {name}", f"{ADDRESS} {next(ways)} {name}")


def _ways() -> Iterator[str]:
    """The plainest ways to name a mode before a procedure."""
    plainest = (sayings[:_PLAINEST] for sayings in MODES.values())
    for practise, rehearse, selftest in zip(*plainest, strict=True):
        yield from (practise, rehearse, f"{selftest} on")

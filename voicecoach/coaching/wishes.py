"""What a student says between attempts, taken apart: modes, requests, and how near each procedure is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from voicecoach.coaching.requests import ADDRESS
from voicecoach.following.evidence import sounded
from voicecoach.following.likeness import Likeness
from voicecoach.following.meaning import meanings
from voicecoach.following.normal import FUNCTION_WORDS, plain, stem

NAMED = 0.25
"""Nearness from which a procedure is meant."""

MODES: dict[str, tuple[str, ...]] = {
    "practise": (
        "practise", "practice", "teach me", "walk me through", "learn", "show me how", "practicing",
        "teach", "taught", "take me through", "show me", "train me", "guide me", "step by step",
    ),
    "rehearse": (
        "rehearse", "narrate", "run through", "go through", "talk through", "rehearsal", "say aloud",
        "out loud", "dry run",
    ),
    "selftest": (
        "self test", "test me", "quiz me", "check me off", "exam", "selftest", "test", "tested", "quiz",
        "quizzed", "check off", "examine", "evaluate", "assess me", "grade me",
    ),
}  # fmt: skip
"""How students call the modes, the plainest first; other forms of these words are known by their stems."""

ASKS: dict[str, tuple[str, ...]] = {
    "yes": (
        "start", "yes", "ready", "i am ready", "begin", "yes please", "go ahead", "let us go", "let us start",
        "let us begin", "yeah", "yep", "yup", "that is right", "that's right", "correct", "all set", "do it",
        "sounds good", "exactly", "go for it",
    ),
    "no": (
        "no", "not that", "do not", "did not", "wrong", "nope", "not", "neither", "none", "actually",
        "instead", "rather", "i mean", "i meant", "meant", "something else", "another one",
        "a different one", "different", "incorrect", "cancel",
    ),
    "other": ("the other one", "the other", "other one"),
    "list": (
        "what can i do", "read me the list", "what is there", "which procedures are there", "list",
        "what are my choices", "what do you have", "choices", "options", "which procedures", "which skills",
        "the procedures", "the skills", "what can i choose", "what can i", "what can we do", "what i can do",
        "what is available", "what's available", "what do you offer", "other procedures", "other skills",
    ),
    "more": ("more", "what else", "go on", "continue", "keep reading", "keep going"),
    "help": (
        "help", "help me", "what can i say", "what do i say", "what should i say", "how does this work",
    ),
    "repeat": ("say that again", "repeat that", "repeat", "what did you say", "say it again", "pardon"),
    "again": (
        "again", "the same again", "once more", "one more time", "same", "do it again", "start again",
        "start over", "redo", "another try",
    ),
    "next": ("the next one", "next", "the following one", "the one after", "move on", "skip"),
    "leave": (
        "goodbye", "stop listening", "that is all for today", "that's all for today", "bye", "bye bye",
        "good bye", "i am done for today", "done for today", "done for now", "finished for today",
        "enough for today", "that will be all", "i am leaving", "see you tomorrow", "see you next time",
        "good night", "turn off", "switch off", "quit", "exit",
    ),
    "first": ("the first", "the first one", "first", "number one"),
    "second": ("the second", "the second one", "second", "number two"),
    "third": ("the third", "the third one", "third", "number three"),
    "fourth": ("the fourth", "the fourth one", "fourth", "number four"),
}  # fmt: skip
"""How students ask for what is no procedure, the plainest first."""

_AROUND = frozenset(
    "a an the this that it i me my you we us to of on in at for with and by so now then just please okay "
    "ok well want would like am can could let do going one be is wait hey hi sorry alright what said "
    "have hello good morning afternoon evening".split()
)
"""Words that may stand around a plain choice though the coach is not named."""
_EMPTY = FUNCTION_WORDS.union(
    "want like need try please hey hi thanks thank go going think maybe today let about some something one "
    "ones procedure procedures skill skills thing work get doing done know how when whenever first back "
    "sorry".split()
)
"""Words that tell no procedure from another."""

_MISHEARD = (["couch"], ["come", "to"], ["to", "reach"])
"""What recognizers make of the coach's name at the beginning."""
_NOT_A_NAME = frozenset("a an the my our your his her their this that".split())
"""Words after which `coach` is no name."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What was said, taken apart."""

    addressed: bool
    """Whether the coach is named."""
    whole: bool
    """Whether nothing else is said, so that it may be for the coach though it is not named."""
    clear: bool
    """Whether all words that tell something are known here."""
    modes: frozenset[str]
    """Which of MODES are named."""
    asks: frozenset[str]
    """Which of ASKS are made."""
    near: tuple[tuple[str, float], ...]
    """Every procedure and how near its names are, nearest first: about 1 where it is named, 0 where not."""


class Wishes:
    """Takes apart what is said, by the names of the procedures there are."""

    def __init__(self, names: Mapping[str, Sequence[str]], chat: Sequence[str]) -> None:
        """`names` are those of each procedure by its id; `chat` is what students say of other things."""
        labelled = [(_telling(_plain(name)), id) for id, own in names.items() for name in own]
        self._likeness = Likeness(
            [*labelled, *((_telling(plain(text)), "") for text in chat)], pieces=sounded, meaning=meanings
        )
        self._ids = tuple(names)
        self._columns = [self._likeness.labels.index(id) for id in self._ids]
        self._known = {id: {stem(word) for name in own for word in _plain(name)} for id, own in names.items()}

    def wish(self, text: str) -> Wish:
        """What is wished in an utterance."""
        said = _plain(text)
        begun = next((len(heard) for heard in _MISHEARD if said[: len(heard)] == heard), 0)
        spoken = [word for word in said[begun:] if word != ADDRESS]
        if spoken[:1] == ["know"]:  # it sounds like `no`
            spoken[0] = "no"
        found, rest = _spotted(spoken)
        scores = self._likeness.scores([_telling(rest)])[0][self._columns]
        order = sorted(range(len(self._ids)), key=lambda place: -scores[place])
        near = tuple((self._ids[place], float(scores[place])) for place in order)
        known = {word for id, score in near if score >= NAMED for word in self._known[id]}
        strange = [word for word in rest if stem(word) not in known]
        whole = all(_is_around(word) for word in strange)
        modes = frozenset(name for name in found if name in MODES)
        asks = frozenset(name for name in found if name in ASKS)
        # A name that was misheard is believed where what follows makes sense here.
        sensible = bool(modes and known) or bool(whole and (known or found))
        return Wish(
            addressed=_is_addressed(said) or (begun > 0 and sensible),
            whole=whole,
            clear=all(word in _EMPTY or _is_around(word) for word in strange),
            modes=modes,
            asks=asks,
            near=near,
        )


def _is_addressed(said: Sequence[str]) -> bool:
    """Whether the coach is spoken to: named at the end, or near the beginning."""
    if ADDRESS not in said:
        return False
    place = said.index(ADDRESS)
    before = said[:place]
    if place == len(said) - 1:
        return not _NOT_A_NAME.intersection(before[-1:])
    strange = [word for word in _spotted(before)[1] if not _is_around(word)]
    return not strange or (len(strange) < 2 and not _NOT_A_NAME.intersection(before[-2:]))


def _is_around(word: str) -> bool:
    return word in _AROUND or stem(word) in _AROUND


def _sayings() -> Iterator[tuple[list[str], str]]:
    for name, sayings in (*MODES.items(), *ASKS.items()):
        for saying in sayings:
            yield [stem(word) for word in plain(saying)], name


_SAYINGS = sorted(_sayings(), key=lambda pair: -len(pair[0]))
"""The stems of all sayings with what they stand for, longest first."""


def _spotted(spoken: Sequence[str]) -> tuple[list[str], list[str]]:
    """What the sayings in an utterance stand for, and the words that are left."""
    found, rest = [], []
    stems = [stem(word) for word in spoken]
    place = 0
    while place < len(spoken):
        for saying, name in _SAYINGS:
            if saying == stems[place : place + len(saying)]:
                found.append(name)
                place += len(saying)
                break
        else:
            rest.append(spoken[place])
            place += 1
    return found, rest


def _plain(text: str) -> list[str]:
    """Plain words; letters said one by one are one word, `p p e` as `ppe`."""
    out: list[str] = []
    spelling = False
    for word in plain(text):
        letter = len(word) == 1 and word not in "ai"
        if letter and spelling:
            out[-1] += word
        else:
            out.append(word)
        spelling = letter
    return out


def _telling(words: Sequence[str]) -> str:
    """The words that may tell a procedure from another."""
    return " ".join(word for word in words if word not in _EMPTY)

"""The commands. Arguments come in, parts are put together; nothing is computed here."""

from __future__ import annotations

import errno
import sys
from contextlib import ExitStack
from enum import StrEnum
from io import TextIOWrapper
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.table import Table
from rich.text import Text

from voicecoach import demo as demonstration
from voicecoach import narration, session, sources
from voicecoach import replay as replaying
from voicecoach.attempt import Attempt
from voicecoach.coaching.debrief import debrief
from voicecoach.coaching.wording import fixed_cues
from voicecoach.errors import Complaint
from voicecoach.hearing.pronunciation import without_pronunciation
from voicecoach.procedure import library, loading
from voicecoach.procedure.model import Procedure
from voicecoach.records import journal as journals
from voicecoach.records.journal import Journal
from voicecoach.session import Outcome, Session
from voicecoach.showing.debrief import page
from voicecoach.showing.lines import Lines
from voicecoach.showing.marks import harmless
from voicecoach.showing.terminal import Terminal
from voicecoach.sound import files as sounds
from voicecoach.sources import Source

FIRST = """\
Say a care procedure aloud as you do it; the coach hears what you missed. First:
  voicecoach demo                       watch it work; needs no microphone
  voicecoach procedures                 look for your procedure, then
  voicecoach practise gait-belt-walk    learn it with the coach's help,
  voicecoach rehearse gait-belt-walk    say it by yourself, then try selftest\
"""

READY = "Getting ready to listen ..."

NOT_WHOLE = 1
WRONG = 2
INTERRUPTED = 130

_FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
"""What a system says where nothing more can be written: the disk is full, or the user's share of it."""

app = typer.Typer(add_completion=False, pretty_exceptions_enable=False, rich_markup_mode=None)


class Hear(StrEnum):
    """How an attempt is heard."""

    auto = "auto"
    sphinx = "sphinx"
    vosk = "vosk"
    whisper = "whisper"
    typed = "typed"


Name = Annotated[str, typer.Argument(metavar="PROCEDURE", help="Its id, or a YAML file of your own.")]
HearOption = Annotated[
    Hear,
    typer.Option(
        "--hear",
        help="auto takes vosk where an English model is installed, else whisper where it is, else sphinx.",
    ),
]
ModelOption = Annotated[
    Path | None, typer.Option("--model", metavar="FOLDER", help="The folder of a Vosk model.")
]
FromOption = Annotated[
    str | None,
    typer.Option(
        "--from",
        metavar="FILE",
        help="A sound file instead of the microphone; with --hear typed a text file, or - for a pipe.",
    ),
]
JournalOption = Annotated[
    Path | None, typer.Option("--journal", metavar="FILE", help="Where to keep the record of the attempt.")
]


@app.callback(invoke_without_command=True)
def first(context: typer.Context) -> None:
    """Narrate a care procedure aloud; voicecoach listens offline and speaks up about what you missed."""
    if context.invoked_subcommand is None:
        print(FIRST)


@app.command()
def practise(
    procedure: Name,
    hear: HearOption = Hear.auto,
    model: ModelOption = None,
    source: FromOption = None,
    journal: JournalOption = None,
) -> None:
    """Learn a procedure: the coach helps at once and leads on when you stop."""
    _attempt("practise", procedure, hear, model, source, journal)


@app.command()
def rehearse(
    procedure: Name,
    hear: HearOption = Hear.auto,
    model: ModelOption = None,
    source: FromOption = None,
    journal: JournalOption = None,
) -> None:
    """Narrate a procedure: the coach speaks only of what was missed or out of order, or when asked."""
    _attempt("rehearse", procedure, hear, model, source, journal)


@app.command()
def selftest(
    procedure: Name,
    hear: HearOption = Hear.auto,
    model: ModelOption = None,
    source: FromOption = None,
    journal: JournalOption = None,
) -> None:
    """Test yourself: the coach is silent until the end, then gives the debrief aloud."""
    _attempt("selftest", procedure, hear, model, source, journal)


def _attempt(
    mode: str, name: str, hear: Hear, model: Path | None, file: str | None, journal: Path | None
) -> None:
    """Put one attempt together, run it, and show what came of it."""
    procedure = library.find(name)
    with _console().status(READY):
        source = sources.choose(hear.value, model, file, procedure)
    _leave(_run(procedure, mode, source, journal, big=not source.at_keyboard))


def _run(procedure: Procedure, mode: str, source: Source, journal: Path | None, big: bool) -> Outcome:
    """Run an attempt, then show its debrief and where its journal is."""
    console = _console()
    begun = session.begun(procedure, mode, source.hear)
    with ExitStack() as until:
        with console.status(READY):
            attempt = Attempt(begun)
            source.mouth.prepare(fixed_cues(procedure, mode))
        moments = source.listen(until)
        kept = Journal(journal or journals.folder() / f"{begun.attempt}.jsonl")
        interrupted = until.enter_context(session.interruptible())
        screen: Terminal | Lines = Lines(console)
        if big and console.is_terminal:
            screen = until.enter_context(Terminal(console))
        for notice in source.notices:
            screen.notice(notice)
        outcome = Session(attempt, source.mouth, kept, screen).run(begun, moments, interrupted)
    console.print(page(debrief(outcome.events)))
    if not outcome.unkept:
        console.print(Text(f"\nThe journal is {kept.path}"), soft_wrap=True)
    return outcome


def _leave(outcome: Outcome) -> None:
    """Tell what went wrong around an attempt, and leave with the exit code that fits."""
    for trouble in filter(None, (outcome.lost, outcome.unkept)):
        _tell(trouble)
    if outcome.interrupted:
        raise typer.Exit(INTERRUPTED)
    if outcome.lost or outcome.unkept:
        raise typer.Exit(WRONG if outcome.lost else NOT_WHOLE)


@app.command()
def procedures() -> None:
    """List the procedures that come with voicecoach."""
    table = Table("procedure", "title", "steps", box=None)
    for name in library.shipped():
        procedure = library.find(name)
        table.add_row(name, Text(harmless(procedure.title)), str(len(procedure.steps)))
    _console().print(table)


@app.command()
def check(files: Annotated[list[Path], typer.Argument(metavar="FILE...")]) -> None:
    """Check procedure files: every fault with its line, and what would make them easier to follow."""
    worst = 0
    for file in files:
        try:
            procedure = loading.load(file)
        except loading.Faulty as faulty:
            print("\n".join(map(harmless, map(str, faulty.findings))))
            worst = max(worst, NOT_WHOLE)
        except Complaint as complaint:
            _tell(str(complaint))
            worst = WRONG
        else:
            print(f"{file}: {len(procedure.steps)} steps, no fault")
            for advice in loading.advice(procedure):
                print(f"{file}: advice: {harmless(advice)}")
            words = {word for phrase in procedure.phrases for word in phrase.lower().split()}
            for word in without_pronunciation(words, procedure.pronounce):
                print(f"{file}: advice: how {word!r} sounds is guessed, a line under pronounce makes it sure")
    raise typer.Exit(worst)


@app.command()
def schema() -> None:
    """Print the JSON Schema of a procedure file, for editors."""
    print(loading.schema())


@app.command()
def replay(journal: Annotated[Path, typer.Argument(metavar="JOURNAL")]) -> None:
    """Play a journal again and print the journal that comes of it; it must be the same to the byte."""
    lines = tuple(replaying.replay(journals.read(journal)))
    print("\n".join(lines))
    number = replaying.difference(lines, journal)
    if number is not None:
        _tell(f"{journal}:{number}: from this line on, the same words lead to something else than before.")
        raise typer.Exit(NOT_WHOLE)


@app.command()
def demo(
    real_time: Annotated[bool, typer.Option("--real-time", help="Take the time that it takes.")] = False,
    to: Annotated[
        Path, typer.Option("--to", metavar="FILE", help="Where student and coach are written as sound.")
    ] = Path("voicecoach-demo.wav"),
) -> None:
    """Hear a student and the coach at work: no microphone, loudspeaker or network is needed."""
    procedure = library.find(narration.PROCEDURE)
    with _console().status(READY):
        source = demonstration.source(procedure, real_time)
    outcome = _run(procedure, demonstration.MODE, source, None, big=real_time)
    sounds.write(to, demonstration.together(source.mouth))
    print(f"Student and coach can be heard in {to}")
    _leave(outcome)


def _console() -> Console:
    return Console(highlight=False)


def _tell(complaint: str) -> None:
    """A sentence, or some, on standard error."""
    for line in complaint.splitlines():
        print(harmless(line), file=sys.stderr)


def main() -> None:
    """Run the command line. What the user must mend is said in a sentence, and the exit code is 2."""
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")
    try:
        try:
            app()
        finally:
            sys.stdout.flush()
    except Complaint as complaint:
        _tell(str(complaint))
        sys.exit(WRONG)
    except OSError as error:
        if error.errno not in _FULL:
            raise
        _tell("The disk is full; make room and try again.")
        sys.exit(WRONG)

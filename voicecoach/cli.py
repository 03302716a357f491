"""The commands. Arguments come in, parts are put together; nothing is computed here."""

from __future__ import annotations

import errno
import sys
from collections.abc import Iterator
from contextlib import ExitStack
from enum import StrEnum
from io import TextIOWrapper
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.table import Table
from rich.text import Text

from voicecoach import (
    debrief_commands,
    export_commands,
    listening,
    mock_commands,
    model_commands,
    narration,
    next_commands,
    progress_commands,
    records_commands,
    rules_commands,
    session,
    sources,
)
from voicecoach import demo as demonstration
from voicecoach import mic as checking
from voicecoach import replay as replaying
from voicecoach.coaching import choosing, offers
from voicecoach.ear import Moment
from voicecoach.errors import Complaint
from voicecoach.hearing.pronunciation import without_pronunciation
from voicecoach.hearing.sphinx import Sphinx
from voicecoach.leaving import INTERRUPTED, NOT_WHOLE, WRONG, leave, tell
from voicecoach.live import Live
from voicecoach.mouth import signals
from voicecoach.procedure import library, loading, local_rules
from voicecoach.records import journal as journals
from voicecoach.running import NO_CASE, READY, Wanted, run
from voicecoach.session import Outcome
from voicecoach.showing.marks import harmless
from voicecoach.showing.mic import Meter, checked_page, equipment_page
from voicecoach.showing.mic_advice import problems
from voicecoach.sound import files as sounds
from voicecoach.sound.loudspeaker import Loudspeaker
from voicecoach.sound.microphone import Microphone
from voicecoach.sources import Source
from voicecoach.utterances import Patience

FIRST = """\
Say a care procedure aloud as you do it; the coach hears what you missed. First:
  voicecoach demo                       watch it work; needs no microphone
  voicecoach procedures                 look for your procedure, then
  voicecoach practise gait-belt-walk    learn it, then rehearse and selftest
  voicecoach listen                     choose by voice, touch nothing\
"""

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
TickOption = Annotated[
    bool,
    typer.Option(
        "--tick",
        help="Sound a signal when it begins and, but for selftest, a soft tick for each step followed.",
    ),
]
CaseOption = Annotated[
    int | None,
    typer.Option(
        "--case",
        min=NO_CASE,
        metavar="NUMBER",
        help="Take this case again; 0 for none. With a microphone or keyboard a new one is drawn.",
    ),
]
TalkThroughOption = Annotated[
    bool,
    typer.Option(
        "--talk-through", help="Only talk it through: how long you say that something lasts counts."
    ),
]
StudentOption = Annotated[
    str | None,
    typer.Option("--student", metavar="CODE", help="Whose attempt it is: a code such as s07, no name."),
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
    tick: TickOption = False,
    case: CaseOption = None,
    talk_through: TalkThroughOption = False,
    student: StudentOption = None,
) -> None:
    """Learn a procedure: the coach helps at once and leads on when you stop."""
    _attempt(procedure, hear, model, source, tick, Wanted("practise", journal, case, talk_through, student))


@app.command()
def rehearse(
    procedure: Name,
    hear: HearOption = Hear.auto,
    model: ModelOption = None,
    source: FromOption = None,
    journal: JournalOption = None,
    tick: TickOption = False,
    case: CaseOption = None,
    talk_through: TalkThroughOption = False,
    student: StudentOption = None,
) -> None:
    """Narrate a procedure: the coach speaks only of what was missed or out of order, or when asked."""
    _attempt(procedure, hear, model, source, tick, Wanted("rehearse", journal, case, talk_through, student))


@app.command()
def selftest(
    procedure: Name,
    hear: HearOption = Hear.auto,
    model: ModelOption = None,
    source: FromOption = None,
    journal: JournalOption = None,
    tick: TickOption = False,
    case: CaseOption = None,
    talk_through: TalkThroughOption = False,
    student: StudentOption = None,
) -> None:
    """Test yourself: the coach is silent until the end, then gives the debrief aloud."""
    _attempt(procedure, hear, model, source, tick, Wanted("selftest", journal, case, talk_through, student))


def _attempt(name: str, hear: Hear, model: Path | None, file: str | None, tick: bool, wanted: Wanted) -> None:
    """Put one attempt together, run it, and show what came of it."""
    procedure = library.find(name)
    with _console().status(READY):
        source = sources.choose(hear.value, model, file, procedure, signals(wanted.mode, tick))
    leave(run(procedure, source, wanted, big=not source.at_keyboard))


@app.command()
def listen(
    hear: HearOption = Hear.auto,
    model: ModelOption = None,
    tick: TickOption = False,
    student: StudentOption = None,
) -> None:
    """Do it all by voice: choose a procedure and a mode, go through it, and choose again."""
    if hear is Hear.typed:
        raise Complaint(
            "listen goes by voice alone; to type, take voicecoach practise hand-rub --hear typed."
        )
    console = _console()
    known = {name: library.find(name) for name in library.shipped()}
    choices = [choosing.choice(procedure) for procedure in known.values()]
    outcomes: list[Outcome] = []
    with ExitStack() as until:
        with console.status(READY):
            live = until.enter_context(Live())
            pronounce = dict(pair for procedure in known.values() for pair in procedure.pronounce.items())
            ears = sources.recognizer_of(hear.value, model, choosing.phrases(choices), pronounce)
            live.mouth.prepare(offers.fixed(choices[-1].names[0]))
        for notice in live.notices:
            console.print(Text(f"! {notice}"))

        def attempt(mode: str, name: str) -> bool:
            live.mouth.signals = signals(mode, tick) | {"start"}
            with console.status(READY):
                recognizer = sources.recognizer(hear.value, model, known[name])

            def hear_it(_: ExitStack, patience: Patience) -> Iterator[Moment]:
                return session.passed_on(live.hear(recognizer, patience), interrupted)

            source = Source(recognizer.name, live.mouth, hear_it, tells=True)
            outcomes.append(run(known[name], source, Wanted(mode, student=student), big=True))
            return not (outcomes[-1].interrupted or outcomes[-1].lost)

        interrupted = until.enter_context(session.interruptible())
        listening.listen(live, ears, choices, attempt, lambda line: console.print(Text(line)), interrupted)
        if interrupted():
            raise typer.Exit(INTERRUPTED)
    for outcome in outcomes:
        leave(outcome)


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
    """Check files of procedures or rules: every fault with its line, and what they change or could better."""
    worst = 0
    for file in files:
        try:
            if local_rules.is_rules(file):
                print(f"{file}: " + "\n".join(rules_commands.checked(file)))
                continue
            procedure = loading.load(file)
        except loading.Faulty as faulty:
            print("\n".join(map(harmless, map(str, faulty.findings))))
            worst = max(worst, NOT_WHOLE)
        except Complaint as complaint:
            tell(str(complaint))
            worst = WRONG
        else:
            print(f"{file}: {len(procedure.steps)} steps, no fault")
            for advice in loading.advice(procedure):
                print(f"{file}: advice: {harmless(advice)}")
            for word in without_pronunciation(procedure.words, procedure.pronounce):
                print(f"{file}: advice: how {word!r} sounds is guessed, a line under pronounce makes it sure")
    raise typer.Exit(worst)


@app.command()
def schema() -> None:
    """Print the JSON Schema of a procedure file, for editors."""
    print(loading.schema())


@app.command()
def mic() -> None:
    """Check the microphone, the room and the loudspeaker, and say what to change."""
    console = _console()
    console.print(equipment_page(checking.equipment()))
    with console.status(READY):
        recognizer = Sphinx((checking.PHRASE,), {})
    with Meter(console) as screen:
        checked = checking.run(Microphone(), Loudspeaker, recognizer, screen)
    console.print(checked_page(checked))
    if any(problem.unusable for problem in problems(checked)):
        raise typer.Exit(NOT_WHOLE)


@app.command()
def replay(journal: Annotated[Path, typer.Argument(metavar="JOURNAL")]) -> None:
    """Play a journal again and print the journal that comes of it; it must be the same to the byte."""
    lines = tuple(replaying.replay(journals.read(journal)))
    print("\n".join(lines))
    number = replaying.difference(lines, journal)
    if number is not None:
        tell(f"{journal}:{number}: from this line on, the same words lead to something else than before.")
        raise typer.Exit(NOT_WHOLE)


@app.command()
def demo(
    real_time: Annotated[bool, typer.Option("--real-time", help="Take the time that it takes.")] = False,
    to: Annotated[
        Path, typer.Option("--to", metavar="FILE", help="Where student and coach are written as sound.")
    ] = Path("voicecoach-demo.wav"),
) -> None:
    """Hear a student and the coach at work: no microphone, loudspeaker or network is needed."""
    procedure = library.as_shipped(narration.PROCEDURE)
    with _console().status(READY):
        source = demonstration.source(procedure, real_time)
    outcome = run(procedure, source, Wanted(demonstration.MODE), big=real_time)
    sounds.write(to, demonstration.together(outcome.events))
    print(f"Student and coach can be heard in {to}")
    leave(outcome)


app.command()(mock_commands.mock)
app.command()(debrief_commands.debrief)
app.command("next")(next_commands.what_next)
app.command()(progress_commands.progress)
app.command()(progress_commands.readiness)
app.command()(rules_commands.rules)
app.add_typer(records_commands.app, name="records")
app.add_typer(export_commands.app, name="export")
app.add_typer(model_commands.app, name="models")


def _console() -> Console:
    return Console(highlight=False)


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
        tell(str(complaint))
        sys.exit(WRONG)
    except OSError as error:
        if error.errno not in _FULL:
            raise
        tell("The disk is full; make room and try again.")
        sys.exit(WRONG)

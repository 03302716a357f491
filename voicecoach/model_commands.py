"""The commands under `voicecoach models`: recognizers, and the Vosk models that the user has installed."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.progress import BarColumn, DownloadColumn, Progress, TextColumn
from rich.table import Table
from rich.text import Text

from voicecoach import sources
from voicecoach.hearing import models, whisper_model
from voicecoach.hearing.models import Installed
from voicecoach.hearing.unpacking import megabytes, opened
from voicecoach.showing.marks import harmless

COPYING = "Copying the model ..."
TRYING = "Trying it out ..."
LOOKING = "Looking at the models ..."

_NEEDS = "needs an English model, which you download as a zip,\nthen: voicecoach models install FILE"
_INSTALL_WHISPER = 'not installed; for it: pip install "voicecoach[whisper]"'

app = typer.Typer(rich_markup_mode=None)

Name = Annotated[str, typer.Argument(metavar="NAME", help="As `voicecoach models` lists it.")]


@app.callback(invoke_without_command=True)
def overview(context: typer.Context) -> None:
    """List the recognizers and the Vosk models; install, choose or remove a model."""
    if context.invoked_subcommand is not None:
        return
    with _console().status(LOOKING):
        found = tuple(models.installed())
    taken = models.taken(found)
    _console().print(_recognizers(taken))
    _say(f"\nWithout --hear, {sources.best(taken.folder if taken else None)} is taken now.")
    if found:
        _say(f"\nVosk models in {models.folder()}:")
        _console().print(_table(found, taken))


@app.command()
def install(
    path: Annotated[Path, typer.Argument(metavar="FILE", help="The zip of a Vosk model, or its folder.")],
) -> None:
    """Install a Vosk model that you have downloaded."""
    with opened(path) as parcel, _progress() as progress:
        task = progress.add_task(COPYING, total=parcel.packed + parcel.size)

        def advance(done: int) -> None:
            progress.advance(task, done)
            if progress.finished:
                progress.update(task, description=TRYING)

        model = models.install(parcel, advance)
    _say(f"Installed {model.folder.name}: {megabytes(model.size)}, {_language(model)}.")
    _say(f"SHA-256 {model.sha256}")
    if model.english:
        _say_taken()
    else:
        _say("It knows too little English to be taken by itself; --model FOLDER takes any.")


@app.command()
def choose(name: Name) -> None:
    """Choose the Vosk model that is taken where there are several."""
    with _console().status(LOOKING):
        models.choose(name)
    _say_taken()


@app.command()
def remove(name: Name) -> None:
    """Delete an installed Vosk model."""
    size = models.remove(name)
    _say(f"Removed {harmless(name)}: {megabytes(size)}.")
    _say_taken()


def _say_taken() -> None:
    """Say what is taken from now on."""
    with _console().status(LOOKING):
        found = tuple(models.installed())
    taken = models.taken(found)
    if taken is None:
        _say(f"Without --hear, {sources.best(None)} is taken now.")
        return
    _say(f"Without --hear, vosk is taken now, with {harmless(taken.folder.name)}.")
    if not taken.chosen and sum(bool(model.english) for model in found) > 1:
        _say("It is the first by name; `voicecoach models choose NAME` takes another.")


def _recognizers(taken: Installed | None) -> Table:
    """Each recognizer, and whether it is ready or what it needs."""
    table = Table("recognizer", "state", box=None)
    vosk = f"ready, with {harmless(taken.folder.name)}" if taken else _NEEDS
    table.add_row("sphinx", "ready")
    table.add_row("vosk", Text(vosk))
    table.add_row("whisper", Text("ready" if whisper_model.installed() else _INSTALL_WHISPER))
    table.add_row("typed", "ready: you type instead of speaking, with --hear typed")
    return table


def _table(found: tuple[Installed, ...], taken: Installed | None) -> Table:
    """The installed models, and which of them is taken."""
    table = Table("model", "size", "language", "", box=None)
    table.columns[0].overflow = "fold"
    table.columns[1].justify = "right"
    for model in found:
        use = "taken, being chosen" if model.chosen else "taken, the first by name"
        name = Text(harmless(model.folder.name))
        table.add_row(name, megabytes(model.size), _language(model), use if model is taken else "")
    return table


def _language(model: Installed) -> str:
    if model.english is None:
        return "cannot be loaded"
    return "English" if model.english else "not English"


def _progress() -> Progress:
    """A bar of bytes, on a terminal only, that goes away."""
    console = _console()
    columns = TextColumn("{task.description}"), BarColumn(), DownloadColumn()
    return Progress(*columns, console=console, transient=True, disable=not console.is_terminal)


def _say(sentence: str) -> None:
    _console().print(Text(sentence), soft_wrap=True)


def _console() -> Console:
    return Console(highlight=False)

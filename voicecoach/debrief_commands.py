"""The command `voicecoach debrief`: the page of an attempt, and its captions."""

from __future__ import annotations

import webbrowser
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.text import Text

from voicecoach.errors import Complaint
from voicecoach.records import journal as journals
from voicecoach.records import place
from voicecoach.records.captions import HEAD, captions
from voicecoach.showing.debrief_html import HEAD as DOCTYPE
from voicecoach.showing.debrief_html import page

_OWNER_FOLDER = 0o700


def debrief(
    attempt: Annotated[
        str | None,
        typer.Argument(metavar="ATTEMPT", help="Its name or its journal; without it, the latest attempt."),
    ] = None,
    to: Annotated[Path | None, typer.Option("--to", metavar="FILE", help="Where to write the page.")] = None,
    show: Annotated[bool, typer.Option("--open", help="Open the page in the browser.")] = False,
    caption: Annotated[
        bool, typer.Option("--captions", help="Write captions, too, beside the page (WebVTT).")
    ] = False,
) -> None:
    """Write the debrief of an attempt as a page to read, print or pass on."""
    journal = _journal(attempt)
    events = journals.read(journal)
    try:
        written, said = page(events), captions(events)
    except (ValueError, KeyError, TypeError) as error:
        raise Complaint(
            f"{journal} does not hold together, as if it had been changed by hand; it cannot be shown."
        ) from error
    file = to or _pages()
    if file.is_dir():
        file /= f"{journal.stem}.html"
    beside = file.with_suffix(".vtt")
    _check(file, DOCTYPE, "page")
    if caption:
        if beside == file:
            raise Complaint("Captions end in .vtt; name the page with --to, the captions are put beside it.")
        _check(beside, HEAD, "captions")
    place.write(file, written)
    _say(f"The debrief is {file}")
    if caption:
        place.write(beside, said)
        _say(f"The captions are {beside}")
    if show and not webbrowser.open(file.resolve().as_uri()):
        _say("No browser could be opened; open the file yourself.")


def _journal(attempt: str | None) -> Path:
    """The journal of an attempt. Complaint where there is none."""
    if attempt is None:
        # Their names begin with the date and time.
        latest = max(journals.folder().glob("*.jsonl"), key=lambda path: path.name, default=None)
        if latest is None:
            raise Complaint("There is no attempt yet; voicecoach rehearse hand-rub makes the first.")
        return latest
    if Path(attempt).is_file():
        return Path(attempt)
    kept = journals.folder() / f"{attempt}.jsonl"
    if kept.parent != journals.folder() or not kept.is_file():
        raise Complaint(
            f"There is no attempt or journal {attempt}; the name of an attempt is that of its journal in "
            f"{journals.folder()}, without .jsonl."
        )
    return kept


def _pages() -> Path:
    # Beside the journals, so that `voicecoach records forget` finds what it must take away.
    pages = place.made() / "pages"
    try:
        pages.mkdir(mode=_OWNER_FOLDER, exist_ok=True)
    except OSError as error:
        raise Complaint(f"The folder {pages} cannot be made: {error.strerror}.") from None
    return pages


def _check(file: Path, head: str, what: str) -> None:
    """Complaint where something else than what is to be written is there already."""
    try:
        with file.open("rb") as there:
            if there.read(len(head)) != head.encode("ascii"):
                raise Complaint(f"{file} is there already and holds no {what}; name another file with --to.")
    except FileNotFoundError:
        return
    except OSError as error:
        raise Complaint(f"{file} cannot be written: {error.strerror}; name another file with --to.") from None


def _say(sentence: str) -> None:
    Console(highlight=False).print(Text(sentence), soft_wrap=True)

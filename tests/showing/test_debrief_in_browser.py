"""The page of a debrief in a real browser, Chromium: on a phone, on a desk, in the dark and on paper."""

from __future__ import annotations

import io
import shutil
import unicodedata
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, sync_playwright
from pypdf import PdfReader

from tests.narrated import procedure
from tests.showing import example_attempts as examples
from tests.showing.example_attempts import ALL
from tests.showing.pages_read import Make
from voicecoach.coaching.debrief import debrief
from voicecoach.events import Cued, Heard
from voicecoach.records.captions import captions
from voicecoach.showing.debrief_html import page
from voicecoach.showing.marks import harmless
from voicecoach.showing.timeline import SCREENS, timeline

CHROMIUM = next(
    filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome", "chrome"))), None
)
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium is installed: apt-get install chromium")

PHONE, DESK = 360, 1200
"""Widths in pixels: that of a small phone, and of a window on a desk."""
A4 = round((210 - 2 * 9) / 25.4 * 96)
"""The width of A4 between its margins, likewise."""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        # Chromium refuses its sandbox to root, as whom tests may run in a container.
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield browser
        browser.close()


class Visit:
    """A page opened from its file, with what it said and asked for on the way."""

    def __init__(self, browser: Browser, file: Path, width: int, scheme: str = "light") -> None:
        self.address = file.as_uri()
        self.said: list[str] = []
        self.asked: list[str] = []
        context = browser.new_context(
            viewport={"width": width, "height": 800},
            color_scheme="dark" if scheme == "dark" else "light",
            offline=True,
        )
        self.page: Page = context.new_page()
        self.page.on("console", lambda message: self.said.append(message.text))
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.on("dialog", lambda dialog: self.said.append(dialog.message))
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.goto(self.address)

    def find(self, what: str) -> Any:
        """What an expression of JavaScript comes to on the page."""
        return self.page.evaluate(what)


@pytest.fixture
def visit(browser: Browser, tmp_path: Path) -> Iterator[Any]:
    """Opens the page of an attempt."""
    visits: list[Visit] = []

    def open(make: Make, width: int, scheme: str = "light") -> Visit:
        file = tmp_path / f"{len(visits)}.html"
        file.write_text(page(make()), encoding="utf-8")
        visits.append(Visit(browser, file, width, scheme))
        return visits[-1]

    yield open
    for one in visits:
        one.page.context.close()


@pytest.mark.parametrize("make", ALL)
@pytest.mark.parametrize("width", [PHONE, DESK])
def test_it_says_nothing_asks_for_nothing_and_is_no_wider_than_the_screen(
    visit: Any, make: Make, width: int
) -> None:
    seen = visit(make, width)
    assert seen.said == []
    assert [address for address in seen.asked if address != "data:,"] == [seen.address]
    assert seen.find("document.documentElement.scrollWidth") <= width
    # Nothing is cut off either.
    beyond = seen.find(
        """[...document.querySelectorAll("main *")]
           .filter(one => {
               const box = one.getBoundingClientRect(); return box.right > innerWidth + 0.5 || box.left < 0})
           .map(one => one.outerHTML)"""
    )
    assert beyond == []


@pytest.mark.parametrize("make", ALL)
@pytest.mark.parametrize(
    ("width", "media"), [(PHONE, "screen"), (390, "screen"), (768, "screen"), (DESK, "screen"), (A4, "print")]
)
def test_all_words_wrap_and_none_is_cut_or_hides_another(
    visit: Any, make: Make, width: int, media: str
) -> None:
    seen = visit(make, width)
    seen.page.emulate_media(media=media)
    styles = seen.find(
        """[...document.querySelectorAll("main *:not(.unseen)")].map(one => getComputedStyle(one))
           .filter(one => one.textOverflow != "clip" || one.overflow == "hidden"
                          || one.webkitLineClamp != "none").length"""
    )
    # But for drawings, which are not words.
    assert styles == seen.find("document.querySelectorAll('.timeline svg').length")
    labels = seen.find(
        """[...document.querySelectorAll(".timeline li")].filter(one => one.offsetParent).map(one => [
            one.getBoundingClientRect().top, one.getBoundingClientRect().bottom,
            one.firstChild.getBoundingClientRect().height, one.scrollWidth - one.clientWidth])"""
    )
    assert len(labels) == len(timeline(make(), debrief(make()), SCREENS[0]).labels)
    for top, bottom, words, beyond in labels:
        assert words <= bottom - top + 1
        assert beyond <= 0
    for (_, bottom, *_), (top, *_) in pairwise(labels):
        assert bottom <= top + 1


def test_no_script_runs_even_if_one_were_there(visit: Any, browser: Browser, tmp_path: Path) -> None:
    file = tmp_path / "spoiled.html"
    spoiled = "<script>document.title = 'ran'</script><img src=x onerror=\"document.title = 'ran'\">"
    file.write_text(page(examples.walk()).replace("</main>", f"{spoiled}</main>"), encoding="utf-8")
    seen = Visit(browser, file, DESK)
    assert seen.page.title() != "ran"
    assert any("Content Security Policy" in message for message in seen.said)
    seen.page.context.close()


@pytest.mark.parametrize("make", ALL)
@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_it_is_printed_on_one_sheet(visit: Any, make: Make, paper: str) -> None:
    sheets = PdfReader(io.BytesIO(visit(make, DESK).page.pdf(format=paper))).pages
    assert len(sheets) == 1
    # Sizes in points: ISO 216 and ANSI/ASME Y14.1.
    wanted = {"Letter": (612, 792), "A4": (595.28, 841.89)}[paper]
    assert (sheets[0].mediabox.width, sheets[0].mediabox.height) == pytest.approx(wanted, abs=1)


def test_what_is_printed_is_whole_but_for_the_words_heard(visit: Any) -> None:
    sheet = PdfReader(io.BytesIO(visit(examples.longest, DESK).page.pdf(format="Letter"))).pages[0]
    # Some fonts have one letter for f and l.
    text = unicodedata.normalize("NFKC", sheet.extract_text())
    for part in ("Not passed", "To work on", "In what order", "Time line", "All steps", "not an evaluation"):
        assert part in text
    assert "Words heard" not in text
    for step in procedure("bed-to-wheelchair").steps:
        assert step.do in " ".join(text.split())


@pytest.mark.parametrize("make", ALL)
def test_print_is_never_too_small_to_read(visit: Any, make: Make) -> None:
    seen = visit(make, DESK)
    seen.page.emulate_media(media="print")
    # Common practice, no source. The longest of the shipped procedures needs the smallest print.
    size = 0.75 * seen.find("parseFloat(getComputedStyle(document.querySelector('td')).fontSize)")
    assert size >= (6.0 if make is not examples.hard else 5.0)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_light_and_dark_follow_the_system_and_paper_is_always_light(visit: Any, scheme: str) -> None:
    seen = visit(examples.walk, DESK, scheme)
    brightness = "getComputedStyle(document.body).backgroundColor.match(/\\d+/g).reduce((a, b) => a + +b, 0)"
    assert (seen.find(brightness) > 600) == (scheme == "light")
    seen.page.emulate_media(media="print", color_scheme=scheme)
    assert seen.find(brightness) == 765
    assert seen.find("getComputedStyle(document.body).color") == "rgb(34, 39, 43)"


@pytest.mark.parametrize("media", ["screen", "print"])
@pytest.mark.parametrize("width", [PHONE, DESK])
@pytest.mark.parametrize("make", [examples.walk, examples.longest, examples.hard])
def test_the_lines_of_the_orders_meet_the_steps_that_they_join(
    visit: Any, make: Make, width: int, media: str
) -> None:
    seen = visit(make, width)
    seen.page.emulate_media(media=media)
    middle = "(one => one.getBoundingClientRect().top + one.getBoundingClientRect().height / 2)"
    left = seen.find(f"[...document.querySelectorAll('.order .at')].map({middle}).sort((a, b) => a - b)")
    right = seen.find(f"[...document.querySelectorAll('.order .needed')].map({middle})")
    dots = seen.find(
        f"""[...document.querySelectorAll('.dot:not(.dot-hole)')].map(one => [
            one.getAttribute('d').startsWith('M8 '), {middle}(one)]).sort((a, b) => a[1] - b[1])"""
    )
    assert [y for is_left, y in dots if is_left] == pytest.approx(left, abs=1)
    assert [y for is_left, y in dots if not is_left] == pytest.approx(right, abs=1)


@pytest.mark.parametrize("width", [PHONE, DESK])
def test_the_lines_of_the_time_line_meet_their_labels(visit: Any, width: int) -> None:
    seen = visit(examples.longest, width)
    labels = seen.find(
        """[...document.querySelectorAll('.timeline li')].filter(one => one.offsetParent).map(one => {
            const box = one.getBoundingClientRect(); return [box.left, box.top + box.height / 2]})"""
    )
    ends = seen.find(
        """[...document.querySelectorAll('.lead')].filter(one => one.getClientRects().length).map(one => {
            const end = one.getPointAtLength(one.getTotalLength()).matrixTransform(one.getScreenCTM());
            return [end.x, end.y]})"""
    )
    assert len(labels) == len(ends) > 30
    for (left, middle), (x, y) in zip(labels, ends, strict=True):
        assert y == pytest.approx(middle, abs=1)
        assert 0 <= left - x <= 4


def test_text_is_no_smaller_than_12_pixels_on_a_phone(visit: Any) -> None:
    # Common practice, no source. The clock beside the time line is drawn, and may be smaller.
    sizes = visit(examples.longest, PHONE).find(
        """[...document.querySelectorAll('main *:not(svg *)')].filter(one => one.innerText?.trim())
           .map(one => parseFloat(getComputedStyle(one).fontSize))"""
    )
    assert min(sizes) >= 12


def test_a_browser_reads_the_captions_as_they_were_meant(browser: Browser) -> None:
    events = examples.walk() + examples.hard()[1:]
    context = browser.new_context()
    tab = context.new_page()
    tab.set_content("<video></video>")
    cues = tab.evaluate(
        """async text => {
            const track = document.createElement('track');
            track.src = URL.createObjectURL(new Blob([text], {type: 'text/vtt'}));
            document.querySelector('video').append(track);
            track.track.mode = 'hidden';
            await new Promise((done, failed) => { track.onload = done; track.onerror = failed; });
            return [...track.track.cues].map(cue => {
                const part = document.createElement('div');
                part.append(cue.getCueAsHTML());
                return [cue.startTime, cue.endTime, part.firstChild.title, part.textContent];
            });
        }""",
        captions(events),
    )
    context.close()
    for who, kind in (("Student", Heard), ("Coach", Cued)):
        said = " ".join(harmless(event.text) for event in events if isinstance(event, kind))
        assert sorted(" ".join(text for *_, by, text in cues if by == who).split()) == sorted(said.split())
    assert all(end > start for start, end, *_ in cues)

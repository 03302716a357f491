"""The page of progress in a real browser, Chromium: on a phone, on a desk, in the dark and on paper."""

from __future__ import annotations

import io
import shutil
import unicodedata
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright
from pypdf import PdfReader

from tests.showing import practised
from voicecoach.coaching.wording import CAUTION
from voicecoach.records.progress import progress
from voicecoach.records.readiness import readiness
from voicecoach.showing.progress_html import page

CHROMIUM = next(
    filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome", "chrome"))), None
)
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium is installed: apt-get install chromium")

PHONE, DESK = 360, 1200
"""Widths in pixels: that of a small phone, and of a window on a desk."""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        # Chromium refuses its sandbox to root, as whom tests may run in a container.
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The pages as files."""
    folder = tmp_path_factory.mktemp("pages")
    results = practised.results()
    pages = {
        "all": page(progress(results), "s07", readiness(results, practised.pool())),
        "hard": page(progress(practised.hard()), "s07"),
    }
    for name, text in pages.items():
        (folder / f"{name}.html").write_text(text, encoding="utf-8")
    return {name: folder / f"{name}.html" for name in pages}


def visit(browser: Browser, file: Path, width: int, scheme: str) -> tuple[Page, list[str]]:
    """A page opened from its file, and what it says and asks for on the way, but for itself."""
    context = browser.new_context(
        viewport={"width": width, "height": 800},
        color_scheme="dark" if scheme == "dark" else "light",
        offline=True,
    )
    opened, noticed = context.new_page(), []
    opened.on("console", lambda message: noticed.append(message.text))
    opened.on("pageerror", lambda error: noticed.append(str(error)))
    opened.on("dialog", lambda dialog: noticed.append(dialog.message))
    opened.on("request", lambda request: noticed.append(request.url))
    opened.goto(file.as_uri())
    noticed.remove(file.as_uri())
    return opened, noticed


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [PHONE, DESK])
@pytest.mark.parametrize("name", ["all", "hard"])
def test_it_fits_and_nothing_is_asked_for(
    browser: Browser, files: dict[str, Path], name: str, width: int, scheme: str
) -> None:
    opened, noticed = visit(browser, files[name], width, scheme)
    assert noticed == []
    assert opened.evaluate("document.documentElement.scrollWidth") <= width
    opened.context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [PHONE, DESK])
def test_plots_have_the_letters_and_the_contrast_that_reading_needs(
    browser: Browser, files: dict[str, Path], width: int, scheme: str
) -> None:
    """Letters of 9 pixels at least, and contrast 4.5 to 1 of text (WCAG 2.2, 1.4.3) and 3 to 1 of marks
    (1.4.11)."""
    opened, _ = visit(browser, files["all"], width, scheme)
    sizes = opened.evaluate(
        """[...document.querySelectorAll('svg.plot text')].map(text => { const svg = text.ownerSVGElement;
        return parseFloat(getComputedStyle(text).fontSize) * svg.getBoundingClientRect().width /
        svg.viewBox.baseVal.width; })"""
    )
    assert min(sizes) >= 9
    texts = opened.evaluate(_COLORS, "svg.plot text")
    marks = opened.evaluate(_COLORS, "svg.plot use")
    back = _luminance(opened.evaluate("getComputedStyle(document.body).backgroundColor"))
    assert texts
    assert marks
    assert all(_contrast(_luminance(color), back) >= 4.5 for color in texts)
    assert all(_contrast(_luminance(color), back) >= 3 for color in marks)
    opened.context.close()


_COLORS = """what => [...new Set([...document.querySelectorAll(what)].flatMap(one => {
    const style = getComputedStyle(one);
    const filled = one.tagName == 'text' ? style.fill : style.stroke;
    return filled == 'none' ? [] : [filled];
}))]"""


def _luminance(color: str) -> float:
    """The relative luminance of WCAG 2.2 of a color such as rgb(1, 2, 3)."""
    parts = [int(part) / 255 for part in color[color.index("(") + 1 : -1].split(",")[:3]]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _contrast(one: float, other: float) -> float:
    high, low = max(one, other), min(one, other)
    return (high + 0.05) / (low + 0.05)


def test_on_paper_each_procedure_has_its_sheet_and_the_caution_is_there(
    browser: Browser, files: dict[str, Path]
) -> None:
    opened, _ = visit(browser, files["all"], DESK, "dark")
    read = PdfReader(io.BytesIO(opened.pdf(format="Letter"))).pages
    sheets = [unicodedata.normalize("NFKC", sheet.extract_text()) for sheet in read]
    for title in ("Help a resident walk with a gait belt", "Wash hands at a sink"):
        assert sum(title in sheet and "Good steps in each attempt" in sheet for sheet in sheets) == 1
    assert CAUTION in " ".join(" ".join(sheets).split())
    assert len(sheets) <= 6
    opened.context.close()

"""Progress and readiness as they are shown: in the terminal, and as a page that nothing can run in or
load."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest
from rich.console import Console, RenderableType

from tests.records.made_results import attempt, step
from tests.showing import practised
from tests.showing.pages_read import Element, Reader
from voicecoach.coaching.wording import CAUTION
from voicecoach.records.intervals import share
from voicecoach.records.progress import progress
from voicecoach.records.readiness import Chance, readiness
from voicecoach.showing import progress_words as words
from voicecoach.showing.marks import harmless
from voicecoach.showing.progress import detail, overview
from voicecoach.showing.progress_html import page
from voicecoach.showing.progress_plots import Row, ranges, state_of
from voicecoach.showing.readiness import page as readiness_page

FOUND = progress(practised.results())
READY = readiness(practised.results(), practised.pool())
HARD = progress(practised.hard())


def printed(what: RenderableType, width: int = 80) -> list[str]:
    out = io.StringIO()
    Console(file=out, width=width, highlight=False).print(what)
    return [line.rstrip() for line in out.getvalue().split("\n")]


def told(lines: list[str]) -> str:
    return " ".join(" ".join(lines).split())


# The terminal


@pytest.mark.parametrize("width", [80, 120])
@pytest.mark.parametrize(
    "show",
    [
        lambda: overview(FOUND),
        lambda: detail(FOUND[0]),
        lambda: readiness_page(READY),
        lambda: overview(HARD),
    ],
)
def test_nothing_is_wider_than_the_terminal_and_the_caution_stands_on_it(
    show: Callable[[], RenderableType], width: int
) -> None:
    lines = printed(show(), width)
    assert max(map(len, lines)) <= width
    assert CAUTION in told(lines)


def test_the_overview_has_each_procedure_with_shares_and_ranges() -> None:
    # Half of the attempts passed: Wilson's interval of 2 of 4 is 15 to 85 %.
    good, bad = step(critical=True), step(critical=True, done=False)
    results = [attempt(good, hour=hour) for hour in (1, 2)]
    results += [attempt(bad, hour=hour, passed=False) for hour in (3, 4)]
    lines = [line.split() for line in printed(overview(progress(results)))]
    (row,) = (line for line in lines if line[:4] == ["Make", "an", "empty", "bed"])
    assert row[4:8] == ["2", "of", "4", "(15–85%)"]
    assert row[-2:] == ["↓", "worse"]


def test_the_detail_has_each_step_and_the_times_of_timed_ones() -> None:
    wash = next(one for one in FOUND if one.procedure == "wash-hands")
    text = told(printed(detail(wash)))
    assert text.startswith("Wash hands at a sink 19 attempts, ")
    assert "2 more broken off or not understood." in text
    for number, one in enumerate(wash.steps, 1):
        assert f"{number} {one.do.split()[0]}" in text
    assert "usually 22 s, 20 s needed." in text
    assert "(critical)" in text


def test_where_nothing_counts_that_is_said() -> None:
    (none,) = progress([attempt(complete=False)])
    assert "0 attempts, 0 of them alone; 1 more broken off or not understood." in told(printed(detail(none)))


def test_readiness_says_what_the_chance_is_and_what_would_raise_it() -> None:
    lines = printed(readiness_page(READY))
    text = told(lines)
    assert (
        "draws 5 of 16 procedures at random, hand washing always among them, of which all must be passed"
        in text
    )
    assert "42 CFR 483.154(b)(2)" in text
    assert "13 of 16 procedures never done alone yet: little is known of these." in text
    ranked = lines[lines.index("What would raise it most") :]
    assert sum(bool(re.match(r" {2}\d+ ", line)) for line in ranked) == 10
    assert told([READY.tried[0].do]) in text
    for one in READY.procedures:
        assert harmless(one.title).split()[0] in text


def test_too_little_practice_is_said_instead_of_a_chance() -> None:
    nothing = readiness([], practised.pool())
    text = told(printed(readiness_page(nothing)))
    assert "Chance of passing it today: too little practised to say (0–" in text
    assert "Nothing was done alone yet." in text
    assert "What would raise it most" not in text
    assert text.count(" never too little to say ") == 16
    sure = replace(nothing, chance=Chance(0.62, 0.4, 0.8), must_pass=4)
    assert words.verdict(sure) == "Chance of passing it today: 62% (40–80% would fit what was done)."
    assert "at least 4 must be passed" in words.test(sure)


def test_nobody_is_called_ready_or_competent() -> None:
    shown = [overview(FOUND), detail(FOUND[0]), readiness_page(READY)]
    text = " ".join(told(printed(one)) for one in shown) + PAGES["all"]()
    assert not re.search(r"\b(is|are) ready\b|competen|certif|qualif|proficien", text.lower())


# Words


@pytest.mark.parametrize(
    ("value", "shown"),
    [(0.0, "0%"), (0.001, "under 1%"), (0.006, "1%"), (0.5, "50%"), (0.996, "over 99%"), (1.0, "100%")],
)
def test_what_is_not_sure_is_never_called_sure(value: float, shown: str) -> None:
    assert words.percent(value) == shown


@pytest.mark.parametrize(
    ("gain", "shown"),
    [(0.0001, "hardly anything"), (0.004, "0.4 points"), (0.0096, "1 point"), (0.123, "12 points")],
)
def test_gains_are_in_points(gain: float, shown: str) -> None:
    assert words.points(gain) == shown


def test_a_step_that_brings_next_to_nothing_is_told_so_in_good_english() -> None:
    (step, *_) = READY.tried
    assert words.lowers(replace(step, gain=0.0001)).endswith("Sure of it, the chance would hardly rise.")
    assert words.lowers(replace(step, gain=0.02)).endswith("Sure of it, the chance would rise by 2 points.")


def test_a_test_of_the_whole_pool_draws_nothing_at_random() -> None:
    whole = readiness([], practised.pool(), items=99)
    assert words.test(whole) == "A skills test of all 16 procedures, of which all must be passed."


def test_shares_have_their_ranges() -> None:
    assert words.counted(share(5, 6)) == "5 of 6 (44–97%)"
    assert words.share(share(0, 2)) == "0% (0–66%)"
    assert words.share(share(0, 0)) == words.times(share(0, 0)) == words.counted(share(0, 0)) == "–"


def test_a_step_that_holds_back_has_a_reason() -> None:
    plain = replace(READY.tried[0], of=5, missed=2, wrong=1, prompted=0, gain=0.034)
    assert words.lowers(plain) == (
        "Well in 2 of 5 attempts alone: missed twice, not right once. "
        "Sure of it, the chance would rise by 3 points."
    )
    good = replace(plain, of=1, missed=0, wrong=0)
    assert words.lowers(good).startswith("Well in 1 attempt alone, which is too few to be sure.")
    assert words.lowers(replace(good, of=0)).startswith("Not needed yet in any attempt alone.")


@pytest.mark.parametrize(
    ("more", "state"),
    [
        ({}, "good"),
        ({"done": False}, "missed"),
        ({"right": False, "in_order": False}, "wrong"),
        ({"in_order": False, "unprompted": False}, "late"),
        ({"unprompted": False}, "cue"),
    ],
)
def test_a_step_is_marked_by_the_gravest_that_is_to_be_said(more: dict[str, bool], state: str) -> None:
    assert state_of(replace(step(), **more)) == state  # type: ignore[arg-type]


# The page


def read(text: str) -> Element:
    return Reader(text).root


PAGES = {
    "all": cache(lambda: page(FOUND, "s07", READY)),
    "one": cache(lambda: page(FOUND[:1], "")),
    "none": cache(lambda: page([], "s09", readiness([], practised.pool()))),
    "hard": cache(lambda: page(HARD, "<b>s</b>")),
    "uncounted": cache(lambda: page(progress([attempt(complete=False)]), "s07")),
}
EVERY = pytest.mark.parametrize("make", PAGES.values(), ids=PAGES)


@EVERY
def test_nothing_can_run_or_load(make: Callable[[], str]) -> None:
    text = make()
    root = read(text)
    assert not {one.tag for one in root.all()} & {
        "script",
        "img",
        "iframe",
        "object",
        "embed",
        "form",
        "base",
    }
    ids = [one.attributes["id"] for one in root.all() if "id" in one.attributes]
    assert len(ids) == len(set(ids))
    for one in root.all():
        for name, value in one.attributes.items():
            assert not name.startswith("on")
            assert name not in ("src", "srcdoc", "action", "xlink:href")
            assert name != "href" or value == "data:," or (value or "#")[1:] in ids
    (policy,) = (one for one in root.find("meta") if one.attributes.get("http-equiv"))
    assert policy.attributes["content"] == "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
    assert not re.search(r"url\(|@import|https?:|//", text)


@EVERY
def test_the_caution_stands_on_every_page(make: Callable[[], str]) -> None:
    assert CAUTION in read(make()).find("footer")[0].text


@EVERY
def test_plots_have_names_for_a_screen_reader_and_only_colors_of_the_page(make: Callable[[], str]) -> None:
    root = read(make())
    for plot in root.find("svg"):
        assert plot.attributes["role"] == "img"
        ids = {one.attributes.get("id") for one in plot.all()}
        assert all(id in ids for id in (plot.attributes["aria-labelledby"] or "").split())
        assert all(one.text for tag in ("title", "desc") for one in plot.find(tag))
        styles = " ".join(one.attributes.get("style") or "" for one in plot.all())
        assert "#" not in styles
        assert "font-family" not in styles


def test_all_figures_are_on_the_page() -> None:
    root = read(PAGES["all"]())
    assert "Student s07" in root.find("header")[0].text
    assert "November 23, 2026 to December 13, 2026" in root.find("header")[0].text
    text = root.find("main")[0].text
    for sentence in (words.verdict(READY), words.test(READY), *words.OF_PROGRESS, *words.OF_READINESS):
        assert sentence in text
    for what, why in words.lowering(READY):
        assert f"{what}. {why}" in text
    assert "Wilson 1927" in text
    ready, listed, *tables = root.find("table")
    assert len(ready.find("tr")) == 17
    assert [row.find("th")[0].text for row in listed.find("tr")[1:]] == [one.title for one in FOUND]
    for table, one in zip(tables, FOUND, strict=True):
        rows = table.find("tr")[1:]
        for row, its in zip(rows, one.steps, strict=True):
            assert harmless(its.do) in row.find("th")[0].text
            assert ("critical" in row.find("th")[0].text) == its.critical
            cells = [cell.text for cell in row.find("td")]
            assert cells[0].startswith(words.times(its.done))
            assert cells[4] == words.share(its.good).replace("(", "").replace(")", "")


def test_text_that_is_hard_to_show_is_shown_and_does_nothing() -> None:
    root = read(PAGES["hard"]())
    text = root.find("main")[0].text
    assert "Student <b>s</b>" in text
    for hard in practised.HARD:
        assert harmless(hard) in text
    assert not root.find("bdi")[0].find("b")


def test_the_same_attempts_make_the_same_page() -> None:
    assert PAGES["all"]() == page(progress(practised.results()), "s07", READY)


def test_where_nothing_counts_the_page_says_so() -> None:
    assert "Nothing is counted yet." in read(PAGES["uncounted"]()).text
    assert not read(PAGES["uncounted"]()).find("svg")


def test_a_plot_of_ranges_tells_them_in_words() -> None:
    drawn = Reader(
        str(ranges("x", "Shares", [Row("Tea", 0.5, 0.25, 0.75), Row("Soup", None, 0.0, 1.0)]))
    ).root
    assert drawn.find("desc")[0].text == "Tea: 50%, 25% to 75%; Soup: nothing known, 0% to 100%"

"""The page of a debrief: what stands in it, that it is sound HTML, and that nothing in it can run or load."""

from __future__ import annotations

import re
from dataclasses import replace
from importlib.resources import files
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.coaching.test_debrief import ids, journal
from tests.narrated import procedure
from tests.showing import example_attempts as examples
from tests.showing.example_attempts import ALL
from tests.showing.pages_read import Element, Make, Reader, read, section
from voicecoach.coaching.debrief import debrief
from voicecoach.coaching.work_on import work_on
from voicecoach.events import Begun, Ended, Heard, Word
from voicecoach.procedure.model import Procedure
from voicecoach.showing.debrief_html import page
from voicecoach.showing.marks import DONE, MISSED, harmless

WALK = procedure("gait-belt-walk")


# What stands in it


def test_whose_attempt_at_what_when_and_with_what_verdict_comes_first() -> None:
    header = read(examples.walk).find("header")[0].text
    assert header.startswith(f"{WALK.title} Rehearse November 25, 2026, 09:15")
    assert "Student s07" in header
    assert "Case 3: Mrs. Beckwith, room 132, left side weak" in header
    assert f"{MISSED} Not passed" in header
    assert debrief(examples.walk()).why in header


@pytest.mark.parametrize("make", ALL)
def test_all_of_the_debrief_is_there(make: Make) -> None:
    told, root = debrief(make()), read(make)
    sayings = [told.caution, told.why, *told.mishaps, *told.counting, *told.wrong_names]
    sayings += [text for reading in told.readings for text in (reading.text, reading.why)]
    sayings += [sentence for line in told.lines for sentence in line.wrong]
    text = root.find("main")[0].text
    for saying in sayings:
        assert harmless(saying) in text
    rows = section(root, "steps").find("tr")[1:]
    assert len(rows) == len(told.lines)
    for row, line in zip(rows, told.lines, strict=True):
        assert harmless(line.do) in row.text
        assert ("missing" in row.text) == (line.at is None and line.needed)
        assert ("after a reminder" in row.text) == line.prompted
        assert ("critical" in row.text) == line.critical


@pytest.mark.parametrize("make", ALL)
def test_what_to_work_on_is_there_word_for_word(make: Make) -> None:
    begun = make()[0]
    assert isinstance(begun, Begun)
    points = work_on(debrief(make()), Procedure.model_validate(begun.procedure))
    items = section(read(make), "work-on").find("li")
    assert [item.text for item in items] == [harmless(point) for point in points]


def test_where_there_is_nothing_to_work_on_it_says_so() -> None:
    root = Reader(page(journal(WALK, ids(WALK)))).root
    assert "Nothing: every step was done and right" in section(root, "work-on").text


def test_each_utterance_is_there_with_what_it_was_taken_for() -> None:
    rows = section(read(examples.wash), "heard").find("tr")[1:]
    cells = [[cell.text for cell in row.find("td")] for row in rows]
    wash = procedure("wash-hands")
    assert [words for _, words, _ in cells] == examples.words(examples.wash())
    assert cells[0] == ["00:01", wash.steps[0].say[0], wash.steps[0].do]
    counted = next(row for row in cells if row[1] == "one two three four six")
    assert counted[2] == "–"
    assert any(f"mishap: {wash.avoided('touch-sink').do}" in taken for _, _, taken in cells)


def test_where_too_little_was_understood_nothing_is_called_missing() -> None:
    mumbled = [Heard(9.0, n, 8.0, 9.0, (Word("mumble", 8.0, 9.0, 0.05),) * 6) for n in range(1, 9)]
    text = Reader(page(journal(WALK, ["greet"], *mumbled))).root.find("main")[0].text
    assert "Not judged" in text
    assert "not heard" in text
    assert "Not passed" not in text
    assert "missing" not in text
    assert "To work on" not in text


def test_an_attempt_without_student_case_or_words_has_no_place_for_them() -> None:
    text = Reader(page(journal(WALK, []))).root.find("main")[0].text
    for absent in ("Student", "Case", "Words heard", "Readings", "Mishaps", "Names", "Counting"):
        assert absent not in text


def test_an_attempt_that_was_broken_off_says_so() -> None:
    broken = journal(WALK, ["greet"], why="interrupted")
    assert "broken off" in page(broken)
    assert "broken off" not in page(journal(WALK, ["greet"]))


def test_a_journal_that_ends_anywhere_has_a_page() -> None:
    whole = examples.walk()
    for length in range(1, len(whole)):
        (main,) = Reader(page(whole[:length])).root.find("main")
        assert WALK.title in main.text


def test_a_time_that_is_none_is_shown_as_it_is() -> None:
    first, *others = journal(WALK, [])
    assert isinstance(first, Begun)
    assert "yesterday" in page([replace(first, wall="yesterday"), *others])


def test_what_is_no_attempt_is_refused() -> None:
    with pytest.raises(ValueError, match="does not begin"):
        page([Ended(1.0, "finished")])


# Nothing runs or loads


@pytest.mark.parametrize("make", ALL)
def test_nothing_can_run_or_load(make: Make) -> None:
    text, root = page(make()), read(make)
    tags = {one.tag for one in root.all()}
    assert not tags & {"script", "img", "iframe", "object", "embed", "form", "a", "base", "video", "audio"}
    for one in root.all():
        for name, value in one.attributes.items():
            assert not name.startswith("on")
            assert name not in ("src", "srcdoc", "action", "xlink:href")
            assert name != "href" or value == "data:,"
    (policy,) = (one for one in root.find("meta") if one.attributes.get("http-equiv"))
    assert policy.attributes == {
        "http-equiv": "Content-Security-Policy",
        "content": "default-src 'none'; style-src 'unsafe-inline'; img-src data:",
    }
    (style,) = root.find("style")
    assert not re.search(r"url\(|@import|https?:|//", style.text)
    assert "http://" not in text.replace("http-equiv", "")


@pytest.mark.parametrize("text", examples.HARD)
def test_text_that_is_hard_to_show_is_shown_and_does_nothing(text: str) -> None:
    root = read(examples.hard)
    for part in ("header", "main"):
        assert harmless(text) in root.find(part)[0].text
    assert harmless(text) in root.find("title")[0].text
    for id in ("orders", "time", "steps", "heard", "work-on", "names"):
        if id in ("orders", "time", "steps", "heard"):
            assert harmless(text) in section(root, id).text
    assert not any(letter in page(examples.hard()) for letter in "\u202e\x1b\u2028")


@settings(max_examples=30, deadline=None)
@given(st.text(min_size=1, max_size=80).filter(lambda text: text.strip()))
def test_no_text_whatever_changes_what_the_page_is_made_of(text: str) -> None:
    def tags(said: str) -> list[str]:
        plain = WALK.plain()
        of = Procedure.model_validate(plain | {"title": said, "scene": said})
        attempt = examples.Attempt(of, student=said)
        attempt.say("x", "greet")
        attempt.cue("missed", said, "shoes")
        return [one.tag for one in Reader(page(attempt.end())).root.all()]

    assert tags(text) == tags("plain")


# Sound HTML, for those who hear it


@pytest.mark.parametrize("make", ALL)
def test_it_has_what_a_screen_reader_goes_by(make: Make) -> None:
    # W3C, WCAG 2.2: language 3.1.1, title 2.4.2, names of pictures 1.1.1, structure 1.3.1, zoom 1.4.4.
    root = read(make)
    (html,) = root.find("html")
    assert html.attributes["lang"] == "en"
    assert root.find("title")[0].text
    (viewport,) = (one for one in root.find("meta") if one.attributes.get("name") == "viewport")
    assert viewport.attributes["content"] == "width=device-width, initial-scale=1"
    ids = [one.attributes["id"] for one in root.all() if "id" in one.attributes]
    assert len(ids) == len(set(ids))
    for one in root.all():
        for id in (one.attributes.get("aria-labelledby") or "").split():
            assert id in ids
    drawings = [svg for svg in root.find("svg") if svg.attributes.get("aria-hidden") != "true"]
    assert drawings
    for svg in drawings:
        assert svg.attributes["role"] == "img"
        assert [part.tag for part in svg.inside[:2] if isinstance(part, Element)] == ["title", "desc"]
        assert svg.find("title")[0].text
        assert svg.find("desc")[0].text
    for table in root.find("table"):
        assert all(head.attributes["scope"] in ("col", "row") for head in table.find("th"))
        widths = {len([one for one in row.inside if isinstance(one, Element)]) for row in table.find("tr")}
        assert len(widths) == 1


@pytest.mark.parametrize("make", ALL)
def test_headings_are_in_order_and_there_is_one_of_the_first_rank(make: Make) -> None:
    ranks = [int(one.tag[1]) for one in read(make).all() if re.fullmatch("h[1-6]", one.tag)]
    assert ranks[0] == 1
    assert ranks.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(ranks))


@pytest.mark.parametrize("make", ALL)
def test_every_verdict_stands_in_words_or_marks_too_and_not_in_color_alone(make: Make) -> None:
    # W3C, WCAG 2.2, 1.4.1.
    for row in section(read(make), "steps").find("tr")[1:]:
        mark = next(one.text for one in row.find("span") if one.attributes.get("class") == "mark")
        assert mark == {"good": DONE, "bad": MISSED, "open": "·"}[str(row.attributes["class"])]
    for label in section(read(make), "time").find("li"):
        assert label.find("span")[0].text in {
            "step": DONE, "wrong": MISSED, "coach": "◆", "again": "↺"
        }[str(label.attributes["class"])]  # fmt: skip


# Colors


def _colors(scheme: str) -> dict[str, str]:
    """The variables of the style in light or dark."""
    css = (files("voicecoach.showing") / "pages" / "debrief.css").read_text(encoding="utf-8")
    light, dark = re.findall(r":root \{([^}]*--page: #[^}]*--ink[^}]*)\}", css)
    found = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", light))
    return found | (dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", dark)) if scheme == "dark" else {})


def _luminance(color: str) -> float:
    """W3C, WCAG 2.2: relative luminance."""
    parts = [int(color[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """W3C, WCAG 2.2: contrast ratio."""
    darker, lighter = sorted(map(_luminance, (one, other)))
    return (lighter + 0.05) / (darker + 0.05)


def test_contrast_is_computed_as_the_standard_has_it() -> None:
    # 21 for black on white, by definition; #767676 is the lightest gray that has 4.5 on white.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") >= 4.5 > contrast("#777777", "#ffffff")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(
    ("front", "back", "least"),
    [
        # W3C, WCAG 2.2, 1.4.3 (AA): 4.5 for text.
        *((text, "page", 4.5) for text in ("ink", "quiet", "good", "bad", "open", "coach")),
        *(("ink", f"{style}-back", 4.5) for style in ("good", "bad", "open")),
        *((style, f"{style}-back", 4.5) for style in ("good", "bad", "open")),
        # 1.4.11 (AA): 3 for what is drawn.
        *((drawn, "page", 3.0) for drawn in ("line", "speech")),
    ],
)
def test_colors_have_the_contrast_of_wcag_aa(scheme: str, front: str, back: str, least: float) -> None:
    colors = _colors(scheme)
    assert contrast(colors[front], colors[back]) >= least
    if back == "page" and scheme == "light":
        assert contrast(colors[front], "#ffffff") >= least, "on paper"


def test_a_procedure_of_as_many_steps_as_there_may_be_has_a_page() -> None:
    root = Reader(page(examples.many(500))).root
    assert len(section(root, "steps").find("tr")) == 501

"""The record that an instructor signs: it lists what was practised, and finds nothing."""

from __future__ import annotations

from datetime import date, timedelta
from html.parser import HTMLParser

from hypothesis import given
from hypothesis import strategies as st

from tests.records.made_results import MONDAY, RESULTS, attempt, failed
from voicecoach.coaching.wording import CAUTION
from voicecoach.export_commands import page
from voicecoach.records.practice_record import RULE, Session, Skill, sheets
from voicecoach.records.results import Result

TODAY = date(2026, 12, 1)


class Read(HTMLParser):
    """The text of a page, and its tables as rows of cells."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.text = ""
        self.rows: list[list[str]] = []
        self._in_cell = False
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        if tag == "tr":
            self.rows.append([])
        elif tag in ("td", "th"):
            self.rows[-1].append("")
            self._in_cell = True

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th"):
            self._in_cell = False

    def handle_data(self, data: str) -> None:
        self.text += data
        if self._in_cell:
            self.rows[-1][-1] += data


def read(*results: Result) -> Read:
    return Read(page(list(results), TODAY))


def test_every_attempt_is_a_line_with_its_day_skill_mode_minutes_and_result() -> None:
    results = [
        failed(),
        attempt(mode="practise", on=MONDAY + timedelta(days=1)),
        attempt(procedure="shave", title="Shave a resident", complete=False, passed=False),
        attempt(mode="selftest", judged=False, passed=False),
    ]
    (sheet,) = sheets(results)
    assert sheet.sessions == (
        Session(MONDAY, "Make an empty bed", "rehearse", "2.5", "not passed"),
        Session(MONDAY + timedelta(days=1), "Make an empty bed", "practise", "2.5", "passed"),
        Session(MONDAY, "Shave a resident", "rehearse", "2.5", "broken off"),
        Session(MONDAY, "Make an empty bed", "selftest", "2.5", "not judged"),
    )
    assert sheet.skills == (
        Skill("Make an empty bed", 3, "7.5", MONDAY + timedelta(days=1)),
        Skill("Shave a resident", 1, "2.5", MONDAY),
    )


@given(st.lists(RESULTS, max_size=6))
def test_each_attempt_is_on_the_sheet_of_its_student_once(results: list[Result]) -> None:
    made = sheets(results)
    assert len(made) == len({result.student for result in results})
    for sheet in made:
        own = [result for result in results if result.student == sheet.student]
        assert [session.skill for session in sheet.sessions] == [result.title for result in own]
        assert sum(skill.times for skill in sheet.skills) == len(own)


def test_sheets_are_in_the_order_of_codes_and_nobody_s_is_the_last() -> None:
    made = sheets([attempt(student=code) for code in ("", "s10", "B2", "a1")])
    assert [sheet.student for sheet in made] == ["a1", "B2", "s10", ""]


def test_the_page_leaves_finding_signature_and_date_empty() -> None:
    made = read(attempt(), attempt(procedure="shave", title="Shave a resident"))
    skills = made.rows[made.rows.index(["Skill", "Practised", "Finding", "Instructor's signature", "Date"]) :]
    assert skills[1:] == [
        ["Make an empty bed", "1 time, 2.5 min, last on November 23, 2026", "", "", ""],
        ["Shave a resident", "1 time, 2.5 min, last on November 23, 2026", "", "", ""],
    ]


def test_the_page_lists_the_attempts_with_results_of_practice_only() -> None:
    made = read(attempt(), failed())
    assert made.rows[:3] == [
        ["Date", "Skill", "Mode", "Minutes", "Result, as practice only"],
        ["November 23, 2026", "Make an empty bed", "rehearse", "2.5", "passed"],
        ["November 23, 2026", "Make an empty bed", "rehearse", "2.5", "not passed"],
    ]


def test_the_page_tells_the_rule_and_the_caution_on_every_sheet() -> None:
    """42 CFR 483.152(a)(4)(i): no service but those trained in and found proficient in by the instructor."""
    made = read(attempt(), attempt(student="s08"))
    assert "42 CFR 483.152(a)(4)(i)" in RULE
    assert "found proficient in it by the instructor" in RULE
    assert made.text.count(RULE) == made.text.count(CAUTION) == 2
    assert made.text.count("Student's name") == 2
    assert "made with voicecoach on December 1, 2026" in made.text


def test_the_page_escapes_what_comes_from_outside() -> None:
    bad = "<script>alert('x')</script> & <img src=x onerror=y>"
    made = read(attempt(title=bad, student="<b>s07</b>", mode="<i>rehearse</i>"))
    assert not {"script", "img", "b", "i"} & set(made.tags)
    assert made.rows[1][1:3] == [bad, "<i>rehearse</i>"]
    assert "<b>s07</b>" in made.text


@given(st.lists(RESULTS, min_size=1, max_size=3))
def test_the_page_has_the_same_parts_whatever_stands_in_it(results: list[Result]) -> None:
    count = len(read(*results).rows)
    assert count == 2 * len(sheets(results)) + len(results) + sum(len(one.skills) for one in sheets(results))


def test_the_page_needs_nothing_else() -> None:
    text = page([attempt()], TODAY)
    assert "default-src 'none'" in text
    assert "http:" not in text
    assert "https:" not in text

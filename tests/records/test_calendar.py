"""The calendar against RFC 5545: read as the standard says, and read back by the icalendar library."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar

from tests.records.made_results import CODES, IDS, MODES, MONDAY, TEXTS
from voicecoach.coaching.wording import CAUTION
from voicecoach.records.calendar import calendar
from voicecoach.records.next import Due

NOW = datetime(2026, 11, 23, 9, 15, 30, tzinfo=timezone(timedelta(hours=-5)))
DUE = Due(
    "make-bed", "Make an empty bed", "Never practised yet.", "practise", since=None, known=None, failed=False
)

DUES = st.builds(
    Due,
    procedure=IDS,
    title=TEXTS,
    why=TEXTS,
    mode=MODES,
    since=st.none() | st.dates(),
    known=st.none() | st.floats(0, 1),
    failed=st.booleans(),
)
AGENDAS = st.lists(
    st.tuples(st.dates(min_value=date(2000, 1, 1), max_value=date(2099, 12, 31)), DUES),
    min_size=1,
    max_size=5,
    unique_by=lambda entry: entry[1].procedure,
)

# RFC 5545, 3.1: a content line; 3.3.11: text, where backslash, semicolon, comma and line ends are escaped.
LINE = re.compile(r'(?P<name>[A-Z-]+)(?P<parameters>(;[A-Z-]+=[^";:,]+)*):(?P<value>.*)')
TEXT = re.compile(r"([^\x00-\x08\x0a-\x1f\x7f\\;,]|\\[\\;,nN])*")


def unfolded(text: str) -> list[str]:
    """The content lines; RFC 5545, 3.1: they end with CRLF and are folded so that none has over 75 octets."""
    lines = text.split("\r\n")
    assert lines.pop() == ""
    assert all(len(line.encode("utf-8")) <= 75 for line in lines)
    return "\r\n".join(lines).replace("\r\n ", "").replace("\r\n\t", "").split("\r\n")


def properties(text: str) -> list[tuple[str, str, str]]:
    """Name, parameters and value of each content line."""
    found = []
    for line in unfolded(text):
        match = LINE.fullmatch(line)
        assert match, line
        found.append((match["name"], match["parameters"], match["value"]))
    return found


def plain(text: str) -> str:
    """A text value as it was, by RFC 5545, 3.3.11."""
    assert TEXT.fullmatch(text), text
    return re.sub(r"\\(.)", lambda match: "\n" if match[1] in "nN" else match[1], text)


def shown(text: str) -> str:
    """A text without letters that must not be in a calendar."""
    return "".join(letter if letter.isprintable() else " " for letter in text)


@given(AGENDAS, CODES)
def test_a_calendar_has_what_rfc_5545_requires(agenda: list[tuple[date, Due]], student: str) -> None:
    lines = properties(calendar(agenda, student, NOW))
    # 3.4: the object begins and ends so; 3.6: PRODID and VERSION are required, each once; 3.7.4: it is 2.0.
    assert lines[0] == ("BEGIN", "", "VCALENDAR")
    assert lines[-1] == ("END", "", "VCALENDAR")
    body = lines[1:-1]
    assert [name for name, *_ in body].count("PRODID") == 1
    assert [value for name, _, value in body if name == "VERSION"] == ["2.0"]
    # 3.7.2: without METHOD it is a plain calendar, in which 3.6.1 requires DTSTART of an event.
    assert "METHOD" not in [name for name, *_ in body]
    first = body.index(("BEGIN", "", "VEVENT"))
    assert {name for name, *_ in body[:first]} == {"PRODID", "VERSION"}
    rest = body[first:]
    size = len(rest) // len(agenda)
    events = [rest[place : place + size] for place in range(0, len(rest), size)]
    assert len(events) == len(agenda)
    for event, (day, due) in zip(events, agenda, strict=True):
        assert (event[0], event[-1]) == (("BEGIN", "", "VEVENT"), ("END", "", "VEVENT"))
        told = {name: (parameters, value) for name, parameters, value in event[1:-1]}
        # 3.6.1: UID and DTSTAMP are required, and none of these may be there more than once.
        assert len(told) == len(event) - 2
        assert set(told) == {"UID", "DTSTAMP", "DTSTART", "SUMMARY", "DESCRIPTION", "TRANSP"}
        # 3.8.7.2: DTSTAMP is in UTC; 3.3.4 and 3.2.20: a date alone is told by its parameter.
        assert told["DTSTAMP"] == ("", "20261123T141530Z")
        assert told["DTSTART"] == (";VALUE=DATE", f"{day:%Y%m%d}")
        assert plain(told["SUMMARY"][1]) == shown(f"{due.mode.capitalize()}: {due.title}")
        assert plain(told["DESCRIPTION"][1]) == f"{shown(due.why)}\n\n{CAUTION}"
        assert told["TRANSP"] == ("", "TRANSPARENT")


@given(AGENDAS, CODES)
def test_the_library_reads_back_what_was_written(agenda: list[tuple[date, Due]], student: str) -> None:
    read = Calendar.from_ical(calendar(agenda, student, NOW))
    assert not read.errors
    assert len(read.events) == len(agenda)
    for event, (day, due) in zip(read.events, agenda, strict=True):
        assert not event.errors
        assert event.start == day
        assert event.DTSTAMP == NOW
        assert event.DTSTAMP.utcoffset() == timedelta(0)
        assert str(event["SUMMARY"]) == shown(f"{due.mode.capitalize()}: {due.title}")
        assert str(event["DESCRIPTION"]) == f"{shown(due.why)}\n\n{CAUTION}"


@given(AGENDAS, CODES)
def test_the_same_is_written_each_time(agenda: list[tuple[date, Due]], student: str) -> None:
    assert calendar(agenda, student, NOW) == calendar(agenda, student, NOW)


def uid(due: Due, student: str, day: date = MONDAY, now: datetime = NOW) -> str:
    (event,) = Calendar.from_ical(calendar([(day, due)], student, now)).events
    return str(event.uid)


def test_an_event_keeps_its_uid_when_it_moves() -> None:
    later = replace(DUE, why="Last passed yesterday.", mode="rehearse", title="Make a bed")
    assert uid(DUE, "s07") == uid(later, "s07", MONDAY + timedelta(days=3), NOW + timedelta(days=1))
    assert uid(DUE, "s07") == uid(DUE, "S07")
    assert uid(DUE, "s07") != uid(DUE, "s08")
    assert uid(DUE, "s07") != uid(replace(DUE, procedure="shave"), "s07")


def test_a_student_is_not_named_in_a_calendar() -> None:
    text = calendar([(MONDAY, DUE)], "zebra-17", NOW)
    assert "zebra" not in text.lower()


def test_a_calendar_without_any_day_is_refused() -> None:
    with pytest.raises(ValueError, match="needs an event"):
        calendar([], "s07", NOW)

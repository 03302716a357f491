"""What to practise next as a calendar: iCalendar, RFC 5545, one event of a whole day for each procedure."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from uuid import NAMESPACE_URL, uuid5

from icalendar import Calendar, Event

from voicecoach.coaching.wording import CAUTION
from voicecoach.records.next import Due

_PRODUCT = "-//voicecoach//What to practise next//EN"
# A name under `.example` (RFC 2606) belongs to nobody.
_HOST = "voicecoach.example"
_NAMES = uuid5(NAMESPACE_URL, f"https://{_HOST}/calendar")


def calendar(agenda: Iterable[tuple[date, Due]], student: str, now: datetime) -> str:
    """The days of one student as the text of an iCalendar file; `now`, with its zone, is when it is made.

    An event has the same UID each time it is for the same student and procedure, so that a calendar that
    takes a newer file moves the event. The student's code is not shown. ValueError where there is no day,
    since a calendar without any component is none (RFC 5545, 3.4).
    """
    made = Calendar()
    made.add("prodid", _PRODUCT)
    made.add("version", "2.0")
    for day, due in agenda:
        made.add_component(_event(day, due, student, now))
    if not made.subcomponents:
        raise ValueError("a calendar needs an event")
    return str(made.to_ical(), "utf-8")


def _event(day: date, due: Due, student: str, now: datetime) -> Event:
    event = Event()
    # A code is the same student in small letters and in large ones.
    event.add("uid", f"{uuid5(_NAMES, f'{student.casefold()}/{due.procedure}')}@{_HOST}")
    # The library turns it into UTC, as it must be (RFC 5545, 3.8.7.2).
    event.add("dtstamp", now)
    # A date without an end lasts one day (RFC 5545, 3.6.1).
    event.add("dtstart", day)
    event.add("summary", _line(f"{due.mode.capitalize()}: {due.title}"))
    event.add("description", f"{_line(due.why)}\n\n{CAUTION}")
    # It does not make the day look busy.
    event.add("transp", "TRANSPARENT")
    return event


def _line(text: str) -> str:
    """Text on one line without control characters, which may not stand in a calendar (RFC 5545, 3.3.11)."""
    return "".join(letter if letter.isprintable() else " " for letter in text)

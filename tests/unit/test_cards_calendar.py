"""The calendar file against RFC 5545 and an independent parser (the icalendar package)."""

import datetime as dt

import icalendar
from hypothesis import given, settings
from hypothesis import strategies as st

from sidelight.cards.calendar import CalendarEvent, calendar_text

STAMP = dt.datetime(2027, 3, 6, 12, 0, tzinfo=dt.UTC)
START = dt.datetime(2027, 3, 6, 20, 15, tzinfo=dt.timezone(dt.timedelta(hours=1)))
words = st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=200)


def event(summary: str, description: str = "", key: str = "one") -> CalendarEvent:
    """Return an event of three hours."""
    return CalendarEvent(key, START, START + dt.timedelta(hours=3), summary, description)


@settings(max_examples=60, deadline=None)
@given(words, words)
def test_any_text_reads_back(summary: str, description: str) -> None:
    """Commas, semicolons, backslashes and any script come back as they were, and no line exceeds 75 octets."""
    text = calendar_text([event(summary, description)], STAMP)
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    back = icalendar.Calendar.from_ical(text).walk("VEVENT")[0]
    assert str(back["SUMMARY"]) == summary
    assert str(back.get("DESCRIPTION", "")) == description
    assert back.decoded("DTSTART") == START
    assert back.decoded("DTEND") - back.decoded("DTSTART") == dt.timedelta(hours=3)


def test_the_parts_that_the_standard_demands() -> None:
    """VERSION and PRODID once, UID and DTSTAMP in each event, UTC instants, exclusive end of a day (RFC 5545 3.6)."""
    day = CalendarEvent("day", dt.date(2007, 6, 28), dt.date(2007, 7, 9), "from 28 June to 8 July")
    text = calendar_text([event("a\nb"), day], STAMP)
    assert text.startswith("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:")
    assert text.count("UID:") == text.count("DTSTAMP:20270306T120000Z") == 2
    assert "DTSTART:20270306T191500Z" in text
    assert "DTEND;VALUE=DATE:20070709" in text
    assert "SUMMARY:a\\nb" in text
    assert text.count("\n") == text.count("\r\n")


def test_a_second_export_has_the_same_identifiers() -> None:
    """Identifiers follow the event's key, not the time of writing, and differ between events."""
    first = calendar_text([event("a", key="x"), event("b", key="y")], STAMP)
    later = calendar_text([event("a", key="x"), event("b", key="y")], STAMP + dt.timedelta(days=3))
    uids = [[str(one["UID"]) for one in icalendar.Calendar.from_ical(text).walk("VEVENT")] for text in (first, later)]
    assert uids[0] == uids[1]
    assert len(set(uids[0])) == 2

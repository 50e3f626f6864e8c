"""Planned nights as an iCalendar file (RFC 5545) that can be imported again and again.

Identifiers depend on what an event is, not on when the file was written, so a second import changes nothing.
"""

import datetime as dt
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

LINE_OCTETS = 75


@dataclass(frozen=True)
class CalendarEvent:
    """One entry: `key` tells it from all others for ever; instants are aware; an all-day entry has dates."""

    key: str
    start: dt.datetime | dt.date
    end: dt.datetime | dt.date
    summary: str
    description: str = ""


def calendar_text(events: Sequence[CalendarEvent], stamp: dt.datetime) -> str:
    """Return the file's text, CRLF line ends, lines folded at 75 octets (RFC 5545 section 3.1).

    stamp : aware; when the plan was made (DTSTAMP). An all-day event's end is exclusive (section 3.6.1).
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Sidelight//Sidelight//EN", "CALSCALE:GREGORIAN"]
    for event in events:
        lines += [
            "BEGIN:VEVENT",
            f"UID:{hashlib.sha256(event.key.encode()).hexdigest()[:32]}@sidelight.invalid",
            f"DTSTAMP:{_instant(stamp)}",
            _when("DTSTART", event.start),
            _when("DTEND", event.end),
            f"SUMMARY:{_text(event.summary)}",
            *([f"DESCRIPTION:{_text(event.description)}"] if event.description else []),
            "TRANSP:TRANSPARENT",
            "END:VEVENT",
        ]
    return "".join(_folded(line) for line in [*lines, "END:VCALENDAR"])


def _instant(moment: dt.datetime) -> str:
    """Return an instant in UTC form (section 3.3.5)."""
    return moment.astimezone(dt.UTC).strftime("%Y%m%dT%H%M%SZ")


def _when(name: str, moment: dt.datetime | dt.date) -> str:
    """Return a date or an instant as a property."""
    if isinstance(moment, dt.datetime):
        return f"{name}:{_instant(moment)}"
    return f"{name};VALUE=DATE:{moment:%Y%m%d}"


def _text(value: str) -> str:
    """Escape text (section 3.3.11); control characters other than line ends have no place in it."""
    plain = "".join(sign for sign in value.replace("\r\n", "\n") if sign >= " " or sign == "\n")
    return plain.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")


def _folded(line: str) -> str:
    """Fold a line so that none is longer than 75 octets, never inside a character."""
    pieces: list[str] = []
    piece, size = "", 0
    for sign in line:
        octets = len(sign.encode())
        # the space that opens a folded line counts among its octets
        if size + octets > LINE_OCTETS - (1 if pieces else 0):
            pieces.append(piece)
            piece, size = "", 0
        piece, size = piece + sign, size + octets
    return "\r\n ".join([*pieces, piece]) + "\r\n"

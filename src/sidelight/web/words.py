"""Figures as words for the page; the templates' filters."""

import datetime as dt
from typing import Protocol
from urllib.parse import quote

from sidelight.desk.bench_steps import reading_words
from sidelight.desk.labels import camera_words, clock, event_words, hours, pixels, side_words, turn
from sidelight.desk.night_records import TargetNightReport
from sidelight.desk.night_words import moon_words
from sidelight.ground.angles import format_dec, format_ra


class Placed(Protocol):
    """Anything with a place on the sky."""

    @property
    def ra_deg(self) -> float:
        """Right ascension."""

    @property
    def dec_deg(self) -> float:
        """Declination."""


def day(date: dt.date | None, year: bool = True) -> str:
    """Return a date as "6 March 2027"; a dash for none."""
    if date is None:
        return "–"
    return f"{date.day} {date:%B}" + (f" {date.year}" if year else "")


def short_day(date: dt.date | None) -> str:
    """Return a date as "6 Mar 2027"; a dash for none."""
    return "–" if date is None else f"{date.day} {date:%b} {date.year}"


def degrees(value_deg: float | None) -> str:
    """Return an angle of the circle to a tenth; a dash for none."""
    return "–" if value_deg is None else f"{round(value_deg % 360.0, 1) % 360.0:.1f}°"


def place(ra_deg: float, dec_deg: float) -> str:
    """Return a place on the sky as people read it."""
    return f"{format_ra(ra_deg)}  {format_dec(dec_deg)}"


def iso(instant: dt.datetime | None) -> str:
    """Return an instant in UTC for a `datetime` attribute."""
    if instant is None:
        return ""
    return instant.astimezone(dt.UTC).isoformat(timespec="seconds").replace("+00:00", "Z")


def pointing(target: TargetNightReport) -> str:
    """Return where the telescope points for a target."""
    return place(target.pointing_ra_deg, target.pointing_dec_deg)


def star_place(star: Placed) -> str:
    """Return where a guide star stands."""
    return place(star.ra_deg, star.dec_deg)


FILTERS = {
    "pointing": pointing,
    "star_place": star_place,
    "clock": clock,
    "day": day,
    "short_day": short_day,
    "hours": hours,
    "degrees": degrees,
    "turn": turn,
    "side_words": side_words,
    "pixels": pixels,
    "iso": iso,
    "reading": reading_words,
    "moon": moon_words,
    "event": event_words,
    "camera": camera_words,
    "part": lambda text: quote(text, safe=""),
}

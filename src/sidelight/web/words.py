"""Figures as words for the page; the templates' filters."""

import datetime as dt
from typing import Protocol
from urllib.parse import quote
from zoneinfo import ZoneInfo

from sidelight.desk.bench import reading_words
from sidelight.desk.night import TargetNightReport, moon_words
from sidelight.ground.angles import format_dec, format_ra


class Placed(Protocol):
    """Anything with a place on the sky."""

    @property
    def ra_deg(self) -> float:
        """Right ascension."""

    @property
    def dec_deg(self) -> float:
        """Declination."""


EVENT_NAMES = {
    "sunset": "Sun sets",
    "sunrise": "Sun rises",
    "civil_dusk": "civil dusk",
    "civil_dawn": "civil dawn",
    "nautical_dusk": "nautical dusk",
    "nautical_dawn": "nautical dawn",
    "astronomical_dusk": "astronomical dusk",
    "astronomical_dawn": "astronomical dawn",
    "moonrise": "Moon rises",
    "moonset": "Moon sets",
}
SIDE_NAMES = {"east": "before the flip", "west": "after the flip"}


def clock(instant: dt.datetime | None, zone: str) -> str:
    """Return local time as "21:14"; a dash for none."""
    return "–" if instant is None else instant.astimezone(ZoneInfo(zone)).strftime("%H:%M")


def day(date: dt.date | None, year: bool = True) -> str:
    """Return a date as "6 March 2027"; a dash for none."""
    if date is None:
        return "–"
    return f"{date.day} {date:%B}" + (f" {date.year}" if year else "")


def short_day(date: dt.date | None) -> str:
    """Return a date as "6 Mar 2027"; a dash for none."""
    return "–" if date is None else f"{date.day} {date:%b} {date.year}"


def hours(value_h: float) -> str:
    """Return hours and minutes, such as "3 h 20 min"."""
    minutes = round(value_h * 60)
    return f"{minutes // 60} h {minutes % 60:02d} min" if minutes >= 60 else f"{minutes} min"


def degrees(value_deg: float | None) -> str:
    """Return an angle of the circle to a tenth; a dash for none."""
    return "–" if value_deg is None else f"{round(value_deg % 360.0, 1) % 360.0:.1f}°"


def turn(value_deg: float | None) -> str:
    """Return a turn; "no limit" where nothing limits it, a dash for none."""
    if value_deg is None:
        return "–"
    return "no limit" if value_deg >= 180.0 else f"{value_deg:.1f}°"


def place(ra_deg: float, dec_deg: float) -> str:
    """Return a place on the sky as people read it."""
    return f"{format_ra(ra_deg)}  {format_dec(dec_deg)}"


def side_words(side: str) -> str:
    """Return a side as a guider's user thinks of it."""
    return SIDE_NAMES.get(side, "all night")


def pixels(place_px: tuple[float, float] | None) -> str:
    """Return a place on the guide sensor; a dash for none."""
    return "–" if place_px is None else f"{place_px[0]:+.0f}, {place_px[1]:+.0f} px"


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
    "event": lambda kind: EVENT_NAMES.get(kind, kind),
    "part": lambda text: quote(text, safe=""),
}

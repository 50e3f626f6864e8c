"""Figures and kinds as a person reads them: said alike at a terminal, on the page and on a card."""

import datetime as dt
from zoneinfo import ZoneInfo

from sidelight.ground.clock import clock_time

EVENT_WORDS = {
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


def event_words(kind: str) -> str:
    """Return what Sun or Moon does."""
    return EVENT_WORDS.get(kind, kind)


def side_words(side: str) -> str:
    """Return a side of the meridian as a guider's user thinks of it."""
    return {"east": "before the flip", "west": "after the flip"}.get(side, "all night")


def clock(instant: dt.datetime | None, zone: str) -> str:
    """Return local time to the nearest minute, "21:14"; a dash for none."""
    return "–" if instant is None else clock_time(instant, ZoneInfo(zone))


def hours(value_h: float) -> str:
    """Return hours and minutes, such as "3 h 20 min"."""
    minutes = round(value_h * 60)
    return f"{minutes // 60} h {minutes % 60:02d} min" if minutes >= 60 else f"{minutes} min"


def turn(value_deg: float | None, nothing: str = "–") -> str:
    """Return a turn, such as "2.3°"; "no limit" where nothing limits it."""
    if value_deg is None:
        return nothing
    return "no limit" if value_deg >= 180.0 else f"{value_deg:.1f}°"


def pixels(place_px: tuple[float, float] | None, nothing: str = "–") -> str:
    """Return a place on the guide sensor, right of and above its centre."""
    return nothing if place_px is None else f"{place_px[0]:+.0f}, {place_px[1]:+.0f} px".replace("-", "−")

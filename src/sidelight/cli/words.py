"""Figures as words for a terminal."""

import datetime as dt
from zoneinfo import ZoneInfo


def sky_angle(value_deg: float | None) -> str:
    """Return an angle of the circle, such as "37.4°"; empty for none."""
    return "" if value_deg is None else f"{value_deg % 360.0:.1f}°"


def angle(value_deg: float | None) -> str:
    """Return a turn, such as "2.3°"; "no limit" where nothing limits it, empty for none."""
    if value_deg is None:
        return ""
    return "no limit" if value_deg >= 180.0 else f"{value_deg:.1f}°"


def star_mag(mag: float | None) -> str:
    """Return a guide star's magnitude."""
    return "none" if mag is None else f"{mag:.1f} mag"


def place_px(place: tuple[float, float] | None) -> str:
    """Return a place on the guide sensor in pixels right of and above its centre."""
    return "" if place is None else f"{place[0]:+.0f}, {place[1]:+.0f} px"


def counted(count: int, one: str, many: str = "") -> str:
    """Return a number with its noun, such as "1 frame" or "12 frames"."""
    return f"{count:,} {one if count == 1 else many or one + 's'}"


def clock(instant: dt.datetime | None, zone: str) -> str:
    """Return local time as "21:14"; a dash for none."""
    return "–" if instant is None else instant.astimezone(ZoneInfo(zone)).strftime("%H:%M")


def hours(value_h: float) -> str:
    """Return hours and minutes, such as "3 h 20 min"."""
    minutes = round(value_h * 60)
    return f"{minutes // 60} h {minutes % 60:02d} min" if minutes >= 60 else f"{minutes} min"


def star_snr(snr: float | None, doubtful: bool = False) -> str:
    """Return a guide star's signal-to-noise, marked when something speaks against the star; empty for none."""
    return "" if snr is None else f"{snr:.0f}{' !' if doubtful else ''}"

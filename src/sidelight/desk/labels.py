"""Figures and kinds as a person reads them: said alike at a terminal, on the page and on a card."""

import datetime as dt
from zoneinfo import ZoneInfo

from sidelight.ground.clock import clock_time
from sidelight.setup.records import SetUp

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
    if place_px is None:
        return nothing
    right, up = (round(one) + 0 for one in place_px)  # no minus before a zero
    return f"{right:+d}, {up:+d} px".replace("-", "−")


def set_up_words(one: SetUp) -> str:
    """Return a set-up in a line: its angles, what it serves, its slack."""
    served = f"{one.rings_served} of {one.rings_needed} rings"
    if one.stem_offset_deg is None:
        served = f"frames {one.frames_served} of {one.frames_needed}"
    if one.camera_angle_deg is None:
        where = f"stem offset {_on_the_circle(one.stem_offset_deg)}"
    else:
        where = f"camera {_on_the_circle(one.camera_angle_deg)}"
        if one.guider_angle_deg is not None:
            where += f", guider {_on_the_circle(one.guider_angle_deg)}"
    return f"{where}: {served}, slack {turn(one.slack_deg)}"


def _on_the_circle(value_deg: float | None) -> str:
    """Return an angle of the circle to a tenth, 360.0° as 0.0°."""
    return "–" if value_deg is None else f"{round(value_deg, 1) % 360.0:.1f}°"


def camera_words(camera_angle_deg: float | None, sides: tuple[str, ...]) -> str:
    """Return the camera angle that a first solve should show, before and after the flip where the mount flips."""
    west = _on_the_circle(camera_angle_deg)
    if camera_angle_deg is None or sides == ("any",):
        return west
    return f"{_on_the_circle(camera_angle_deg + 180.0)} / {west}"

"""What Sun and Moon do in one night, as a list in order: setting, the twilights, rising."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from sidelight.sky.moon import moon_up
from sidelight.sky.night import Night
from sidelight.sky.site import Site
from sidelight.sky.sun import ASTRONOMICAL_DEG, CIVIL_DEG, NAUTICAL_DEG, RISE_SET_DEG, sun_below

EventKind = Literal[
    "sunset",
    "civil_dusk",
    "nautical_dusk",
    "astronomical_dusk",
    "astronomical_dawn",
    "nautical_dawn",
    "civil_dawn",
    "sunrise",
    "moonrise",
    "moonset",
]

_SUN_EVENTS: tuple[tuple[float, EventKind, EventKind], ...] = (
    (RISE_SET_DEG, "sunset", "sunrise"),
    (CIVIL_DEG, "civil_dusk", "civil_dawn"),
    (NAUTICAL_DEG, "nautical_dusk", "nautical_dawn"),
    (ASTRONOMICAL_DEG, "astronomical_dusk", "astronomical_dawn"),
)


@dataclass(frozen=True)
class SkyEvent:
    """One thing that Sun or Moon does, and when (UTC, MJD)."""

    kind: EventKind
    mjd: float


def night_events(site: Site, night: Night) -> tuple[SkyEvent, ...]:
    """Return the night's events of Sun and Moon in order of time; what does not happen is not there."""
    return events_between(site, night.start_mjd, night.end_mjd)


def events_between(site: Site, start_mjd: float, end_mjd: float) -> tuple[SkyEvent, ...]:
    """Return the events of Sun and Moon between two instants in order of time.

    By the definitions of the US Naval Observatory: sunrise and sunset at −50′ of the Sun's centre, twilights at −6°,
    −12° and −18°, moonrise and moonset of the upper limb at −34′; level horizon, standard air, whatever the
    site's skyline and elevation. Within a few seconds for that air; real refraction moves a rising by minutes.
    """
    start, end = np.array([start_mjd]), np.array([end_mjd])
    found: list[SkyEvent] = []
    for altitude_deg, falls, rises in _SUN_EVENTS:
        for begin, finish in sun_below(site, start, end, altitude_deg).of(0):
            found += [SkyEvent(falls, float(begin))] if begin > start_mjd else []
            found += [SkyEvent(rises, float(finish))] if finish < end_mjd else []
    for begin, finish in moon_up(site, start, end).of(0):
        found += [SkyEvent("moonrise", float(begin))] if begin > start_mjd else []
        found += [SkyEvent("moonset", float(finish))] if finish < end_mjd else []
    return tuple(sorted(found, key=lambda event: event.mjd))

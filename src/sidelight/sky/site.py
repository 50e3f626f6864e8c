"""A person's place: where it is, what its roofs and trees hide, how low is still worth it."""

import math
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from sidelight.ground.errors import Problem, did_you_mean
from sidelight.ground.types import FloatArray, Floats
from sidelight.sky.horizon import FLAT, Horizon


@dataclass(frozen=True)
class Site:
    """A place on the Earth as the sky sees it.

    latitude_deg : geodetic, north positive, [-90, 90].
    longitude_deg : east positive, [-180, 180].
    elevation_m : above the ellipsoid; sets the pressure that refraction is computed with.
    time_zone : IANA name; used at the edges only.
    horizon : the measured skyline, apparent altitudes.
    floor_deg : apparent altitude below which the air is too thick, 30 by default.
    twilight_deg : the night is dark while the Sun's centre is geometrically below this altitude.
    """

    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    time_zone: str
    horizon: Horizon = field(default=FLAT)
    floor_deg: float = 30.0
    twilight_deg: float = -18.0

    def lowest_usable_deg(self, azimuth_deg: Floats) -> FloatArray:
        """Return the apparent altitude from which on a target can be used: the skyline or the floor, the higher one.

        The shape of the input, azimuths in degrees.
        """
        return np.maximum(self.horizon.altitude_at(azimuth_deg), self.floor_deg)


_LIMITS: dict[str, tuple[float, float, str]] = {
    "latitude_deg": (-90.0, 90.0, "north is positive"),
    "longitude_deg": (-180.0, 180.0, "east of Greenwich is positive"),
    "elevation_m": (-450.0, 9000.0, "metres above sea level"),
    "floor_deg": (0.0, 85.0, "30 is common practice"),
    "twilight_deg": (-30.0, 0.0, "-18 is astronomical, -12 nautical twilight"),
}
_FURTHEST_FROM_ZONE_H = 4.0


def check_site(site: Site) -> tuple[Problem, ...]:
    """Return everything that is wrong with a site, each with its key; none is an empty tuple.

    Numbers must be finite and in range, the name not blank, the time zone one of the IANA database. What is odd but
    possible is told by `site_doubts`.
    """
    problems = [
        Problem(
            f"{getattr(site, key):g} is out of range."
            if math.isfinite(getattr(site, key))
            else "Not a finite number.",
            key=key,
            expected=f"{low:g} to {high:g}; {note}",
        )
        for key, (low, high, note) in _LIMITS.items()
        if not low <= getattr(site, key) <= high
    ]
    if not site.name.strip():
        problems.append(Problem("The site has no name.", key="name", expected="any text"))
    if site.time_zone not in _zone_names():
        problems.append(
            Problem(
                f'There is no time zone "{site.time_zone}".',
                key="time_zone",
                expected='a name of the IANA database, such as "Europe/Berlin"',
                suggestion=did_you_mean(site.time_zone, _zone_names()),
            )
        )
    return tuple(problems)


def site_doubts(site: Site) -> tuple[str, ...]:
    """Return sentences about what is possible but often a slip: a longitude far from its time zone, no free sky.

    Expects a site without problems. A longitude with the wrong sign shows here.
    """
    doubts = []
    apart_h = _hours_from_zone(site)
    if abs(site.latitude_deg) < 66 and apart_h > _FURTHEST_FROM_ZONE_H:
        doubts.append(
            f"The Sun's noon at longitude {site.longitude_deg:g}° is {apart_h:.1f} h away from noon in the time zone "
            f"{site.time_zone}: is the longitude's sign right (east is positive), or is the site far from home?"
        )
    if site.horizon.lowest_deg >= 60:
        doubts.append(
            f"The skyline is nowhere lower than {site.horizon.lowest_deg:g}°: are its columns azimuth, then altitude?"
        )
    return tuple(doubts)


def _hours_from_zone(site: Site) -> float:
    """Return how far the local mean noon is from the zone's noon in winter or summer, the nearer one, 0 to 12 h."""
    import datetime as dt
    from zoneinfo import ZoneInfo

    zone = ZoneInfo(site.time_zone)
    offsets_h = [
        (dt.datetime(2026, month, 1, tzinfo=zone).utcoffset() or dt.timedelta()) / dt.timedelta(hours=1)
        for month in (1, 7)
    ]
    apart = [abs((site.longitude_deg / 15.0 - offset + 12.0) % 24.0 - 12.0) for offset in offsets_h]
    return min(apart)


@lru_cache(maxsize=1)
def _zone_names() -> frozenset[str]:
    """Return the names of all time zones."""
    from zoneinfo import available_timezones

    return frozenset(available_timezones())

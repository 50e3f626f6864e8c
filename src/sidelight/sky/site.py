"""A person's place: where it is, what its roofs and trees hide, how low is still worth it."""

from dataclasses import dataclass, field

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

"""The Sun: place, distance, altitude, and when it is below an altitude."""

import numpy as np

from sidelight.ground.angles import direction_deg
from sidelight.ground.types import FloatArray, Floats
from sidelight.sky.altitude import horizontal_deg
from sidelight.sky.frames import earth_au, sun_of_date
from sidelight.sky.site import Site
from sidelight.sky.spells import Spells, spells_below
from sidelight.sky.time import tt_mjd

RISE_SET_DEG = -50.0 / 60.0
"""True altitude of the Sun's centre at rising and setting: 34′ of refraction and 16′ of radius (USNO definition)."""
CIVIL_DEG, NAUTICAL_DEG, ASTRONOMICAL_DEG = -6.0, -12.0, -18.0
"""True altitudes of the Sun's centre at the three twilights (USNO definition)."""


def sun_place(mjd: Floats) -> tuple[FloatArray, FloatArray]:
    """Return the Sun's geocentric apparent (right ascension, declination) of date, degrees; any shape.

    ERFA epv00 with light-time and aberration, IAU 2006/2000A.
    """
    return direction_deg(sun_direction(mjd))


def sun_distance_au(mjd: Floats) -> FloatArray:
    """Return the distance between the centres of Earth and Sun at these instants, au; any shape."""
    return np.asarray(np.sqrt(np.sum(earth_au(tt_mjd(mjd)) ** 2, axis=-1)))


def sun_direction(mjd: Floats) -> FloatArray:
    """Return the Sun's apparent place as unit vectors in the true equator and equinox of date, shape (..., 3)."""
    return sun_of_date(tt_mjd(mjd))


def sun_altitude_deg(mjd: Floats, site: Site) -> FloatArray:
    """Return the true (airless) altitude of the Sun's centre, degrees; any shape.

    Seen from the Earth's centre (the Sun's parallax, 8.8″, left out), as twilight and sunrise are defined.
    """
    return horizontal_deg(sun_direction(mjd), mjd, site)[0]


def sun_below(site: Site, start_mjd: FloatArray, end_mjd: FloatArray, altitude_deg: float) -> Spells:
    """Return when the Sun's centre is below a true altitude in each stretch [start, end], shapes (n,)."""
    return spells_below(lambda at: sun_altitude_deg(at, site) - altitude_deg, start_mjd, end_mjd)

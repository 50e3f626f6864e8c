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
_PARALLAX_DEG = 8.794143 / 3600.0
"""The Sun's mean equatorial horizontal parallax (Earth's radius over the astronomical unit)."""


def sun_place(mjd: Floats) -> tuple[FloatArray, FloatArray]:
    """Return the Sun's geocentric apparent (right ascension, declination) of date, degrees; any shape.

    ERFA epv00 with light-time and aberration, IAU 2006/2000A. Within 0.03″ of JPL's DE421, 2000-2050.
    """
    return direction_deg(sun_direction(mjd))


def sun_distance_au(mjd: Floats) -> FloatArray:
    """Return the distance between the centres of Earth and Sun at these instants, au; any shape.

    Within 20 km of JPL's DE421, 2000-2050.
    """
    return np.asarray(np.sqrt(np.sum(earth_au(tt_mjd(mjd)) ** 2, axis=-1)))


def sun_direction(mjd: Floats) -> FloatArray:
    """Return the Sun's apparent place as unit vectors in the true equator and equinox of date, shape (..., 3)."""
    return sun_of_date(tt_mjd(mjd))


def sun_altitude_deg(mjd: Floats, site: Site) -> FloatArray:
    """Return the true (airless) altitude of the Sun's centre seen from a site, degrees; any shape.

    Within 0.6″ of Skyfield with DE421 for the same UT1, 2017-2050, poles included; UT1 = UTC costs up to 13.5″, under
    1 s of time. The parallax is that of a round Earth at the mean distance.
    """
    altitude_deg = horizontal_deg(sun_direction(mjd), mjd, site)[0]
    return altitude_deg - _PARALLAX_DEG * np.cos(np.radians(altitude_deg))


def sun_below(site: Site, start_mjd: FloatArray, end_mjd: FloatArray, altitude_deg: float) -> Spells:
    """Return when the Sun's centre is below a true altitude in each stretch [start, end], shapes (n,).

    At sunrise and the twilights within half a minute of tables that give whole minutes (USNO), 1.3 s of one that
    gives seconds (NREL SPA report).
    """
    return spells_below(lambda at: sun_altitude_deg(at, site) - altitude_deg, start_mjd, end_mjd)

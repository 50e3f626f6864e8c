"""The Moon: place, distance, phase, altitude, and when it is up."""

from dataclasses import dataclass

import numpy as np

from sidelight.ground.angles import direction_deg, separation_deg, wrap_360
from sidelight.ground.types import BoolArray, FloatArray, Floats
from sidelight.sky.altitude import horizontal_deg, observer_km
from sidelight.sky.frames import through_nodes, to_date_matrix
from sidelight.sky.night import Night
from sidelight.sky.site import Site
from sidelight.sky.spells import Spells, spells_below
from sidelight.sky.sun import sun_direction, sun_distance_au
from sidelight.sky.time import MJD_ZERO, tt_mjd

AU_KM = 149597870.7
MOON_RADIUS_KM = 1737.4
"""Mean radius of the Moon (IAU working group on cartographic coordinates, Archinal et al. 2018)."""
HORIZON_REFRACTION_DEG = 34.0 / 60.0
"""Refraction at a level horizon in the USNO definition of rising and setting."""
_LIGHT_KM_PER_DAY = 299792.458 * 86400.0
_STEP_DAYS = 0.25


@dataclass(frozen=True, eq=False)
class MoonPhase:
    """The Moon's phase at some instants; every field has their shape.

    illuminated_fraction : of the disc, 0 to 1. phase_angle_deg : Sun-Moon-Earth, 0 when full, 180 when new.
    ahead_deg : how far the Moon's ecliptic longitude is ahead of the Sun's, [0, 360): 0 new, 90 first quarter,
    180 full. waxing : ahead_deg below 180.
    """

    illuminated_fraction: FloatArray
    phase_angle_deg: FloatArray
    ahead_deg: FloatArray
    waxing: BoolArray


def moon_place(mjd: Floats) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the Moon's geocentric apparent (right ascension, declination, distance in km) of date; any shape.

    ERFA moon98 (Meeus' shortened ELP-2000/82), light-time included. Against JPL's DE421, 2000-2050: 3.0″ on average
    (root mean square), 15″ at the worst, 50 km, of which 37 km are the meaning of "distance" during the light-time.
    """
    return _spherical(_moon_km(mjd))


def moon_topocentric(mjd: Floats, site: Site) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the Moon's apparent (right ascension, declination, distance in km) of date seen from a site."""
    return _spherical(_moon_km(mjd) - observer_km(mjd, site))


def moon_altitude_deg(mjd: Floats, site: Site) -> FloatArray:
    """Return the true (airless) altitude of the Moon's centre seen from a site, degrees; any shape.

    Within 13″ of Skyfield with DE421 for the same UT1, 2017-2050, poles included: 1 s of rising and setting.
    """
    return horizontal_deg(_moon_km(mjd) - observer_km(mjd, site), mjd, site)[0]


def moon_phase(mjd: Floats) -> MoonPhase:
    """Return the Moon's phase seen from the Earth's centre; any shape.

    Meeus, Astronomical Algorithms 2nd ed., chapter 48, from true distances and the apparent elongation. Phase angle
    within 0.01° and fraction within 0.0001 of DE421, 2017-2050.
    """
    moon, sun = _moon_km(mjd), sun_direction(mjd)
    sun_km = sun_distance_au(mjd) * AU_KM
    moon_km = np.sqrt(np.sum(moon**2, axis=-1))
    elongation = np.radians(separation_deg(*direction_deg(moon), *direction_deg(sun)))
    angle = np.arctan2(sun_km * np.sin(elongation), moon_km - sun_km * np.cos(elongation))
    ahead = wrap_360(_ecliptic_longitude_deg(moon, mjd) - _ecliptic_longitude_deg(sun, mjd))
    return MoonPhase(
        illuminated_fraction=np.asarray((1.0 + np.cos(angle)) / 2.0),
        phase_angle_deg=np.asarray(np.degrees(angle)),
        ahead_deg=ahead,
        waxing=np.asarray(ahead < 180.0),
    )


def moon_up(site: Site, start_mjd: FloatArray, end_mjd: FloatArray) -> Spells:
    """Return when the Moon is up in each stretch [start, end], shapes (n,), by the USNO definition.

    Up means that the upper limb stands above −34′ (true, seen from the site): a level horizon and standard air.
    Within half a minute of USNO's whole minutes.
    """

    def depth(at: FloatArray) -> FloatArray:
        seen = _moon_km(at) - observer_km(at, site)
        radius = np.degrees(np.arcsin(MOON_RADIUS_KM / np.sqrt(np.sum(seen**2, axis=-1))))
        return np.asarray(-HORIZON_REFRACTION_DEG - radius - horizontal_deg(seen, at, site)[0])

    return spells_below(depth, start_mjd, end_mjd)


def moon_up_spans(site: Site, night: Night) -> FloatArray:
    """Return the spans of one night in which the Moon is up, shape (n, 2) of MJD; none is an empty set."""
    return moon_up(site, np.array([night.start_mjd]), np.array([night.end_mjd])).of(0)


def _spherical(place_km: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return (longitude, latitude) in degrees and the length of vectors."""
    ra, dec = direction_deg(place_km)
    return ra, dec, np.asarray(np.sqrt(np.sum(place_km**2, axis=-1)))


def _moon_km(mjd: Floats) -> FloatArray:
    """Return the Moon's apparent geocentric place in the true equator and equinox of date, shape (..., 3), km."""
    return through_nodes(_apparent_moon, tt_mjd(mjd), _STEP_DAYS)


def _apparent_moon(tt: FloatArray) -> FloatArray:
    """Return rows of the Moon's geocentric place of date, km, as its light shows it.

    The Earth carries the observer along with the Moon, so that annual aberration and the Earth's own way during the
    light-time cancel: what is left is where the Moon stood, seen from the Earth, 1.3 s ago.
    """
    import erfa

    now = erfa.moon98(MJD_ZERO, tt)["p"] * AU_KM
    travel_days = np.sqrt(np.sum(now**2, axis=-1)) / _LIGHT_KM_PER_DAY
    seen = erfa.moon98(MJD_ZERO, tt - travel_days)["p"] * AU_KM
    return np.asarray(np.einsum("nij,nj->ni", to_date_matrix(tt), seen))


def _ecliptic_longitude_deg(direction: FloatArray, mjd: Floats) -> FloatArray:
    """Return the longitude on the mean ecliptic of date of vectors in the true equator of date, degrees.

    The mean obliquity stands for the true one (9″ apart): the difference of two longitudes feels less than 1″ of it.
    """
    import erfa

    tilt = erfa.obl06(MJD_ZERO, tt_mjd(mjd))
    x, y, z = direction[..., 0], direction[..., 1], direction[..., 2]
    return wrap_360(np.degrees(np.arctan2(y * np.cos(tilt) + z * np.sin(tilt), x)))

"""Where a direction stands over a site: apparent place, hour angle, altitude, azimuth."""

from functools import lru_cache

import numpy as np

from sidelight.ground.angles import direction_deg, unit_vector, wrap_180, wrap_360
from sidelight.ground.types import FloatArray, Floats
from sidelight.sky.frames import SkyFrame, sidereal_deg, sky_frame
from sidelight.sky.refraction import apparent_altitude_deg
from sidelight.sky.site import Site


def apparent_place(ra_deg: Floats, dec_deg: Floats, mjd: Floats) -> tuple[FloatArray, FloatArray]:
    """Return the geocentric apparent place (true equator and equinox of date) of ICRS directions, degrees.

    Broadcasts: targets of shape (n, 1) with instants of shape (t,) give (n, t). Right ascension in [0, 360) goes
    with `sidereal_deg`. Precession-nutation IAU 2006/2000A, annual aberration, light bent by the Sun (ERFA atciqz);
    no proper motion or parallax. Within 1 milliarcsecond of the SOFA astrometry cookbook and of Skyfield, 2017-2050.
    """
    import erfa

    place = erfa.atciqz(np.radians(ra_deg), np.radians(dec_deg), _astrometry(sky_frame(mjd)))
    return wrap_360(np.degrees(place[0])), np.asarray(np.degrees(place[1]))


def apparent_directions(icrs_directions: FloatArray, mjd: FloatArray) -> FloatArray:
    """Return apparent unit vectors of date, shape (n, t, 3), of ICRS unit vectors (n, 3) at instants (t,).

    The fast way for thousands of targets: one matrix product. Leaves out the Sun's bending of light (0.01″ at
    twilight's distances) and is otherwise within 0.001″ of `apparent_place`.
    """
    frame = sky_frame(mjd)
    turned = np.einsum("tij,nj->nti", frame.to_date, icrs_directions, optimize=True)
    shifted = turned + np.einsum("tij,tj->ti", frame.to_date, frame.earth_velocity_c)
    length = np.sqrt(np.einsum("nti,nti->nt", shifted, shifted))
    return np.asarray(shifted / length[..., None])


def hour_angle_deg(ra_deg: Floats, mjd: Floats, site: Site) -> FloatArray:
    """Return the hour angle, [-180, 180) degrees, west positive, of an apparent right ascension; broadcasts."""
    return wrap_180(sidereal_deg(mjd, site.longitude_deg) - np.asarray(ra_deg, dtype=np.float64))


def altitude_azimuth(ra_deg: Floats, dec_deg: Floats, mjd: Floats, site: Site) -> tuple[FloatArray, FloatArray]:
    """Return (apparent altitude, azimuth north through east) of ICRS directions, degrees; broadcasts.

    Refraction is that of standard air at the site's elevation. Within 0.35″ of Skyfield for the same UT1, 2017-2050,
    poles included, before refraction. The largest errors: UT1−UTC taken as 0 (13″ at the
    most), polar motion (0.5″), diurnal aberration (0.3″) and, under 10°, the weather. At a pole azimuth is counted
    from the meridian of the site's longitude.
    """
    place = apparent_place(ra_deg, dec_deg, mjd)
    true_deg, azimuth_deg = horizontal_deg(unit_vector(*place), mjd, site)
    return apparent_altitude_deg(true_deg, site.elevation_m), azimuth_deg


def horizontal_deg(direction: FloatArray, mjd: Floats, site: Site) -> tuple[FloatArray, FloatArray]:
    """Return (true altitude, azimuth) in degrees of vectors of date, shape (..., 3), of any length."""
    sidereal = np.radians(sidereal_deg(mjd, site.longitude_deg))
    latitude = np.radians(site.latitude_deg)
    south, east, up = _horizontal(direction, sidereal, float(latitude))
    azimuth, altitude = direction_deg(np.stack([-south, east, up], axis=-1))
    return altitude, azimuth


def _horizontal(
    direction: FloatArray, sidereal_rad: FloatArray, latitude_rad: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the components towards south, east and the zenith of vectors of date."""
    x, y, z = direction[..., 0], direction[..., 1], direction[..., 2]
    cos_sidereal, sin_sidereal = np.cos(sidereal_rad), np.sin(sidereal_rad)
    to_meridian = x * cos_sidereal + y * sin_sidereal
    east = y * cos_sidereal - x * sin_sidereal
    sin_latitude, cos_latitude = np.sin(latitude_rad), np.cos(latitude_rad)
    south = to_meridian * sin_latitude - z * cos_latitude
    up = to_meridian * cos_latitude + z * sin_latitude
    return south, east, up


def observer_km(mjd: Floats, site: Site) -> FloatArray:
    """Return the site's geocentric place in the true equator and equinox of date, shape (..., 3), km.

    WGS84 ellipsoid; latitude is geodetic, elevation above the ellipsoid.
    """
    axis_km, pole_km = _geocentric_km(site.latitude_deg, site.elevation_m)
    sidereal = np.radians(sidereal_deg(mjd, site.longitude_deg))
    return np.stack(
        [axis_km * np.cos(sidereal), axis_km * np.sin(sidereal), np.full(sidereal.shape, pole_km)], axis=-1
    )


@lru_cache(maxsize=64)
def _geocentric_km(latitude_deg: float, elevation_m: float) -> tuple[float, float]:
    """Return the distance from the Earth's axis and from the equator's plane, km."""
    import erfa

    place = erfa.gd2gc(1, 0.0, np.radians(latitude_deg), elevation_m)
    return float(place[0]) / 1000.0, float(place[2]) / 1000.0


def _astrometry(frame: SkyFrame) -> FloatArray:
    """Return ERFA's star-independent record for a geocentric observer, turning to the true equinox of date.

    What serves parallax alone (the barycentric place, "eb") stays empty.
    """
    import erfa

    record = np.zeros(frame.greenwich_deg.shape, dtype=erfa.dt_eraASTROM)
    distance = np.sqrt(np.sum(frame.earth_au**2, axis=-1))
    record["em"] = distance
    record["eh"] = frame.earth_au / distance[..., None]
    record["v"] = frame.earth_velocity_c
    record["bm1"] = np.sqrt(1.0 - np.sum(frame.earth_velocity_c**2, axis=-1))
    record["bpn"] = frame.to_date
    return record

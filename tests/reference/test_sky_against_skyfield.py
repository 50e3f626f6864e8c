"""Sun, Moon, stars and nights against Skyfield with the JPL ephemeris DE421, 2000-2050, from pole to pole.

Up to 2026 with the Earth's true rotation; years ahead, whose leap seconds nobody knows, with UT1 = UTC in both.

Skyfield and its data package are used by the tests only; the ephemeris is read from the package, nothing is fetched.
"""

import datetime as dt
from typing import Any

import numpy as np
import pytest
from skyfield.api import Star, load, wgs84

from sidelight.ground import spans
from sidelight.ground.angles import separation_deg, unit_vector
from sidelight.ground.types import FloatArray
from sidelight.sky import altitude, moon, sun, time
from sidelight.sky.darkness import year_of_darkness
from sidelight.sky.site import Site

ARCSEC_DEG = 1 / 3600
FIRST_MJD, LAST_MJD = 51544.0, 69807.0
LAST_KNOWN_MJD = 61041.0
SINCE_LAST_LEAP_MJD = 57754.0
SUN_DEG = 0.03 * ARCSEC_DEG
"""Worst difference allowed for the Sun's geocentric place."""
MOON_DEG = 18.3 * ARCSEC_DEG
"""The worst error of ERFA's moon98, by its own header."""
UT1_DEG = 0.9 * 15 * ARCSEC_DEG
"""UT1 is kept within 0.9 s of UTC, and we take it for UTC."""
SITES = [
    Site("north pole", 90.0, 0.0, 2800.0, "UTC"),
    Site("Svalbard", 78.2, 15.6, 100.0, "Arctic/Longyearbyen"),
    Site("Bavaria", 48.1, 11.6, 520.0, "Europe/Berlin"),
    Site("date line", 0.01, 179.9, 0.0, "Pacific/Fiji"),
    Site("Andes", -30.2, -70.8, 2400.0, "America/Santiago"),
    Site("south pole", -90.0, 120.0, 2800.0, "Antarctica/McMurdo"),
]


def instants(seed: int, count: int, first: float = FIRST_MJD, last: float = LAST_MJD) -> FloatArray:
    """Return random instants (MJD, UTC), rising."""
    return np.sort(np.random.default_rng(seed).uniform(first, last, count))


def skyfield_times(mjd: FloatArray, ut1_is_utc: bool = False) -> Any:
    """Return Skyfield's times; on request with UT1 = UTC, which needs a span without leap seconds."""
    scale = load.timescale(delta_t=37 + 32.184) if ut1_is_utc else load.timescale(builtin=True)
    return scale.tt_jd(time.tt_mjd(mjd) + time.MJD_ZERO)


def over(planets: Any, site: Site, times: Any) -> Any:
    """Return the site among the planets."""
    return (planets["earth"] + wgs84.latlon(site.latitude_deg, site.longitude_deg, site.elevation_m)).at(times)


def test_the_suns_place(planets: Any) -> None:
    """Geocentric apparent Sun within 0.03″, distance within 20 km."""
    at = instants(1, 1500)
    seen = planets["earth"].at(skyfield_times(at)).observe(planets["sun"]).apparent()
    ra, dec, distance = seen.radec(epoch="date")
    assert np.max(separation_deg(*sun.sun_place(at), ra._degrees, dec.degrees)) < SUN_DEG
    assert np.max(np.abs(sun.sun_distance_au(at) - distance.au)) * moon.AU_KM < 20


def test_the_moons_place(planets: Any) -> None:
    """Geocentric apparent Moon within the theory's worst error, 3.2″ on average, and 80 km.

    Skyfield counts the distance from where the Earth was when the light left, up to 37 km from ours.
    """
    at = instants(2, 1500)
    seen = planets["earth"].at(skyfield_times(at)).observe(planets["moon"]).apparent()
    ra, dec, distance = seen.radec(epoch="date")
    got = moon.moon_place(at)
    apart = separation_deg(got[0], got[1], ra._degrees, dec.degrees)
    assert np.max(apart) < MOON_DEG
    assert np.sqrt(np.mean(apart**2)) < 3.2 * ARCSEC_DEG
    assert np.max(np.abs(got[2] - distance.km)) < 80


@pytest.mark.parametrize("site", SITES, ids=lambda site: site.name)
def test_altitudes_with_the_true_rotation(planets: Any, site: Site) -> None:
    """Sun and Moon over each site, 2000-2025: what UT1 = UTC and the Moon's theory may cost, and no more."""
    at = instants(3, 400, last=LAST_KNOWN_MJD)
    there = over(planets, site, skyfield_times(at))
    sun_deg = there.observe(planets["sun"]).apparent().altaz()[0].degrees
    moon_deg = there.observe(planets["moon"]).apparent().altaz()[0].degrees
    assert np.max(np.abs(sun.sun_altitude_deg(at, site) - sun_deg)) < UT1_DEG + 0.5 * ARCSEC_DEG
    assert np.max(np.abs(moon.moon_altitude_deg(at, site) - moon_deg)) < UT1_DEG + MOON_DEG


@pytest.mark.parametrize("site", SITES, ids=lambda site: site.name)
def test_altitudes_with_our_rotation(planets: Any, site: Site) -> None:
    """With UT1 = UTC in both: Sun within 0.6″, stars within 0.35″ (the diurnal aberration left out)."""
    at = instants(4, 300, SINCE_LAST_LEAP_MJD)
    there = over(planets, site, skyfield_times(at, ut1_is_utc=True))
    sun_deg = there.observe(planets["sun"]).apparent().altaz()[0].degrees
    assert np.max(np.abs(sun.sun_altitude_deg(at, site) - sun_deg)) < 0.6 * ARCSEC_DEG
    for ra_deg, dec_deg in ((17.0, 2.0), (200.0, -70.0), (300.0, 89.0), (100.0, 40.0)):
        star = there.observe(Star(ra_hours=ra_deg / 15, dec_degrees=dec_deg)).apparent()
        expected = star.altaz()
        place = altitude.apparent_place(ra_deg, dec_deg, at)
        got = altitude.horizontal_deg(unit_vector(*place), at, site)
        apart = separation_deg(got[1], got[0], expected[1].degrees, expected[0].degrees)
        assert np.max(apart) < 0.35 * ARCSEC_DEG


@pytest.mark.parametrize("year", [2003, 2027, 2049])
@pytest.mark.parametrize("site", SITES, ids=lambda site: site.name)
def test_a_year_of_nights(planets: Any, site: Site, year: int) -> None:
    """Dusk and dawn of a year's nights stand where DE421 has the Sun at −18°; between them it is lower."""
    nights = year_of_darkness(site, dt.date(year, 1, 1), 365)
    starts = np.array([night.start_mjd for night in nights.nights])
    ends = np.array([night.end_mjd for night in nights.nights])
    edges = nights.dark.spans_mjd.ravel()
    true_edges = edges[~(np.isin(edges, starts) | np.isin(edges, ends))]
    grid = np.random.default_rng(year).uniform(starts[0], ends[-1], 1500)
    at = np.concatenate([true_edges, grid])
    ahead = starts[0] > LAST_KNOWN_MJD
    seen = over(planets, site, skyfield_times(at, ut1_is_utc=ahead)).observe(planets["sun"]).apparent()
    sun_deg = seen.altaz()[0].degrees
    allowed_deg = 0.6 * ARCSEC_DEG if ahead else UT1_DEG + 0.6 * ARCSEC_DEG
    assert np.all(np.abs(sun_deg[: len(true_edges)] - site.twilight_deg) < allowed_deg)
    height = sun_deg[len(true_edges) :] - site.twilight_deg
    clear = np.abs(height) > allowed_deg
    assert np.array_equal(spans.contains(nights.dark.spans_mjd, grid)[clear], height[clear] < 0)


@pytest.mark.parametrize("site", SITES, ids=lambda site: site.name)
def test_a_year_of_moons(planets: Any, site: Site) -> None:
    """The Moon is up when DE421 has its upper limb above −34′, and down when not; the phase agrees to 0.01°."""
    nights = year_of_darkness(site, dt.date(2027, 1, 1), 365)
    grid = np.random.default_rng(7).uniform(nights.nights[0].start_mjd, nights.nights[-1].end_mjd, 1500)
    seen = over(planets, site, skyfield_times(grid, ut1_is_utc=True)).observe(planets["moon"]).apparent()
    altaz = seen.altaz()
    radius_deg = np.degrees(np.arcsin(moon.MOON_RADIUS_KM / altaz[2].km))
    height = altaz[0].degrees + radius_deg + 34 / 60
    clear = np.abs(height) > MOON_DEG
    assert np.array_equal(spans.contains(nights.moon_up.spans_mjd, grid)[clear], height[clear] > 0)
    middles = np.array([(night.start_mjd + night.end_mjd) / 2 for night in nights.nights])
    earth = planets["earth"].at(skyfield_times(middles, ut1_is_utc=True))
    angle_deg = earth.observe(planets["moon"]).apparent().phase_angle(planets["sun"]).degrees
    assert np.max(np.abs(nights.moon_phase_angle_deg - angle_deg)) < 0.01

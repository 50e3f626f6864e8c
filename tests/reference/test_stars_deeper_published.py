"""Proper motion against ERFA, Gaia's magnitudes against V of known stars, the default service's address."""

from urllib.parse import urlparse

import erfa
import numpy as np
import pytest

from sidelight.ground.angles import separation_deg
from sidelight.stars.gaia import v_from_gaia_mag
from sidelight.stars.motion import places_at, year_of
from sidelight.stars.service import GAIA_DR3, StarTable


def one_star(ra: float, dec: float, pm_ra: float, pm_dec: float, epoch: float) -> StarTable:
    """Return a table of one star; motions in milliarcseconds a year, the first with the cosine of declination."""
    return StarTable(*(np.array([value]) for value in (ra, dec, 9.0, pm_ra, pm_dec, epoch)))


def test_barnards_star_from_1991_to_2000() -> None:
    """The fastest star comes from its Hipparcos place of 1991.25 to its place of J2000.0 within 0.1 arcsec.

    269.45402305, +4.66828815, -797.84, +10326.93 mas/yr (Hipparcos HIP 87937); 17h57m48.498s, +4°41′36.21″ at J2000.0
    (SIMBAD); both from memory.
    """
    star = one_star(269.45402305, 4.66828815, -797.84, 10326.93, 1991.25)
    away = separation_deg(269.452075, 4.693392, *places_at(star, 2000.0))[0] * 3600.0
    assert away < 0.1


@pytest.mark.parametrize("years", [-30.0, 11.0, 50.0])
@pytest.mark.parametrize("dec", [-89.99, -30.0, 0.0, 65.0, 89.999])
def test_motion_against_erfa(dec: float, years: float) -> None:
    """Motion agrees with ERFA's pmsafe within 0.01 arcsec for a star of 10 pc and 300 mas/yr, the poles included."""
    star = one_star(123.4, dec, 240.0, -180.0, 2016.0)
    start = 2451545.0 + 16.0 * 365.25
    rate_ra = np.radians(240.0 / 3.6e6) / np.cos(np.radians(dec))
    ra, erfa_dec, *_ = erfa.pmsafe(
        np.radians(123.4),
        np.radians(dec),
        rate_ra,
        np.radians(-180.0 / 3.6e6),
        0.1,
        0.0,
        start,
        0.0,
        start,
        years * 365.25,
    )
    moved = places_at(star, 2016.0 + years)
    assert separation_deg(np.degrees(ra), np.degrees(erfa_dec), *moved)[0] * 3600.0 < 0.01


def test_julian_years() -> None:
    """J2000.0 is MJD 51544.5, and J2050.0 is 50 times 365.25 days later (IAU 1976)."""
    assert year_of(51544.5) == 2000.0
    assert year_of(51544.5 + 18262.5) == 2050.0


@pytest.mark.parametrize(
    ("name", "g", "bp", "rp", "v", "within"),
    [
        ("HD 209458", 7.508, 7.791, 7.059, 7.65, 0.05),
        ("HD 189733", 7.415, 7.891, 6.810, 7.67, 0.06),
        ("Barnard's Star", 8.194, 9.795, 6.957, 9.51, 0.15),
        ("Proxima Centauri", 8.985, 11.373, 7.568, 11.13, 0.25),
    ],
)
def test_gaia_to_v(name: str, g: float, bp: float, rp: float, v: float, within: float) -> None:
    """V from Gaia's bands meets the V of known stars (Gaia DR3 and SIMBAD, from memory), red dwarfs less well."""
    assert v_from_gaia_mag(g, bp, rp) == pytest.approx(v, abs=within)


def test_gaia_without_colour() -> None:
    """Without a colour V is that of BP - RP = 1.0, between a white star's and an orange one's."""
    assert v_from_gaia_mag(12.0, 12.0, 12.0) < v_from_gaia_mag(12.0, np.nan, 11.0) < v_from_gaia_mag(12.0, 13.0, 11.0)
    assert v_from_gaia_mag(12.0, np.nan, np.nan) == v_from_gaia_mag(12.0, 12.6, 11.6)


def test_the_default_service_is_well_formed() -> None:
    """The base URL ends in "?" or "&" (Simple Cone Search 1.03, 2.1) and is encrypted; Gaia DR3's epoch is 2016.0."""
    assert GAIA_DR3.url[-1] in "?&"
    assert urlparse(GAIA_DR3.url).scheme == "https"
    assert GAIA_DR3.epoch_year == 2016.0

"""Directions round a place, beside Astropy's spherical offsets, the poles included."""

import erfa
import numpy as np
import pytest
from astropy import units as u
from astropy.coordinates import SkyCoord

from sidelight.stars.motion import places_at, year_of
from sidelight.stars.service import StarTable
from sidelight.stars.sphere import basis, place_from


@pytest.mark.parametrize(
    ("ra_deg", "dec_deg"), [(0.0, 0.0), (83.8, -5.4), (201.3, 61.0), (310.0, -88.5), (12.0, 90.0)]
)
def test_places_at_a_distance(ra_deg: float, dec_deg: float) -> None:
    """Distance and position angle (north through east) lead where SkyCoord.directional_offset_by leads."""
    angle_deg = np.arange(0.0, 360.0, 30.0)
    for away_deg in (0.3, 7.0, 95.0):
        ra, dec = place_from(ra_deg, dec_deg, away_deg, angle_deg)
        theirs = SkyCoord(ra_deg * u.deg, dec_deg * u.deg).directional_offset_by(angle_deg * u.deg, away_deg * u.deg)
        ours = SkyCoord(ra * u.deg, dec * u.deg)
        assert float(np.max(ours.separation(theirs).deg)) < 1e-9


def test_east_and_north_stand_square_on_outwards() -> None:
    """The three directions are of length 1, square on each other, right-handed, and north leans to the pole."""
    ra_deg, dec_deg = np.meshgrid(np.arange(0.0, 360.0, 40.0), [-90.0, -60.0, 0.0, 33.0, 90.0])
    outwards, east, north = basis(ra_deg, dec_deg)
    for one, other, product in ((outwards, outwards, 1), (east, east, 1), (north, north, 1), (east, north, 0)):
        np.testing.assert_allclose(np.sum(one * other, axis=-1), product, atol=1e-12)
    np.testing.assert_allclose(np.cross(east, north), outwards, atol=1e-12)
    np.testing.assert_allclose(north[..., 2], np.cos(np.radians(dec_deg)), atol=1e-12)
    np.testing.assert_allclose(east[..., 2], 0.0, atol=1e-12)


def test_proper_motion_beside_erfa() -> None:
    """Barnard's star, 61 Cygni and two made-up stars by the poles, over 50 years: ERFA's pmsafe, to 0.02″.

    Motions of the two as commonly given (mas a year); parallax and radial velocity are left out on both sides.
    """
    ra, dec = np.array([269.452, 316.7247, 15.0, 200.0]), np.array([4.693, 38.7494, 89.9, -89.95])
    east, north = np.array([-801.5, 4164.2, 900.0, -1500.0]), np.array([10362.4, 3249.6, -700.0, 400.0])
    epoch = np.array([2000.0, 2016.0, 1991.25, 2000.0])
    stars = StarTable(ra, dec, np.full(4, 9.0), east, north, epoch)
    ours = SkyCoord(*(one * u.deg for one in places_at(stars, 2050.0)))
    start = 51544.5 + (epoch - 2000.0) * 365.25
    per_year = np.radians(np.array([east / np.cos(np.radians(dec)), north]) / 3.6e6)
    moved = erfa.pmsafe(np.radians(ra), np.radians(dec), *per_year, 0.1, 0.0, 2400000.5, start, 2400000.5, 69807.0)
    theirs = SkyCoord(moved[0] * u.rad, moved[1] * u.rad)
    assert year_of(69807.0) == pytest.approx(2050.0)
    assert float(np.max(ours.separation(theirs).arcsec)) < 0.02

"""Coordinates of another equinox beside Astropy's precession of FK5 (Lieske 1976; IAU 2006 differs by less)."""

import numpy as np
import pytest
from astropy import units as u
from astropy.coordinates import FK5, SkyCoord

from sidelight.ledger.equinox import equinox_of, from_j2000, to_j2000

RA_DEG, DEC_DEG = np.array([0.0, 10.7, 83.8, 202.5, 310.0]), np.array([0.0, 41.3, -5.4, 47.2, -88.0])


@pytest.mark.parametrize("year", [1950.0, 1975.0, 2001.0, 2015.5, 2027.0, 2050.0])
def test_precession_there_and_back(year: float) -> None:
    """A place of date comes to J2000 where Astropy brings it, to 0.3″ in 50 years, and goes back where it was."""
    ra, dec = to_j2000(RA_DEG, DEC_DEG, year)
    theirs = SkyCoord(RA_DEG * u.deg, DEC_DEG * u.deg, frame=FK5(equinox=f"J{year}")).transform_to(
        FK5(equinox="J2000")
    )
    ours = SkyCoord(ra * u.deg, dec * u.deg, frame=FK5(equinox="J2000"))
    assert float(np.max(ours.separation(theirs).arcsec)) < 0.006 * max(10.0, abs(year - 2000.0))
    again_ra, again_dec = from_j2000(ra, dec, year)
    back = SkyCoord(again_ra * u.deg, again_dec * u.deg)
    assert float(np.max(back.separation(SkyCoord(RA_DEG * u.deg, DEC_DEG * u.deg)).arcsec)) < 1e-6


def test_the_same_equinox_changes_nothing() -> None:
    """J2000 itself, and what differs by days, is left as it is; a month is not."""
    assert to_j2000(10.0, 20.0, 2000.0) == (10.0, 20.0)
    assert to_j2000(10.0, 20.0, 2000.009) == (10.0, 20.0)
    assert float(to_j2000(10.0, 20.0, 2000.1)[0]) != 10.0
    assert float(to_j2000(10.0, 20.0, 1999.9)[0]) != 10.0


@pytest.mark.parametrize(
    ("cards", "year"),
    [
        ({"EQUINOX": 1950.0}, 1950.0),
        ({"RADESYS": "FK4"}, 1950.0),
        ({"EQUINOX": "J2015.5"}, 2015.5),
        ({"EPOCH": 1975.0}, 1975.0),
        ({"EQUINOX": 2027.3}, 2027.3),
        ({"EQUINOX": 1700.0}, 2000.0),
        ({"EQUINOX": 2200.0}, 2000.0),
        ({"EQUINOX": 1950.0, "RADESYS": "ICRS"}, 2000.0),
        ({}, 2000.0),
    ],
)
def test_the_year_of_a_header(cards: dict[str, float | str], year: float) -> None:
    """FITS 4.0, 8.3: EQUINOX counts, FK4 alone is 1950, ICRS has none; what makes no sense is J2000."""
    assert equinox_of(cards)[0] == year


def test_j2000_needs_no_remark() -> None:
    """A header of equinox 2000 is taken as it is, without a note; one of 1950 says what is done."""
    assert equinox_of({"EQUINOX": 2000.0}) == (2000.0, ())
    assert "1950" in equinox_of({"EQUINOX": 1950.0})[1][0]

"""The shipped stars against published figures of Tycho-2 and star counts, and the cone against astropy."""

import os
from functools import cache
from pathlib import Path

import astropy.units as u
import erfa
import numpy as np
import pytest
from astropy.coordinates import SkyCoord, angular_separation
from builders import build_star_catalogue as builder

from sidelight.stars import cells
from sidelight.stars.catalogue import EMBEDDED_FILE, embedded
from sidelight.stars.cone import Stars

SKY_DEG2 = 41252.96


@cache
def every_star() -> Stars:
    """Return the whole catalogue."""
    return embedded().cone(0.0, 0.0, 180.0)


@cache
def galactic_latitude_deg() -> np.ndarray:
    """Return the galactic latitude of every star (ERFA, the Hipparcos Catalogue's own definition)."""
    _, latitude = erfa.icrs2g(np.radians(every_star().ra_deg), np.radians(every_star().dec_deg))
    return np.degrees(latitude)


def density(low_deg: float, high_deg: float, faint_mag: float = 99.0) -> float:
    """Return stars per square degree between two galactic latitudes, both hemispheres."""
    latitude = np.abs(galactic_latitude_deg())
    inside = (latitude >= low_deg) & (latitude < high_deg) & (every_star().mag <= faint_mag)
    area = SKY_DEG2 * (np.sin(np.radians(high_deg)) - np.sin(np.radians(low_deg)))
    return float(inside.sum() / area)


def test_the_builder_makes_the_file_that_ships() -> None:
    """Built again from the Debian package, the file is the same to the byte; in CI the package must be there."""
    if not builder.SOURCE.exists():
        missing = f"{builder.SOURCE} (Debian package astrometry-data-tycho2-07-littleendian) is not installed"
        if os.environ.get("CI") == "true":
            pytest.fail(missing)
        pytest.skip(missing)
    assert builder.build(builder.SOURCE) == EMBEDDED_FILE.read_bytes()


def test_the_builder_refuses_another_file(tmp_path: Path) -> None:
    """A FITS file without the known tables is not made into a catalogue."""
    from astropy.io import fits

    path = tmp_path / "other.fits"
    fits.HDUList([fits.PrimaryHDU()]).writeto(path)
    with pytest.raises(builder.WrongSource, match="kdtree_data_stars"):
        builder.build(path)


def test_number_of_stars() -> None:
    """The package announces 1,871,011 rows (its FITS header NSTARS); one of them has no position and is dropped."""
    assert len(every_star()) == 1_871_011 - 1


@pytest.mark.parametrize("star", builder.KNOWN_STARS, ids=lambda star: star.name)
def test_known_stars_are_where_they_were_published(star: builder.KnownStar) -> None:
    """Known stars (source beside each in the builder's table) are found in place, with VT near V."""
    found = embedded().cone(star.ra_deg, star.dec_deg, star.within_arcsec / 3600.0)
    assert len(found) >= 1
    assert -0.1 < found.mag[0] - star.v_mag < 0.4


@pytest.mark.parametrize(
    ("name", "ra_deg", "dec_deg"),
    [
        ("Sirius", 101.287, -16.716),
        ("Canopus", 95.988, -52.696),
        ("Vega", 279.235, 38.784),
        ("Polaris", 37.955, 89.264),
    ],
)
def test_known_gaps(name: str, ra_deg: float, dec_deg: float) -> None:
    """The documentation's warning holds: these bright stars (places from memory) are not in the source."""
    assert not np.any(embedded().cone(ra_deg, dec_deg, 0.05).mag < 4.0)


def test_no_star_without_a_place() -> None:
    """The row at right ascension 0, declination 0, where no such star shines, did not get in."""
    assert len(embedded().cone(0.0, 0.0, 0.01)) == 0


def test_density_at_the_galactic_poles() -> None:
    """Tycho-2 has 25 stars per square degree at the galactic poles (its notes; Høg et al. 2000); here within 15 %.

    Some 4 % of Tycho-2's entries have no mean position and are not in the source.
    """
    assert density(80.0, 90.0) == pytest.approx(25.0, rel=0.15)


def test_density_at_middle_latitudes() -> None:
    """Tycho-2 has 50 stars per square degree at latitude 30 (its own notes; Høg et al. 2000), here within 15 %."""
    assert density(27.0, 33.0) == pytest.approx(50.0, rel=0.15)


def test_the_milky_way_is_cut_short_and_this_is_said() -> None:
    """Tycho-2's notes give 150 stars per square degree in the plane; the source keeps ten a cell and we say so."""
    most = 10 * cells.CELLS / SKY_DEG2
    assert 0.85 * most < density(0.0, 2.0) < most < 150.0 / 2
    plane_ra, plane_dec = np.degrees(erfa.g2icrs(np.radians(np.arange(0.0, 360.0, 1.0)), np.zeros(360)))
    assert np.median(embedded().depth_at(plane_ra, plane_dec)) < 11.5


@pytest.mark.parametrize("faint_mag", [6.0, 7.0, 8.0, 9.0, 10.0, 11.0])
def test_mean_star_counts(faint_mag: float) -> None:
    """All-sky counts agree with log10 N = -0.0003 m³ + 0.0019 m² + 0.484 m - 3.82 per deg² (NASA Space Math).

    That is a mean over the sky, good to some tens of per cent; 30 % are allowed.
    """
    law = 10 ** (-0.0003 * faint_mag**3 + 0.0019 * faint_mag**2 + 0.484 * faint_mag - 3.82)
    assert np.sum(every_star().mag <= faint_mag) / SKY_DEG2 == pytest.approx(law, rel=0.3)


@pytest.mark.parametrize(("faint_mag", "expected"), [(10.0, 1.99), (11.0, 4.68), (12.0, 10.65)])
def test_counts_at_the_galactic_pole(faint_mag: float, expected: float) -> None:
    """Counts at the pole agree with Bahcall & Soneira 1980 (ApJS 44, 73, eq. B1) within a factor of 2.3.

    The analytic law is known to lie a factor two below the catalogues at the bright end.
    """
    assert expected / 1.2 < density(80.0, 90.0, faint_mag) < expected * 2.3


@pytest.mark.parametrize(
    "cone", [(10.68, 41.27, 1.0), (0.0, 0.0, 2.0), (359.99, -30.0, 1.0), (77.0, 90.0, 1.5), (200.0, -89.6, 1.0)]
)
def test_cone_against_astropy(cone: tuple[float, float, float]) -> None:
    """The cone holds exactly the stars that astropy's great-circle separation puts inside."""
    stars = every_star()
    here = np.radians(cone)
    inside = angular_separation(here[0], here[1], np.radians(stars.ra_deg), np.radians(stars.dec_deg)) <= here[2]
    found = embedded().cone(*cone)
    assert inside.sum() > 50
    np.testing.assert_array_equal(np.sort(found.ra_deg), np.sort(stars.ra_deg[inside]))


def test_galactic_pole_of_the_counts() -> None:
    """The galactic latitudes used above agree with astropy's on a sample, so that the densities mean something."""
    sample = slice(0, None, 200_000)
    place = SkyCoord(every_star().ra_deg[sample] * u.deg, every_star().dec_deg[sample] * u.deg)
    np.testing.assert_allclose(place.galactic.b.deg, galactic_latitude_deg()[sample], atol=1e-5)

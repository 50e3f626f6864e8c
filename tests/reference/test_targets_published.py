"""The deep-sky objects against positions and figures published elsewhere, and astropy's constellations."""

import re

import astropy.units as u
import numpy as np
import pytest
from astropy.coordinates import SkyCoord, get_constellation

from sidelight.ground.angles import parse_angle_deg, separation_deg
from sidelight.targets.catalogue import entries, objects
from sidelight.targets.names import find

J2000_PLACES = [
    # SIMBAD / NED, J2000, from memory; the last column is what the object's own extent allows, in arcsec.
    ("M 1", "05h34m31.9s", "+22 00 52", 30),
    ("M 13", "16h41m41.6s", "+36 27 41", 30),
    ("M 27", "19h59m36.3s", "+22 43 16", 30),
    ("M 31", "00h42m44.3s", "+41 16 09", 5),
    ("M 33", "01h33m50.9s", "+30 39 36", 10),
    ("M 42", "05h35m17.3s", "-05 23 28", 120),
    ("M 51", "13h29m52.7s", "+47 11 43", 10),
    ("M 57", "18h53m35.1s", "+33 01 45", 30),
    ("M 81", "09h55m33.2s", "+69 03 55", 5),
    ("M 82", "09h55m52.7s", "+69 40 46", 10),
    ("M 104", "12h39m59.4s", "-11 37 23", 10),
    ("NGC 253", "00h47m33.1s", "-25 17 18", 10),
    ("NGC 4565", "12h36m20.8s", "+25 59 16", 15),
    ("NGC 5139", "13h26m47.2s", "-47 28 46", 60),
    ("Large Magellanic Cloud", "05h23m34.5s", "-69 45 22", 60),
]


@pytest.mark.parametrize(("name", "ra", "dec", "within_arcsec"), J2000_PLACES)
def test_places(name: str, ra: str, dec: str, within_arcsec: float) -> None:
    """Well-known objects stand where SIMBAD and NED put them (values from memory)."""
    found = find(name)
    away = separation_deg(
        found.ra_deg, found.dec_deg, parse_angle_deg(ra, hours=True), parse_angle_deg(dec, hours=False)
    )
    assert away * 3600 < within_arcsec


def test_every_object_is_in_its_constellation() -> None:
    """Positions of all objects fall in the stated constellation by Roman's boundaries (astropy); 0.5 % border cases.

    Roman 1987, PASP 99, 695. An error of units, equinox or sign would put most of them elsewhere.
    """
    table, column = objects(), entries().columns
    here = SkyCoord(table.ra_deg * u.deg, table.dec_deg * u.deg)
    found = get_constellation(here, short_name=True)
    stated = np.array([column["const"][row] for row in table.row])
    stated = np.where((stated == "Se1") | (stated == "Se2"), "Ser", stated)
    assert np.mean(found == stated) > 0.995


def test_dreyers_numbers_are_complete() -> None:
    """The New General Catalogue has 7,840 numbers and the Index Catalogues 5,386 (Dreyer 1888, 1895, 1908)."""
    names = entries().columns["name"]
    numbers = {
        prefix: {int(m[1]) for n in names if (m := re.match(rf"{prefix}(\d+)", n))} for prefix in ("NGC", "IC")
    }
    assert numbers["NGC"] == set(range(1, 7841))
    assert numbers["IC"] == set(range(1, 5387))


def test_messiers_numbers_are_complete() -> None:
    """All 110 Messier numbers find an object."""
    assert all(find(f"M {number}").name for number in range(1, 111))


def test_number_of_real_objects() -> None:
    """Duplicates, non-existent entries and plain stars aside, OpenNGC has some 12,600 objects."""
    assert 12_400 < len(objects()) < 12_900
    assert not {"*", "**", "Dup", "NonEx"} & set(objects().kind)
    assert np.all(np.isfinite(objects().ra_deg) & np.isfinite(objects().dec_deg))


@pytest.mark.parametrize(
    ("name", "major_arcmin", "minor_arcmin", "position_angle_deg", "v_mag"),
    [
        ("M 31", 190.5, 61.7, 35, 3.44),
        ("NGC 3628", 14.8, 3.0, 104, 9.5),
        ("M 82", 11.2, 4.3, 65, 8.4),
        ("M 65", 9.8, 2.9, 174, 9.3),
    ],
)
def test_sizes_and_angles(
    name: str, major_arcmin: float, minor_arcmin: float, position_angle_deg: float, v_mag: float
) -> None:
    """Axes, position angle and V agree with RC3 (de Vaucouleurs et al. 1991; from memory) as catalogues do.

    30 % in the axes, 5 degrees, 0.3 mag: isophotes of different authors differ by that much.
    """
    found = find(name)
    assert found.major_arcmin == pytest.approx(major_arcmin, rel=0.3)
    assert found.minor_arcmin == pytest.approx(minor_arcmin, rel=0.35)
    assert found.position_angle_deg == pytest.approx(position_angle_deg, abs=5)
    assert found.v_mag == pytest.approx(v_mag, abs=0.3)


@pytest.mark.parametrize(("name", "position_angle_deg", "b_mag"), [("NGC 4565", 136, 10.4), ("NGC 253", 52, 8.0)])
def test_an_apertures_magnitude_is_not_taken_for_a_galaxys(
    name: str, position_angle_deg: float, b_mag: float
) -> None:
    """Where V is fainter than B by much (RC3's total B from memory), V is left out and this is said."""
    found = find(name)
    assert found.position_angle_deg == pytest.approx(position_angle_deg, abs=5)
    assert found.b_mag == pytest.approx(b_mag, abs=0.5)
    assert found.v_mag is None
    assert any("estimated" in note for note in found.notes)


def test_surface_brightness_is_what_it_says() -> None:
    """A round nebula of V 8.8 and 1 arcmin has V + 2.5 log10(area in arcsec²) by hand; stars have none."""
    ring = find("M 57")
    assert ring.v_mag is not None
    assert ring.major_arcmin is not None
    radius_arcsec = ring.major_arcmin * 30.0
    by_hand = ring.v_mag + 2.5 * np.log10(np.pi * radius_arcsec**2)
    assert ring.surface_brightness_mag_arcsec2 == pytest.approx(by_hand, abs=1e-9)
    assert find("M 45").surface_brightness_mag_arcsec2 is None


def test_surface_brightness_of_galaxies_is_plausible() -> None:
    """Freeman's law (1970, ApJ 160, 811): disks are near 21.65 B mag/arcsec² in the middle, so fainter on average.

    The mean over the outline must then lie between 20 and 25 V mag/arcsec² for nearly all galaxies.
    """
    table = objects()
    galaxies = np.array(table.kind) == "G"
    mean = table.surface_brightness_mag_arcsec2[galaxies]
    mean = mean[np.isfinite(mean)]
    assert np.mean((mean > 20.0) & (mean < 25.0)) > 0.98

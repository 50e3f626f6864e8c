"""Laws of the star cells and of the cone look-up."""

import tempfile
from pathlib import Path

import numpy as np
from hypothesis import given, settings
from tests.strategies.ground import declinations, right_ascensions
from tests.strategies.stars import cones, skies

from sidelight.ground.angles import separation_deg
from sidelight.stars import cells
from sidelight.stars.packed import PackedCatalogue, pack


def opened(sky: tuple[np.ndarray, np.ndarray, np.ndarray]) -> PackedCatalogue:
    """Pack a sky and open it again."""
    with tempfile.NamedTemporaryFile(suffix=".bin", delete=False) as file:
        file.write(pack(*sky))
    try:
        catalogue = PackedCatalogue.open(Path(file.name))
        columns = {
            name: np.array(getattr(catalogue, name)) for name in ("counts", "offsets", "across", "up", "thousandths")
        }
        return PackedCatalogue(catalogue.path, catalogue.name, catalogue.depth_mag, **columns)
    finally:
        del catalogue
        Path(file.name).unlink()


@given(right_ascensions, declinations)
def test_a_place_lies_in_its_cell(ra: float, dec: float) -> None:
    """A direction lies within the reach of its ring and near the centre of its cell."""
    row, cell = cells.ring_and_cell(ra, dec)
    table = cells.rings()
    assert table.low_dec_deg[row] - 1e-9 <= dec <= table.high_dec_deg[row] + 1e-9
    assert 0 <= cell - table.first[row] < table.count[row]
    assert separation_deg(ra, dec, *cells.cell_centre_deg(row, cell)) < cells.CELL_RADIUS_DEG


def test_cells_are_equal_in_area() -> None:
    """Uniform random directions fill every ring in proportion to its number of cells (within 5 sigma)."""
    random = np.random.default_rng(20)
    count = 400_000
    ra = random.uniform(0, 360, count)
    dec = np.degrees(np.arcsin(random.uniform(-1, 1, count)))
    found = np.bincount(cells.ring_and_cell(ra, dec)[0], minlength=cells.RINGS)
    expected = cells.rings().count / cells.CELLS * count
    assert np.all(np.abs(found - expected) < 5 * np.sqrt(expected) + 1)


def test_centres_are_in_their_own_cells() -> None:
    """Each of the 292,032 cells contains its own centre."""
    table = cells.rings()
    row = np.repeat(np.arange(cells.RINGS), table.count)
    cell = np.arange(cells.CELLS)
    found_row, found_cell = cells.ring_and_cell(*cells.cell_centre_deg(row, cell))
    np.testing.assert_array_equal(found_row, row)
    np.testing.assert_array_equal(found_cell, cell)


@settings(max_examples=50, deadline=None)
@given(skies(), cones)
def test_a_cone_has_exactly_the_stars_within(
    sky: tuple[np.ndarray, np.ndarray, np.ndarray], cone: tuple[float, float, float]
) -> None:
    """The look-up by cells finds what a look at every star finds, poles and right ascension 0 included."""
    catalogue = opened(sky)
    every = catalogue.cone(0.0, 90.0, 180.0)
    assert len(every) == len(sky[0])
    inside = separation_deg(cone[0], cone[1], every.ra_deg, every.dec_deg) <= cone[2]
    found = catalogue.cone(*cone)
    np.testing.assert_array_equal(found.mag, every.mag[inside])
    np.testing.assert_array_equal(np.sort(found.ra_deg), np.sort(every.ra_deg[inside]))


@settings(max_examples=50, deadline=None)
@given(skies())
def test_packing_keeps_places_and_magnitudes(sky: tuple[np.ndarray, np.ndarray, np.ndarray]) -> None:
    """A star comes back within 0.03 arcsec and 0.0005 mag."""
    ra, dec, mag = sky
    stars = opened(sky).cone(0.0, 0.0, 180.0)
    for k in range(len(mag)):
        away = separation_deg(ra[k], dec[k], stars.ra_deg, stars.dec_deg) * 3600.0
        assert np.any((away < 0.03) & (np.abs(stars.mag - mag[k]) <= 0.000501))

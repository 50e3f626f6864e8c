"""Arcs of hour angle beside a dense scan of spherical trigonometry, over ragged skylines at fixed places."""

import numpy as np
import pytest
from tests.property.test_sky_crossings_laws import height_deg

from sidelight.sky.crossings import hour_angle_arcs
from sidelight.sky.horizon import horizon_from_points
from sidelight.sky.site import Site

RAGGED = horizon_from_points(
    [3.0, 40.0, 41.0, 97.0, 98.5, 130.0, 171.0, 171.2, 205.0, 250.0, 251.0, 300.0, 340.0, 341.0],
    [22.0, 25.0, 48.0, 47.0, 12.0, 33.0, 35.0, 71.0, 70.5, 60.0, 30.0, 5.0, 8.0, 55.0],
)
SITES = [Site("A", latitude, 0.0, 600.0, "UTC", RAGGED, 27.0) for latitude in (-68.0, -33.0, 0.0, 21.0, 49.0, 83.0)]
DECLINATIONS = np.concatenate([np.linspace(-89.9, 89.9, 360), [-27.0, 0.0, 27.0]])
HOUR_ANGLES = np.arange(-180.0, 180.0, 0.5) + 0.123


@pytest.mark.parametrize("site", SITES, ids=lambda site: f"{site.latitude_deg:g}")
def test_arcs_are_those_of_a_scan(site: Site) -> None:
    """Whatever the declination, an object is inside its arcs exactly while it stands above skyline and floor."""
    arcs = hour_angle_arcs(DECLINATIONS, site)
    height = np.stack([height_deg(site, HOUR_ANGLES, dec) for dec in DECLINATIONS.tolist()])
    inside = np.zeros(height.shape, dtype=bool)
    for row in range(len(DECLINATIONS)):
        for start, end in arcs.of(row):
            inside[row] |= np.mod(HOUR_ANGLES - start, 360.0) < end - start
    wrong = (inside != (height > 0.0)) & (np.abs(height) > 2e-6)
    assert not wrong.any(), DECLINATIONS[wrong.any(axis=1)]


@pytest.mark.parametrize("site", SITES, ids=lambda site: f"{site.latitude_deg:g}")
def test_ends_of_arcs_lie_on_the_edge(site: Site) -> None:
    """Within 1e-6° of hour angle about each end, as promised, the object crosses the edge."""
    arcs = hour_angle_arcs(DECLINATIONS, site)
    for row, dec in enumerate(DECLINATIONS.tolist()):
        one = arcs.of(row)
        if len(one) == 1 and one[0, 1] - one[0, 0] == 360.0:
            continue
        around = height_deg(site, one[:, :, None] + np.array([-1e-6, 0.0, 1e-6]), dec)
        crosses = (around.min(axis=2) <= 0.0) & (around.max(axis=2) >= 0.0)
        assert np.all(crosses | (np.abs(around[..., 1]) < 1e-9)), (dec, one)

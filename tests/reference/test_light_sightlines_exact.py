"""The fast geometry behind effective hours beside the exact places of the sky, as good as it promises to be."""

import numpy as np
import pytest

from sidelight.ground.angles import turn_deg
from sidelight.light.sightlines import of_date, ragged, sightlines, sky_table
from sidelight.light.weight import directions
from sidelight.sky.site import Site

SITES = [
    Site("A", 52.0, 13.0, 40.0, "UTC"),
    Site("B", -34.0, 150.0, 1100.0, "UTC"),
    Site("C", 2.0, -160.0, 0.0, "UTC"),
]
RA_DEG, DEC_DEG = np.array([10.0, 84.0, 200.0, 310.0]), np.array([41.0, -5.4, -60.0, 88.0])
START_MJD = 61450.3


@pytest.mark.parametrize("site", SITES, ids=lambda site: site.name)
def test_directions_are_the_exact_ones(site: Site) -> None:
    """Targets above 4° and the Sun within 0.001°, the Moon within 0.04° at the horizon and 0.003° above 10°."""
    at = np.broadcast_to(START_MJD + np.linspace(0.0, 0.5, 97), (len(RA_DEG), 97))
    table = sky_table(site, START_MJD, START_MJD + 0.5)
    fast = sightlines(site, table, of_date(RA_DEG, DEC_DEG, at[:, 0]), at, with_azimuth=True)
    exact = directions(site, RA_DEG[:, None], DEC_DEG[:, None], at)
    up = exact.altitude_deg > 4.0
    np.testing.assert_allclose(fast.altitude_deg[up], exact.altitude_deg[up], atol=1e-3)
    assert fast.azimuth_deg is not None
    assert exact.azimuth_deg is not None
    aside = np.abs(turn_deg(exact.azimuth_deg, fast.azimuth_deg)) * np.cos(np.radians(exact.altitude_deg))
    assert float(aside.max()) < 2e-3
    np.testing.assert_allclose(fast.sun_altitude_deg, exact.sun_altitude_deg, atol=1e-3)
    risen, high = exact.moon_altitude_deg > 0.0, exact.moon_altitude_deg > 10.0
    assert high.any()
    np.testing.assert_allclose(fast.moon_altitude_deg[risen], exact.moon_altitude_deg[risen], atol=0.04)
    np.testing.assert_allclose(fast.moon_altitude_deg[high], exact.moon_altitude_deg[high], atol=3e-3)
    np.testing.assert_allclose(fast.moon_separation_deg, exact.moon_separation_deg, atol=3e-3)
    np.testing.assert_allclose(fast.moon_phase_angle_deg, exact.moon_phase_angle_deg, atol=3e-3)


@pytest.mark.parametrize("site", SITES, ids=lambda site: site.name)
def test_the_suns_parallax_is_in_it(site: Site) -> None:
    """At the table's own instants the Sun is where the exact altitude has it, to 0.01″ of its parallax of 8.8″."""
    nodes = START_MJD + np.arange(43)[:, None] / 48.0
    table = sky_table(site, START_MJD, START_MJD + 0.95)
    target = of_date(np.full(43, RA_DEG[0]), np.full(43, DEC_DEG[0]), nodes[:, 0])
    fast = sightlines(site, table, target, nodes, with_azimuth=False)
    exact = directions(site, RA_DEG[0], DEC_DEG[0], nodes)
    assert float(np.abs(fast.sun_altitude_deg - exact.sun_altitude_deg).max()) * 3600.0 < 0.01
    assert fast.azimuth_deg is None


def test_ragged_rows() -> None:
    """Rows of two, none and three elements that begin at 5, 7 and 1 are 5 6, nothing, 1 2 3."""
    owner, number = ragged(np.array([5, 7, 1]), np.array([2, 0, 3]))
    assert owner.tolist() == [0, 0, 2, 2, 2]
    assert number.tolist() == [5, 6, 1, 2, 3]

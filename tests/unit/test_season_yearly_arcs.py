"""Arcs fitted through a year beside arcs computed for each declination, and which objects need the latter."""

import numpy as np
import pytest

from sidelight.ground.angles import wrap_180
from sidelight.ground.types import BoolArray, FloatArray
from sidelight.season.yearly_arcs import FIT_TOLERANCE_DEG, YearlyArcs, yearly_arcs
from sidelight.sky.crossings import UsableSky, usable_sky
from sidelight.sky.horizon import FLAT, horizon_from_points
from sidelight.sky.site import Site

DRIFT_DEG = 0.01
"""How far aberration, nutation and precession take an object from its middle declination in a year."""
HILLS = horizon_from_points([0.0, 60.0, 130.0, 190.0, 260.0, 320.0], [25.0, 12.0, 31.0, 22.0, 35.0, 18.0])
SITES = [
    Site("plain", 49.0, 11.0, 400.0, "UTC", FLAT, 25.0),
    Site("hills", -33.0, 151.0, 900.0, "UTC", HILLS, 15.0),
    Site("near the pole", 79.0, 15.0, 0.0, "UTC", HILLS, 10.0),
]
"""Seen from each, objects pass the edge steeply, at a slant, and all but along it."""
DEC_DEG = np.linspace(-89.9, 89.9, 12_000)
LOWEST, HIGHEST = (np.sin(np.radians(DEC_DEG + drift)) for drift in (-DRIFT_DEG, DRIFT_DEG))


def fitted(site: Site) -> tuple[UsableSky, YearlyArcs]:
    """Return a site's sky and the arcs of declinations from pole to pole."""
    sky = usable_sky(site)
    return sky, yearly_arcs(sky, LOWEST, HIGHEST)


@pytest.mark.parametrize("site", SITES, ids=lambda site: site.name)
def test_fitted_arcs_are_those_of_each_declination(site: Site) -> None:
    """At twenty-one declinations of their year arcs begin and end where they do for that very declination.

    A cubic that misses by 1 half way to an end misses by 1.03 at the most in between.
    """
    sky, arcs = fitted(site)
    for share in np.linspace(0.0, 1.0, 21).tolist():
        sin_dec = LOWEST + share * (HIGHEST - LOWEST)
        exact = sky.arcs(sin_dec)
        first, counts = exact.offsets[:-1], np.diff(exact.offsets)
        owned = np.bincount(arcs.owner, minlength=len(DEC_DEG))
        np.testing.assert_array_equal((owned + arcs.never_sets)[~arcs.each_night], counts[~arcs.each_night])
        assert not owned[arcs.each_night | arcs.never_sets].any()
        assert np.all((exact.end_deg - exact.start_deg)[first[arcs.never_sets]] == 360.0)
        x = sin_dec[arcs.owner] - arcs.middle_sin_dec[arcs.owner]
        start, width = (rows[:, 0] + x * (rows[:, 1] + x * rows[:, 2]) for rows in (arcs.start_deg, arcs.width_deg))
        row = first[arcs.owner] + arcs.number
        assert np.max(np.abs(wrap_180(start - exact.start_deg[row]))) < 1.05 * FIT_TOLERANCE_DEG
        assert np.max(np.abs(wrap_180(start + width - exact.end_deg[row]))) < 1.05 * FIT_TOLERANCE_DEG
        assert np.all(np.abs(width - (exact.end_deg - exact.start_deg)[row]) < 2.1 * FIT_TOLERANCE_DEG)


def misses_deg(sky: UsableSky) -> tuple[BoolArray, FloatArray]:
    """Return which declinations keep their arcs, and how far numpy's parabola misses their worst end half way."""
    five = [sky.arcs(LOWEST + share * (HIGHEST - LOWEST)) for share in (0.0, 0.25, 0.5, 0.75, 1.0)]
    same = sky.band(LOWEST) == sky.band(HIGHEST)
    worst = np.zeros(len(DEC_DEG))
    for dec in np.flatnonzero(same & (np.diff(five[2].offsets) > 0)).tolist():
        arcs = [one.of(dec) for one in five]
        ends = np.array([np.ravel(one - arcs[2]) for one in arcs])
        ends = (ends + 180.0) % 360.0 - 180.0
        parabola = np.polynomial.polynomial.polyfit([-1.0, 0.0, 1.0], ends[::2], 2)
        at_half = np.polynomial.polynomial.polyval(np.array([-0.5, 0.5]), parabola)
        worst[dec] = np.max(np.abs(at_half.T - ends[1::2]))
    return same, worst


@pytest.mark.parametrize("site", SITES, ids=lambda site: site.name)
def test_only_what_a_parabola_misses_is_computed_night_by_night(site: Site) -> None:
    """Objects that graze the edge in their year, or pass it too unevenly for a parabola: 0.3 % of declinations."""
    sky, arcs = fitted(site)
    same, miss = misses_deg(sky)
    sure = np.abs(miss / FIT_TOLERANCE_DEG - 1.0) > 1e-3
    np.testing.assert_array_equal(arcs.each_night[sure], (~same | (miss > FIT_TOLERANCE_DEG))[sure])
    assert np.mean(arcs.each_night) < 0.005

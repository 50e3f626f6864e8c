"""Which stars are looked up, and which of them the limits leave: against corners, great circles and plain masks."""

from dataclasses import dataclass, field
from itertools import product

import erfa
import numpy as np
import pytest
from tests.strategies.setup import FewStars, small_rig, want

from sidelight.rig.guider import GuideRectangle
from sidelight.rig.optics import sky_deg
from sidelight.setup.reach import Reach, arcmin_to_mm, load_reaches, mm_to_arcmin, reach_radius_deg
from sidelight.setup.records import Constraints
from sidelight.setup.solve import solve
from sidelight.setup.task import reaches_for
from sidelight.stars.cone import Stars
from sidelight.targets.records import Outline

PLACE = (80.0, 30.0)
NOTHING = np.empty(0)


def apart_deg(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Return the great circle between two places."""
    return float(np.degrees(erfa.seps(*np.radians(one), *np.radians(other))))


@dataclass(frozen=True)
class Asked(FewStars):
    """An empty catalogue that remembers what it was asked."""

    radii_deg: list[float] = field(default_factory=list)

    def cone(self, ra_deg: float, dec_deg: float, radius_deg: float, faint_mag: float | None = None) -> Stars:
        """Remember the radius."""
        self.radii_deg.append(radius_deg)
        return super().cone(ra_deg, dec_deg, radius_deg, faint_mag)


@pytest.mark.parametrize("focal_mm", [400.0, 1600.0])
@pytest.mark.parametrize("spare_mm", [0.0, 7.5])
def test_the_sky_looked_at_ends_beyond_the_farthest_corner(focal_mm: float, spare_mm: float) -> None:
    """A point of the focal plane so far out as the farthest of four corners and the spare is at the radius."""
    rectangle = GuideRectangle(21.0, 1.8, 2.9)
    corners = product((21.0 - 1.8, 21.0 + 1.8), (-2.9, 2.9))
    far_mm = max(np.hypot(*corner) for corner in corners) + spare_mm
    ra, dec = erfa.tpsts(far_mm / focal_mm, 0.0, *np.radians(PLACE))
    expected = apart_deg(PLACE, (np.degrees(ra), np.degrees(dec)))
    assert reach_radius_deg(rectangle, focal_mm, spare_mm) == pytest.approx(expected, rel=1e-9)
    asked = Asked(NOTHING, NOTHING, NOTHING)
    load_reaches([want("one", PLACE), want("other", (5.0, 5.0))], asked, rectangle, focal_mm, spare_mm)
    assert asked.radii_deg == pytest.approx([expected, expected], rel=1e-9)


@pytest.mark.parametrize(("granted", "own"), [(None, 0.0), (40.0, 0.0), (None, 40.0), (40.0, 5.0), (5.0, 40.0)])
def test_every_star_that_a_shift_can_reach_is_looked_up(granted: float | None, own: float) -> None:
    """However a pointing moves within the larger of both grants, the sensor's corner is within what is looked up."""
    rig = small_rig(stem_radius_mm=34.0)
    asked = Asked(NOTHING, NOTHING, NOTHING)
    reaches_for(rig, [want("one", PLACE, shift_allowed_arcmin=own)], asked, None, granted)
    shift_mm = arcmin_to_mm(max(granted or 0.0, own), 1600.0)
    for angle in np.radians(np.arange(0.0, 360.0, 30.0)):
        out = np.array([np.sin(angle), np.cos(angle)])
        across = np.array([np.cos(angle), -np.sin(angle)])
        moved = tuple(float(one) for one in sky_deg(*(shift_mm * out), *PLACE, 1600.0))
        corner = (34.0 + 1.83) * out + 2.445 * across
        assert apart_deg(PLACE, tuple(float(one) for one in sky_deg(*corner, *moved, 1600.0))) < asked.radii_deg[0]


@pytest.mark.parametrize("extra_mm", [10.0, 14.0, 17.0])
def test_a_granted_shift_reaches_as_far_as_one_of_the_target_s_own(extra_mm: float) -> None:
    """One star so far beyond the sensor's middle is reached with 40 arcminutes, whoever grants them.

    The object is larger than any frame, so that the frame does not hold the pointing back. The shift brings the star
    within the sensor's outer corner at least; just within its outer edge it stands the turn of 1 degree.
    """
    rig = small_rig(kind="fork", camera_px=(7800, 5200), stem_radius_mm=34.0)
    ra, dec = sky_deg(0.0, 34.0 + extra_mm, *PLACE, 1600.0)
    stars = FewStars(np.atleast_1d(ra), np.atleast_1d(dec), np.array([9.0]))
    huge = Outline("huge", *PLACE, 90.0, 30.0, 0.0)
    own = solve(rig, [want("huge", PLACE, huge, sides="any", shift_allowed_arcmin=40.0)], stars, explain=False).best
    granted = Constraints(grant_shift_arcmin=40.0)
    best = solve(rig, [want("huge", PLACE, huge, sides="any")], stars, granted, explain=False).best
    assert own is not None
    assert best is not None
    assert best.rings_served == own.rings_served == 1
    assert best.largest_shift_arcmin == pytest.approx(own.largest_shift_arcmin, abs=1e-9)
    corner_mm, edge_mm = np.hypot(34.0 + 1.83, 2.445) - 34.0, 1.82
    assert mm_to_arcmin(extra_mm - corner_mm, 1600.0) < best.largest_shift_arcmin
    assert best.largest_shift_arcmin < mm_to_arcmin(extra_mm - edge_mm, 1600.0)


LIMITS = (None, 4.0, 5.0, 7.0, 7.5, 9.0, 10.0, 11.0)


@pytest.mark.parametrize("faint", LIMITS)
@pytest.mark.parametrize("bright", LIMITS)
def test_stars_at_a_limit_are_used(faint: float | None, bright: float | None) -> None:
    """From the bright limit to the faint one, both included, brightest first; none where they leave nothing."""
    mag = np.array([5.0, 7.0, 7.0, 8.0, 9.0, 9.0, 10.0])
    reach = Reach(want("one", PLACE), Stars(80.0 + mag / 100, 30.0 - mag / 100, mag, "seven", 11.0), 1600.0)
    between = (mag >= (-np.inf if bright is None else bright)) & (mag <= (np.inf if faint is None else faint))
    assert reach.usable_rows(faint, bright).tolist() == np.flatnonzero(between).tolist()
    usable = reach.usable(faint, bright)
    assert usable.mag.tolist() == mag[between].tolist()
    assert usable.ra_deg.tolist() == (80.0 + mag[between] / 100).tolist()


@pytest.mark.parametrize("arcmin", [0.0, 0.5, 12.0, 60.0, -33.0])
@pytest.mark.parametrize("focal_mm", [200.0, 1600.0])
def test_lengths_from_the_middle_are_angles_on_the_sky(arcmin: float, focal_mm: float) -> None:
    """The place so far north of the middle is so many arcminutes from it by a great circle, and back."""
    length_mm = arcmin_to_mm(arcmin, focal_mm)
    north = tuple(float(one) for one in sky_deg(0.0, length_mm, *PLACE, focal_mm))
    assert np.sign(arcmin) * apart_deg(PLACE, north) * 60.0 == pytest.approx(arcmin, abs=1e-7)
    assert mm_to_arcmin(length_mm, focal_mm) == pytest.approx(arcmin, abs=1e-9)

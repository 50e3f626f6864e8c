"""The arcs that a ring reports: wrapped, sorted, and the same as its lit set, across north too."""

from dataclasses import dataclass

import numpy as np
import pytest

from sidelight.ground import spans
from sidelight.ground.types import FloatArray, Floats
from sidelight.rig.guide_light import GuideLight
from sidelight.rig.optics import sky_deg
from sidelight.rig.records import OffAxisGuider, Rig, Sensor, Telescope
from sidelight.setup.reach import Reach
from sidelight.setup.records import SideNeed, Want
from sidelight.setup.solve import solve
from sidelight.stars.cone import Stars
from sidelight.targets.records import Outline, Target


@dataclass(frozen=True)
class Sky:
    """A catalogue of a few stars, whatever is asked."""

    stars: Stars
    name: str = "made up"
    depth_mag: float = 16.0

    def cone(self, ra_deg: float, dec_deg: float, radius_deg: float, faint_mag: float | None = None) -> Stars:
        """Return all stars."""
        return self.stars

    def depth_at(self, ra_deg: Floats, dec_deg: Floats) -> FloatArray:
        """Return one depth everywhere."""
        return np.full(np.broadcast(ra_deg, dec_deg).shape, 16.0)


RIG = Rig(
    Telescope(200, 1600, mirrors=2),
    Sensor(4000, 3000, 3.0),
    OffAxisGuider(20.0, Sensor(1200, 900, 4.0)),
    guide_limit_mag=15.0,
)


@pytest.mark.parametrize("direction_deg", [0.0, 1.0, 2.5, 359.0, 180.0])
def test_arcs_are_wrapped_and_make_up_the_lit_set(direction_deg: float) -> None:
    """Ends lie in [0, 360), starts rise, and the arcs together are the ring's share, for stars about north."""
    at = np.radians(direction_deg)
    ra, dec = sky_deg(20.0 * np.sin(at), 20.0 * np.cos(at), 150.0, 20.0, 1600.0)
    stars = Stars(np.atleast_1d(ra), np.atleast_1d(dec), np.array([9.0]), "made up", 16.0)
    want = Want(Target("t", 150.0, 20.0), (SideNeed("east"), SideNeed("west")))
    solution = solve(RIG, [want], Sky(stars), explain=False)
    for ring in solution.rings:
        ends = np.array([(arc.from_deg, arc.to_deg) for arc in ring.arcs])
        assert len(ends)
        assert np.all((ends >= 0) & (ends < 360))
        assert np.all(np.diff(ends[:, 0]) >= 0)
        together = spans.arcs_union(*[spans.arcs([[a, a + (b - a) % 360]]) for a, b in ends])
        assert spans.total(together) == pytest.approx(spans.total(ring.lit), abs=1e-9)
        assert ring.share_of_angles == pytest.approx(spans.total(ring.lit) / 360, abs=1e-12)
        middle = direction_deg if ring.side == "west" else direction_deg + 180
        assert spans.arcs_contain(together, [middle - 3, middle, middle + 3]).all()


@pytest.mark.parametrize(("off_arcmin", "inside"), [(0.0, True), (25.0, True), (31.0, False)])
def test_a_star_in_an_outline_is_told(off_arcmin: float, inside: bool) -> None:
    """A neighbour's ellipse of 30 by 10 arcminutes at 90 degrees, by the guide sensor."""
    ra, dec = sky_deg(0.0, 20.0, 150.0, 20.0, 1600.0)
    neighbour = Outline("n", float(ra), float(dec), 30.0, 10.0, 90.0)
    star_ra, star_dec = sky_deg(1600.0 * np.tan(np.radians(off_arcmin / 60)), 20.0, 150.0, 20.0, 1600.0)
    stars = Stars(np.atleast_1d(star_ra), np.atleast_1d(star_dec), np.array([10.0]), "made up", 16.0)
    want = Want(Target("t", 150.0, 20.0, (neighbour,)), (SideNeed("west"),))
    reach = Reach(want, stars, 1600.0).judged_by(RIG, GuideLight())
    assert ("in_outline" in reach.usable(None, None).star(0).faults) is inside

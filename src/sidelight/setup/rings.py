"""Rings: the guider angles at which each star is on the guide sensor, in closed form, no grid."""

import numpy as np

from sidelight.ground import spans
from sidelight.ground.types import FloatArray, Floats, IntArray
from sidelight.rig.guider import GuideRectangle
from sidelight.rig.optics import rho_q
from sidelight.setup.reach import Reach, StarTable
from sidelight.setup.records import LitArc, Ring, Side, SideNeed

HALF_TURN_DEG = 180.0


def star_arcs(rho_mm: Floats, q_deg: Floats, rectangle: GuideRectangle) -> tuple[FloatArray, IntArray]:
    """Return the arcs of guider angle g at which each star is on the guide rectangle (target in the west).

    Parameters
    ----------
    rho_mm, q_deg : (n,) distance from the optical axis and position angle of each star.
    rectangle : usable part of the guide sensor; a rectangle without an inside catches nothing.

    Returns
    -------
    rows : (m, 2) from and to in degrees, from <= to, not wrapped; one arc for a star that crosses the middle of
        the rectangle, two for one that it only meets beside the stem's line.
    star : (m,) which star each row belongs to.

    Notes
    -----
    With β = q − g a star stands at u = ρ cos β along the stem and v = ρ sin β across it, so |u − r| <= h_u and
    |v| <= h_v hold for |β| between acos((r + h_u)/ρ) and the smaller of asin(h_v/ρ) and acos((r − h_u)/ρ).
    Exact; held against a FITS-WCS pixel test in tests/reference/test_setup_rings.py.
    Valid for a rectangle that does not reach over the optical axis (r > h_u).
    """
    rho = np.atleast_1d(np.asarray(rho_mm, dtype=np.float64))
    q = np.atleast_1d(np.asarray(q_deg, dtype=np.float64))
    inner = rectangle.stem_radius_mm - rectangle.half_along_mm
    outer = rectangle.stem_radius_mm + rectangle.half_along_mm
    if rectangle.half_along_mm <= 0 or rectangle.half_across_mm <= 0:
        return np.empty((0, 2)), np.empty(0, dtype=np.int64)
    caught = np.flatnonzero((rho > max(inner, 0.0)) & (rho < np.hypot(outer, rectangle.half_across_mm)))
    rho, q = rho[caught], q[caught]
    near = np.degrees(np.arccos(np.minimum(1.0, outer / rho)))
    far = np.degrees(
        np.minimum(
            np.arcsin(np.minimum(1.0, rectangle.half_across_mm / rho)), np.arccos(np.clip(inner / rho, -1.0, 1.0))
        )
    )
    one = near == 0.0
    first = np.column_stack([q - far, np.where(one, q + far, q - near)])
    second = np.column_stack([q + near, q + far])[~one]
    return np.concatenate([first, second]), np.concatenate([caught, caught[~one]]).astype(np.int64)


def side_turn_deg(side: Side) -> float:
    """Return by how much the guider stands turned on one side against its angle g: half a turn in the east."""
    return HALF_TURN_DEG if side == "east" else 0.0


def side_arcs(
    stars_mm: tuple[FloatArray, FloatArray], side: Side, rectangle: GuideRectangle
) -> tuple[FloatArray, IntArray]:
    """Return `star_arcs` of stars at (X, Y) in the focal plane, expressed in g for targets in the west."""
    rho_mm, q_deg = rho_q(*stars_mm)
    return star_arcs(rho_mm, q_deg - side_turn_deg(side), rectangle)


def lit_angles(stars_mm: tuple[FloatArray, FloatArray], side: Side, rectangle: GuideRectangle) -> FloatArray:
    """Return the arc set of g at which any of the stars is on the guide rectangle."""
    return spans.arcs(side_arcs(stars_mm, side, rectangle)[0])


def ring(
    reach: Reach, need: SideNeed, rectangle: GuideRectangle, stars: StarTable, pointing_deg: tuple[float, float]
) -> Ring:
    """Return the ring of one target on one side, each arc with its star.

    stars : the usable ones, projected about `pointing_deg` (ra, dec).
    """
    rows, index = side_arcs((stars.x_mm, stars.y_mm), need.side, rectangle)
    order = np.argsort(np.mod(rows[:, 0], 360.0), kind="stable")
    lit = spans.arcs(rows)
    known = {int(i): stars.star(int(i)) for i in set(index)}
    wrapped = np.mod(rows, 360.0)
    return Ring(
        target=reach.want.target.key,
        side=need.side,
        needed=need.needed,
        reason=need.reason,
        pointing_ra_deg=pointing_deg[0],
        pointing_dec_deg=pointing_deg[1],
        arcs=tuple(LitArc(float(wrapped[k, 0]), float(wrapped[k, 1]), known[int(index[k])]) for k in order),
        share_of_angles=spans.total(lit) / 360.0,
        stars_in_reach_count=len(known),
        catalogue=reach.stars.catalogue,
        depth_mag=reach.stars.depth_mag,
        lit=lit,
    )

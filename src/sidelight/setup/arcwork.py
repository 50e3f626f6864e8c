"""Work on arcs of the circle that set-ups need: shrinking, sums of two arc sets, middles, sweeps over many sets."""

from collections.abc import Sequence

import numpy as np

from sidelight.ground import spans
from sidelight.ground.types import BoolArray, FloatArray

POINT_DEG = 1e-9
"""Half-width of the arc that stands for a single, fixed angle; far below anything that metal can hold."""


def point_arc(angle_deg: float) -> FloatArray:
    """Return the arc set that holds one angle only."""
    return spans.arcs([[angle_deg - POINT_DEG, angle_deg + POINT_DEG]])


def is_full(arcs: FloatArray) -> bool:
    """Tell whether an arc set is the whole circle."""
    return len(arcs) == 1 and bool(arcs[0, 1] - arcs[0, 0] >= 360.0)


def shrink(arcs: FloatArray, by_deg: float) -> FloatArray:
    """Return what stays when each arc loses `by_deg` at both ends; the full circle loses nothing."""
    if by_deg <= 0 or is_full(arcs) or not len(arcs):
        return arcs
    kept = arcs[arcs[:, 1] - arcs[:, 0] > 2 * by_deg]
    return spans.arcs(kept + np.array([by_deg, -by_deg])) if len(kept) else spans.EMPTY


def shrink_at_most(arcs: FloatArray, by_deg: float) -> FloatArray:
    """Return `shrink`, but by less where it would leave nothing, so that the middle of the longest arc stays."""
    longest = float(np.max(arcs[:, 1] - arcs[:, 0])) if len(arcs) else 0.0
    return shrink(arcs, min(by_deg, 0.4995 * longest))


def sum_of(first: FloatArray, second: FloatArray) -> FloatArray:
    """Return every angle that is a sum of one of the first set and one of the second."""
    if not len(first) or not len(second):
        return spans.EMPTY
    return spans.arcs((first[:, None, :] + second[None, :, :]).reshape(-1, 2))


def negative(arcs: FloatArray) -> FloatArray:
    """Return the arc set of −a for every a in the set."""
    return spans.arcs(-arcs[:, ::-1])


def common(sets: Sequence[FloatArray]) -> FloatArray:
    """Return the intersection of arc sets; the full circle when there is none to intersect."""
    limiting = [one for one in sets if not is_full(one)]
    if not limiting:
        return spans.FULL_CIRCLE
    if len(limiting) == 1 or not all(len(one) for one in limiting):
        return limiting[0] if len(limiting) == 1 else spans.EMPTY
    pieces, held = sweep(limiting)
    return spans.arcs_union(pieces[held.all(axis=0)])


def slack_at(arcs: FloatArray, angle_deg: float) -> float:
    """Return the distance to the end of the arc that an angle stands in, 0 outside, 180 on the full circle."""
    if not len(arcs):
        return 0.0
    turned = np.mod(angle_deg - arcs[:, 0], 360.0)
    length = arcs[:, 1] - arcs[:, 0]
    if is_full(arcs):
        return 180.0
    return max(0.0, float(np.max(np.minimum(turned, length - turned))))


def roomiest(arcs: FloatArray) -> float:
    """Return the middle of the longest arc, 0 on the full circle; the set must not be empty."""
    if is_full(arcs):
        return 0.0
    start, end = arcs[np.argmax(arcs[:, 1] - arcs[:, 0])]
    return float(np.mod((start + end) / 2, 360.0))


def nearest_to_middle(arc: FloatArray, allowed: FloatArray) -> tuple[float, float] | None:
    """Return the allowed angle inside one arc that is farthest from the arc's ends, and its slack; None if none.

    arc : (2,) from and to. The slack of an arc rises towards its middle from both ends, so the best angle is the
    middle where allowed, else the allowed angle next to it.
    """
    start, end = float(arc[0]), float(arc[1])
    middle = (start + end) / 2
    if is_full(allowed):
        return float(np.mod(middle, 360.0)), (end - start) / 2
    pieces = spans.arcs_intersect(arc[None, :], allowed)
    if not len(pieces):
        return None
    if is_full(arc[None, :]):
        return roomiest(allowed), 180.0
    # every piece lies in the arc: unwrap it to start at or after the arc's own start
    low = start + np.mod(pieces[:, 0] - start, 360.0)
    low = np.where(low > end, start, low)
    high = low + (pieces[:, 1] - pieces[:, 0])
    best = np.clip(middle, low, high)
    slack = np.minimum(best - start, end - best)
    chosen = int(np.argmax(slack))
    return float(np.mod(best[chosen], 360.0)), max(0.0, float(slack[chosen]))


def sweep(sets: Sequence[FloatArray]) -> tuple[FloatArray, BoolArray]:
    """Cut the circle at every end of every set.

    Returns
    -------
    pieces : (m, 2) elementary arcs from north round to north, in order. held : (n, m) which set covers which piece.
    """
    ends = [np.array([0.0, 360.0])]
    ends += [np.mod(one.ravel(), 360.0) for one in sets if len(one) and not is_full(one)]
    cuts = np.unique(np.concatenate(ends))
    pieces = np.column_stack([cuts[:-1], cuts[1:]])
    middle = pieces.mean(axis=1)
    held = np.array([_holds(one, middle) for one in sets], dtype=bool).reshape(len(sets), len(middle))
    return pieces, held


def _holds(arcs: FloatArray, angles_deg: FloatArray) -> BoolArray:
    """Tell which angles, in [0, 360), lie in an arc set, by one search instead of one comparison per arc."""
    if not len(arcs):
        return np.zeros(len(angles_deg), dtype=bool)
    at = np.searchsorted(arcs[:, 0], angles_deg, side="right") - 1
    inside = (at >= 0) & (angles_deg <= arcs[at, 1])
    # the last arc may cross north
    return np.asarray(inside | (angles_deg + 360.0 <= arcs[-1, 1]))

"""Stars, one on each side, that a pointing shift could bring onto the sensor together: bounds for stretches of g."""

import math
from dataclasses import dataclass, replace

import numpy as np

from sidelight.ground import spans
from sidelight.ground.types import BoolArray, FloatArray, IntArray
from sidelight.setup.arcwork import shrink
from sidelight.setup.convex import Core
from sidelight.setup.task import LitRing, Task


@dataclass(frozen=True)
class Mover:
    """One needed target whose pointing may move: its stars, its needed rings at rest, and its limits.

    blur_mm : how far a star's place may turn away from the plain shift, because north turns with the pointing.
    """

    index: int
    x_mm: FloatArray
    y_mm: FloatArray
    west: LitRing | None
    east: LitRing | None
    radius_mm: float
    blur_mm: float
    at_rest: tuple[FloatArray, ...]

    def within(self, radius_mm: float) -> "Mover":
        """Return the same target with a smaller radius."""
        least = min(self.radius_mm, radius_mm)
        share = least / self.radius_mm if self.radius_mm > 0 else 0.0
        return replace(self, radius_mm=least, blur_mm=self.blur_mm * share)

    @property
    def needs(self) -> int:
        """How many rings are needed."""
        return (self.west is not None) + (self.east is not None)


def movers(task: Task) -> list[Mover]:
    """Return the needed targets ready for a search."""
    assert task.rectangle is not None
    every = []
    for index, subject in enumerate(task.subjects):
        rings = [ring for ring in task.needed if ring.subject == index]
        if not rings or subject.stars is None:
            continue
        west = next((ring for ring in rings if ring.side != "east"), None)
        east = next((ring for ring in rings if ring.side == "east"), None)
        corner = math.hypot(
            task.rectangle.stem_radius_mm + task.rectangle.half_along_mm, task.rectangle.half_across_mm
        )
        tilt = abs(math.tan(math.radians(min(abs(subject.pointing_deg[1]), 89.9))))
        turn = min(math.pi, subject.shift_mm / task.focal_mm * (tilt + corner / task.focal_mm))
        every.append(
            Mover(
                index,
                subject.stars.x_mm,
                subject.stars.y_mm,
                west,
                east,
                subject.shift_mm,
                (corner + subject.shift_mm) * turn,
                tuple(shrink(ring.lit, task.tolerance_deg) for ring in (west, east) if ring is not None),
            )
        )
    return every


def _near(
    mover: Mover, core: Core, angles_deg: FloatArray, spare_mm: float, east: bool
) -> tuple[IntArray, IntArray, FloatArray, FloatArray]:
    """Return (angle index, star index, u, v) of the stars that a shift could bring onto the sensor of one side.

    u, v are along and across the western stem, on both sides.
    """
    g = np.radians(angles_deg)[:, None]
    u = mover.x_mm * np.sin(g) + mover.y_mm * np.cos(g)
    v = mover.x_mm * np.cos(g) - mover.y_mm * np.sin(g)
    spare = spare_mm + mover.radius_mm
    along = -u if east else u
    near = (np.abs(v) <= core.half_across_mm + spare) & (along >= core.low_mm - spare)
    near &= along <= core.high_mm + spare
    node, star = np.nonzero(near)
    return node, star, u[near], v[near]


def _shift_box(core: Core, u_mm: FloatArray, v_mm: FloatArray, spare_mm: float, east: bool) -> FloatArray:
    """Return, for each star, the shifts that bring it onto the core's bounding box: (n, 4) low, high of u and v."""
    far, near = (-core.low_mm, -core.high_mm) if east else (core.high_mm, core.low_mm)
    return np.column_stack(
        [
            u_mm - far - spare_mm,
            u_mm - near + spare_mm,
            v_mm - core.half_across_mm - spare_mm,
            v_mm + core.half_across_mm + spare_mm,
        ]
    )


def _box_distance(boxes: FloatArray) -> FloatArray:
    """Return the distance of the origin from each box, infinite for an empty one."""
    along = np.maximum(np.maximum(boxes[:, 0], -boxes[:, 1]), 0.0)
    across = np.maximum(np.maximum(boxes[:, 2], -boxes[:, 3]), 0.0)
    empty = (boxes[:, 0] > boxes[:, 1]) | (boxes[:, 2] > boxes[:, 3])
    return np.where(empty, np.inf, np.hypot(along, across))


@dataclass(frozen=True)
class Pairs:
    """Star pairs (west, east) that might serve both sides, sorted by angle; star −1 where a side is not needed."""

    node: IntArray
    west: IntArray
    east: IntArray
    least_mm: FloatArray


def star_pairs(mover: Mover, core: Core, angles_deg: FloatArray, half_deg: float, sides: tuple[bool, bool]) -> Pairs:
    """Return every choice of stars for the asked sides (west, east) whose shift may stay within the radius.

    least_mm is a lower bound of the shift over all angles within half_deg of each given one.
    """
    sweep_mm = core.high_mm + core.half_across_mm + 2 * mover.radius_mm
    spare_mm = mover.blur_mm + math.radians(half_deg) * sweep_mm
    found = {}
    for east in (False, True):
        if sides[int(east)]:
            node, star, u, v = _near(mover, core, angles_deg, spare_mm, east)
            found[east] = node, star, _shift_box(core, u, v, spare_mm, east)
    if len(found) == 1:
        east, (node, star, boxes) = next(iter(found.items()))
        none = np.full(len(star), -1)
        west_star, east_star = (none, star) if east else (star, none)
    else:
        (w_node, w_star, w_box), (e_node, e_star, e_box) = found[False], found[True]
        count = np.bincount(e_node, minlength=len(angles_deg))
        first = np.concatenate([[0], np.cumsum(count)[:-1]])
        times = count[w_node]
        w = np.repeat(np.arange(len(w_node)), times)
        start = np.repeat(np.cumsum(times) - times, times)
        e = first[w_node[w]] + np.arange(len(w)) - start
        node, west_star, east_star = w_node[w], w_star[w], e_star[e]
        lows = np.maximum(w_box[w][:, ::2], e_box[e][:, ::2])
        highs = np.minimum(w_box[w][:, 1::2], e_box[e][:, 1::2])
        boxes = np.stack([lows, highs], axis=-1).reshape(-1, 4)
    least = _box_distance(boxes)
    keep = least <= mover.radius_mm
    return Pairs(node[keep], west_star[keep], east_star[keep], least[keep])


def bounds(mover: Mover, core: Core, angles_deg: FloatArray, half_deg: float) -> tuple[IntArray, FloatArray]:
    """Return, for each stretch of g, the most rings a target can have there and the least shift for that many."""
    served = np.zeros(len(angles_deg), dtype=np.int64)
    least = np.zeros(len(angles_deg))
    options = [(mover.west is not None, mover.east is not None)]
    if mover.needs == 2:
        options = [(True, False), (False, True), (True, True)]
    for sides in options:
        pairs = star_pairs(mover, core, angles_deg, half_deg, sides)
        shortest = np.full(len(angles_deg), np.inf)
        np.minimum.at(shortest, pairs.node, pairs.least_mm)
        rest = at_rest(mover, sides)
        shortest[np.logical_and.reduce([_meets(arcs, angles_deg, half_deg) for arcs in rest])] = 0.0
        count = sum(sides)
        better = np.isfinite(shortest) & ((count > served) | ((count == served) & (shortest < least)))
        served[better], least[better] = count, shortest[better]
    return served, least


def at_rest(mover: Mover, sides: tuple[bool, bool]) -> list[FloatArray]:
    """Return the arcs of g at which the asked sides (west, east) have their stars without a shift."""
    have = [side for side, there in zip(sides, (mover.west, mover.east), strict=True) if there is not None]
    return [arcs for arcs, asked in zip(mover.at_rest, have, strict=True) if asked]


def _meets(arcs: FloatArray, angles_deg: FloatArray, half_deg: float) -> BoolArray:
    """Tell which stretches of angles meet an arc set."""
    if not len(arcs):
        return np.zeros(len(angles_deg), dtype=bool)
    wider = spans.arcs(arcs + np.array([-half_deg, half_deg]))
    return spans.arcs_contain(wider, angles_deg)

"""Stars, one on each side, that a pointing shift could bring onto the sensor together: bounds for stretches of g."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from sidelight.ground import spans
from sidelight.ground.types import BoolArray, FloatArray, IntArray
from sidelight.setup.arcwork import shrink
from sidelight.setup.convex import Core, MovingStars, nearest_distances
from sidelight.setup.framelimit import FrameStretch
from sidelight.setup.task import LitRing, Task

CHUNK = 4000
MOST_PAIRS = 400_000
MOST_TURN_DEG = 3.0
"""A shift beside a pole may turn north by this much; beyond, the field turns far more than it moves."""


@dataclass(frozen=True)
class Mover:
    """One needed target whose pointing may move: its stars, its needed rings at rest, and its limits.

    north_turn_deg_per_mm : turn of north for each mm that the pointing moves east, tan δ / f in degrees.
    reach_mm : of the sensor's far corner from the axis. at_rest : arcs of g that need no shift, for each needed ring.
    """

    index: int
    x_mm: FloatArray
    y_mm: FloatArray
    west: LitRing | None
    east: LitRing | None
    radius_mm: float
    reach_mm: float
    focal_mm: float
    north_turn_deg_per_mm: float
    at_rest: tuple[FloatArray, ...]

    @property
    def needs(self) -> int:
        """How many rings are needed."""
        return (self.west is not None) + (self.east is not None)

    @property
    def blur_mm(self) -> float:
        """How far at most a star's place strays from the plain shift, because north turns with the pointing."""
        return (self.reach_mm + self.radius_mm) * min(math.pi, self.turn_with_pointing)

    @property
    def rest_mm(self) -> float:
        """How far at most it strays once the turn of north is counted to first order."""
        whole = self.reach_mm + self.radius_mm
        return min(2 * whole, self._turn * self.radius_mm + whole * (self._turn**2 + self._second_order))

    @property
    def turn_with_pointing(self) -> float:
        """Radians that anything in the field turns by at most as the pointing moves."""
        return self._turn + self._second_order

    @property
    def _turn(self) -> float:
        """Radians that north turns by at most."""
        return abs(math.radians(self.north_turn_deg_per_mm)) * self.radius_mm

    @property
    def _second_order(self) -> float:
        """Radians by which the projection bends over the shift and the field."""
        return self.radius_mm * (self.reach_mm + self.radius_mm) / self.focal_mm**2 + self._turn**2

    def stars(self, rows: IntArray, guider_angles_deg: FloatArray) -> MovingStars:
        """Return stars as the guider sees them move, each at its own angle."""
        return moving_stars(self.x_mm[rows], self.y_mm[rows], guider_angles_deg, self.north_turn_deg_per_mm)


def moving_stars(
    x_mm: FloatArray, y_mm: FloatArray, guider_angles_deg: FloatArray, north_turn_deg_per_mm: float
) -> MovingStars:
    """Return stars at (X east, Y north) in the stem's coordinates, with their drift as the pointing moves east."""
    sin, cos = np.sin(np.radians(guider_angles_deg)), np.cos(np.radians(guider_angles_deg))
    u, v = x_mm * sin + y_mm * cos, x_mm * cos - y_mm * sin
    turn = math.radians(north_turn_deg_per_mm)
    return MovingStars(np.column_stack([u, v]), turn * np.column_stack([-v, u]), np.column_stack([sin, cos]))


def movers(task: Task) -> list[Mover]:
    """Return the needed targets ready for a search."""
    assert task.rectangle is not None
    along = task.rectangle.stem_radius_mm + task.rectangle.half_along_mm
    every = []
    for index, subject in enumerate(task.subjects):
        rings = [ring for ring in task.needed if ring.subject == index]
        if not rings or subject.stars is None:
            continue
        west = next((ring for ring in rings if ring.side != "east"), None)
        east = next((ring for ring in rings if ring.side == "east"), None)
        every.append(
            Mover(
                index=index,
                x_mm=subject.stars.x_mm,
                y_mm=subject.stars.y_mm,
                west=west,
                east=east,
                radius_mm=usable_shift_mm(subject.shift_mm, subject.pointing_deg[1], task.focal_mm),
                reach_mm=math.hypot(along, task.rectangle.half_across_mm),
                focal_mm=task.focal_mm,
                north_turn_deg_per_mm=north_turn(subject.pointing_deg[1], task.focal_mm),
                at_rest=tuple(shrink(ring.lit, task.tolerance_deg) for ring in (west, east) if ring is not None),
            )
        )
    return every


def usable_shift_mm(granted_mm: float, dec_deg: float, focal_mm: float) -> float:
    """Return the part of a granted shift that is searched: beside a pole no more than turns north by 3°."""
    return min(granted_mm, MOST_TURN_DEG / max(abs(north_turn(dec_deg, focal_mm)), 1e-9))


def north_turn(dec_deg: float, focal_mm: float) -> float:
    """Return by how many degrees north turns for each mm that a pointing moves east; at the poles a large number."""
    return float(np.clip(math.degrees(math.tan(math.radians(dec_deg)) / focal_mm), -600.0, 600.0))


class Near(NamedTuple):
    """Stars that a shift could bring onto the sensor of one side: at which angle, which star, and the shifts' box.

    box : (n, 4) low and high of the shift along the western stem (u), low and high across it (v).
    """

    node: IntArray
    star: IntArray
    box: FloatArray


def _near(mover: Mover, core: Core, angles_deg: FloatArray, spare_mm: float, east: bool) -> Near:
    """Return the stars within the radius of one side's core, its bounding box loosened by spare_mm."""
    g = np.radians(angles_deg)[:, None]
    u = mover.x_mm * np.sin(g) + mover.y_mm * np.cos(g)
    v = mover.x_mm * np.cos(g) - mover.y_mm * np.sin(g)
    low, high = (-core.high_mm, -core.low_mm) if east else (core.low_mm, core.high_mm)
    reach = spare_mm + mover.radius_mm
    near = (np.abs(v) <= core.half_across_mm + reach) & (u >= low - reach) & (u <= high + reach)
    node, star = np.nonzero(near)
    u, v, across = u[near], v[near], core.half_across_mm
    box = np.column_stack([u - high - spare_mm, u - low + spare_mm, v - across - spare_mm, v + across + spare_mm])
    return Near(node, star, box)


def _box_distance(boxes: Sequence[FloatArray]) -> FloatArray:
    """Return the distance of the origin from what boxes share, row by row; infinite where they share nothing."""
    low = np.max([box[:, ::2] for box in boxes], axis=0)
    high = np.min([box[:, 1::2] for box in boxes], axis=0)
    away = np.maximum(np.maximum(low, -high), 0.0)
    return np.where(np.any(low > high, axis=1), np.inf, np.hypot(away[:, 0], away[:, 1]))


@dataclass(frozen=True)
class Pairs:
    """Star pairs (west, east) that might serve both sides, sorted by angle; star −1 where a side is not needed."""

    node: IntArray
    west: IntArray
    east: IntArray
    least_mm: FloatArray


def star_pairs(
    mover: Mover,
    core: Core,
    angles_deg: FloatArray,
    half_deg: float,
    sides: tuple[bool, bool],
    frame: FrameStretch | None = None,
) -> Pairs:
    """Return every choice of stars for the asked sides (west, east) whose shift may stay within the radius.

    least_mm is a lower bound of the shift over all angles within half_deg of each given one.
    """
    sweep_mm = core.high_mm + core.half_across_mm + 2 * mover.radius_mm
    spare_mm = mover.blur_mm + math.radians(half_deg) * sweep_mm
    west, east = (
        _near(mover, core, angles_deg, spare_mm, opposite) if asked else None
        for opposite, asked in zip((False, True), sides, strict=True)
    )
    if west is not None and east is not None:
        if len(angles_deg) > 1 and _pair_count(west, east, len(angles_deg)) > MOST_PAIRS:
            return _in_halves(mover, core, angles_deg, half_deg, sides, frame)
        west, east = _matched(west, east, len(angles_deg))
    one = west if west is not None else east
    assert one is not None
    boxes = [near.box for near in (west, east) if near is not None]
    if frame is not None:
        boxes.append(frame.boxes()[one.node])
    least = _box_distance(boxes)
    keep = least <= mover.radius_mm
    none = np.full(int(keep.sum()), -1)
    return Pairs(
        one.node[keep],
        none if west is None else west.star[keep],
        none if east is None else east.star[keep],
        least[keep],
    )


def _pair_count(west: Near, east: Near, angles_count: int) -> int:
    """Return how many pairs there are in all."""
    return int(np.bincount(west.node, minlength=angles_count) @ np.bincount(east.node, minlength=angles_count))


def _matched(west: Near, east: Near, angles_count: int) -> tuple[Near, Near]:
    """Return every western star beside every eastern one of the same angle."""
    count = np.bincount(east.node, minlength=angles_count)
    first = np.concatenate([[0], np.cumsum(count)[:-1]])
    times = count[west.node]
    w = np.repeat(np.arange(len(west.node)), times)
    start = np.repeat(np.cumsum(times) - times, times)
    e = first[west.node[w]] + np.arange(len(w)) - start
    return Near(west.node[w], west.star[w], west.box[w]), Near(east.node[e], east.star[e], east.box[e])


def _in_halves(
    mover: Mover,
    core: Core,
    angles_deg: FloatArray,
    half_deg: float,
    sides: tuple[bool, bool],
    frame: FrameStretch | None,
) -> Pairs:
    """Return `star_pairs` of the two halves of the angles, so that deep catalogues need no more memory."""
    middle = len(angles_deg) // 2
    parts = []
    for start, rows in ((0, np.arange(middle)), (middle, np.arange(middle, len(angles_deg)))):
        part_frame = None if frame is None else frame.rows(rows)
        part = star_pairs(mover, core, angles_deg[rows], half_deg, sides, part_frame)
        parts.append((part.node + start, part.west, part.east, part.least_mm))
    return Pairs(*(np.concatenate(column) for column in zip(*parts, strict=True)))


def bounds(
    mover: Mover,
    core: Core,
    angles_deg: FloatArray,
    half_deg: float,
    fine: bool = False,
    frame: FrameStretch | None = None,
) -> tuple[IntArray, FloatArray]:
    """Return, for each stretch of g, the most rings a target can have there and the least shift for that many.

    fine : with the core's true outline and the turn of north, instead of boxes about all that; slower.
    frame : what the frame allows over each stretch; None where it cannot bind.
    """
    served = np.zeros(len(angles_deg), dtype=np.int64)
    least = np.zeros(len(angles_deg))
    for sides in ways(mover):
        count = sum(sides)
        rest = np.logical_and.reduce([_meets(arcs, angles_deg, half_deg) for arcs in at_rest(mover, sides)])
        rest = rest if frame is None else rest & frame.allows_rest
        # a way that serves more was found here already: no need to look
        open_ones = np.flatnonzero(~rest & (served <= count))
        shortest = np.full(len(angles_deg), np.inf)
        shortest[rest] = 0.0
        open_frame = None if frame is None else frame.rows(open_ones)
        pairs = star_pairs(mover, core, angles_deg[open_ones], half_deg, sides, open_frame)
        if fine:
            pairs = finer(mover, core, pairs, angles_deg[open_ones], half_deg, open_frame)
        np.minimum.at(shortest, open_ones[pairs.node], pairs.least_mm)
        better = np.isfinite(shortest) & ((count > served) | ((count == served) & (shortest < least)))
        served[better], least[better] = count, shortest[better]
    return served, least


def ways(mover: Mover) -> list[tuple[bool, bool]]:
    """Return the sides (west, east) that may be served, those that serve more first."""
    if mover.needs == 2:
        return [(True, True), (True, False), (False, True)]
    return [(mover.west is not None, mover.east is not None)]


def finer(
    mover: Mover, core: Core, pairs: Pairs, angles_deg: FloatArray, half_deg: float, frame: FrameStretch | None
) -> Pairs:
    """Return the pairs with better lower bounds, without those that turn out impossible."""
    spare_mm = mover.rest_mm + math.radians(half_deg) * (core.high_mm + core.half_across_mm + 2 * mover.radius_mm)
    least = pairs.least_mm.copy()
    for start in range(0, len(least), CHUNK):
        rows = slice(start, start + CHUNK)
        node = pairs.node[rows]
        parts = [frame.planes(node)] if frame is not None else []
        for star, east in ((pairs.west[rows], False), (pairs.east[rows], True)):
            # one side is asked of all pairs or of none
            if len(star) and star[0] >= 0:
                parts.append(core.shifts_for(mover.stars(star, angles_deg[node]), east, spare_mm))
        least[rows] = nearest_distances(np.concatenate(parts, axis=1))
    keep = least <= mover.radius_mm
    return Pairs(pairs.node[keep], pairs.west[keep], pairs.east[keep], least[keep])


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

"""Pointing shifts, solved: the guider angle that serves most rings with the least worst shift, by branch and bound.

For a guider angle g the shifts that bring one star onto the west sensor and one onto the east sensor form a convex
polygon, cut further by the frame and by the granted radius; its point nearest to the origin is the shift to take.
Over g, whole stretches are ruled out by bounds that hold for every angle in them, so that nothing is missed.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from sidelight.ground import spans
from sidelight.ground.types import BoolArray, FloatArray, IntArray
from sidelight.rig.optics import plane_mm, sky_deg
from sidelight.setup import framing
from sidelight.setup.arcwork import slack_at
from sidelight.setup.cameras import CameraRule
from sidelight.setup.convex import Core, HalfPlane, MovingStars, nearest_point
from sidelight.setup.framelimit import PROJECTIONS, FrameLimit, FrameStretch, Shift, farthest_mm, frame_over
from sidelight.setup.pairs import (
    Mover,
    at_rest,
    bounds,
    finer,
    movers,
    moving_stars,
    north_turn,
    star_pairs,
    ways,
)
from sidelight.setup.reach import arcmin_to_mm
from sidelight.setup.task import Task

FIRST_HALF_DEG = 0.5
LAST_HALF_DEG = 0.004
FINE_HALF_DEG = 0.3
GAP_MM = 0.004
FIRST_RADIUS_ARCMIN = 1.0
MOST_NODES = 2000
TRIED_PER_LEVEL = 4
TRIED_AT_LAST = 200
SETTLED_MM = 1e-6
HAIR_DEG = 2e-5
"""Asked for beyond the tolerance, so that an unsettled last nanometre does not undercut it."""


@dataclass(frozen=True)
class Moved:
    """What one target gets at one pair of angles: rings served and the shift (east, north), mm."""

    served: int
    shift_mm: Shift

    @property
    def length_mm(self) -> float:
        """Length of the shift."""
        return math.hypot(*self.shift_mm)


@dataclass(frozen=True)
class ShiftedChoice:
    """The best angles with shifts; `moves` by subject index. proved : no stretch of g was left unsearched."""

    camera_angle_deg: float
    guider_angle_deg: float
    served: int
    worst_mm: float
    moves: dict[int, Moved]
    proved: bool = True


class Search:
    """Branch and bound over g. The goal: most rings served, then the least worst shift."""

    def __init__(self, task: Task, rule: CameraRule) -> None:
        assert task.rectangle is not None
        self.task, self.rule = task, rule
        self.core = Core(task.rectangle, task.tolerance_deg + HAIR_DEG)
        self.movers = movers(task)
        self.outlines = [framing.plane_outlines(one.want.target, task.rig) for one in task.subjects]
        every = np.arange(0.0, framing.PERIOD_DEG, 1.0)
        self.roomy = [
            float(np.min(framing.room_mm(outlines, every))) > 1.05 * subject.shift_mm
            for outlines, subject in zip(self.outlines, task.subjects, strict=True)
        ]
        self.needed = sum(mover.needs for mover in self.movers)
        self.best: ShiftedChoice | None = None
        self.least_served = 1
        self.searched_all = True

    def run(self, domain: FloatArray = spans.FULL_CIRCLE) -> ShiftedChoice | None:
        """Return the best choice for g in an arc set; None when no star can be had.

        Small radii are searched first, for choices that serve everything: one with a small shift needs no larger
        one. Only with the whole radius is less than everything looked for.
        """
        if not self.movers or self.core.empty:
            return None
        whole = self.movers
        most_mm = max(mover.radius_mm for mover in whole)
        radius_mm = min(most_mm, arcmin_to_mm(FIRST_RADIUS_ARCMIN, self.task.focal_mm))
        while True:
            self.movers = [replace(one, radius_mm=min(one.radius_mm, radius_mm)) for one in whole]
            self.least_served = self.needed if radius_mm < most_mm else 1
            for start, end in domain:
                self._run_arc(float(start), float(end))
            if radius_mm >= most_mm or self.best is not None:
                return None if self.best is None else replace(self.best, proved=self.searched_all)
            radius_mm = min(most_mm, 2 * radius_mm)

    def _run_arc(self, low_deg: float, high_deg: float) -> None:
        """Search one arc of g: cut it into stretches, drop those that cannot win, halve the rest."""
        number = max(1, math.ceil((high_deg - low_deg) / (2 * FIRST_HALF_DEG)))
        half = (high_deg - low_deg) / 2 / number
        angles: FloatArray = low_deg + half * (2.0 * np.arange(number, dtype=np.float64) + 1.0)
        while len(angles):
            angles, served, least = self._promising(angles, half)
            last = half <= LAST_HALF_DEG
            for k in range(min(len(angles), TRIED_AT_LAST if last else TRIED_PER_LEVEL)):
                if self._may_win(served[k : k + 1], least[k : k + 1])[0]:
                    self._try(float(angles[k]))
            if last:
                break
            angles = angles[self._may_win(served, least)]
            if len(angles) > MOST_NODES:
                angles, self.searched_all = angles[:MOST_NODES], False
            half /= 2
            angles = np.concatenate([angles - half, angles + half])

    def _promising(self, angles_deg: FloatArray, half_deg: float) -> tuple[FloatArray, IntArray, FloatArray]:
        """Return the stretches of g that may win, best bound first: their middles, most rings, least worst shift.

        One target after another is asked, and a stretch is dropped as soon as the best so far cannot be beaten there.
        """
        served = np.empty((0, len(angles_deg)), dtype=np.int64)
        least = np.zeros(len(angles_deg))
        to_come = self.needed
        for mover in self.movers:
            frame = self.frame_stretch(mover, angles_deg, half_deg)
            more, shift = bounds(mover, self.core, angles_deg, half_deg, half_deg <= FINE_HALF_DEG, frame)
            served, least = np.concatenate([served, more[None, :]]), np.maximum(least, shift)
            to_come -= mover.needs
            left = self._may_win(served.sum(axis=0) + to_come, least)
            angles_deg, served, least = angles_deg[left], served[:, left], least[left]
        framed = self.rule.framed_near(angles_deg, half_deg)[..., [mover.index for mover in self.movers]]
        together = (framed @ served.T[:, :, None])[..., 0].max(axis=-1)
        left = self._may_win(together, least)
        angles_deg, together, least = angles_deg[left], together[left], least[left]
        order = np.lexsort((least, -together))
        return angles_deg[order], together[order], least[order]

    def frame_stretch(self, mover: Mover, angles_deg: FloatArray, half_deg: float) -> FrameStretch | None:
        """Return what the frame allows one target over stretches of g; None where it never binds."""
        subject = self.task.subjects[mover.index]
        if subject.waived or self.roomy[mover.index]:
            return None
        outlines = self.outlines[mover.index]
        far_mm = farthest_mm(outlines)
        turn = math.radians(half_deg)
        spare_mm = mover.turn_with_pointing * (far_mm + mover.radius_mm) + turn * (
            mover.radius_mm + (far_mm if self.rule.stem_deg_held is not None else 0.0)
        )
        camera_deg = self.rule.cameras_deg(angles_deg)
        return frame_over(outlines, camera_deg, angles_deg, self.rule.steady(angles_deg, half_deg), spare_mm)

    def _may_win(self, served: IntArray, least_mm: FloatArray) -> BoolArray:
        """Tell which bounds still allow a better answer than the best so far."""
        if self.best is None:
            return np.asarray(served >= self.least_served)
        shorter = least_mm < self.best.worst_mm - GAP_MM
        return np.asarray((served > self.best.served) | ((served == self.best.served) & shorter))

    def _try(self, guider_deg: float) -> None:
        """Work out one guider angle exactly and keep it when it is the best."""
        camera_deg = self.rule.camera_deg(guider_deg)
        moves: dict[int, Moved] = {}
        served, worst, to_come = 0, 0.0, self.needed
        for k, mover in enumerate(self.movers):
            moves[mover.index] = self.move(mover, guider_deg, camera_deg)
            served += moves[mover.index].served
            worst = max(worst, moves[mover.index].length_mm)
            to_come -= mover.needs
            if not self._may_win(np.array([served + to_come]), np.array([worst - GAP_MM]))[0]:
                # who spoils it here will spoil it elsewhere: ask it first from now on
                self.movers.insert(0, self.movers.pop(k))
                return
        self.best = ShiftedChoice(camera_deg, guider_deg, served, worst, moves)

    def move(self, mover: Mover, guider_deg: float, camera_deg: float) -> Moved:
        """Return the most rings that one target can have at these angles, and the shortest shift for that many."""
        frame = FrameLimit(self.task, mover.index, camera_deg)
        best: Moved | None = None
        for sides in ways(mover):
            if best is not None and best.served > sum(sides):
                break
            shift = self._shortest(mover, guider_deg, frame, sides)
            if shift is not None and (best is None or math.hypot(*shift) < best.length_mm):
                best = Moved(sum(sides), shift)
        return best or Moved(0, frame.shortest() or (0.0, 0.0))

    def _shortest(self, mover: Mover, guider_deg: float, frame: FrameLimit, sides: tuple[bool, bool]) -> Shift | None:
        """Return the shortest shift that gives the asked sides their stars with the tolerance, or None."""
        rest = at_rest(mover, sides)
        if frame.holds((0.0, 0.0)) and all(slack_at(arcs, guider_deg) > 0 for arcs in rest):
            return 0.0, 0.0
        here = np.array([guider_deg])
        stretch = self.frame_stretch(mover, here, 0.0)
        pairs = star_pairs(mover, self.core, here, 0.0, sides, stretch)
        # the exact work only for pairs that may be the best, by their lower bounds
        pairs = finer(mover, self.core, pairs, here, 0.0, stretch)
        best: Shift | None = None
        length = mover.radius_mm
        for k in np.argsort(pairs.least_mm, kind="stable").tolist():
            if pairs.least_mm[k] > length:
                break
            stars = int(pairs.west[k]), int(pairs.east[k])
            shift = self._settle(mover, guider_deg, None, stars)
            if shift is not None and not frame.holds(shift):
                shift = self._settle(mover, guider_deg, frame, stars)
            if shift is not None and math.hypot(*shift) <= length:
                best, length = shift, math.hypot(*shift)
        return best

    def _settle(
        self, mover: Mover, guider_deg: float, frame: FrameLimit | None, stars: tuple[int, int]
    ) -> Shift | None:
        """Return the shortest shift for one pair of stars, projected about the shifted pointing till it stays."""
        subject = self.task.subjects[mover.index]
        assert subject.stars is not None
        chosen = [star for star in stars if star >= 0]
        east_of = [star == stars[1] for star in chosen]
        ra, dec = subject.stars.ra_deg[chosen], subject.stars.dec_deg[chosen]
        x, y = mover.x_mm[chosen], mover.y_mm[chosen]
        sin, cos = math.sin(math.radians(guider_deg)), math.cos(math.radians(guider_deg))
        turn, moved, (east, north) = mover.north_turn_deg_per_mm, (0.0, 0.0), (0.0, 0.0)
        for _ in range(PROJECTIONS):
            seen = moving_stars(x, y, np.full(len(chosen), guider_deg), turn)
            # places as they would be about the first pointing, so that shifts count from there
            place = seen.place_mm + moved - seen.drift_mm * (seen.along @ moved)[:, None]
            planes: list[HalfPlane] = []
            for k, opposite in enumerate(east_of):
                one = MovingStars(place[[k]], seen.drift_mm[[k]], seen.along[[k]])
                planes += map(tuple, self.core.shifts_for(one, opposite)[0].tolist())
            planes += frame.planes(guider_deg, (east, north)) if frame is not None else []
            point = nearest_point(planes)
            if point is None or math.hypot(*point) > mover.radius_mm:
                return None
            settled = math.hypot(point[0] - moved[0], point[1] - moved[1]) < SETTLED_MM
            moved = point
            east, north = moved[0] * sin + moved[1] * cos, moved[0] * cos - moved[1] * sin
            if settled:
                return east, north
            pointing = sky_deg(east, north, *subject.pointing_deg, self.task.focal_mm)
            x, y = plane_mm(ra, dec, *pointing, self.task.focal_mm)
            turn = north_turn(float(pointing[1]), self.task.focal_mm)
        # beside the pole north turns faster than the shift can follow: no shift is promised there
        return None

"""The frame's say on a pointing shift, as half-planes."""

import math
from dataclasses import dataclass

import numpy as np

from sidelight.ground.types import BoolArray, FloatArray, IntArray
from sidelight.rig.optics import sky_deg
from sidelight.setup import framing
from sidelight.setup.convex import ROUNDING_MM, HalfPlane, nearest_point
from sidelight.setup.framing import PlaneOutlines, ShiftRectangle
from sidelight.setup.task import Task

Shift = tuple[float, float]
"""A shift of the pointing in the focal plane, mm to the east and to the north."""
TURN_STEP_DEG = 0.5
HAIR_MM = 1e-5
PROJECTIONS = 8
"""How often a shift is projected anew; each time it is 1 / 1000 nearer, but for a few degrees about the poles."""


@dataclass(frozen=True)
class FrameStretch:
    """What the frame allows a target's shift at many guider angles, loosened so that it holds over stretches of them.

    known : where it says anything. turn_deg : camera angle less guider angle. low_mm, high_mm : (n, 2) shifts across
    the frame and up it.
    """

    known: BoolArray
    turn_deg: FloatArray
    low_mm: FloatArray
    high_mm: FloatArray

    def rows(self, rows: IntArray) -> "FrameStretch":
        """Return the same for some of the angles."""
        return FrameStretch(self.known[rows], self.turn_deg[rows], self.low_mm[rows], self.high_mm[rows])

    @property
    def allows_rest(self) -> BoolArray:
        """Tell where no shift may be needed."""
        inside = np.all((self.low_mm <= 0) & (self.high_mm >= 0), axis=1)
        return np.asarray(~self.known | inside)

    def boxes(self) -> FloatArray:
        """Return bounding boxes in the stem's coordinates: (n, 4) low and high of u, low and high of v."""
        turn = np.radians(self.turn_deg)[:, None]
        middle, half = (self.low_mm + self.high_mm) / 2, (self.high_mm - self.low_mm) / 2
        # unit vectors across the frame and up it, as (u, v)
        along = np.hstack([-np.sin(turn), np.cos(turn)])
        across = np.hstack([np.cos(turn), np.sin(turn)])
        u, v = np.sum(middle * along, axis=1), np.sum(middle * across, axis=1)
        wide, high = np.sum(half * np.abs(along), axis=1), np.sum(half * np.abs(across), axis=1)
        boxes = np.column_stack([u - wide, u + wide, v - high, v + high])
        everything = np.array([-np.inf, np.inf, -np.inf, np.inf])
        boxes[np.any(half < 0, axis=1)] = -everything  # lows above highs: nothing is allowed
        boxes[~self.known] = everything
        return boxes

    def planes(self, rows: IntArray) -> FloatArray:
        """Return the four half-planes of shifts at some of the angles: (n, 4, 3)."""
        turn = np.radians(self.turn_deg[rows])
        across = np.column_stack([-np.sin(turn), np.cos(turn)])
        up = np.column_stack([np.cos(turn), np.sin(turn)])
        low = np.where(self.known[rows, None], self.low_mm[rows], -np.inf)
        high = np.where(self.known[rows, None], self.high_mm[rows], np.inf)
        every = [
            np.column_stack([sign * axis, limit])
            for axis, k in ((across, 0), (up, 1))
            for sign, limit in ((1.0, high[:, k]), (-1.0, -low[:, k]))
        ]
        return np.stack(every, axis=1)


def frame_over(
    outlines: PlaneOutlines, camera_deg: FloatArray, guider_deg: FloatArray, known: BoolArray, spare_mm: float
) -> FrameStretch:
    """Return what the frame allows at pairs of angles, each limit put `spare_mm` farther out."""
    rectangle = framing.shift_rectangle(outlines, camera_deg)
    low = np.column_stack([rectangle.across_low_mm, rectangle.up_low_mm]) - spare_mm
    high = np.column_stack([rectangle.across_high_mm, rectangle.up_high_mm]) + spare_mm
    return FrameStretch(known, camera_deg - guider_deg, low, high)


def farthest_mm(outlines: PlaneOutlines) -> float:
    """Return how far the outlines reach from the pointing at most; limits move by no more than that a radian."""
    ends = np.hypot(np.hypot(*outlines.major_mm.T), np.hypot(*outlines.minor_mm.T))
    return float(np.max(np.hypot(*outlines.centre_mm.T) + ends))


class FrameLimit:
    """The frame's say on one target's shift at one camera angle, with the tolerance to either side.

    Where no granted shift keeps everything inside with the tolerance, the camera angle alone counts.
    """

    def __init__(self, task: Task, index: int, camera_deg: float) -> None:
        self.task, self.subject = task, task.subjects[index]
        self.waived = self.subject.waived
        steps = max(1, math.ceil(task.tolerance_deg / TURN_STEP_DEG))
        self.angles_deg = camera_deg + np.linspace(-task.tolerance_deg, task.tolerance_deg, 2 * steps + 1)
        self.rectangle = self._about((0.0, 0.0))
        if not self.waived and self.shortest() is None:
            self.angles_deg = np.array([camera_deg])
            self.rectangle = self._about((0.0, 0.0))

    def _about(self, shift_mm: Shift) -> ShiftRectangle:
        """Return the further shifts that the frame allows once the pointing is shifted, at each of the angles.

        A hair narrower, so that what holds at the angles holds between them too: there an outline reaches at most
        as much farther as a circle bulges over its chord.
        """
        pointing = self.subject.pointing_deg
        if shift_mm != (0.0, 0.0):
            ra_deg, dec_deg = sky_deg(*shift_mm, *pointing, self.task.focal_mm)
            pointing = float(ra_deg), float(dec_deg)
        outlines = framing.plane_outlines(self.subject.want.target, self.task.rig, pointing)
        hair_mm = farthest_mm(outlines) * math.radians(TURN_STEP_DEG) ** 2 / 8 + HAIR_MM
        rectangle = framing.shift_rectangle(outlines, self.angles_deg)
        return ShiftRectangle(
            rectangle.across_low_mm + hair_mm,
            rectangle.across_high_mm - hair_mm,
            rectangle.up_low_mm + hair_mm,
            rectangle.up_high_mm - hair_mm,
        )

    def holds(self, shift_mm: Shift) -> bool:
        """Tell whether everything is in the frame about the shifted pointing."""
        if self.waived:
            return True
        rectangle = self.rectangle if shift_mm == (0.0, 0.0) else self._about(shift_mm)
        lows = max(np.max(rectangle.across_low_mm), np.max(rectangle.up_low_mm))
        highs = min(np.min(rectangle.across_high_mm), np.min(rectangle.up_high_mm))
        return bool(lows <= ROUNDING_MM and highs >= -ROUNDING_MM)

    def planes(self, guider_deg: float, about_mm: Shift) -> list[HalfPlane]:
        """Return the half-planes of shifts (along and across the stem) that keep everything in the frame.

        about_mm : the shift about whose pointing the outlines are projected.
        """
        if self.waived:
            return []
        rectangle = self._about(about_mm)
        planes: list[HalfPlane] = []
        for k, angle_deg in enumerate(self.angles_deg):
            for turn_deg, low, high in (
                (90.0, rectangle.across_low_mm[k], rectangle.across_high_mm[k]),
                (0.0, rectangle.up_low_mm[k], rectangle.up_high_mm[k]),
            ):
                sky = math.radians(angle_deg + turn_deg)
                offset = about_mm[0] * math.sin(sky) + about_mm[1] * math.cos(sky)
                nu, nv = math.cos(sky - math.radians(guider_deg)), math.sin(sky - math.radians(guider_deg))
                planes += [(nu, nv, float(high) + offset), (-nu, -nv, -float(low) - offset)]
        return planes

    def shortest(self) -> Shift | None:
        """Return the shortest shift that brings everything into the frame; None when there is none."""
        if self.holds((0.0, 0.0)):
            return 0.0, 0.0
        shift: Shift = (0.0, 0.0)
        for _ in range(PROJECTIONS):
            # at g = 0 the stem points north: along is north, across is east
            point = nearest_point(self.planes(0.0, shift))
            if point is None or math.hypot(*point) > self.subject.shift_mm:
                return None
            before, shift = shift, (point[1], point[0])
            if math.hypot(shift[0] - before[0], shift[1] - before[1]) < ROUNDING_MM:
                break
        return shift

"""The frame's say on a pointing shift, as half-planes."""

import math

import numpy as np

from sidelight.rig.optics import sky_deg
from sidelight.setup import framing
from sidelight.setup.convex import ROUNDING_MM, HalfPlane, nearest_point
from sidelight.setup.framing import ShiftRectangle
from sidelight.setup.task import Task

Shift = tuple[float, float]
"""A shift of the pointing in the focal plane, mm to the east and to the north."""
PROJECTIONS = 8
"""How often a shift is projected anew; each time it is 1 / 1000 nearer, but for a few degrees about the poles."""


class FrameLimit:
    """The frame's say on one target's shift at one camera angle, with the tolerance to either side.

    Where no granted shift keeps everything inside with the tolerance, the camera angle alone counts.
    """

    def __init__(self, task: Task, index: int, camera_deg: float) -> None:
        self.task, self.subject = task, task.subjects[index]
        self.waived = self.subject.waived
        self.angles_deg = camera_deg + task.tolerance_deg * np.array([-1.0, 0.0, 1.0])
        self.rectangle = self._about((0.0, 0.0))
        if not self.waived and self.shortest() is None:
            self.angles_deg = np.array([camera_deg])
            self.rectangle = self._about((0.0, 0.0))

    def _about(self, shift_mm: Shift) -> ShiftRectangle:
        """Return the further shifts that the frame allows once the pointing is shifted."""
        pointing = self.subject.pointing_deg
        if shift_mm != (0.0, 0.0):
            ra_deg, dec_deg = sky_deg(*shift_mm, *pointing, self.task.focal_mm)
            pointing = float(ra_deg), float(dec_deg)
        outlines = framing.plane_outlines(self.subject.want.target, self.task.rig, pointing)
        return framing.shift_rectangle(outlines, self.angles_deg)

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

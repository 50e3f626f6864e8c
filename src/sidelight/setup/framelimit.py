"""The frame's say on a pointing shift, as half-planes."""

import math

import numpy as np

from sidelight.rig.optics import sky_deg
from sidelight.setup import framing
from sidelight.setup.convex import HalfPlane, nearest_point
from sidelight.setup.task import Task

Shift = tuple[float, float]
"""A shift of the pointing in the focal plane, mm to the east and to the north."""


class FrameLimit:
    """The frame's say on one target's shift at one camera angle, with the tolerance to either side."""

    def __init__(self, task: Task, index: int, camera_deg: float) -> None:
        subject = task.subjects[index]
        self.task, self.subject = task, subject
        self.angles_deg = camera_deg + task.tolerance_deg * np.array([-1.0, 0.0, 1.0])
        self.waived = subject.waived
        outlines = framing.plane_outlines(subject.want.target, task.rig)
        self.rectangle = framing.shift_rectangle(outlines, self.angles_deg)
        across = np.minimum(-self.rectangle.across_low_mm, self.rectangle.across_high_mm)
        up = np.minimum(-self.rectangle.up_low_mm, self.rectangle.up_high_mm)
        self.room_mm = float(np.min(np.minimum(across, up)))

    @property
    def holds_at_rest(self) -> bool:
        """Whether everything is in the frame without a shift."""
        return self.waived or self.room_mm >= 0

    def planes(self, guider_deg: float, about_mm: Shift) -> list[HalfPlane]:
        """Return the half-planes of shifts (along and across the stem) that keep everything in the frame.

        about_mm : the shift about whose pointing the outlines are projected.
        """
        if self.waived or self.room_mm >= self.subject.shift_mm:
            return []
        rectangle = self.rectangle
        if about_mm != (0.0, 0.0):
            ra_deg, dec_deg = sky_deg(*about_mm, *self.subject.pointing_deg, self.task.focal_mm)
            pointing = float(ra_deg), float(dec_deg)
            outlines = framing.plane_outlines(self.subject.want.target, self.task.rig, pointing)
            rectangle = framing.shift_rectangle(outlines, self.angles_deg)
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
        if self.holds_at_rest:
            return 0.0, 0.0
        point = nearest_point(self.planes(0.0, (0.0, 0.0)))
        # at g = 0 the stem points north: along is north, across is east
        return None if point is None or math.hypot(*point) > self.subject.shift_mm else (point[1], point[0])

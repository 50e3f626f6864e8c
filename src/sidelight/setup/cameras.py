"""Which camera angle goes with a guider angle while pointings may move: held, tied to the stem, or with most room."""

import numpy as np

from sidelight.ground import spans
from sidelight.ground.angles import wrap_180, wrap_360
from sidelight.ground.types import BoolArray, FloatArray
from sidelight.setup import framing
from sidelight.setup.arcwork import shrink, sweep
from sidelight.setup.task import Subject, Task

STEP_DEG = 1.0


def shift_arcs(subject: Subject) -> FloatArray:
    """Return the camera angles at which a target fits with its granted shift; all where the frame is waived."""
    if subject.waived:
        return spans.FULL_CIRCLE
    return np.array(subject.frame.arcs, dtype=np.float64).reshape(-1, 2)


class CameraRule:
    """The camera angle for each guider angle.

    With the camera held or the stem clamped there is nothing to choose. Otherwise the angle is the one that frames
    the targets of most rings, then leaves their pointings most freedom to move, then has most room to turn: one rule
    for all g, taken from angles 1° apart and the middles of the arcs on which the same targets fit.
    """

    def __init__(self, task: Task) -> None:
        self.task = task
        self.arcs = [shift_arcs(subject) for subject in task.subjects]
        self.camera_deg_held = task.constraints.camera_angle_deg
        self.stem_deg_held = task.constraints.stem_offset_deg
        self.needs = np.zeros(len(task.subjects), dtype=np.int64)
        for ring in task.needed:
            self.needs[ring.subject] += 1
        if self.camera_deg_held is None and self.stem_deg_held is None:
            self._weigh(self._angles())

    def _angles(self) -> FloatArray:
        """Return the camera angles to choose from."""
        pieces, held = sweep(self.arcs)
        counts = self.needs @ held
        return np.concatenate([np.arange(0.0, 360.0, STEP_DEG), pieces[counts == counts.max()].mean(axis=1)])

    def _weigh(self, angles_deg: FloatArray) -> None:
        """Work out once what each camera angle frames and how much freedom it leaves."""
        framed = np.array([spans.arcs_contain(arcs, angles_deg) for arcs in self.arcs])
        freedom = np.zeros(len(angles_deg))
        room_deg = np.full(len(angles_deg), np.inf)
        for subject, arcs, inside in zip(self.task.subjects, self.arcs, framed, strict=True):
            if subject.waived or not subject.required:
                continue
            outlines = framing.plane_outlines(subject.want.target, self.task.rig)
            room = framing.room_mm(outlines, angles_deg) - subject.shift_mm
            freedom = np.where(inside, np.minimum(freedom, room), freedom)
            room_deg = np.where(inside, np.minimum(room_deg, spans.arcs_slack(arcs, angles_deg)), room_deg)
        self.angles_deg, self.framed = angles_deg, framed.T
        self.rank = np.lexsort((-np.round(room_deg, 3), -np.round(freedom, 4), -(self.needs @ framed)))

    def camera_deg(self, guider_angle_deg: float) -> float:
        """Return the camera angle for a guider angle, in [0, 360)."""
        return float(self.cameras_deg(np.array([guider_angle_deg]))[0])

    def cameras_deg(self, guider_angles_deg: FloatArray) -> FloatArray:
        """Return the camera angle for each of many guider angles, in [0, 360)."""
        if self.camera_deg_held is not None:
            return np.full(len(guider_angles_deg), float(wrap_360(self.camera_deg_held)))
        if self.stem_deg_held is not None:
            return wrap_360(guider_angles_deg - self.stem_deg_held)
        ranked = self.angles_deg[self.rank]
        offset = wrap_180(guider_angles_deg[:, None] - ranked)
        upper = (offset >= -90.0) & (offset < 90.0)
        chosen = np.full(len(guider_angles_deg), -1)
        for margin_deg in (self.task.tolerance_deg, 0.0):
            good = spans.arcs_contain(shrink(self.task.stem_arcs, margin_deg), offset) & upper
            chosen = np.where((chosen < 0) & good.any(axis=1), good.argmax(axis=1), chosen)
        return np.asarray(ranked[np.maximum(chosen, 0)])

    def steady(self, guider_angles_deg: FloatArray, half_deg: float) -> BoolArray:
        """Tell where the same camera angle goes with all g within half_deg; with a clamped stem it follows g."""
        if self.camera_deg_held is not None or self.stem_deg_held is not None or half_deg <= 0:
            return np.ones(len(guider_angles_deg), dtype=bool)
        here = self.cameras_deg(guider_angles_deg)
        ends = [self.cameras_deg(guider_angles_deg + turn) for turn in (-half_deg, half_deg)]
        # half a turn of the camera changes nothing for the frame
        same = [np.abs(wrap_180(2 * (end - here))) < 1e-9 for end in ends]
        return np.asarray(same[0] & same[1])

    def framed_near(self, guider_angles_deg: FloatArray, half_deg: float) -> BoolArray:
        """Return (angles or 1, options, subjects): what could be framed for g within half_deg of each given one."""
        if self.stem_deg_held is not None and self.camera_deg_held is None:
            camera = guider_angles_deg - self.stem_deg_held
            return np.array([_within(arcs, camera, half_deg) for arcs in self.arcs]).T[:, None, :]
        if self.camera_deg_held is not None:
            held = np.array([self.camera_deg_held])
            return np.array([_within(arcs, held, 0.0) for arcs in self.arcs]).T[None, :, :]
        return np.asarray(np.unique(self.framed, axis=0)[None, :, :])


def _within(arcs: FloatArray, angles_deg: FloatArray, half_deg: float) -> BoolArray:
    """Tell which angles are in an arc set or not farther than half_deg from it."""
    if not len(arcs):
        return np.zeros(len(angles_deg), dtype=bool)
    return spans.arcs_contain(spans.arcs(arcs + np.array([-half_deg, half_deg])), angles_deg)

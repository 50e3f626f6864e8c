"""Small convex geometry for pointing shifts: the sensor's core that stands a turn, and the shortest shift."""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from sidelight.ground.types import FloatArray
from sidelight.rig.guider import GuideRectangle

CHORD_DEG = 0.5
ROUNDING_MM = 1e-9
LEVEL = 1e-12
"""Lines whose directions differ by less are parallel."""

HalfPlane = tuple[float, float, float]
"""(n_x, n_y, c): points with n·x <= c; the normal has unit length."""


class Core:
    """The part of the guide rectangle in which a star stays while the guider is turned by up to `turn_deg`.

    Coordinates are u along the stem from the optical axis and v across it. The set is convex: every turned rectangle
    is, and so is what they share. Its far end is an arc about the axis, here replaced by chords inside it that are
    at most 0.2 µm for each 20 mm of radius short of it.

    planes : half-planes that bound it. low_mm, high_mm, half_across_mm : its bounding box; `empty` when the turn is
    more than any star can stand.
    """

    def __init__(self, rectangle: GuideRectangle, turn_deg: float) -> None:
        turn = math.radians(turn_deg)
        cos, sin = math.cos(turn), math.sin(turn)
        near = rectangle.stem_radius_mm - rectangle.half_along_mm
        far = rectangle.stem_radius_mm + rectangle.half_along_mm
        self.low_mm = near / cos
        self.high_mm = far
        self.half_across_mm = rectangle.half_across_mm * cos - near * sin
        self.empty = self.half_across_mm <= 0 or self.low_mm >= self.high_mm
        chords = max(1, math.ceil(2 * turn_deg / CHORD_DEG))
        step = 2 * turn / chords
        middles = [-turn + (k + 0.5) * step for k in range(chords)]
        self.planes: tuple[HalfPlane, ...] = (
            (sin, cos, rectangle.half_across_mm),
            (sin, -cos, rectangle.half_across_mm),
            (-cos, -sin, -near),
            (-cos, sin, -near),
            (cos, sin, far),
            (cos, -sin, far),
            *((math.cos(at), math.sin(at), far * math.cos(step / 2)) for at in middles),
        )

    def shifts_for(self, stars: "MovingStars", east: bool, spare_mm: float = 0.0) -> FloatArray:
        """Return the half-planes of shifts that bring stars onto the core, or not farther than spare_mm from it.

        east : onto the core on the other side of the axis; coordinates stay those of the western stem.
        The result is (n, planes, 3): unit normals and limits.
        """
        normals = np.array(self.planes)
        sign = -1.0 if east else 1.0
        # n·(place + drift (along·s) − s) <= c, for the east with the sign of the place turned
        pull = stars.drift_mm @ normals[:, :2].T
        tilted = sign * (pull[..., None] * stars.along[:, None, :] - normals[:, :2])
        left = normals[:, 2] + spare_mm - sign * (stars.place_mm @ normals[:, :2].T)
        length = np.hypot(tilted[..., 0], tilted[..., 1])
        return np.asarray(np.concatenate([tilted, left[..., None]], axis=-1) / length[..., None])


class MovingStars(NamedTuple):
    """Places (u, v) of stars as functions of the pointing shift s: place + drift (along·s) − s; each (n, 2).

    drift_mm : how a star goes round the axis for each mm that the pointing moves along `along` (east, as u and v),
    because north turns with the pointing.
    """

    place_mm: FloatArray
    drift_mm: FloatArray
    along: FloatArray


def nearest_point(planes: Sequence[HalfPlane]) -> tuple[float, float] | None:
    """Return the point nearest to the origin that lies in every half-plane; None when there is none.

    One half-plane after another: when the best point so far is outside the next one, the new best lies on its line,
    between what the earlier ones leave of that line (the incremental method of linear programming in the plane,
    Seidel 1991, Discrete & Computational Geometry 6, 423; it holds for any strictly convex goal).
    """
    x = y = 0.0
    for count, (nx, ny, c) in enumerate(planes):
        if nx * x + ny * y <= c + ROUNDING_MM:
            continue
        low, high = -math.inf, math.inf
        for mx, my, d in planes[:count]:
            along = my * nx - mx * ny
            left = d - c * (mx * nx + my * ny)
            if abs(along) < LEVEL:
                if left < -ROUNDING_MM:
                    return None
            elif along > 0:
                high = min(high, left / along)
            else:
                low = max(low, left / along)
        if low > high + ROUNDING_MM:
            return None
        at = min(max(0.0, low), high)
        x, y = nx * c - ny * at, ny * c + nx * at
    return x, y


def nearest_distances(planes: FloatArray) -> FloatArray:
    """Return the length of `nearest_point` for many sets of half-planes at once, infinite where there is none.

    planes : (n, planes, 3) normals of unit length and limits.
    """
    x, y = np.zeros(len(planes)), np.zeros(len(planes))
    found = np.ones(len(planes), dtype=bool)
    for k in range(planes.shape[1]):
        nx, ny, c = planes[:, k].T
        rows = np.flatnonzero(found & (nx * x + ny * y > c + ROUNDING_MM))
        if not len(rows):
            continue
        nx, ny, c = nx[rows], ny[rows], c[rows]
        earlier = planes[rows, :k]
        along = earlier[..., 1] * nx[:, None] - earlier[..., 0] * ny[:, None]
        left = earlier[..., 2] - c[:, None] * (earlier[..., 0] * nx[:, None] + earlier[..., 1] * ny[:, None])
        level = np.abs(along) < LEVEL
        at = left / np.where(level, 1.0, along)
        high = np.min(np.where(~level & (along > 0), at, np.inf), axis=1, initial=np.inf)
        low = np.max(np.where(~level & (along < 0), at, -np.inf), axis=1, initial=-np.inf)
        found[rows] = (low <= high + ROUNDING_MM) & ~np.any(level & (left < -ROUNDING_MM), axis=1)
        best = np.minimum(np.maximum(0.0, low), high)
        x[rows], y[rows] = nx * c - ny * best, ny * c + nx * best
    return np.where(found, np.hypot(x, y), np.inf)

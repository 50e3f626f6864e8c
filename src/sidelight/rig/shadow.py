"""The prism's shadow on the camera's sensor: at which stem offsets θ there is none, else how much it takes.

The prism stands before the sensor in a converging beam; a point of the sensor is lit through a disc whose radius
at the prism is the prism's distance over twice the focal ratio. The shadow keeps off the sensor when the prism's
inner edge is at least that radius beyond the farthest sensor point inside the prism's width. A sensor point that lies
just outside that width can still lose a corner of its beam; that is left out.
"""

import numpy as np

from sidelight.ground import spans
from sidelight.ground.types import BoolArray, FloatArray, Floats
from sidelight.rig.records import Rig

_PARALLEL = 1e-12
"""Sine below which the prism's side runs beside an edge of the sensor and never meets it."""


def beam_radius_mm(rig: Rig) -> float:
    """Return the radius of one field point's beam where the prism stands, mm; 0 without a guider."""
    return rig.guider.prism_distance_mm / (2 * rig.telescope.focal_ratio) if rig.guider else 0.0


def sensor_reach_mm(stem_offset_deg: Floats, rig: Rig) -> FloatArray:
    """Return how far the camera's sensor reaches along the stem inside the prism's width, mm; broadcasts.

    Closed form: with half-sizes a (width) and h (height), s = |sin θ|, c = |cos θ| and half the prism's width w, the
    farthest point is the corner, s·a + c·h, unless the prism's side cuts the corner off: then it lies where that side
    leaves the sensor, (h + s·w)/c from the edge along the width or (a + c·w)/s from the one along the height.
    """
    theta = np.radians(np.asarray(stem_offset_deg, dtype=np.float64))
    s, c = np.abs(np.sin(theta)), np.abs(np.cos(theta))
    a, h = rig.camera.width_mm / 2, rig.camera.height_mm / 2
    w = rig.guider.prism_across_mm / 2 if rig.guider else 0.0
    along_width, along_height = (h + s * w) / np.maximum(c, _PARALLEL), (a + c * w) / np.maximum(s, _PARALLEL)
    return np.asarray(np.minimum(s * a + c * h, np.minimum(along_width, along_height)))


def shadow_depth_mm(stem_offset_deg: Floats, rig: Rig) -> FloatArray:
    """Return how deep the prism stands in the beam of the worst sensor point, mm; 0 where it does not; broadcasts."""
    depth = sensor_reach_mm(stem_offset_deg, rig) + beam_radius_mm(rig) - _clear_mm(rig)
    return np.asarray(np.maximum(depth, 0.0))


def shadow_light_loss_fraction(stem_offset_deg: Floats, rig: Rig) -> FloatArray:
    """Return the share of its light that the worst sensor point loses, 0 to 1; broadcasts.

    The beam's disc is cut by a straight edge at the shadow's depth (area of a circle's segment): exact for a prism
    wider than the beam, too much for a narrower one. The central obstruction is left out (its share is lost anyway).
    """
    radius = beam_radius_mm(rig)
    depth = shadow_depth_mm(stem_offset_deg, rig)
    if radius <= 0:
        return np.where(depth > 0, 1.0, 0.0)
    edge = np.clip(1.0 - depth / radius, -1.0, 1.0)
    return np.asarray((np.arccos(edge) - edge * np.sqrt(1.0 - edge**2)) / np.pi)


def shadow_free(stem_offset_deg: Floats, rig: Rig) -> BoolArray:
    """Tell at which stem offsets the prism throws no shadow on the camera's sensor; always without a guider."""
    if rig.guider is None:
        return np.ones(np.shape(stem_offset_deg), dtype=np.bool_)
    return np.asarray(sensor_reach_mm(stem_offset_deg, rig) + beam_radius_mm(rig) <= _clear_mm(rig))


def shadow_free_arcs(rig: Rig) -> FloatArray:
    """Return the arc set of stem offsets θ without a shadow; empty when there is one at every angle.

    Closed form, exact: each term of `sensor_reach_mm` stays below the clear room on one arc of a quadrant, and the
    quadrants are alike. Touching at a single angle does not count. The whole circle without a guider.
    """
    if rig.guider is None:
        return spans.FULL_CIRCLE.copy()
    rows = _quadrant(rig)
    mirrored = 180.0 - rows[:, ::-1]
    return spans.arcs(np.concatenate([rows, mirrored, rows + 180.0, mirrored + 180.0]))


def _clear_mm(rig: Rig) -> float:
    """Return the distance from the axis to the prism's inner edge, mm; without a guider there is no prism."""
    return rig.guider.stem_radius_mm - rig.guider.prism_along_mm / 2 if rig.guider else np.inf


def _quadrant(rig: Rig) -> FloatArray:
    """Return the spans of θ within [0°, 90°] that are free of shadow, shape (n, 2)."""
    room = _clear_mm(rig) - beam_radius_mm(rig)
    if rig.guider is None or room <= 0:
        return spans.EMPTY
    a, h, w = rig.camera.width_mm / 2, rig.camera.height_mm / 2, rig.guider.prism_across_mm / 2
    diagonal, towards = np.hypot(a, h), np.degrees(np.arctan2(a, h))
    if room >= diagonal:
        return np.array([[0.0, 90.0]])
    apart = np.degrees(np.arccos(room / diagonal))
    length, aside = np.hypot(room, w), np.degrees(np.arctan2(w, room))
    from_top = np.degrees(np.arccos(min(1.0, h / length))) - aside
    from_side = np.degrees(np.arcsin(min(1.0, a / length))) + aside
    # a span that ends before it begins, or an edge out of the prism's reach, is dropped by the intersection
    rows = [
        (0.0, towards - apart),
        (towards + apart, 90.0),
        (0.0, from_top if h < length else 0.0),
        (from_side if a < length else 90.0, 90.0),
    ]
    return spans.intersect(spans.union([row for row in rows if row[1] > row[0]]), [[0.0, 90.0]])

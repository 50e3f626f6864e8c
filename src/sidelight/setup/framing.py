"""Framing: the camera angles at which a target's outlines fit, and the pointing shifts that keep them inside."""

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from sidelight.ground import spans
from sidelight.ground.angles import direction_deg, unit_vector
from sidelight.ground.roots import bracketed_roots
from sidelight.ground.types import FloatArray, Floats
from sidelight.rig.optics import plane_mm
from sidelight.rig.records import Rig
from sidelight.setup.reach import arcmin_to_mm, mm_to_arcmin
from sidelight.setup.records import Frame
from sidelight.targets.names import find
from sidelight.targets.records import Outline, Target

STEP_DEG = 0.05
"""How far apart camera angles are first looked at: as finely as anybody sets one."""
EDGE_TOLERANCE_DEG = 1e-7
PERIOD_DEG = 180.0


class ShiftRectangle(NamedTuple):
    """Pointing shifts that keep everything in the frame, mm; across is towards p + 90°, up towards p.

    Broadcasts over camera angles. Empty on an axis where low > high.
    """

    across_low_mm: FloatArray
    across_high_mm: FloatArray
    up_low_mm: FloatArray
    up_high_mm: FloatArray


@dataclass(frozen=True)
class PlaneOutlines:
    """A target's outlines in the focal plane about one pointing, and the frame that is to hold them.

    centre_mm : (n, 2) X, Y. major_mm, minor_mm : (n, 2) conjugate half-diameters. half_width_mm, half_height_mm :
    of the frame with the border taken off. shift_mm : radius of the shift that is granted.
    """

    centre_mm: FloatArray
    major_mm: FloatArray
    minor_mm: FloatArray
    half_width_mm: float
    half_height_mm: float
    shift_mm: float


def plane_outlines(
    target: Target, rig: Rig, pointing_deg: tuple[float, float] | None = None, shift_arcmin: float = 0.0
) -> PlaneOutlines:
    """Project a target's outlines about a pointing (the target's own if None); a target without one is a point."""
    focal_mm = rig.telescope.effective_focal_length_mm
    ra0_deg, dec0_deg = pointing_deg or (target.ra_deg, target.dec_deg)
    outlines = target.outlines or (Outline(target.key, target.ra_deg, target.dec_deg),)
    ends = np.array([ellipse_points(one) for one in outlines])
    x_mm, y_mm = plane_mm(ends[..., 0], ends[..., 1], ra0_deg, dec0_deg, focal_mm)
    points = np.stack([x_mm, y_mm], axis=-1)
    border_mm = arcmin_to_mm(rig.tolerances.frame_border_arcmin, focal_mm)
    return PlaneOutlines(
        centre_mm=points[:, 0],
        major_mm=(points[:, 1] - points[:, 2]) / 2,
        minor_mm=(points[:, 3] - points[:, 4]) / 2,
        half_width_mm=rig.camera.width_mm / 2 - border_mm,
        half_height_mm=rig.camera.height_mm / 2 - border_mm,
        shift_mm=arcmin_to_mm(shift_arcmin, focal_mm),
    )


@lru_cache(maxsize=4096)
def ellipse_points(outline: Outline) -> tuple[tuple[float, float], ...]:
    """Return an outline's centre and the ends of its two axes, (ra, dec) in degrees.

    Taken on the sky, so that its own north is used, which far from the pointing or near a pole is not the frame's.
    """
    round_one = outline.position_angle_deg is None
    major = outline.semi_major_arcmin
    minor = major if round_one else outline.semi_minor_arcmin or major
    angle_deg = outline.position_angle_deg or 0.0
    to_point = unit_vector(outline.ra_deg, outline.dec_deg)
    ra, dec = math.radians(outline.ra_deg), math.radians(outline.dec_deg)
    north = np.array([-math.sin(dec) * math.cos(ra), -math.sin(dec) * math.sin(ra), math.cos(dec)])
    east = np.array([-math.sin(ra), math.cos(ra), 0.0])
    points = [(outline.ra_deg, outline.dec_deg)]
    for size_arcmin, turn_deg in ((major, 0.0), (major, 180.0), (minor, 90.0), (minor, 270.0)):
        angle, size = math.radians(angle_deg + turn_deg), math.radians(size_arcmin / 60.0)
        aside = math.cos(angle) * north + math.sin(angle) * east
        ra_deg, dec_deg = direction_deg(math.cos(size) * to_point + math.sin(size) * aside)
        points.append((float(ra_deg), float(dec_deg)))
    return tuple(points)


def _reach(outlines: PlaneOutlines, direction: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return how far the outlines reach along directions (..., 2): (farthest, nearest), mm.

    A conjugate pair a, b of an ellipse spans √((a·d)² + (b·d)²) along d; for the principal axes that is
    √(a²cos²(ψ−φ) + b²sin²(ψ−φ)).
    """
    centre = direction @ outlines.centre_mm.T
    half = np.hypot(direction @ outlines.major_mm.T, direction @ outlines.minor_mm.T)
    return np.max(centre + half, axis=-1), np.min(centre - half, axis=-1)


def shift_rectangle(outlines: PlaneOutlines, camera_angle_deg: Floats) -> ShiftRectangle:
    """Return the pointing shifts that keep every outline inside the frame at each camera angle; broadcasts."""
    p = np.radians(np.asarray(camera_angle_deg, dtype=np.float64))
    across_far, across_near = _reach(outlines, np.stack([np.cos(p), -np.sin(p)], axis=-1))
    up_far, up_near = _reach(outlines, np.stack([np.sin(p), np.cos(p)], axis=-1))
    return ShiftRectangle(
        across_far - outlines.half_width_mm,
        across_near + outlines.half_width_mm,
        up_far - outlines.half_height_mm,
        up_near + outlines.half_height_mm,
    )


def spare_mm(rectangle: ShiftRectangle) -> FloatArray:
    """Return by how much the frame is larger than what it has to hold, however pointed; negative: too small."""
    across = rectangle.across_high_mm - rectangle.across_low_mm
    return np.minimum(across, rectangle.up_high_mm - rectangle.up_low_mm)


def least_shift_mm(rectangle: ShiftRectangle) -> FloatArray:
    """Return the length of the shortest shift in the rectangle (0 when none is needed), whether empty or not."""
    across = np.maximum(np.maximum(rectangle.across_low_mm, -rectangle.across_high_mm), 0.0)
    up = np.maximum(np.maximum(rectangle.up_low_mm, -rectangle.up_high_mm), 0.0)
    return np.hypot(across, up)


def room_mm(outlines: PlaneOutlines, camera_angle_deg: Floats) -> FloatArray:
    """Return by how much everything fits (negative: is cut off) at each camera angle, with the granted shift.

    Without a shift it is the least distance from an outline to the border; with one, the lesser of what the frame
    spares on either axis and what is left of the shift. Continuous in the angle; period 180°.
    """
    rectangle = shift_rectangle(outlines, camera_angle_deg)
    if outlines.shift_mm <= 0:
        sides = (-rectangle.across_low_mm, rectangle.across_high_mm, -rectangle.up_low_mm, rectangle.up_high_mm)
        return np.minimum(np.minimum(sides[0], sides[1]), np.minimum(sides[2], sides[3]))
    return np.minimum(spare_mm(rectangle), outlines.shift_mm - least_shift_mm(rectangle))


def _every_angle() -> FloatArray:
    """Return the camera angles that are looked at."""
    return np.arange(0.0, PERIOD_DEG, STEP_DEG)


def frame_arcs(outlines: PlaneOutlines) -> FloatArray:
    """Return the arc set of camera angles at which everything fits, on the whole circle.

    The edges are roots of `room_mm` to 1e-7°. An arc narrower than 0.05°, to which no camera is set, may be left out,
    and a gap as narrow passed over, in which less than 0.01 µm is cut off.
    """
    angles = np.append(_every_angle(), PERIOD_DEG)
    fits = room_mm(outlines, angles) >= 0
    fits[-1] = fits[0]  # the same picture upside down, whatever its last digits say
    if fits.all():
        return spans.FULL_CIRCLE.copy()
    change = np.flatnonzero(fits[1:] != fits[:-1])
    if not len(change):
        return spans.EMPTY.copy()
    roots = bracketed_roots(lambda p: room_mm(outlines, p), angles[change], angles[change + 1], EDGE_TOLERANCE_DEG)
    if fits[0]:
        # what closes first was opened last, before 0°
        roots = np.append(roots[1:], roots[0] + PERIOD_DEG)
    rows = roots.reshape(-1, 2)
    return spans.arcs(np.concatenate([rows, rows + PERIOD_DEG]))


def largest_reduction_ratio(outlines: PlaneOutlines, rig: Rig) -> float:
    """Return by what factor the focal length must shrink (or may grow) for the outlines to fit, centred, at best.

    Sizes and border shrink with the focal length while the frame stays, so the factor is exact but for the
    tangent's curvature (below 0.1 % over a degree).
    """
    rectangle = shift_rectangle(outlines, _every_angle())
    across = rig.camera.width_mm - (rectangle.across_high_mm - rectangle.across_low_mm)
    up = rig.camera.height_mm - (rectangle.up_high_mm - rectangle.up_low_mm)
    with np.errstate(divide="ignore"):
        return float(np.max(np.minimum(rig.camera.width_mm / across, rig.camera.height_mm / up)))


def frame(target: Target, rig: Rig, needed: bool, shift_arcmin: float) -> tuple[Frame, FloatArray]:
    """Return the outcome of framing one target, in words too, and its arc set of p."""
    outlines = plane_outlines(target, rig, shift_arcmin=shift_arcmin)
    arcs = frame_arcs(outlines)
    short_mm = 0.0 if len(arcs) else _short_mm(outlines)
    short_arcmin = mm_to_arcmin(short_mm, rig.telescope.effective_focal_length_mm)
    result = Frame(
        target=target.key,
        needed=needed,
        fits=bool(len(arcs)),
        sizes_known=target.sizes_known,
        short_by_arcmin=short_arcmin,
        sentence=_sentence(target, rig, outlines, arcs, short_arcmin),
        arcs=tuple((float(start), float(end)) for start, end in arcs),
    )
    return result, arcs


def _short_mm(outlines: PlaneOutlines) -> float:
    """Return how much is cut off at the best angle as it is pointed, or the whole excess over the frame if larger."""
    angles = _every_angle()
    spare = spare_mm(shift_rectangle(outlines, angles))
    return -min(float(np.max(room_mm(outlines, angles))), float(np.max(spare)))


def _whose_size(target: Target) -> str:
    """Say that the size is the catalogue's, in brackets, where it is; else nothing."""
    if target.object_name is None or not target.outlines:
        return ""
    outline, known = target.outlines[0], find(target.object_name)
    if not known.major_arcmin or not math.isclose(2.0 * outline.semi_major_arcmin, known.major_arcmin):
        return ""
    size = f"{known.major_arcmin:g}′ × {2.0 * outline.semi_minor_arcmin:g}′"
    turned = outline.position_angle_deg is None and outline.semi_minor_arcmin < outline.semi_major_arcmin
    circle = ", and framed as a circle since which way it lies is not known" if turned else ""
    return f" (its size, {size}, is the catalogue's{circle}; major_arcmin in targets.toml replaces it)"


def _sentence(target: Target, rig: Rig, outlines: PlaneOutlines, arcs: FloatArray, short_arcmin: float) -> str:
    """Say how a target fits."""
    unknown = "" if target.sizes_known else " Its size is not known, so only its centre counts."
    if spans.total(arcs) >= 360.0:
        return f"{target.key} fits at every camera angle.{unknown}"
    if len(arcs):
        share = spans.total(arcs) / 3.6
        return f"{target.key} fits at {share:.1f} % of the camera angles.{unknown}"
    focal_mm = rig.telescope.effective_focal_length_mm
    rectangle = shift_rectangle(outlines, _every_angle())
    holds = spare_mm(rectangle) >= 0
    if holds.any():
        shift = mm_to_arcmin(float(np.min(least_shift_mm(rectangle)[holds])), focal_mm)
        granted = mm_to_arcmin(outlines.shift_mm, focal_mm)
        pointed = f"even with a shift of the granted {granted:.1f}′" if granted > 0 else "as it is pointed now"
        return (
            f"{target.key} is cut off at every camera angle {pointed} (by {short_arcmin:.1f}′ at best); "
            f"with the pointing moved by {math.ceil(shift * 10) / 10:.1f}′ it fits."
        )
    longest_mm = focal_mm * largest_reduction_ratio(outlines, rig)
    guided = "; guide stars are found for it as it is pointed" if rig.guider is not None else ""
    return (
        f"{target.key} does not fit at any camera angle: too large by {short_arcmin:.1f}′ with the border"
        f"{_whose_size(target)}{guided}. A focal length of {math.floor(longest_mm)} mm or less would hold it, or "
        "several fields side by side."
    )

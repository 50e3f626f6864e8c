"""The guide sensor's footprint in the focal plane: what of it can be used, and where on it a star falls."""

from dataclasses import dataclass

import numpy as np

from sidelight.ground.errors import BadInput, Problem
from sidelight.ground.types import FloatArray, Floats
from sidelight.rig.records import OffAxisGuider, Picture, Rig

_RAD_PER_ARCMIN = np.pi / 180.0 / 60.0
PICTURE_SIGNS: dict[Picture, tuple[float, float]] = {
    "as_drawn": (1.0, 1.0),
    "half_turn": (-1.0, -1.0),
    "left_right": (-1.0, 1.0),
    "top_bottom": (1.0, -1.0),
}
"""What turns a place on the guide camera's picture (right, up) into the place as drawn, and back."""


@dataclass(frozen=True)
class GuideRectangle:
    """A rectangle in the focal plane whose centre lies stem_radius_mm from the axis, at the guider angle g.

    half_along_mm : half its size along the stem (h_u). half_across_mm : across it (h_v). A half of 0 has no inside.
    """

    stem_radius_mm: float
    half_along_mm: float
    half_across_mm: float


def whole_rectangle(guider: OffAxisGuider) -> GuideRectangle:
    """Return the footprint of the whole guide sensor."""
    wide, high = guider.sensor.width_mm / 2, guider.sensor.height_mm / 2
    along, across = (wide, high) if guider.long_side == "along" else (high, wide)
    return GuideRectangle(guider.stem_radius_mm, along, across)


def usable_rectangle(rig: Rig) -> GuideRectangle:
    """Return the part of the footprint in which a guide star may stand.

    Off each side come half the guiding box, the pointing error and the loss at the prism's edge; light that misses
    the prism's face reaches no sensor, so that a prism smaller than the sensor bounds it first. What is left is never
    negative. Raises BadInput for a rig without an off-axis guider.
    """
    guider = guider_of(rig)
    whole, lost = whole_rectangle(guider), lost_each_side_mm(rig)
    return GuideRectangle(
        whole.stem_radius_mm,
        max(0.0, min(whole.half_along_mm, guider.prism_along_mm / 2) - lost),
        max(0.0, min(whole.half_across_mm, guider.prism_across_mm / 2) - lost),
    )


def lost_each_side_mm(rig: Rig) -> float:
    """Return what box, pointing error and prism edge take off each side of the footprint, mm."""
    box_mm = rig.tolerances.guide_box_px / 2 * guider_of(rig).sensor.pixel_um / 1000.0
    pointing = np.tan(rig.tolerances.pointing_arcmin * _RAD_PER_ARCMIN)
    return float(box_mm + pointing * rig.telescope.effective_focal_length_mm + rig.tolerances.guide_edge_mm)


def guider_of(rig: Rig) -> OffAxisGuider:
    """Return the rig's off-axis guider; raises BadInput if it has none."""
    if rig.guider is None:
        raise BadInput(
            Problem(
                "This rig has no off-axis guider.",
                key="guider",
                expected="stem radius, guide sensor and prism of an off-axis guider",
                suggestion="Without one, only framing can be solved.",
            )
        )
    return rig.guider


def stem_coordinates_mm(x_mm: Floats, y_mm: Floats, guider_angle_deg: Floats) -> tuple[FloatArray, FloatArray]:
    """Return (u outwards along the stem, v across it) of places (X east, Y north), mm from the axis; broadcasts.

    v is positive on the side of greater position angle: to the left of someone who looks outwards along the stem's
    direction on the sky.
    """
    g = np.radians(np.asarray(guider_angle_deg, dtype=np.float64))
    x, y = np.asarray(x_mm, dtype=np.float64), np.asarray(y_mm, dtype=np.float64)
    return np.asarray(x * np.sin(g) + y * np.cos(g)), np.asarray(x * np.cos(g) - y * np.sin(g))


def place_on_sensor(
    x_mm: Floats, y_mm: Floats, guider_angle_deg: Floats, guider: OffAxisGuider, *, mirrored: bool = False
) -> tuple[FloatArray, FloatArray]:
    """Return where a place in the focal plane falls on the guide sensor, (x, y) mm from its centre; broadcasts.

    guider_angle_deg : the position angle at which the footprint really stands: g in the west, g + 180° in the east.
    x runs along the sensor's width, y along its height, with the stem's outward direction as +y when the width lies
    across the stem and as +x when it lies along it; the other axis is as on the sky (x to the right of y).
    mirrored : turn the axis across the stem about, as the prism's single reflection shows it to an even number of
    mirrors: so the picture of a guide camera stands whose top is towards the sky (half a turn round with its top
    towards the main camera), unless its software turns it; one picture with a known star settles it.
    """
    u, v = stem_coordinates_mm(x_mm, y_mm, guider_angle_deg)
    outwards = u - guider.stem_radius_mm
    left = -v if mirrored else v
    return (outwards, left) if guider.long_side == "along" else (-left, outwards)


def place_on_sensor_px(
    x_mm: Floats, y_mm: Floats, guider_angle_deg: Floats, guider: OffAxisGuider, *, mirrored: bool = False
) -> tuple[FloatArray, FloatArray]:
    """Return `place_on_sensor` in guide pixels from the centre."""
    across, up = place_on_sensor(x_mm, y_mm, guider_angle_deg, guider, mirrored=mirrored)
    pixel_mm = guider.sensor.pixel_um / 1000.0
    return across / pixel_mm, up / pixel_mm


def along_across(right_mm: Floats, up_mm: Floats, guider: OffAxisGuider) -> tuple[FloatArray, FloatArray]:
    """Return a place on the guide sensor (`place_on_sensor`) along and across the stem, mm; broadcasts.

    Along is outwards, across is positive towards greater position angles, both from the sensor's middle.
    """
    x, y = np.asarray(right_mm, dtype=np.float64), np.asarray(up_mm, dtype=np.float64)
    return (x, y) if guider.long_side == "along" else (y, -x)


def raw_pictures(rig: Rig) -> tuple[Picture, Picture]:
    """Return the two ways the guide camera's raw picture can stand, which differ by half a turn of the camera.

    An even number of mirrors leaves the prism's one reflection, so that one axis is turned about; an odd number and
    the prism's together turn both or none. Software may show the picture otherwise. The first is that of a camera
    whose upper edge (right edge with its width along the stem) is towards the sky, the second towards the main
    camera. Raises BadInput for a rig without an off-axis guider.
    """
    if rig.telescope.mirrors % 2:
        return "as_drawn", "half_turn"
    return ("top_bottom", "left_right") if guider_of(rig).long_side == "along" else ("left_right", "top_bottom")


def footprint_mm(guider_angle_deg: float, rectangle: GuideRectangle) -> FloatArray:
    """Return the corners (X east, Y north) of a rectangle at a position angle, in order round it, shape (4, 2) mm."""
    g = np.radians(guider_angle_deg)
    outwards, leftwards = np.array([np.sin(g), np.cos(g)]), np.array([np.cos(g), -np.sin(g)])
    u = rectangle.stem_radius_mm + rectangle.half_along_mm * np.array([1.0, 1.0, -1.0, -1.0])
    v = rectangle.half_across_mm * np.array([1.0, -1.0, -1.0, 1.0])
    return np.asarray(u[:, None] * outwards + v[:, None] * leftwards)

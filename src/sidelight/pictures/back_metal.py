"""Sizes of the drawing of the telescope's back, and what stands behind it: dovetail, fork, or a Newtonian's tube."""

import math
from dataclasses import dataclass

from sidelight.pictures.lettering import Box, text_box
from sidelight.pictures.records import BackView
from sidelight.pictures.sheet import Sheet
from sidelight.pictures.svg import Element, Point, circle, group, line, path, polyline_data, rect, sky_point, tip

UP = {
    "back": "up: from the dovetail to the tube",
    "fork": "up: away from the drive base",
    "focuser": "up: to the open end of the tube",
}
SEEN = {
    "back": "Seen from behind, looking through the telescope at the sky.",
    "fork": "Seen from behind, looking through the telescope at the sky, tube on the meridian.",
    "focuser": "Looking into the focuser.",
}
ARCS = (1.07, 1.14)
"""Radii of the arcs that show the angles of camera and stem, of the tube's."""
GUIDE_CAMERA = 1.28
"""Distance of the guide camera's middle from the axis, of the tube's radius."""
GUIDE_CAMERA_EDGE = GUIDE_CAMERA + 0.09
ARROW = (1.42, 1.78)
"""Foot and head of the arrow that says what up is, of the tube's radius."""
ABOVE, BELOW, ASIDE = 1.9, 1.86, 2.06
"""How far a Newtonian's tube reaches behind its focuser, of the focuser's radius."""


@dataclass(frozen=True)
class Metal:
    """Sizes of the drawing: the tube's circle, and units for a millimetre at the focal plane."""

    sheet: Sheet
    view: BackView
    centre: Point
    radius: float
    scale: float

    def at(self, radius: float, angle_deg: float) -> Point:
        """Return a point at a bench angle."""
        return sky_point(self.centre, radius, angle_deg)

    def turned(self, angle_deg: float) -> str:
        """Return the transform that turns what is drawn upright to a bench angle."""
        return f"rotate({-angle_deg % 360:.2f} {self.centre[0]:.2f} {self.centre[1]:.2f})"

    def box(self, left: float, top: float, right: float, bottom: float) -> Box:
        """Return a box whose edges are given in the tube's radius from its middle, down and to the right."""
        (x, y), radius = self.centre, self.radius
        return Box(x + left * radius, y + top * radius, x + right * radius, y + bottom * radius)


def lay_out(sheet: Sheet, view: BackView) -> Metal:
    """Return where the tube's circle stands and how large it is."""
    radius = 90.0 if sheet.narrow else 216.0
    centre = (sheet.across / 2, sheet.below_heading + sheet.small_size * 1.3 + radius * (ABOVE + 0.03))
    half = math.hypot(view.camera_width_mm, view.camera_height_mm) / 2
    reach = max(half * 1.25, view.stem_radius_mm * 1.2 if view.stem_deg is not None else 0.0, 1e-6)
    return Metal(sheet, view, centre, radius, 0.63 * radius / reach)


def up_place(metal: Metal) -> Point:
    """Return where it is written what up is."""
    return metal.centre[0], metal.centre[1] - metal.radius * ABOVE - metal.sheet.small_size * 0.5


def foot_place(metal: Metal) -> tuple[Point, str]:
    """Return where and what is written under the drawing; no words at a Newtonian's focuser."""
    words = {"back": "dovetail", "fork": "drive base"}.get(metal.view.view, "")
    low = 1.4 if metal.view.view == "back" else 1.72
    return (metal.centre[0], metal.centre[1] + metal.radius * low + metal.sheet.small_size * 1.15), words


def standing(metal: Metal) -> list[Box]:
    """Return the boxes of what stands round the tube, which the figures of the angles keep clear of."""
    view = metal.view.view
    boxes = [metal.box(-0.07, -ABOVE, 0.07, -ARROW[0])]
    if view == "back":
        boxes += [metal.box(-0.46, 0.9, 0.46, 1.3), metal.box(-0.66, 1.3, 0.66, 1.4)]
    if view == "fork":
        boxes += [metal.box(side - 0.12, -0.32, side + 0.12, 1.45) for side in (-1.22, 1.22)]
        boxes.append(metal.box(-1.5, 1.45, 1.5, 1.72))
    return boxes


def writing(metal: Metal) -> list[Box]:
    """Return the boxes of what is written round the tube."""
    size = metal.sheet.small_size
    place, words = foot_place(metal)
    boxes = [text_box(up_place(metal), UP[metal.view.view], size, "middle")]
    return [*boxes, text_box(place, words, size, "middle")] if words else boxes


def draw_behind(metal: Metal) -> Element:
    """Draw what lies behind the circle, and an arrow that says what up means."""
    sheet, (x, y), radius, colours = metal.sheet, metal.centre, metal.radius, metal.sheet.colours
    foot, head = y - radius * ARROW[0], y - radius * ARROW[1]
    barb = radius * 0.045
    arrow = polyline_data([(x - barb, head + barb * 1.9), (x, head), (x + barb, head + barb * 1.9)])
    behind = {"back": _dovetail, "fork": _fork, "focuser": _newtonian_tube}[metal.view.view]
    return group(
        behind(metal),
        line((x, foot), (x, head + 1), stroke=colours.ink, stroke_width=2),
        path(arrow, fill="none", stroke=colours.ink, stroke_width=2),
        sheet.write(up_place(metal), UP[metal.view.view], anchor="middle"),
    )


def _newtonian_tube(metal: Metal) -> Element:
    """Draw the tube behind the focuser, its open end as a broken line."""
    (x, y), radius, colours = metal.centre, metal.radius, metal.sheet.colours
    wide, top, bottom = radius * ASIDE, y - radius * ABOVE, y + radius * BELOW
    sides = "".join(polyline_data([(x + side * wide, top), (x + side * wide, bottom)]) for side in (-1, 1))
    return group(
        rect(x - wide, top, 2 * wide, bottom - top, fill=colours.land),
        path(sides, stroke=colours.ink, stroke_width=1.6),
        line((x - wide, top), (x + wide, top), stroke=colours.ink, stroke_width=2, stroke_dasharray="9 6"),
    )


def _dovetail(metal: Metal) -> Element:
    """Draw the dovetail under the tube on its bed."""
    sheet, (x, y), radius, colours = metal.sheet, metal.centre, metal.radius, metal.sheet.colours
    top, bottom, narrow, broad = y + radius * 0.9, y + radius * 1.3, radius * 0.32, radius * 0.46
    corners = [(x - narrow, top), (x + narrow, top), (x + broad, bottom), (x - broad, bottom)]
    edge = {"stroke": colours.ink, "stroke_width": "1.5"}
    place, words = foot_place(metal)
    return group(
        path(polyline_data(corners, closed=True), tip("Dovetail"), fill=sheet.hatch("land"), **edge),
        rect(x - radius * 0.66, bottom, radius * 1.32, radius * 0.1, fill=colours.land, **edge),
        sheet.write(place, words, anchor="middle", ink=colours.soft_ink),
    )


def _fork(metal: Metal) -> Element:
    """Draw two arms with the pivots of the tube, on the drive base."""
    sheet, (x, y), radius, colours = metal.sheet, metal.centre, metal.radius, metal.sheet.colours
    edge = {"stroke": colours.ink, "stroke_width": "1.5"}
    place, words = foot_place(metal)
    arms: list[Element | None] = []
    for side in (-1, 1):
        middle, half = x + side * radius * 1.22, radius * 0.12
        arms += [
            line((x + side * radius * 0.98, y), (middle, y), stroke=colours.ink, stroke_width=radius * 0.07),
            rect(
                middle - half, y - radius * 0.32, 2 * half, radius * 1.82, rx=half, fill=sheet.hatch("land"), **edge
            ),
            circle((middle, y), radius * 0.06, fill=colours.paper, **edge),
        ]
    return group(
        tip("Fork: two arms on the drive base"),
        *arms,
        rect(x - radius * 1.5, y + radius * 1.45, radius * 3.0, radius * 0.27, rx=5, fill=colours.land, **edge),
        sheet.write(place, words, anchor="middle", ink=colours.soft_ink),
    )

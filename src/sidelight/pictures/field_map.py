"""The field's chart: places of sky offsets, its graduated border, its plates, and the objects' names."""

import math
from dataclasses import dataclass

from sidelight.pictures.axes import number_ticks, plain_number, round_step
from sidelight.pictures.lettering import Box, fit, text_box
from sidelight.pictures.records import FieldOutline, FieldView, Footprint
from sidelight.pictures.sheet import Sheet, north_arrow, zebra
from sidelight.pictures.svg import Anchor, Element, Point, group, line, path, polyline_data, rect, sky_point, tip


@dataclass(frozen=True)
class FieldMap:
    """The square of the chart: where it is and how many units a minute of arc takes."""

    sheet: Sheet
    view: FieldView
    left: float
    top: float
    side: float
    scale: float

    @property
    def centre(self) -> Point:
        """The field's centre."""
        return self.left + self.side / 2, self.top + self.side / 2

    @property
    def box(self) -> Box:
        """The chart without its border."""
        return Box(self.left, self.top, self.left + self.side, self.top + self.side)

    def at(self, east_arcmin: float, north_arcmin: float) -> Point:
        """Return the place of an offset from the field's centre: east is to the left."""
        return self.centre[0] - east_arcmin * self.scale, self.centre[1] - north_arcmin * self.scale


def letter(chart: FieldMap, footprint: Footprint) -> tuple[Element | None, Box | None]:
    """Write W or E beside the guide sensor, on its outer side, or on its inner side at the chart's edge."""
    sign = {"west": "W", "east": "E", "any": ""}[footprint.side]
    size = chart.sheet.body_size
    half = math.hypot(footprint.half_along_arcmin, footprint.half_across_arcmin) * chart.scale + size * 0.6
    radius = footprint.radius_arcmin * chart.scale
    for away in (radius + half, radius - half):
        x, y = sky_point(chart.centre, away, footprint.angle_deg)
        at = (x, y + 0.36 * size)
        box = text_box(at, sign, size, "middle")
        if sign and box.inside(chart.box) and not any(box.meets(plate) for plate in plates(chart)):
            halo = chart.sheet.colours.tints[0]
            return chart.sheet.write(at, sign, size=size, anchor="middle", bold=True, halo=halo), box
    return None, None


def names(chart: FieldMap, taken: list[Box]) -> Element:
    """Write the objects' names where they meet neither each other nor another object, a sensor or the plates."""
    sheet, size = chart.sheet, chart.sheet.small_size
    objects = [_around(chart, outline) for outline in chart.view.outlines]
    boxes = [*taken, *(_sensor_box(chart, footprint) for footprint in chart.view.footprints), *plates(chart)]
    written: list[Element | None] = []
    for index, outline in enumerate(chart.view.outlines):
        name = fit(outline.name, chart.side * 0.6, size)
        others = [box for place, box in enumerate(objects) if place != index]
        spot = _free_spot(chart, objects[index], name, boxes + others) or _free_spot(
            chart, objects[index], name, boxes
        )
        if spot is None or not name:
            continue
        at, anchor = spot
        boxes.append(text_box(at, name, size, anchor))
        halo = sheet.colours.tints[0]
        written.append(sheet.write(at, name, anchor=anchor, serif=True, italic=True, bold=True, halo=halo))
    return group(*written, id=sheet.id("names"))


def _around(chart: FieldMap, outline: FieldOutline) -> Box:
    """Return the upright box about an outline: half-extents of an ellipse along the axes, at least a cross's."""
    x, y = chart.at(outline.east_arcmin, outline.north_arcmin)
    major = outline.semi_major_arcmin * chart.scale
    angle = outline.position_angle_deg
    minor = major if angle is None else outline.semi_minor_arcmin * chart.scale
    turn = math.radians(angle or 0.0)
    high = max(6.0, math.hypot(major * math.cos(turn), minor * math.sin(turn)))
    wide = max(6.0, math.hypot(major * math.sin(turn), minor * math.cos(turn)))
    return Box(x - wide, y - high, x + wide, y + high)


def _sensor_box(chart: FieldMap, footprint: Footprint) -> Box:
    x, y = sky_point(chart.centre, footprint.radius_arcmin * chart.scale, footprint.angle_deg)
    half = math.hypot(footprint.half_along_arcmin, footprint.half_across_arcmin) * chart.scale
    return Box(x - half, y - half, x + half, y + half)


def _free_spot(chart: FieldMap, own: Box, name: str, taken: list[Box]) -> tuple[Point, Anchor] | None:
    """Return a place for a name below, above or beside its object, else inside it; None if all is taken."""
    size = chart.sheet.small_size
    x, y = (own.left + own.right) / 2, (own.top + own.bottom) / 2 + size * 0.36
    spots: list[tuple[Point, Anchor]] = [
        ((x, own.bottom + size), "middle"),
        ((x, own.top - size * 0.4), "middle"),
        ((own.right + 6, y), "start"),
        ((own.left - 6, y), "end"),
        ((own.right, own.bottom + size), "start"),
        ((own.left, own.bottom + size), "end"),
        ((own.right, own.top - size * 0.4), "start"),
        ((own.left, own.top - size * 0.4), "end"),
        ((x, own.bottom + size * 2.2), "middle"),
        ((x, own.top - size * 1.6), "middle"),
        ((x, y), "middle"),
    ]
    for at, anchor in spots:
        box = text_box(at, name, size, anchor)
        if box.inside(chart.box) and not any(box.meets(other) for other in taken):
            return at, anchor
    return None


def border(chart: FieldMap, thick: float) -> Element:
    """Draw the graduated border: intervals of a round number of minutes of arc, filled in turn."""
    reach = chart.side / 2 / chart.scale
    ticks = [-reach, *[tick.at for tick in number_ticks(-reach, reach, 10)], reach]
    across = [chart.centre[0] + at * chart.scale for at in ticks]
    down = [chart.centre[1] + at * chart.scale for at in ticks]
    box, bars, whole = chart.box, thick - 4, chart.side + 2 * thick
    outer = {"fill": "none", "stroke": chart.sheet.colours.ink, "stroke_width": "1.4"}
    return group(
        tip(f"Each interval of the border is {plain_number(round_step(2 * reach, 10))}′"),
        rect(box.left - thick, box.top - thick, whole, whole, **outer),
        zebra(chart.sheet, across, box.top - bars, bars),
        zebra(chart.sheet, across, box.bottom, bars),
        zebra(chart.sheet, down, box.left - bars, bars, upright=True),
        zebra(chart.sheet, down, box.right, bars, upright=True),
    )


def plates(chart: FieldMap) -> tuple[Box, Box]:
    """Return the two corners of the chart that the arrows and the scale bar take."""
    box, k = chart.box, 0.72 if chart.sheet.narrow else 1.0
    arrows = Box(box.right - 98 * k, box.top, box.right, box.top + 92 * k)
    wide, high = _bar_arcmin(chart) * chart.scale + 28 * k, 30 * k + chart.sheet.small_size
    return arrows, Box(box.left, box.bottom - high, box.left + wide, box.bottom)


def _bar_arcmin(chart: FieldMap) -> float:
    """Return the length of the scale bar: a round number, a sixth to a third of the chart."""
    return round_step(0.3 * chart.side / chart.scale, 2)


def corners(chart: FieldMap) -> Element:
    """Draw the arrows to north and east and the scale bar on plates in the chart's corners."""
    sheet, colours = chart.sheet, chart.sheet.colours
    k = 0.72 if sheet.narrow else 1.0
    arrows, bar = plates(chart)
    x, y = arrows.right - 26 * k, arrows.bottom - 8 * k
    tip_x, level = x - 40 * k, y - 10 * k
    head = polyline_data([(tip_x + 10 * k, level - 4), (tip_x, level), (tip_x + 10 * k, level + 4)])
    edges = [bar.left + 14 * k + part * _bar_arcmin(chart) * chart.scale / 2 for part in range(3)]
    words = f"{plain_number(_bar_arcmin(chart))}′"
    plate = {"fill": colours.paper, "stroke": colours.hairline, "stroke_width": "1"}
    return group(
        *[rect(b.left, b.top, b.right - b.left, b.bottom - b.top, **plate) for b in (arrows, bar)],
        north_arrow(sheet, (x, y), 52 * k),
        line((x - 9 * k, level), (tip_x, level), stroke=colours.ink, stroke_width=1.2),
        path(head, fill="none", stroke=colours.ink, stroke_width=1.2),
        sheet.write((tip_x - 14 * k, level + 5), "E", anchor="middle", bold=True, serif=True, size=sheet.body_size),
        zebra(sheet, edges, bar.bottom - 14 * k, 6 * k),
        sheet.write(((edges[0] + edges[-1]) / 2, bar.bottom - 20 * k), words, anchor="middle"),
    )

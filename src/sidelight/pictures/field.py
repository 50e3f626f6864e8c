"""The field of one target: real stars, outlines, the camera's frame, the guide sensor's places on both sides.

Drawn as a small chart with a graduated border in minutes of arc: north up, east to the left. Objects are land, the
ring that the prism can reach is a shallow band, the chosen guide stars carry the flare that marks a light.
"""

import math

from sidelight.pictures.axes import plain_number
from sidelight.pictures.field_key import draw_key, flare, side_paint, star_radius
from sidelight.pictures.field_map import FieldMap, border, corners, letter, names
from sidelight.pictures.palette import Theme
from sidelight.pictures.records import FieldOutline, FieldView, Footprint, GuideStarMark, Width
from sidelight.pictures.sheet import Sheet
from sidelight.pictures.svg import Element, circle, element, group, path, polyline_data, rect, tip


def draw_field(view: FieldView, *, theme: Theme = "day", width: Width = "wide", prefix: str = "field") -> str:
    """Return the field as SVG text.

    The groups ``<prefix>-frame``, ``<prefix>-sensor-west`` and ``<prefix>-sensor-east`` are drawn for 0° and
    turned about the chart's middle, so that a page can turn them.
    """
    sheet = Sheet(theme, width, prefix)
    edge = 7.0 if sheet.narrow else 9.0
    left, top = sheet.margin + edge, sheet.below_heading + edge
    side = (sheet.across - 2 * left) if sheet.narrow else 590.0
    chart = FieldMap(sheet, view, left, top, side, side / 2 / _reach(view))
    key_at = (sheet.margin, top + side + edge + 26) if sheet.narrow else (left + side + edge + 26, top + 12)
    key, key_bottom = draw_key(sheet, view, key_at)
    letters = [letter(chart, footprint) for footprint in view.footprints]
    return sheet.finish(
        element("clipPath", rect(left, top, side, side), id=sheet.id("clip")),
        _inside(chart),
        corners(chart),
        *[sign for sign, _ in letters],
        names(chart, [box for _, box in letters if box is not None]),
        border(chart, edge),
        key,
        height=max(top + side + edge, key_bottom) + sheet.margin,
        title=view.title,
        desc=describe_field(view),
    )


def describe_field(view: FieldView) -> str:
    """Return the field's content in words."""
    wide, high = (plain_number(round(side, 1)) for side in (view.frame_width_arcmin, view.frame_height_arcmin))
    up = f"its up direction at position angle {view.camera_angle_deg % 360:.1f}°"
    sentences = ["Chart of the field, north up, east to the left.", f"Camera frame {wide}′ by {high}′, {up}."]
    sentences += [f"Object: {outline.name}." for outline in view.outlines]
    sentences += [
        f"Guide sensor for a target in the {footprint.side}: at position angle {footprint.angle_deg % 360:.1f}°."
        for footprint in view.footprints
    ]
    sentences += [
        f"Guide star in the {star.side}: {star.name or 'unnamed'}, magnitude {star.mag:.1f}."
        for star in view.guide_stars
    ]
    return " ".join(sentences) + f" {len(view.stars)} catalogue stars."


def _reach(view: FieldView) -> float:
    """Return how many minutes of arc the chart shows from its middle to its edge."""
    if view.radius_arcmin:
        return view.radius_arcmin
    frame = math.hypot(view.frame_width_arcmin, view.frame_height_arcmin) / 2
    sensors = [math.hypot(f.radius_arcmin + f.half_along_arcmin, f.half_across_arcmin) for f in view.footprints]
    objects = [math.hypot(o.east_arcmin, o.north_arcmin) + o.semi_major_arcmin for o in view.outlines]
    widest = max([1.0, frame, *sensors])
    return max(widest, min(max(objects, default=0.0), 1.5 * widest)) * 1.12


def _inside(chart: FieldMap) -> Element:
    """Draw everything that the chart's border cuts off."""
    view, sheet = chart.view, chart.sheet
    return group(
        rect(chart.left, chart.top, chart.side, chart.side, fill=sheet.colours.tints[0]),
        _reachable(chart),
        *[_outline(chart, outline) for outline in view.outlines],
        _stars(chart),
        _frame(chart),
        *[
            _footprint(chart, footprint, first=footprint.side not in [one.side for one in view.footprints[:index]])
            for index, footprint in enumerate(view.footprints)
        ],
        *[_guide_star(chart, star) for star in view.guide_stars],
        clip_path=f"url(#{sheet.id('clip')})",
    )


def _outline(chart: FieldMap, outline: FieldOutline) -> Element:
    """Draw an object: an ellipse, a broken circle when its direction is not known, a cross without a size."""
    colours = chart.sheet.colours
    x, y = chart.at(outline.east_arcmin, outline.north_arcmin)
    major, minor = outline.semi_major_arcmin * chart.scale, outline.semi_minor_arcmin * chart.scale
    if major <= 0:
        cross = polyline_data([(x - 6, y), (x + 6, y)]) + polyline_data([(x, y - 6), (x, y + 6)])
        return path(cross, tip(outline.name), stroke=colours.land_ink, stroke_width=2)
    angle = outline.position_angle_deg
    known = angle is not None and minor > 0
    return element(
        "ellipse",
        tip(outline.name),
        cx=x,
        cy=y,
        rx=minor if known else major,
        ry=major,
        fill=colours.land,
        fill_opacity=0.85,
        stroke=colours.land_ink,
        stroke_width=1.2,
        stroke_dasharray=None if known else "6 4",
        transform=f"rotate({-(angle or 0.0) % 360:.2f} {x:.2f} {y:.2f})" if known else None,
    )


def _reachable(chart: FieldMap) -> Element | None:
    """Draw the band that the guide sensor sweeps as the stem turns, with the stem's radius as a broken line."""
    if not chart.view.footprints:
        return None
    footprint, colours = chart.view.footprints[0], chart.sheet.colours
    radius, band = footprint.radius_arcmin * chart.scale, 2 * footprint.half_along_arcmin * chart.scale
    middle = {"fill": "none", "stroke": colours.soft_ink, "stroke_dasharray": "9 3 2 3"}
    return group(
        circle(chart.centre, radius, fill="none", stroke=colours.tints[1], stroke_width=band),
        circle(chart.centre, radius, stroke_width=0.8, **middle),
    )


def _stars(chart: FieldMap) -> Element:
    """Draw the catalogue's stars as discs, the brighter the larger, faintest first."""
    shown = [
        star
        for star in sorted(chart.view.stars, key=lambda one: -one.mag)
        if max(abs(star.east_arcmin), abs(star.north_arcmin)) * chart.scale <= chart.side / 2 + 8
    ]
    rim = chart.sheet.colours.tints[0]
    discs = [
        circle(chart.at(star.east_arcmin, star.north_arcmin), star_radius(chart.sheet, star.mag)) for star in shown
    ]
    return group(*discs, fill=chart.sheet.colours.ink, stroke=rim, stroke_width=0.6, id=chart.sheet.id("stars"))


def _frame(chart: FieldMap) -> Element:
    """Draw the camera's frame with a tongue at the image's up side."""
    view, colours, (x, y) = chart.view, chart.sheet.colours, chart.centre
    wide, high = view.frame_width_arcmin * chart.scale, view.frame_height_arcmin * chart.scale
    size, edge = 7.0 if chart.sheet.narrow else 10.0, y - high / 2
    up = polyline_data([(x - size, edge), (x, edge - size * 1.3), (x + size, edge)], closed=True)
    return group(
        rect(x - wide / 2, edge, wide, high, fill="none", stroke=colours.ink, stroke_width=2),
        path(up, tip("Up in the image"), fill=colours.ink),
        id=chart.sheet.id("frame"),
        transform=f"rotate({-view.camera_angle_deg % 360:.2f} {x:.2f} {y:.2f})",
    )


def _footprint(chart: FieldMap, footprint: Footprint, *, first: bool) -> Element:
    """Draw the guide sensor for one side: solid for the west, broken for the east."""
    k, (x, y) = chart.scale, chart.centre
    across, along = footprint.half_across_arcmin * k, footprint.half_along_arcmin * k
    return group(
        tip(f"Guide sensor for a target in the {footprint.side}"),
        rect(
            x - across,
            y - footprint.radius_arcmin * k - along,
            2 * across,
            2 * along,
            fill=side_paint(chart.sheet, footprint.side),
            fill_opacity=0.4,
            stroke=chart.sheet.colours.ink,
            stroke_width=1.8,
            stroke_dasharray="6 4" if footprint.side == "east" else None,
        ),
        id=chart.sheet.id(f"sensor-{footprint.side}") if first else None,
        transform=f"rotate({-footprint.angle_deg % 360:.2f} {x:.2f} {y:.2f})",
    )


def _guide_star(chart: FieldMap, star: GuideStarMark) -> Element:
    """Mark a chosen guide star with a ring and a flare that points away from the field's middle."""
    at = chart.at(star.east_arcmin, star.north_arcmin)
    radius = star_radius(chart.sheet, star.mag)
    outwards = math.degrees(math.atan2(star.east_arcmin, star.north_arcmin))
    return group(
        tip(f"Guide star in the {star.side}: {star.name} magnitude {star.mag:.1f}"),
        circle(at, radius, fill=chart.sheet.colours.ink, stroke=chart.sheet.colours.tints[0], stroke_width=0.6),
        flare(chart.sheet, at, radius, outwards),
    )

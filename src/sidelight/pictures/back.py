"""The back of the telescope: at which angles the camera and the guider's stem stand on the metal.

Seen from behind, up is from the dovetail to the tube, on a fork away from the drive base; for a Newtonian the focuser
is seen from its eye side and up is towards the open end of the tube. Bench angles run counter-clockwise from up. The
gauge's readings name the low end, and the drawing marks it.
"""

import math

from sidelight.pictures.back_figures import draw_figures, plumb_box
from sidelight.pictures.back_metal import (
    BELOW,
    GUIDE_CAMERA,
    GUIDE_CAMERA_EDGE,
    SEEN,
    UP,
    Metal,
    draw_behind,
    lay_out,
)
from sidelight.pictures.lettering import text_box, wrap
from sidelight.pictures.palette import Theme
from sidelight.pictures.records import BackView, Reading, Width
from sidelight.pictures.sheet import Sheet
from sidelight.pictures.svg import Element, Point, circle, group, line, path, polyline_data, rect, tip


def draw_back(view: BackView, *, theme: Theme = "day", width: Width = "wide", prefix: str = "back") -> str:
    """Return the back of the telescope as SVG text, its key below.

    The groups ``<prefix>-camera`` and ``<prefix>-stem`` are drawn upright and turned about the tube's middle.
    """
    sheet = Sheet(theme, width, prefix)
    metal = lay_out(sheet, view)
    spots = _low_spots(metal)
    figures, lowest = draw_figures(metal, spots)
    if view.view == "focuser":
        lowest = max(lowest, metal.centre[1] + metal.radius * BELOW)
    key, bottom = _key(metal, lowest + sheet.small_size * 1.2, has_low=bool(spots))
    return sheet.finish(
        _tube(metal),
        _stem(metal),
        _camera(metal),
        _hours(metal),
        figures,
        group(*[_low(metal, at) for at in spots], id=sheet.id("low")),
        key,
        height=bottom + sheet.margin,
        title=view.title,
        desc=describe_back(view),
    )


def describe_back(view: BackView) -> str:
    """Return the drawing's content in words."""
    sentences = [SEEN[view.view], f"Angles run counter-clockwise from {UP[view.view]}."]
    for name, angle, where, reading in _parts(view):
        clock = f", clock position {where}" if where else ""
        sentences.append(f"{name}: {angle % 360:.1f}°{clock}.")
        if reading is not None:
            sentences.append(f"The gauge reads {_reading(reading)}.")
    return " ".join([*sentences, *view.notes])


def _parts(view: BackView) -> list[tuple[str, float, str, Reading | None]]:
    """Return what is set: name, bench angle, clock position, gauge reading."""
    parts = [("Camera top", view.camera_top_deg, view.camera_clock, view.camera_reading)]
    if view.stem_deg is not None:
        parts.append(("Guider stem", view.stem_deg, view.stem_clock, view.stem_reading))
    return parts


def _reading(reading: Reading) -> str:
    if reading.tilt_deg < 0.05:
        return "level"
    return f"{reading.tilt_deg:.1f}°, low end {reading.low_end}"


def _tube(metal: Metal) -> Element:
    """Draw the tube's rim with its clock marks, and what is behind it."""
    sheet, (x, y), radius = metal.sheet, metal.centre, metal.radius
    colours = sheet.colours
    rim = radius * 0.06
    inner = radius - rim
    hours, minutes = "", ""
    for count in range(60):
        depth = rim * (0.7 if count % 5 else (1.4 if count % 15 else 1.8))
        tick = polyline_data([metal.at(inner, -6 * count), metal.at(inner - depth, -6 * count)])
        hours, minutes = (hours, minutes + tick) if count % 5 else (hours + tick, minutes)
    return group(
        draw_behind(metal),
        circle(metal.centre, radius, fill=colours.tints[1], stroke=colours.ink, stroke_width=1.6),
        circle(metal.centre, inner, fill=colours.paper, stroke=colours.ink, stroke_width=1),
        path(minutes, stroke=colours.hairline, stroke_width=0.8),
        path(hours, stroke=colours.ink, stroke_width=1.4),
        line((x - 5, y), (x + 5, y), stroke=colours.hairline),
        line((x, y - 5), (x, y + 5), stroke=colours.hairline),
        id=sheet.id("tube"),
    )


def _hours(metal: Metal) -> Element:
    """Write the four hours of the clock over whatever passes under them."""
    sheet = metal.sheet
    return group(
        *[
            sheet.write(at, str(hour), anchor="middle", serif=True, bold=True, halo=sheet.colours.paper)
            for hour, at in _hour_places(metal)
        ],
        id=sheet.id("hours"),
    )


def _hour_places(metal: Metal) -> list[tuple[int, Point]]:
    """Return the four hours of the clock with the places that they are written at."""
    size = metal.sheet.small_size
    spots = [(hour, metal.at(metal.radius * 0.815 - size * 0.5, -30 * hour)) for hour in (12, 3, 6, 9)]
    return [(hour, (x, y + size * 0.36)) for hour, (x, y) in spots]


def _stem(metal: Metal) -> Element | None:
    """Draw the stem from the prism to the guide camera outside the tube."""
    view, (x, y), radius, colours = metal.view, metal.centre, metal.radius, metal.sheet.colours
    if view.stem_deg is None:
        return None
    prism = y - view.stem_radius_mm * metal.scale
    half, face = radius * 0.055, radius * 0.085
    top, body = y - radius * GUIDE_CAMERA, radius * 0.12
    edge = {"stroke": colours.ink, "stroke_width": "1.4"}
    mirror = polyline_data([(x - face, prism - face), (x + face, prism + face)])
    return group(
        tip(f"Guider stem at {view.stem_deg % 360:.1f}°"),
        rect(x - half, top, 2 * half, prism - top, fill=metal.sheet.hatch("east"), **edge),
        rect(x - body, top - radius * 0.1, 2 * body, radius * 0.2, rx=4, fill=colours.lit_east, **edge),
        rect(x - face, prism - face, 2 * face, 2 * face, fill=colours.paper, **edge),
        path(mirror, tip("Prism"), **edge),
        id=metal.sheet.id("stem"),
        transform=metal.turned(view.stem_deg),
    )


def _camera(metal: Metal) -> Element:
    """Draw the camera's body with its sensor inside and a tongue at its top."""
    view, (x, y), colours = metal.view, metal.centre, metal.sheet.colours
    wide, high = view.camera_width_mm * metal.scale, view.camera_height_mm * metal.scale
    pad = metal.radius * 0.09
    chip = {"stroke": colours.ink, "stroke_width": "0.8", "stroke_dasharray": "4 3"}
    top = y - high / 2 - pad
    tongue = polyline_data([(x - pad, top), (x, top - pad * 1.3), (x + pad, top)], closed=True)
    return group(
        tip(f"Camera, its top at {view.camera_top_deg % 360:.1f}°"),
        rect(
            x - wide / 2 - pad,
            top,
            wide + 2 * pad,
            high + 2 * pad,
            rx=pad * 0.8,
            fill=colours.paper,
            fill_opacity=0.82,
            stroke=colours.ink,
            stroke_width=2,
        ),
        rect(x - wide / 2, y - high / 2, wide, high, fill=colours.tints[2], **chip),
        path(tongue, fill=colours.ink),
        id=metal.sheet.id("camera"),
        transform=metal.turned(view.camera_top_deg),
    )


def _low_spots(metal: Metal) -> list[Point]:
    """Return the low end of each face that a gauge is laid on; a level face has none."""
    view, radius = metal.view, metal.radius
    spots: list[Point] = []
    if view.camera_reading is not None and view.camera_reading.tilt_deg >= 0.05:
        long_side = view.camera_top_deg + (90.0 if view.camera_width_mm >= view.camera_height_mm else 0.0)
        half = max(view.camera_width_mm, view.camera_height_mm) / 2 * metal.scale + radius * 0.09
        broad = min(view.camera_width_mm, view.camera_height_mm) / 2 * metal.scale
        spots.append(_clear_of_hours(metal, half, broad, _downhill(long_side)))
    if view.stem_deg is not None and view.stem_reading is not None and view.stem_reading.tilt_deg >= 0.05:
        outwards = _downhill(view.stem_deg) == view.stem_deg % 360
        end = radius * GUIDE_CAMERA_EDGE if outwards else view.stem_radius_mm * metal.scale
        spots.append(metal.at(end, view.stem_deg))
    return spots


def _clear_of_hours(metal: Metal, half: float, broad: float, angle_deg: float) -> Point:
    """Return a point on the camera's low end, aside of its middle if the plumb would cover an hour of the clock."""
    size, (x, y) = metal.sheet.small_size, metal.at(half, angle_deg)
    hours = [text_box(at, str(hour), size, "middle") for hour, at in _hour_places(metal)]
    along = math.cos(math.radians(angle_deg)), -math.sin(math.radians(angle_deg))
    for share in (0.0, 0.4, -0.4, 0.8, -0.8):
        spot = x + along[0] * broad * share, y + along[1] * broad * share
        if not any(plumb_box(spot).meets(box) for box in hours):
            return spot
    return x, y


def _downhill(angle_deg: float) -> float:
    """Return whichever direction of a face along a bench angle points down."""
    turn = angle_deg % 360
    return turn if math.cos(math.radians(turn)) < 0 else (turn + 180) % 360


def _low(metal: Metal, at: Point) -> Element:
    """Draw a small plumb that hangs from the low end; the key says what it means."""
    x, y = at
    colours = metal.sheet.colours
    bob = polyline_data([(x - 6, y + 12), (x + 6, y + 12), (x, y + 25)], closed=True)
    return group(
        tip("low end"),
        line((x, y), (x, y + 13), stroke=colours.paper, stroke_width=4),
        line((x, y), (x, y + 13), stroke=colours.ink, stroke_width=1.4),
        path(bob, fill=colours.ink, stroke=colours.paper, stroke_width=1.4),
    )


def _key(metal: Metal, top: float, *, has_low: bool) -> tuple[Element, float]:
    """Write angles, clock positions and gauge readings, side by side where there is room; return it and its end."""
    sheet, view = metal.sheet, metal.view
    whole = sheet.across - 2 * sheet.margin
    room = whole if sheet.narrow else whole / 2 - 20
    drawn: list[Element | None] = [
        line((sheet.margin, top), (sheet.across - sheet.margin, top), stroke=sheet.colours.hairline)
    ]
    top += sheet.body_size * 1.5
    below, left = top, sheet.margin
    for part in _parts(view):
        lines, end = _part_lines(sheet, part, (left, top), room)
        drawn += lines
        below = max(below, end)
        left, top = (left, end + sheet.small_size * 0.7) if sheet.narrow else (left + room + 40, top)
    y = below + sheet.small_size * 0.7
    if has_low:
        drawn.append(_low(metal, (sheet.margin + 8, y - sheet.small_size - 6)))
        drawn.append(sheet.write((sheet.margin + 24, y), "hangs from the low end"))
        y += sheet.small_size * 1.7
    for words in (f"{SEEN[view.view]} Angles run counter-clockwise from up.", *view.notes):
        for text in wrap(words, whole, sheet.small_size):
            drawn.append(sheet.write((sheet.margin, y), text, ink=sheet.colours.soft_ink))
            y += sheet.small_size * 1.35
        y += sheet.small_size * 0.3
    return group(*drawn, id=sheet.id("key")), y - sheet.small_size


def _part_lines(
    sheet: Sheet, part: tuple[str, float, str, Reading | None], at: Point, room: float
) -> tuple[list[Element | None], float]:
    """Write one part's angle, clock position and gauge reading; return the lines and where the next would stand."""
    name, angle, clock, reading = part
    (left, y), size = at, sheet.body_size
    drawn: list[Element | None] = []
    for text in wrap(f"{name} {angle % 360:.1f}°", room, size * 1.08):
        drawn.append(sheet.write((left, y), text, size=size, bold=True))
        y += size * 1.35
    said = [f"as the hand of a clock at {clock}"] if clock else []
    if reading is not None:
        said.append(f"gauge on {'its long side' if name == 'Camera top' else 'it'}: {_reading(reading)}")
    for words in said:
        for text in wrap(words, room, sheet.small_size):
            drawn.append(sheet.write((left, y), text))
            y += sheet.small_size * 1.35
    return drawn, y

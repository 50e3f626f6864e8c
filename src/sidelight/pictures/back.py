"""The back of the telescope: at which angles the camera and the guider's stem stand on the metal.

Seen from behind, up is from the dovetail to the tube; for a Newtonian the focuser is seen from its eye side and up is
towards the open end of the tube. Bench angles run counter-clockwise from up. The gauge's readings name the low end,
and the drawing marks it.
"""

import math
from dataclasses import dataclass

from sidelight.pictures.lettering import Box, text_box, wrap
from sidelight.pictures.palette import Theme
from sidelight.pictures.records import BackView, Reading, Width
from sidelight.pictures.sheet import Sheet
from sidelight.pictures.svg import (
    Anchor,
    Element,
    Point,
    arc_data,
    circle,
    group,
    line,
    path,
    polyline_data,
    rect,
    sky_point,
    tip,
)

_ARCS = (1.07, 1.14)
"""Radii of the arcs that show the angles of camera and stem, of the tube's."""
_GUIDE_CAMERA = 1.32
"""Distance of the guide camera's middle from the axis, of the tube's radius."""
_UP = {"back": "up: from the dovetail to the tube", "focuser": "up: to the open end of the tube"}
_SEEN = {
    "back": "Seen from behind, looking through the telescope at the sky.",
    "focuser": "Looking into the focuser.",
}


@dataclass(frozen=True)
class _Metal:
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


def draw_back(view: BackView, *, theme: Theme = "day", width: Width = "wide", prefix: str = "back") -> str:
    """Return the back of the telescope as SVG text.

    The groups ``<prefix>-camera`` and ``<prefix>-stem`` are drawn upright and turned about the tube's middle.
    """
    sheet = Sheet(theme, width, prefix)
    radius = 106.0 if sheet.narrow else 172.0
    centre = (195.0, sheet.below_heading + 184) if sheet.narrow else (318.0, sheet.below_heading + 282)
    half = math.hypot(view.camera_width_mm, view.camera_height_mm) / 2
    reach = max(half * 1.25, view.stem_radius_mm * 1.2 if view.stem_deg is not None else 0.0, 1e-6)
    metal = _Metal(sheet, view, centre, radius, 0.63 * radius / reach)
    key_at = (sheet.margin, centre[1] + radius * 1.74) if sheet.narrow else (652.0, sheet.below_heading + 30)
    key, key_bottom = _key(sheet, view, key_at)
    return sheet.finish(
        _tube(metal),
        _stem(metal),
        _camera(metal),
        _pointers(metal),
        group(*[_low(metal, at) for at in _low_spots(metal)], id=sheet.id("low")),
        key,
        height=max(centre[1] + radius * 1.64, key_bottom) + sheet.margin,
        title=view.title,
        desc=describe_back(view),
    )


def describe_back(view: BackView) -> str:
    """Return the drawing's content in words."""
    sentences = [_SEEN[view.view], f"Angles run counter-clockwise from {_UP[view.view]}."]
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


def _tube(metal: _Metal) -> Element:
    """Draw the tube's rim with its clock marks, what up means, and the dovetail or the tube behind the focuser."""
    sheet, (x, y), radius = metal.sheet, metal.centre, metal.radius
    colours = sheet.colours
    rim = radius * 0.06
    inner = radius - rim
    hours, minutes = "", ""
    for count in range(60):
        depth = rim * (1.0 if count % 5 else (3.0 if count % 15 else 3.6))
        tick = polyline_data([metal.at(inner, -6 * count), metal.at(inner - depth, -6 * count)])
        hours, minutes = (hours, minutes + tick) if count % 5 else (hours + tick, minutes)
    size = sheet.small_size
    words = [_low_word(metal, at)[1] for at in _low_spots(metal)]
    figures: list[Element | None] = []
    for hour in (12, 3, 6, 9):
        px, py = metal.at(radius - rim * 4 - size * 0.8, -30 * hour)
        place = (px, py + size * 0.36)
        if not any(text_box(place, str(hour), size * 1.2, "middle").meets(word) for word in words):
            figures.append(sheet.write(place, str(hour), anchor="middle", serif=True, bold=True))
    return group(
        _behind(metal),
        circle(metal.centre, radius, fill=colours.tints[1], stroke=colours.ink, stroke_width=1.6),
        circle(metal.centre, inner, fill=colours.paper, stroke=colours.ink, stroke_width=1),
        path(minutes, stroke=colours.hairline, stroke_width=0.8),
        path(hours, stroke=colours.ink, stroke_width=1.4),
        *figures,
        line((x - 5, y), (x + 5, y), stroke=colours.hairline),
        line((x, y - 5), (x, y + 5), stroke=colours.hairline),
        id=sheet.id("tube"),
    )


def _behind(metal: _Metal) -> Element:
    """Draw what lies behind the circle, and an arrow that says what up means."""
    sheet, (x, y), radius, colours = metal.sheet, metal.centre, metal.radius, metal.sheet.colours
    head, foot = y - radius * 1.5, y - radius * 1.28
    arrow = polyline_data([(x - 6, head + 11), (x, head), (x + 6, head + 11)])
    return group(
        _newtonian_tube(metal) if metal.view.view == "focuser" else _dovetail(metal),
        line((x, foot), (x, head + 1), stroke=colours.ink, stroke_width=2),
        path(arrow, fill="none", stroke=colours.ink, stroke_width=2),
        sheet.write((x, y - radius * 1.5 - sheet.small_size * 0.6), _UP[metal.view.view], anchor="middle"),
    )


def _newtonian_tube(metal: _Metal) -> Element:
    """Draw the tube behind the focuser, its open end as a broken line."""
    (x, y), radius, colours = metal.centre, metal.radius, metal.sheet.colours
    wide, top, bottom = radius * 1.74, y - radius * 1.44, y + radius * 1.5
    sides = "".join(polyline_data([(x + side * wide, top), (x + side * wide, bottom)]) for side in (-1, 1))
    return group(
        rect(x - wide, top, 2 * wide, bottom - top, fill=colours.land),
        path(sides, stroke=colours.ink, stroke_width=1.6),
        line((x - wide, top), (x + wide, top), stroke=colours.ink, stroke_width=2, stroke_dasharray="9 6"),
    )


def _dovetail(metal: _Metal) -> Element:
    """Draw the dovetail under the tube on its bed."""
    sheet, (x, y), radius, colours = metal.sheet, metal.centre, metal.radius, metal.sheet.colours
    top, bottom, narrow, broad = y + radius * 0.9, y + radius * 1.3, radius * 0.32, radius * 0.46
    corners = [(x - narrow, top), (x + narrow, top), (x + broad, bottom), (x - broad, bottom)]
    bed = {"fill": colours.land, "stroke": colours.ink, "stroke_width": "1.4"}
    words = (x, bottom + radius * 0.1 + sheet.small_size * 1.15)
    return group(
        path(
            polyline_data(corners, closed=True),
            tip("Dovetail"),
            fill=sheet.hatch("land"),
            stroke=colours.ink,
            stroke_width=1.6,
        ),
        rect(x - radius * 0.66, bottom, radius * 1.32, radius * 0.1, **bed),
        sheet.write(words, "dovetail", anchor="middle", ink=colours.soft_ink),
    )


def _stem(metal: _Metal) -> Element | None:
    """Draw the stem from the prism to the guide camera outside the tube."""
    view, (x, y), radius, colours = metal.view, metal.centre, metal.radius, metal.sheet.colours
    if view.stem_deg is None:
        return None
    prism = y - view.stem_radius_mm * metal.scale
    half, face = radius * 0.055, radius * 0.085
    top, body = y - radius * _GUIDE_CAMERA, radius * 0.12
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


def _camera(metal: _Metal) -> Element:
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


def _pointers(metal: _Metal) -> Element:
    """Draw each angle as an arc outside the rim from up, counter-clockwise, with its figure at the arrow."""
    sheet, view, colours = metal.sheet, metal.view, metal.sheet.colours
    (x, y), radius, size = metal.centre, metal.radius, sheet.body_size
    reach = radius * _ARCS[0]
    hand = {"stroke": colours.overlay, "stroke_width": "1.6"}
    top = view.camera_height_mm / 2 * metal.scale + radius * 0.2
    drawn: list[Element | None] = [
        line(metal.at(top, view.camera_top_deg), metal.at(reach, view.camera_top_deg), **hand)
    ]
    boxes = [Box(x - 12, y - radius * 1.54, x + 12, y - radius * 1.26)]
    if view.stem_deg is not None:
        px, py = metal.at(radius * _GUIDE_CAMERA, view.stem_deg)
        boxes.append(Box(px - radius * 0.14, py - radius * 0.14, px + radius * 0.14, py + radius * 0.14))
    parts = list(zip(_parts(view), _ARCS, strict=False))
    for (_, angle, _, _), share in parts:
        hx, hy = metal.at(radius * share, angle - 3)
        boxes.append(Box(hx - 10, hy - 10, hx + 10, hy + 10))
    for (name, angle, _, _), share in parts:
        turn = angle % 360
        drawn.append(_arc(metal, radius * share, turn, dash="5 4" if name == "Guider stem" else None))
        words = f"{'camera' if name == 'Camera top' else 'stem'} {turn:.1f}°"
        spot = _free_spot(metal, words, turn, boxes)
        boxes.append(text_box(spot, words, size * 1.08, "middle"))
        halo = colours.land if view.view == "focuser" else colours.paper
        drawn.append(sheet.write(spot, words, size=size, anchor="middle", bold=True, ink=colours.overlay, halo=halo))
    return group(*drawn, id=sheet.id("angles"))


def _arc(metal: _Metal, radius: float, turn: float, *, dash: str | None) -> Element:
    """Draw an arc from up with an arrow's head at its end."""
    colours = metal.sheet.colours
    back = math.degrees(11.0 / radius)
    head = [metal.at(radius - 5.5, turn - back), metal.at(radius, turn), metal.at(radius + 5.5, turn - back)]
    arc = arc_data(metal.centre, radius, 0, max(turn, 0.01))
    return group(
        path(arc, fill="none", stroke=colours.paper, stroke_width=4),
        path(arc, fill="none", stroke=colours.overlay, stroke_width=1.6, stroke_dasharray=dash),
        path(polyline_data(head, closed=True), fill=colours.overlay, stroke=colours.paper, stroke_width=1),
    )


def _free_spot(metal: _Metal, words: str, turn: float, taken: list[Box]) -> Point:
    """Return a place for an angle's figure beyond the arrow's head, moved on until nothing stands there."""
    sheet, size = metal.sheet, metal.sheet.body_size
    edge = 2 * metal.centre[0] - sheet.margin
    rim = metal.radius * (_ARCS[1] + 0.05)
    half_wide, half_high = text_box((0, 0), words, size * 1.08, "middle").right, size * 0.6
    asides = (0, 14, -14, 26, -26, 38, -38, 50, -50, 70, -70, 90, -90)
    for clear, aside in [(True, one) for one in asides] + [(False, one) for one in asides]:
        angle = turn + aside
        ux, uy = -math.sin(math.radians(angle)), -math.cos(math.radians(angle))
        away = rim + abs(ux) * half_wide + abs(uy) * half_high
        x, y = metal.centre[0] + ux * away, metal.centre[1] + uy * away
        x = min(max(x, sheet.margin + half_wide), edge - half_wide)
        near = max(0.0, abs(x - metal.centre[0]) - half_wide), max(0.0, abs(y - metal.centre[1]) - half_high)
        if clear and math.hypot(*near) < metal.radius * _ARCS[0]:
            continue  # pushed over the rim by the sheet's edge
        box = text_box((x, y + size * 0.36), words, size * 1.08, "middle")
        if not any(box.meets(other) for other in taken):
            return x, y + size * 0.36
    return metal.at(rim, turn)


def _low_spots(metal: _Metal) -> list[Point]:
    """Return the low end of each face that a gauge is laid on; a level face has none."""
    view, radius = metal.view, metal.radius
    spots: list[Point] = []
    if view.camera_reading is not None and view.camera_reading.tilt_deg >= 0.05:
        long_side = view.camera_top_deg + (90.0 if view.camera_width_mm >= view.camera_height_mm else 0.0)
        half = max(view.camera_width_mm, view.camera_height_mm) / 2 * metal.scale + radius * 0.09
        spots.append(metal.at(half, _downhill(long_side)))
    if view.stem_deg is not None and view.stem_reading is not None and view.stem_reading.tilt_deg >= 0.05:
        outwards = _downhill(view.stem_deg) == view.stem_deg % 360
        end = radius * (_GUIDE_CAMERA + 0.1) if outwards else view.stem_radius_mm * metal.scale
        spots.append(metal.at(end, view.stem_deg))
    return spots


def _low_word(metal: _Metal, at: Point) -> tuple[Point, Box]:
    """Return where "low" is written under a plumb, and its box."""
    size = metal.sheet.small_size
    place = (at[0], at[1] + 25 + size)
    return place, text_box(place, "low", size * 1.08, "middle")


def _downhill(angle_deg: float) -> float:
    """Return whichever direction of a face along a bench angle points down."""
    turn = angle_deg % 360
    return turn if math.cos(math.radians(turn)) < 0 else (turn + 180) % 360


def _low(metal: _Metal, at: Point) -> Element:
    """Draw a small plumb that hangs from the low end."""
    x, y = at
    colours = metal.sheet.colours
    bob = polyline_data([(x - 6, y + 12), (x + 6, y + 12), (x, y + 24)], closed=True)
    return group(
        tip("low end"),
        line((x, y), (x, y + 13), stroke=colours.paper, stroke_width=4),
        line((x, y), (x, y + 13), stroke=colours.ink, stroke_width=1.4),
        path(bob, fill=colours.ink, stroke=colours.paper, stroke_width=1),
        metal.sheet.write(_low_word(metal, at)[0], "low", anchor="middle", bold=True, halo=colours.paper),
    )


def _key(sheet: Sheet, view: BackView, at: Point) -> tuple[Element, float]:
    """Write the angles, clock positions and gauge readings; return the key and its lower end."""
    left, y = at
    room = sheet.across - sheet.margin - left
    size, soft = sheet.small_size, sheet.colours.soft_ink
    drawn: list[Element | None] = []

    def put(words: str, *, big: bool = False, ink: str | None = None, anchor: Anchor = "start") -> None:
        nonlocal y
        use = sheet.body_size if big else size
        for text in wrap(words, room, use * (1.08 if big else 1.0)):
            drawn.append(sheet.write((left, y), text, size=use, bold=big, ink=ink, anchor=anchor))
            y += use * 1.35

    for name, angle, clock, reading in _parts(view):
        put(f"{name} {angle % 360:.1f}°", big=True)
        if clock:
            put(f"as the hand of a clock at {clock}")
        if reading is not None:
            face = "long side" if name == "Camera top" else "length"
            put(
                f"gauge on its {face}: {_reading(reading)}"
                if face == "long side"
                else f"gauge on it: {_reading(reading)}"
            )
        y += size * 0.7
    drawn.append(line((left, y - size), (left + room, y - size), stroke=sheet.colours.hairline))
    y += size * 0.4
    for words in (f"{_SEEN[view.view]} Angles run counter-clockwise from up.", *view.notes):
        put(words, ink=soft)
        y += size * 0.3
    return group(*drawn, id=sheet.id("key")), y

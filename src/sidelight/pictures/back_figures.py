"""The angles round the telescope's back: arcs from up, and a figure outside each at its part's clock place."""

import math
from itertools import product

from sidelight.pictures.back_metal import ARCS, ASIDE, GUIDE_CAMERA, GUIDE_CAMERA_EDGE, Metal, standing, writing
from sidelight.pictures.lettering import Box, width_of
from sidelight.pictures.svg import Element, Point, arc_data, group, line, path, polyline_data

_ASIDES_DEG = tuple(sign * step for step in range(0, 61, 4) for sign in ((1, -1) if step else (1,)))
_AWAY = tuple(0.08 * step for step in range(14))


def draw_figures(metal: Metal, low_spots: list[Point]) -> tuple[Element, float]:
    """Draw each angle as an arc from up with its figure beyond the part; return it and the figures' lower end."""
    sheet, view, colours = metal.sheet, metal.view, metal.sheet.colours
    top = view.camera_height_mm / 2 * metal.scale + metal.radius * 0.2
    hand = {"stroke": colours.overlay, "stroke_width": "1.6"}
    reach = metal.radius * ARCS[0]
    drawn: list[Element | None] = [
        line(metal.at(top, view.camera_top_deg), metal.at(reach, view.camera_top_deg), **hand)
    ]
    parts = [("camera", view.camera_top_deg % 360, ARCS[1] + 0.06)]
    if view.stem_deg is not None:
        parts.append(("stem", view.stem_deg % 360, GUIDE_CAMERA_EDGE + 0.04))
    written = list(writing(metal))
    taken = [*standing(metal), *_guide_camera(metal), *[plumb_box(spot) for spot in low_spots]]
    for (_, turn, _), share in zip(parts, ARCS, strict=False):
        hx, hy = metal.at(metal.radius * share, turn - 3)
        taken.append(Box(hx - 8, hy - 8, hx + 8, hy + 8))
    for (name, turn, _), share in zip(parts, ARCS, strict=False):
        drawn.append(_arc(metal, metal.radius * share, turn, dash="5 4" if name == "stem" else None))
    for name, turn, start in reversed(parts):  # the stem stands out furthest and has the least choice
        words = (name, f"{math.fmod(round(turn, 1), 360.0):.1f}°")
        box = _free_box(metal, words, turn, start, (taken, written))
        written.append(box)
        drawn += [_leader(metal, box, turn, start), *_write(metal, box, words)]
    return group(*drawn, id=sheet.id("angles")), max(box.bottom for box in written)


def plumb_box(spot: Point) -> Box:
    """Return the box of the plumb that hangs from a low end."""
    return Box(spot[0] - 8, spot[1], spot[0] + 8, spot[1] + 26)


def _guide_camera(metal: Metal) -> list[Box]:
    """Return the boxes of stem and guide camera outside the rim, as small boxes along them."""
    if metal.view.stem_deg is None:
        return []
    half = metal.radius * 0.1
    spots = [metal.at(metal.radius * out, metal.view.stem_deg) for out in (1.1, GUIDE_CAMERA)]
    return [Box(x - half, y - half, x + half, y + half) for x, y in spots]


def _arc(metal: Metal, radius: float, turn: float, *, dash: str | None) -> Element:
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


def _free_box(
    metal: Metal, words: tuple[str, str], turn: float, start: float, taken: tuple[list[Box], list[Box]]
) -> Box:
    """Return a box for two lines of words as near to a part's clock place as no metal and no writing stands."""
    size = metal.sheet.body_size
    half_wide, half_high = max(width_of(one, size * 1.08) for one in words) / 2, size * 1.12
    (x, y), radius = metal.centre, metal.radius
    room = Box(x - radius * ASIDE + 3, metal.sheet.below_heading, x + radius * ASIDE - 3, y + radius * 2.3)
    tries = sorted(product(_AWAY, _ASIDES_DEG), key=lambda one: one[0] * 60 + abs(one[1]))
    for away, aside in tries:
        angle = math.radians(turn + aside)
        ux, uy = -math.sin(angle), -math.cos(angle)
        out = radius * (start + away) + min(half_wide / max(abs(ux), 1e-9), half_high / max(abs(uy), 1e-9))
        cx, cy = x + ux * out, y + uy * out
        box = Box(cx - half_wide, cy - half_high, cx + half_wide, cy + half_high)
        if not box.inside(room) or _distance(box, metal.centre) < radius * (ARCS[1] + 0.05):
            continue
        end = _nearest(box, metal.centre)
        leader = [_between(metal.at(radius * start, turn), end, share) for share in (0.25, 0.5, 0.75)]
        if any(_holds(other, at) for other in taken[1] for at in leader):
            continue
        if not any(box.meets(other) for boxes in taken for other in boxes):
            return box
    cx, cy = metal.at(radius * 1.7, turn)
    return Box(cx - half_wide, cy - half_high, cx + half_wide, cy + half_high)


def _nearest(box: Box, at: Point) -> Point:
    """Return the point of a box that is nearest to another point."""
    return min(max(at[0], box.left), box.right), min(max(at[1], box.top), box.bottom)


def _distance(box: Box, at: Point) -> float:
    """Return how far a box is from a point."""
    return math.dist(_nearest(box, at), at)


def _between(one: Point, other: Point, share: float) -> Point:
    """Return a point on the way from one to another."""
    return one[0] + (other[0] - one[0]) * share, one[1] + (other[1] - one[1]) * share


def _holds(box: Box, at: Point) -> bool:
    """Tell whether a point lies within a box."""
    return box.left < at[0] < box.right and box.top < at[1] < box.bottom


def _leader(metal: Metal, box: Box, turn: float, start: float) -> Element | None:
    """Join a figure to its part where it had to stand further away."""
    foot = metal.at(metal.radius * start, turn)
    end = _nearest(box, foot)
    if math.dist(foot, end) < metal.radius * 0.12:
        return None
    return line(foot, end, stroke=metal.sheet.colours.overlay, stroke_width=1)


def _write(metal: Metal, box: Box, words: tuple[str, str]) -> list[Element | None]:
    """Write a part's name and its angle below."""
    sheet = metal.sheet
    size, middle = sheet.body_size, (box.left + box.right) / 2
    halo = sheet.colours.land if metal.view.view == "focuser" else sheet.colours.paper
    lines = ((words[0], box.top + size * 0.86), (words[1], box.bottom - size * 0.28))
    return [
        sheet.write((middle, y), one, size=size, anchor="middle", bold=True, ink=sheet.colours.overlay, halo=halo)
        for one, y in lines
    ]

"""The dial: which guider angles put a guide star on the guide sensor, for every target on both sides.

Drawn as the light sectors of a sea chart: each target has a track of two lanes, west outside and east inside,
lit where a star falls on the sensor; a graduated border counts degrees; the needle is laid over it.
North is up, angles run counter-clockwise, east is to the left, as the sky is seen.
"""

import math

from sidelight.ground.spans import arcs, total
from sidelight.pictures.dial_border import draw_border
from sidelight.pictures.dial_key import draw_key
from sidelight.pictures.dial_plan import Lane, Plan, lay_out, lit_paint, side_name, slack_at_needle
from sidelight.pictures.lettering import Box, fit, text_box
from sidelight.pictures.palette import Theme
from sidelight.pictures.records import Dial, Width
from sidelight.pictures.sheet import Sheet
from sidelight.pictures.svg import (
    Element,
    Point,
    circle,
    group,
    line,
    path,
    polyline_data,
    sector_data,
    sky_point,
    tip,
)


def draw_dial(dial: Dial, *, theme: Theme = "day", width: Width = "wide", prefix: str = "dial") -> str:
    """Return the dial as SVG text.

    The groups with the ids ``<prefix>-needle`` and ``<prefix>-marks`` hold everything that follows the needle; the
    needle's group is drawn for 0° and turned about the root's ``<prefix>-hub`` circle.
    """
    sheet = Sheet(theme, width, prefix)
    plan = lay_out(sheet, dial)
    key, key_bottom = draw_key(plan)
    below = plan.centre[1] + plan.bezel + 34 * max(plan.scale, 0.8)
    height = max(below, key_bottom) + sheet.margin
    return sheet.finish(
        _face(plan),
        draw_border(plan),
        _rings(plan),
        _needle(plan),
        _marks(plan),
        _hub(plan),
        key,
        height=height,
        title=dial.title,
        desc=describe_dial(dial),
    )


def describe_dial(dial: Dial) -> str:
    """Return the dial's content in words."""
    sentences = [f"Dial of the {dial.angle_name}, north up, degrees counter-clockwise."]
    if dial.needle_deg is not None:
        sentences.append(f"The needle stands at {_degrees(dial.needle_deg)}.")
    for ring in dial.rings:
        lit = arcs(list(ring.arcs_deg))
        need = "" if ring.needed else ", not needed"
        slack = slack_at_needle(ring, lit, dial.needle_deg)
        state = "" if slack is None else (f", slack {slack:.1f}°" if slack > 0 else ", no star at the needle")
        sentences.append(
            f"{ring.target}, {side_name(ring.side)}{need}: lit over {total(lit) / 3.6:.1f} % of the circle{state}."
        )
    if not dial.rings:
        sentences.append("There is no ring.")
    return " ".join(sentences)


def _degrees(angle_deg: float) -> str:
    return f"{math.fmod(round(angle_deg % 360.0, 1), 360.0):.1f}°"


def _face(plan: Plan) -> Element:
    """Draw the face: the beams in which all needed rings are lit, and a pale band for each target's track."""
    sheet, colours = plan.sheet, plan.sheet.colours
    reach = plan.bezel - 13 * plan.scale
    beams = "".join(sector_data(plan.centre, plan.hub, reach, start, end) for start, end in plan.together)
    limits = "".join(
        polyline_data([sky_point(plan.centre, plan.hub, angle), sky_point(plan.centre, reach, angle)])
        for start, end in plan.together
        if end - start < 360.0
        for angle in (start, end)
    )
    bands = [
        circle(
            plan.centre,
            (max(lane.outer for lane in track) + min(lane.inner for lane in track)) / 2,
            fill="none",
            stroke=colours.tints[1],
            stroke_width=max(lane.outer for lane in track) - min(lane.inner for lane in track) + 1.5 * plan.scale,
        )
        for track in plan.tracks
    ]
    return group(
        circle(plan.centre, plan.bezel, fill=colours.tints[0]),
        group(*bands, opacity=0.75),
        path(beams, fill=colours.beam, fill_rule="evenodd") if beams else None,
        path(limits, tip("All needed rings are lit"), stroke=colours.ink, stroke_width=0.8, stroke_dasharray="5 3")
        if limits
        else None,
        id=sheet.id("face"),
    )


def _rings(plan: Plan) -> Element:
    """Draw all rings; the first of a target and side carries the id ``<prefix>-ring-<number>-<side>``."""
    seen: set[tuple[int, str]] = set()
    drawn = []
    for lane in plan.lanes:
        name = (lane.number, lane.ring.side)
        drawn.append(_lane(plan, lane, first=name not in seen))
        seen.add(name)
    return group(*drawn, id=plan.sheet.id("rings"))


def _lane(plan: Plan, lane: Lane, *, first: bool) -> Element:
    """Draw one ring: its groove all round, and its lit arcs; a ring that is not needed is hollow and dotted."""
    sheet, ring = plan.sheet, lane.ring
    colours = sheet.colours
    need = "" if ring.needed else ", not needed"
    name = f"{lane.number} {ring.target}, {side_name(ring.side)}{need}: {lane.share_percent:.1f} % lit"
    return group(
        tip(name),
        circle(
            plan.centre,
            lane.middle,
            fill="none",
            stroke=colours.hairline,
            stroke_width=0.7,
            stroke_dasharray=None if ring.needed else "1 3",
        ),
        *[_shallow(plan, lane, start, end) for start, end in ring.shallow_deg],
        *[_arc(plan, lane, start, end) for start, end in lane.lit],
        id=sheet.id(f"ring-{lane.number}-{ring.side}") if first else None,
    )


def _shallow(plan: Plan, lane: Lane, start: float, end: float) -> Element:
    """Draw dots along a stretch of a ring in which fainter stars are not known."""
    steps = max(2, math.ceil((end - start) / 3.0) + 1)
    along = [sky_point(plan.centre, lane.middle, start + (end - start) * step / (steps - 1)) for step in range(steps)]
    ink, width = plan.sheet.colours.soft_ink, 2.0 * plan.scale
    dots = f"0.1 {5.0 * plan.scale:.2f}"
    return path(
        polyline_data(along),
        fill="none",
        stroke=ink,
        stroke_width=width,
        stroke_linecap="round",
        stroke_dasharray=dots,
    )


def _arc(plan: Plan, lane: Lane, start: float, end: float) -> Element:
    """Draw a lit arc: full for a needed ring, hollow and half as high for one that is not."""
    sheet, ring = plan.sheet, lane.ring
    inner, outer = lane.inner, lane.outer
    if not ring.needed:
        inner, outer = inner + (outer - inner) * 0.25, outer - (outer - inner) * 0.25
    return path(
        sector_data(plan.centre, inner, outer, start, end),
        fill=lit_paint(sheet, ring),
        fill_rule="evenodd",
        stroke=sheet.colours.lit_edge if ring.needed else sheet.colours.soft_ink,
        stroke_width=0.6,
    )


def _needle(plan: Plan) -> Element | None:
    """Draw the needle for 0° and turn it: a slender diamond's head on the border, a thin shaft, a thin tail."""
    if plan.dial.needle_deg is None:
        return None
    x, y = plan.centre
    colours, k = plan.sheet.colours, plan.scale
    hub, reach = plan.hub, plan.bezel + 4 * k
    head = polyline_data(
        [(x, y - reach), (x - 7 * k, y - reach + 26 * k), (x, y - reach + 40 * k), (x + 7 * k, y - reach + 26 * k)],
        closed=True,
    )
    return group(
        line((x, y - hub), (x, y - reach + 38 * k), stroke=colours.paper, stroke_width=4.4),
        line((x, y - hub), (x, y - reach + 38 * k), stroke=colours.overlay, stroke_width=2),
        line((x, y + hub), (x, y + plan.bezel - 20 * k), stroke=colours.overlay, stroke_width=0.8),
        path(head, fill=colours.overlay, stroke=colours.paper, stroke_width=1),
        id=plan.sheet.id("needle"),
        transform=f"rotate({-plan.dial.needle_deg % 360:.2f} {x:g} {y:g})",
    )


def _marks(plan: Plan) -> Element:
    """Mark what the needle meets on each ring, and write the rings' numbers along its tail."""
    needle = plan.dial.needle_deg
    tail_deg = 180.0 + (needle if needle is not None else 0.0)
    met = [
        _meeting(plan, lane, sky_point(plan.centre, lane.middle, needle))
        for lane in plan.lanes
        if needle is not None and lane.ring.needed
    ]
    return group(*met, *_numbers(plan, tail_deg), id=plan.sheet.id("marks"))


def _numbers(plan: Plan, tail_deg: float) -> list[Element]:
    """Write the tracks' numbers along the tail; those that would touch one already written are left out."""
    taken: list[Box] = []
    drawn = []
    for track in plan.tracks:
        at, size = _number_spot(plan, track, tail_deg)
        box = text_box(at, str(track[0].number), size, "middle")
        if any(box.meets(other) for other in taken):
            continue
        taken.append(box)
        halo = plan.sheet.colours.tints[0]
        drawn.append(plan.sheet.write(at, str(track[0].number), size=size, anchor="middle", halo=halo))
    return drawn


def _number_spot(plan: Plan, track: tuple[Lane, ...], tail_deg: float) -> tuple[Point, float]:
    """Return a number's baseline point and size: odd ones on one side of the tail, even ones on the other."""
    outer, inner = max(lane.outer for lane in track), min(lane.inner for lane in track)
    radius = (outer + inner) / 2
    size = max(11.0, min(plan.sheet.small_size, (outer - inner) * 0.9))
    aside = math.degrees(size * 0.62 * len(str(track[0].number)) ** 0.5 / radius) * (1 if track[0].number % 2 else -1)
    x, y = sky_point(plan.centre, radius, tail_deg + aside)
    return (x, y + 0.36 * size), size


def _meeting(plan: Plan, lane: Lane, at: Point) -> Element:
    """Draw a dot where the needle meets a lit arc, a cross where it does not."""
    colours = plan.sheet.colours
    size = max(2.4, (lane.outer - lane.inner) * 0.3)
    if lane.slack_deg is not None and lane.slack_deg > 0:
        return circle(at, min(size, 5.0), fill=colours.overlay, stroke=colours.paper, stroke_width=1.2)
    x, y = at
    size = min(size, 5.0)
    data = polyline_data([(x - size, y - size), (x + size, y + size)]) + polyline_data(
        [(x - size, y + size), (x + size, y - size)]
    )
    return group(
        path(data, stroke=colours.paper, stroke_width=4.5), path(data, stroke=colours.overlay, stroke_width=2)
    )


def _hub(plan: Plan) -> Element:
    """Write the chosen angle and the worst slack in the middle."""
    sheet, (x, y) = plan.sheet, plan.centre
    needle = plan.dial.needle_deg
    hub = circle(
        plan.centre,
        plan.hub,
        fill=sheet.colours.paper,
        stroke=sheet.colours.ink,
        stroke_width=0.8,
        id=sheet.id("hub"),
    )
    rays = "".join(
        polyline_data(
            [sky_point(plan.centre, plan.hub, angle), sky_point(plan.centre, plan.hub * (0.93 - 0.03 * odd), angle)]
        )
        for odd, angle in ((index % 2, index * 7.5) for index in range(48))
    )
    hub = group(hub, path(rays, stroke=sheet.colours.soft_ink, stroke_width=0.8))
    if needle is None:
        return group(hub, sheet.write((x, y + 4), "no angle", anchor="middle", ink=sheet.colours.soft_ink))
    big = sheet.title_size * 1.1
    needed = [lane.slack_deg for lane in plan.lanes if lane.ring.needed and lane.slack_deg is not None]
    worst = f"slack {min(needed):.1f}°" if needed and min(needed) > 0 else ("not all lit" if needed else "")
    return group(
        hub,
        sheet.write(
            (x, y - big * 0.75),
            fit(plan.dial.angle_name, plan.hub * 1.75, sheet.small_size),
            anchor="middle",
            ink=sheet.colours.soft_ink,
        ),
        sheet.write(
            (x, y + big * 0.3), _degrees(needle), size=big, anchor="middle", bold=True, ink=sheet.colours.overlay
        ),
        sheet.write((x, y + big * 1.15), worst, anchor="middle"),
        id=sheet.id("reading"),
    )

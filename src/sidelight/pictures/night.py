"""A night: altitudes with twilight, Moon, floor, the plan along the curves, and the flips.

Time across, altitude up. What lies below the floor is land. A curve is firm where its target can be used and dotted
where it cannot; a planned stretch is a broad band along it, in the fill of its side of the meridian as on the dial.
"""

import math
from dataclasses import replace

import numpy as np

from sidelight.ground.types import FloatArray
from sidelight.pictures.axes import Scale, Tick, clock, hour_ticks
from sidelight.pictures.chart_records import NightCurve, NightView
from sidelight.pictures.frame import left_side, outline
from sidelight.pictures.lettering import Box, width_of
from sidelight.pictures.night_chart import NightChart, by_name, draw_names, floor_word
from sidelight.pictures.night_list import draw_listing, draw_signs, flips_on_the_way, side_paint
from sidelight.pictures.palette import Theme
from sidelight.pictures.records import Width
from sidelight.pictures.regions import above
from sidelight.pictures.sheet import Sheet, moon_disc, zebra
from sidelight.pictures.svg import Element, circle, element, group, line, path, polyline_data, rect, tip

_TWILIGHT_DEG = (0.0, -6.0, -12.0)
"""Altitudes of the Sun at which one step of twilight passes to the next; the dark limit is the night's own."""


def draw_night(
    view: NightView,
    *,
    theme: Theme = "day",
    width: Width = "wide",
    prefix: str = "night",
    plot_height: float | None = None,
) -> str:
    """Return a night as SVG text; the plan follows below as a list with clock times.

    plot_height : of the plot alone, for a card that names the night and gives the plan's times itself; heading and
    list are left out then, and the signs are explained in a line.
    """
    sheet = Sheet(theme, width, prefix)
    if len(view.times_mjd) < 2:  # no night to draw: an empty plot, and the plan in words
        blank = np.empty(0)
        view = replace(view, curves=(), flips_mjd=(), sun_altitude_deg=blank, moon_altitude_deg=blank)
    chart = _lay_out(sheet, view, plot_height)
    listing, bottom = draw_listing(chart) if plot_height is None else draw_signs(chart)
    box = chart.box
    clip = rect(box.left, box.top, box.right - box.left, box.bottom - box.top)
    return sheet.finish(
        element("clipPath", clip, id=sheet.id("clip")),
        group(
            _sky(chart),
            _land(chart),
            _planned(chart),
            _moon(chart),
            *[_curve(chart, curve) for curve in view.curves],
            _flips(chart),
            clip_path=f"url(#{sheet.id('clip')})",
        ),
        _altitudes(chart),
        _clock(chart),
        _limits(chart),
        draw_names(chart),
        _floor_name(chart),
        _now(chart),
        listing,
        height=bottom + sheet.margin,
        title=view.title,
        desc=describe_night(view),
        headed=plot_height is None,
    )


def describe_night(view: NightView) -> str:
    """Return the night's content in words."""
    sentences = ["Altitudes through the night, time across."]
    for start, end in _dark(view):
        sentences.append(f"Dark from {clock(start, view.zone)} to {clock(end, view.zone)}.")
    for stretch in view.plan:
        side = f", target in the {stretch.side}" if stretch.side in ("east", "west") else ""
        sentences.append(
            f"{stretch.name} from {clock(stretch.start_mjd, view.zone)} to {clock(stretch.end_mjd, view.zone)}{side}."
        )
    sentences += [f"{name}: flip at {clock(at, view.zone)}." for name, at in flips_on_the_way(view)]
    if len(view.moon_altitude_deg):
        sentences.append(f"Moon {view.moon_illuminated_fraction * 100:.0f} % lit.")
    return " ".join(sentences)


def _dark(view: NightView) -> FloatArray:
    """Return the spans in which the Sun is below the night's limit."""
    if not len(view.sun_altitude_deg):
        return np.empty((0, 2))
    return above(view.times_mjd, -view.sun_altitude_deg, -view.twilight_limit_deg)


def _lay_out(sheet: Sheet, view: NightView, plot_height: float | None) -> NightChart:
    left = sheet.margin + width_of("90°", sheet.small_size) + 14
    top = (sheet.below_heading if plot_height is None else 2.0) + sheet.small_size * 1.5
    tall = plot_height or (270.0 if sheet.narrow else 430.0)
    box = Box(left, top, sheet.across - sheet.margin - 4, top + tall)
    times = view.times_mjd
    start, end = (float(times[0]), float(times[-1])) if len(times) > 1 else (0.0, 1.0)
    return NightChart(sheet, view, box, Scale(start, end, box.left, box.right), Scale(0.0, 90.0, box.bottom, box.top))


def _sky(chart: NightChart) -> Element:
    """Shade the steps of twilight down to the dark."""
    colours, box, view = chart.sheet.colours, chart.box, chart.view
    drawn: list[Element | None] = [
        rect(box.left, box.top, box.right - box.left, box.bottom - box.top, fill=colours.sky[-1])
    ]
    if len(view.sun_altitude_deg):
        limits = [*_TWILIGHT_DEG, view.twilight_limit_deg]
        steps = colours.sky[:4]
        for limit, paint in reversed(list(zip(limits, steps, strict=True))):
            for start, end in above(view.times_mjd, view.sun_altitude_deg, limit):
                left, right = chart.x.at(float(start)), chart.x.at(float(end))
                drawn.append(rect(left, box.top, right - left, box.bottom - box.top, fill=paint))
    return group(*drawn, id=chart.sheet.id("sky"))


def _land(chart: NightChart) -> Element:
    """Draw what lies below the floor."""
    box, floor = chart.box, chart.y.at(chart.view.floor_deg)
    colours = chart.sheet.colours
    return group(
        rect(box.left, floor, box.right - box.left, box.bottom - floor, fill=chart.sheet.hatch("land"), opacity=0.75),
        line((box.left, floor), (box.right, floor), stroke=colours.land_ink, stroke_width=1.6),
    )


def _floor_name(chart: NightChart) -> Element | None:
    """Name the land below the floor, where it is tall enough."""
    at, words, box = floor_word(chart)
    if box.top < chart.y.at(chart.view.floor_deg):
        return None
    colours = chart.sheet.colours
    return chart.sheet.write(at, words, anchor="end", italic=True, halo=colours.land)


def _altitudes(chart: NightChart) -> Element:
    """Draw the altitude scale at the left, filled each 10° in turn."""
    step = 30 if chart.sheet.narrow else 10
    ticks = [Tick(at, f"{at}°" if at % step == 0 else "") for at in range(0, 91, 10)]
    return left_side(chart.sheet, chart.box, chart.y, range(0, 91, 10), ticks)


def _clock(chart: NightChart) -> Element:
    """Draw the clock along the bottom, filled each hour in turn."""
    sheet, box, view = chart.sheet, chart.box, chart.view
    ticks = hour_ticks(chart.x.low, chart.x.high, view.zone)
    room = (box.right - box.left) / max(1, len(ticks))
    every = next((step for step in (1, 2, 3, 4, 6) if room * step > width_of("00:00", sheet.small_size) * 1.25), 6)
    named = hour_ticks(chart.x.low, chart.x.high, view.zone, every_h=every)
    edges = sorted({box.left, box.right, *(chart.x.at(tick.at) for tick in ticks)})
    half = width_of("00:00", sheet.small_size) / 2
    return group(
        zebra(sheet, edges, box.bottom, 6),
        outline(sheet, box),
        *[
            sheet.write(
                (chart.x.at(tick.at), box.bottom + 10 + sheet.small_size),
                tick.label,
                anchor="middle",
                ink=sheet.colours.soft_ink,
            )
            for tick in named
            if tick.label and half - 8 < chart.x.at(tick.at) < sheet.across - half
        ],
    )


def _limits(chart: NightChart) -> Element:
    """Name the beginning and the end of the dark above the plot."""
    sheet, view = chart.sheet, chart.view
    drawn: list[Element | None] = []
    for start, end in _dark(view):
        words = f"dark {clock(float(start), view.zone)} – {clock(float(end), view.zone)}"
        left, right = chart.x.at(float(start)), chart.x.at(float(end))
        y = chart.box.top - 6
        half = width_of(words, sheet.small_size) / 2
        middle = min(max((left + right) / 2, chart.box.left + half), chart.box.right - half)
        rule = {"stroke": sheet.colours.ink, "stroke_width": "0.8"}
        drawn += [line((x, y), (x, chart.box.bottom), **rule) for x in (left, right)]
        drawn.append(sheet.write((middle, y - 2), words, anchor="middle"))
        break
    if len(view.sun_altitude_deg) and not drawn:
        drawn.append(sheet.write((chart.box.left, chart.box.top - 8), "no darkness this night"))
    return group(*drawn, id=sheet.id("limits"))


def _curve(chart: NightChart, curve: NightCurve) -> Element:
    """Draw a target's curve: dotted all along, firm where the target can be used, stronger when it is planned."""
    colours = chart.sheet.colours
    planned = any(stretch.name == curve.name for stretch in chart.view.plan)
    ink, weight = (colours.ink, 2.0) if planned or not chart.view.plan else (colours.soft_ink, 1.2)
    firm = "".join(chart.curve(curve.altitude_deg, start, end) for start, end in curve.usable_mjd)
    whole = chart.curve(curve.altitude_deg, chart.x.low, chart.x.high)
    dots = {"fill": "none", "stroke": ink, "stroke_dasharray": "1 4", "stroke_linecap": "round"}
    return group(
        tip(curve.name),
        path(whole, stroke_width=1.2, **dots) if whole else None,
        path(firm, fill="none", stroke=ink, stroke_width=weight, stroke_linejoin="round") if firm else None,
    )


def _planned(chart: NightChart) -> Element:
    """Lay each planned stretch as a broad band along its curve, in the fill of its side."""
    thick = 9.0 if chart.sheet.narrow else 13.0
    drawn: list[Element | None] = []
    for stretch in chart.view.plan:
        curve = by_name(chart.view, stretch.name)
        data = chart.curve(curve.altitude_deg, stretch.start_mjd, stretch.end_mjd) if curve else ""
        if data:
            edge = chart.sheet.colours.lit_edge
            drawn.append(path(data, fill="none", stroke=edge, stroke_width=thick + 2))
            drawn.append(path(data, fill="none", stroke=side_paint(chart.sheet, stretch), stroke_width=thick))
    return group(*drawn, id=chart.sheet.id("plan"))


def _moon(chart: NightChart) -> Element | None:
    """Draw the Moon's curve as long strokes with its disc at the highest point of the plot."""
    view = chart.view
    if not len(view.moon_altitude_deg):
        return None
    colours = chart.sheet.colours
    data = chart.curve(view.moon_altitude_deg, chart.x.low, chart.x.high)
    shown = np.where(np.isfinite(view.moon_altitude_deg), view.moon_altitude_deg, -90.0)
    top = int(np.argmax(shown))
    if shown[top] <= 0:
        return None
    radius = 7.0 if chart.sheet.narrow else 10.0
    x = min(max(chart.x.at(float(view.times_mjd[top])), chart.box.left + radius + 2), chart.box.right - radius - 2)
    centre = (x, chart.y.at(float(shown[top])))
    return group(
        path(data, fill="none", stroke=colours.soft_ink, stroke_width=1.4, stroke_dasharray="12 5"),
        group(
            tip(f"Moon, {view.moon_illuminated_fraction * 100:.0f} % lit"),
            moon_disc(chart.sheet, centre, radius, view.moon_illuminated_fraction, waxing=view.moon_waxing),
        ),
        id=chart.sheet.id("moon"),
    )


def _flips(chart: NightChart) -> Element:
    """Mark each flip on its curve with two opposed triangles, small and pale where nothing is planned round it."""
    drawn: list[Element | None] = []
    on_the_way = flips_on_the_way(chart.view)
    colours = chart.sheet.colours
    for name, at in chart.view.flips_mjd:
        made = (name, at) in on_the_way
        k = (6.0 if chart.sheet.narrow else 8.0) * (1.0 if made else 0.6)
        curve = by_name(chart.view, name)
        if curve is None or not chart.x.low <= at <= chart.x.high:
            continue
        value = float(np.interp(at, chart.view.times_mjd, curve.altitude_deg))
        if not math.isfinite(value):
            continue
        x, y = chart.x.at(at), chart.y.at(value)
        left = polyline_data([(x - 1, y - k), (x - 1, y + k), (x - 1 - k * 1.3, y)], closed=True)
        right = polyline_data([(x + 1, y - k), (x + 1, y + k), (x + 1 + k * 1.3, y)], closed=True)
        words = tip(f"{name}: flip at {clock(at, chart.view.zone)}")
        strong = {"fill": colours.overlay, "stroke": colours.paper, "stroke_width": "1.2"}
        pale = {"fill": colours.paper, "stroke": colours.soft_ink, "stroke_width": "0.9"}
        drawn.append(path(left + right, words, **(strong if made else pale)))
    return group(*drawn, id=chart.sheet.id("flips"))


def _now(chart: NightChart) -> Element | None:
    """Draw a line at the present."""
    at, box, colours = chart.view.now_mjd, chart.box, chart.sheet.colours
    if at is None or not chart.x.low <= at <= chart.x.high:
        return None
    x = chart.x.at(at)
    return group(
        tip(f"now {clock(at, chart.view.zone)}"),
        line((x, box.top), (x, box.bottom), stroke=colours.paper, stroke_width=4),
        line((x, box.top), (x, box.bottom), stroke=colours.overlay, stroke_width=1.8),
        circle((x, box.bottom + 3), 4.5, fill=colours.overlay, stroke=colours.paper, stroke_width=1),
        id=chart.sheet.id("now"),
    )

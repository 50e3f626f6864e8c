"""Curves with their names written on them: odds over the calendar, exposure, what an hour is worth."""

import datetime as dt
import math
from dataclasses import dataclass

import numpy as np

from sidelight.ground.types import FloatArray
from sidelight.pictures.axes import (
    Scale,
    Tick,
    clock,
    date_ticks,
    hour_ticks,
    log_ticks,
    number_ticks,
    plain_number,
    short_date,
)
from sidelight.pictures.chart_records import CurvesView, Rule, Series
from sidelight.pictures.frame import faint, left_side, outline
from sidelight.pictures.lettering import Box, fit, spread, width_of
from sidelight.pictures.palette import Theme
from sidelight.pictures.records import Width
from sidelight.pictures.regions import thin
from sidelight.pictures.sheet import Sheet, zebra
from sidelight.pictures.svg import Element, Point, element, group, line, path, polyline_data, rect, tip

_DASHES = (None, "9 4", "2 4", "12 4 2 4", "5 3", "1 3 6 3")
"""Strokes that tell curves apart without colour; the names stand beside their ends."""


@dataclass(frozen=True)
class _Chart:
    """The plot, its scales, and the ticks of both axes."""

    sheet: Sheet
    view: CurvesView
    box: Box
    x: Scale
    y: Scale
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]


def draw_curves(view: CurvesView, *, theme: Theme = "day", width: Width = "wide", prefix: str = "curves") -> str:
    """Return the curves as SVG text, one horizontal and one vertical axis, each curve named at its right end."""
    sheet = Sheet(theme, width, prefix)
    chart = _lay_out(sheet, view)
    box = chart.box
    clip = rect(box.left, box.top - 2, box.right - box.left, box.bottom - box.top + 4)
    ticks = list(chart.y_ticks)
    return sheet.finish(
        element("clipPath", clip, id=sheet.id("clip")),
        sheet.write((sheet.margin, box.top - sheet.small_size * 0.8), view.y_name, ink=sheet.colours.soft_ink),
        left_side(sheet, box, chart.y, [tick.at for tick in ticks], ticks),
        _bottom(chart),
        group(
            *[_band(chart, series) for series in view.series],
            *[_curve(chart, index, series) for index, series in enumerate(view.series)],
            clip_path=f"url(#{sheet.id('clip')})",
        ),
        _rules(chart),
        _names(chart),
        height=box.bottom + sheet.small_size * 3.6 + sheet.margin,
        title=view.title,
        desc=describe_curves(view),
    )


def describe_curves(view: CurvesView) -> str:
    """Return the curves in words: where each begins and ends."""
    sentences = [f"{view.y_name} over {view.x_name}."]
    for series in view.series:
        known = np.isfinite(series.x) & np.isfinite(series.y)
        if not np.any(known):
            sentences.append(f"{series.name}: no values.")
            continue
        x, y = series.x[known], series.y[known]
        start, end = _x_words(view, float(x[0])), _x_words(view, float(x[-1]))
        sentences.append(f"{series.name}: {_y_words(view, y[0])} at {start}, {_y_words(view, y[-1])} at {end}.")
    return " ".join(sentences)


def _x_words(view: CurvesView, value: float) -> str:
    if view.x_dates:
        return short_date(dt.date.fromordinal(round(value)), year=True)
    if view.x_zone:
        return clock(value, view.x_zone)
    return plain_number(float(f"{value:.4g}"))


def _y_words(view: CurvesView, value: float) -> str:
    return f"{value * 100:.0f} %" if view.y_percent else plain_number(float(f"{value:.3g}"))


def _finite(arrays: list[FloatArray]) -> FloatArray:
    every: FloatArray = np.concatenate([np.empty(0), *arrays])
    return np.asarray(every[np.isfinite(every)])


def _range(values: FloatArray, *, log: bool = False, from_zero: bool = False) -> tuple[float, float]:
    """Return the lowest and highest of the values, never the same and never unfit for a logarithm."""
    kept = values[values > 0] if log else values
    low, high = (float(kept.min()), float(kept.max())) if len(kept) else ((1.0, 10.0) if log else (0.0, 1.0))
    if from_zero and low > 0 and not log:
        low = 0.0
    if not high > low:
        low, high = (low / 2, low * 2) if log else (low - 0.5 * (abs(low) or 1.0), low + 0.5 * (abs(low) or 1.0))
    return low, high


def _lay_out(sheet: Sheet, view: CurvesView) -> _Chart:
    """Choose the ranges and leave room for the figures at the left and the names at the right."""
    x_low, x_high = _range(
        _finite([*[one.x for one in view.series], np.array([rule.at for rule in view.rules if rule.axis == "x"])]),
        log=view.x_log,
    )
    heights = [array for one in view.series for array in (one.y, one.low, one.high)]
    heights.append(np.array([rule.at for rule in view.rules if rule.axis == "y"]))
    y_low, y_high = (0.0, 1.0) if view.y_percent else _range(_finite(heights), from_zero=view.y_from_zero)
    y_ticks = _y_ticks(view, y_low, y_high)
    y_low, y_high = min(y_low, y_ticks[0].at), max(y_high, y_ticks[-1].at)
    size = sheet.small_size
    left = sheet.margin + max(width_of(tick.label, size) for tick in y_ticks) + 16
    names = max((width_of(one.name, size) * 1.08 for one in view.series), default=0.0)
    right = sheet.across - sheet.margin - min(names + 18, sheet.across * 0.3)
    top = sheet.below_heading + size * 2.2
    box = Box(left, top, right, top + (220.0 if sheet.narrow else 400.0))
    x = Scale(x_low, x_high, box.left, box.right, log=view.x_log)
    return _Chart(sheet, view, box, x, Scale(y_low, y_high, box.bottom, box.top), _x_ticks(sheet, view, x), y_ticks)


def _y_ticks(view: CurvesView, low: float, high: float) -> tuple[Tick, ...]:
    """Return ticks that reach past the values at both ends."""
    if view.y_percent:
        return tuple(Tick(at / 100, f"{at} %") for at in range(0, 101, 20))
    inside = number_ticks(low, high, 6)
    step = inside[1].at - inside[0].at if len(inside) > 1 else high - low
    return number_ticks(math.floor(low / step + 1e-9) * step, math.ceil(high / step - 1e-9) * step, 8) or inside


def _x_ticks(sheet: Sheet, view: CurvesView, x: Scale) -> tuple[Tick, ...]:
    """Return the ticks of the horizontal axis, as many as have room."""
    if view.x_log:
        return log_ticks(x.low, x.high)
    if view.x_zone:
        return hour_ticks(x.low, x.high, view.x_zone)
    most = 5 if sheet.narrow else 9
    return date_ticks(x.low, x.high, most) if view.x_dates else number_ticks(x.low, x.high, most)


def _bottom(chart: _Chart) -> Element:
    """Draw the horizontal axis with its figures, those that would touch left out, and its name."""
    sheet, box, size = chart.sheet, chart.box, chart.sheet.small_size
    edges = sorted({box.left, box.right, *(chart.x.at(tick.at) for tick in chart.x_ticks)})
    written: list[Element | None] = []
    free_from = -math.inf
    for tick in chart.x_ticks:
        at, half = chart.x.at(tick.at), width_of(tick.label, size) / 2
        if at - half > free_from and at + half < sheet.across:
            free_from = at + half + 6
            place = (at, box.bottom + 10 + size)
            written.append(sheet.write(place, tick.label, anchor="middle", ink=sheet.colours.soft_ink))
            written.append(line((at, box.top), (at, box.bottom), **faint(sheet)))
    name = fit(chart.view.x_name, box.right - box.left, size)
    middle = ((box.left + box.right) / 2, box.bottom + 12 + size * 2.4)
    written.append(sheet.write(middle, name, anchor="middle", ink=sheet.colours.soft_ink))
    return group(zebra(sheet, edges, box.bottom, 6), outline(sheet, box), *written)


def _runs(chart: _Chart, x: FloatArray, y: FloatArray) -> list[list[Point]]:
    """Return a curve's points in runs without gaps."""
    places_x, places_y = chart.x.all(x), chart.y.all(y)
    runs: list[list[Point]] = [[]]
    for at_x, at_y in zip(places_x, places_y, strict=True):
        if np.isfinite(at_x) and np.isfinite(at_y):
            runs[-1].append((float(at_x), float(at_y)))
        else:
            runs.append([])
    return [thin(run) for run in runs if run]


def _stroke(chart: _Chart, index: int) -> tuple[str, str | None]:
    """Return a curve's ink and its dashes."""
    inks = chart.sheet.colours.series
    return inks[index % len(inks)], _DASHES[index % len(_DASHES)]


def _curve(chart: _Chart, index: int, series: Series) -> Element:
    """Draw one curve."""
    ink, dash = _stroke(chart, index)
    data = "".join(polyline_data(run) for run in _runs(chart, series.x, series.y))
    strong = {"fill": "none", "stroke": ink, "stroke_linejoin": "round"}
    return group(tip(series.name), path(data, stroke_width=2.4, stroke_dasharray=dash, **strong) if data else None)


def _band(chart: _Chart, series: Series) -> Element | None:
    """Draw the band of a curve's uncertainty."""
    if len(series.low) != len(series.x) or len(series.high) != len(series.x) or not len(series.x):
        return None
    known = np.isfinite(series.low) & np.isfinite(series.high) & np.isfinite(chart.x.all(series.x))
    over = list(zip(chart.x.all(series.x[known]), chart.y.all(series.high[known]), strict=True))
    under = list(zip(chart.x.all(series.x[known]), chart.y.all(series.low[known]), strict=True))
    if len(over) < 2:
        return None
    points = [(float(x), float(y)) for x, y in [*over, *reversed(under)]]
    return path(polyline_data(points, closed=True), fill=chart.sheet.colours.tints[1], fill_opacity=0.8)


def _rules(chart: _Chart) -> Element:
    """Draw the straight lines with their labels."""
    return group(*[_rule(chart, rule) for rule in chart.view.rules], id=chart.sheet.id("rules"))


def _rule(chart: _Chart, rule: Rule) -> Element:
    sheet, box = chart.sheet, chart.box
    stroke = {"stroke": sheet.colours.overlay, "stroke_width": "1.6", "stroke_dasharray": "8 5"}
    ink, halo = sheet.colours.overlay, sheet.colours.paper
    if rule.axis == "y":
        at = chart.y.at(rule.at)
        label = sheet.write((box.left + 8, at - 5), rule.label, ink=ink, halo=halo)
        return group(line((box.left, at), (box.right, at), **stroke), label)
    at = chart.x.at(rule.at)
    half = width_of(rule.label, sheet.small_size) / 2
    middle = min(max(at, box.left + half), sheet.across - sheet.margin - half)
    label = sheet.write((middle, box.top + sheet.small_size * 1.1), rule.label, anchor="middle", ink=ink, halo=halo)
    return group(line((at, box.top), (at, box.bottom), **stroke), label)


def _names(chart: _Chart) -> Element:
    """Write each curve's name at the right, level with its end, pushed apart where they would touch."""
    sheet, box, size = chart.sheet, chart.box, chart.sheet.small_size
    ends: list[tuple[int, Series, Point]] = []
    for index, series in enumerate(chart.view.series):
        runs = _runs(chart, series.x, series.y)
        if runs:
            ends.append((index, series, runs[-1][-1]))
    levels = spread([end[1] for _, _, end in ends], size * 1.25, box.top + size * 0.5, box.bottom - size * 0.2)
    drawn: list[Element | None] = []
    for (index, series, end), level in zip(ends, levels, strict=True):
        ink, dash = _stroke(chart, index)
        # the way to the name must not look like a piece of the curve; the name begins with a sample of its stroke
        leader = polyline_data([end, (box.right + 3, level)])
        drawn.append(path(leader, fill="none", stroke=sheet.colours.soft_ink, stroke_width=0.6, stroke_opacity=0.55))
        sample = polyline_data([(box.right + 3, level), (box.right + 13, level)])
        drawn.append(path(sample, fill="none", stroke=ink, stroke_width=2.4, stroke_dasharray=dash))
        name = fit(series.name, (sheet.across - sheet.margin - box.right - 16) / 1.08, size)
        drawn.append(sheet.write((box.right + 16, level + size * 0.36), name, ink=ink, bold=True))
    return group(*drawn, id=sheet.id("names"))

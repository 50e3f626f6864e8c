"""The year of a target: date across, clock time up, the usable part of each night shaded by altitude.

Drawn as a coast: daylight is land on both shores, the dark hours are water between them, and the target's altitude
is the water's depth, with contour lines and figures. One vertical axis only, the clock.
"""

import datetime as dt
import math
from dataclasses import dataclass

import numpy as np

from sidelight.ground.types import FloatArray
from sidelight.pictures.axes import Scale, Tick, short_date
from sidelight.pictures.chart_records import YearNight, YearView
from sidelight.pictures.frame import left_side, marked_night, months
from sidelight.pictures.lettering import Box, text_box, width_of, wrap
from sidelight.pictures.palette import Theme
from sidelight.pictures.records import Width
from sidelight.pictures.regions import above_each, common, region_data
from sidelight.pictures.sheet import Sheet, moon_disc
from sidelight.pictures.svg import Element, element, group, path, rect, tip

_MOONLIT = 0.5
"""From this lit fraction on a Moon above the horizon is hatched."""


@dataclass(frozen=True)
class _Chart:
    """The plot: scales from night index to x and from clock hour to y.

    depths : for the floor and each contour, the usable spans of each night above it.
    """

    sheet: Sheet
    view: YearView
    box: Box
    x: Scale
    y: Scale
    depths: dict[float, list[FloatArray]]

    def region(self, columns: list[FloatArray], **attributes: str | float | None) -> Element | None:
        """Draw the region that spans of clock hours cover."""
        data = region_data(columns, self.x.at, self.y.at)
        return path(data, **attributes) if data else None


def draw_year(view: YearView, *, theme: Theme = "day", width: Width = "wide", prefix: str = "year") -> str:
    """Return the year of a target as SVG text."""
    sheet = Sheet(theme, width, prefix)
    chart = _lay_out(sheet, view)
    legend, bottom = _legend(chart)
    first = view.nights[0].date if view.nights else dt.date(2000, 1, 1)
    clip = element(
        "clipPath",
        rect(chart.box.left, chart.box.top, chart.box.right - chart.box.left, chart.box.bottom - chart.box.top),
        id=sheet.id("clip"),
    )
    return sheet.finish(
        clip,
        _water(chart),
        _clock(chart),
        months(sheet, chart.box, chart.x, first, len(view.nights)),
        _moons(chart),
        _depth_figures(chart),
        marked_night(sheet, chart.box, chart.x, (first, len(view.nights)), view.today, view.marked_as),
        legend,
        height=bottom + sheet.margin,
        title=view.title,
        desc=describe_year(view),
    )


def describe_year(view: YearView) -> str:
    """Return the year's content in words."""
    if not view.nights:
        return "No nights."
    first, last = view.nights[0].date, view.nights[-1].date
    hours = [sum(end - start for start, end in night.windows_h) for night in view.nights]
    useful = [(length, night.date) for length, night in zip(hours, view.nights, strict=True) if length > 0]
    sentences = [
        f"Nights from {short_date(first, year=True)} to {short_date(last, year=True)}, clock time upwards.",
        f"The target can be used on {len(useful)} of {len(hours)} nights.",
    ]
    if useful:
        longest, day = max(useful, key=lambda pair: pair[0])
        sentences.append(f"The longest is {short_date(day, year=True)} with {longest:.1f} hours.")
    return " ".join([*sentences, view.verdict]).strip()


def _lay_out(sheet: Sheet, view: YearView) -> _Chart:
    """Choose the plot's place and its range of clock hours."""
    edges = [hour for night in view.nights for span in (*night.dark_h, *night.windows_h) for hour in span]
    low = math.floor(min(edges, default=6.0) - 0.6)
    high = math.ceil(max(edges, default=18.0) + 0.6)
    left = sheet.margin + width_of("00:00", sheet.small_size) + 14
    top = sheet.below_heading + sheet.small_size * 1.2 + (18 if sheet.narrow else 26)
    tall = 250.0 if sheet.narrow else 470.0
    box = Box(left, top, sheet.across - sheet.margin - 4, top + tall)
    return _Chart(
        sheet,
        view,
        box,
        Scale(0.0, float(max(1, len(view.nights))), box.left, box.right),
        Scale(low, high, box.bottom, box.top),
        {level: _usable_above(view, level) for level in (view.floor_deg, *_levels(view))},
    )


def _rows(spans: tuple[tuple[float, float], ...]) -> FloatArray:
    return np.asarray(spans, dtype=np.float64).reshape(-1, 2)


def _levels(view: YearView) -> tuple[float, ...]:
    """Return the altitudes of the contour lines: the next four tens above the floor."""
    first = 10 * math.floor(view.floor_deg / 10 + 1)
    return tuple(float(first + 10 * step) for step in range(4))


def _usable_above(view: YearView, level: float) -> list[FloatArray]:
    """Return the usable spans of every night in which the target stands at or above an altitude."""
    if not view.nights:
        return []
    altitudes = np.array([night.altitudes_deg for night in view.nights], dtype=np.float64)
    spans = above_each(view.clock_h, altitudes, level)
    return [common(high, _rows(night.windows_h)) for high, night in zip(spans, view.nights, strict=True)]


def _moonlit(night: YearNight) -> FloatArray:
    lit = night.moon_illuminated_fraction >= _MOONLIT
    return common(_rows(night.moon_up_h), _rows(night.windows_h)) if lit else np.empty((0, 2))


def _water(chart: _Chart) -> Element:
    """Draw land, dark water, the depths of the usable part, and the Moon's hatching."""
    colours, view, box = chart.sheet.colours, chart.view, chart.box
    dark = [_rows(night.dark_h) for night in view.nights]
    usable = [_rows(night.windows_h) for night in view.nights]
    contour = {"stroke": colours.soft_ink, "stroke_width": "0.7", "stroke_linejoin": "round"}
    depths = [
        chart.region(chart.depths[level], fill=tint, **contour)
        for level, tint in zip(_levels(view), colours.tints[1:], strict=True)
    ]
    return group(
        rect(box.left, box.top, box.right - box.left, box.bottom - box.top, fill=colours.land),
        chart.region(dark, fill=colours.paper, stroke=colours.ink, stroke_width=1.6, stroke_linejoin="round"),
        chart.region(usable, fill=colours.tints[0], stroke=colours.soft_ink, stroke_width=1),
        *depths,
        chart.region([_moonlit(night) for night in view.nights], fill=chart.sheet.hatch("moon")),
        clip_path=f"url(#{chart.sheet.id('clip')})",
    )


def _clock(chart: _Chart) -> Element:
    """Draw the clock's scale at the left: hours filled in turn, every second one named."""
    hours = range(int(chart.y.low), int(chart.y.high) + 1)
    every = 2 if len(hours) <= 20 else 3
    ticks = [Tick(hour, f"{(hour + 12) % 24:02d}:00") for hour in hours if hour % every == 0]
    return left_side(chart.sheet, chart.box, chart.y, hours, ticks)


def _moons(chart: _Chart) -> Element:
    """Set a full Moon above the plot at each full Moon; narrow plots too."""
    lit = np.array([night.moon_illuminated_fraction for night in chart.view.nights])
    radius = 4.0 if chart.sheet.narrow else 6.0
    discs = []
    for index in range(1, len(lit) - 1):
        if lit[index] > 0.9 and lit[index] >= lit[index - 1] and lit[index] > lit[index + 1]:
            day = short_date(chart.view.nights[index].date, year=True)
            centre = (chart.x.at(index + 0.5), chart.box.top - radius - 4)
            discs.append(group(tip(f"Full Moon {day}"), moon_disc(chart.sheet, centre, radius, 1.0)))
    return group(*discs, id=chart.sheet.id("moons"))


def _depth_figures(chart: _Chart) -> Element:
    """Write each contour's altitude on its line, near the middle of the line, where nothing is written yet."""
    sheet, view = chart.sheet, chart.view
    size = sheet.small_size
    written: list[Element | None] = []
    taken: list[Box] = []
    for index, level in enumerate((view.floor_deg, *_levels(view))):
        words = f"{level:.0f}°"
        places = _contour_places(chart, level)
        for place in sorted(range(len(places)), key=lambda one: abs(one - len(places) / 2)):
            x, y = places[place]
            box = text_box((x, y + size * 0.36), words, size * 1.15, "middle")
            if box.inside(chart.box) and not any(box.meets(other) for other in taken):
                taken.append(box)
                halo = sheet.colours.tints[index]
                written.append(sheet.write((x, y + size * 0.36), words, anchor="middle", italic=True, halo=halo))
                break
    return group(*written, id=sheet.id("figures"))


def _contour_places(chart: _Chart, level: float) -> list[tuple[float, float]]:
    """Return points of a contour that runs through the dark, not along dusk or dawn, in order of the date."""
    places = []
    for index, night in enumerate(chart.view.nights):
        dark = [hour for span in night.dark_h for hour in span]
        for low, high in chart.depths[level][index]:
            for hour in (float(low), float(high)):
                if all(abs(hour - edge) > 0.4 for edge in dark):
                    places.append((chart.x.at(index + 0.5), chart.y.at(hour)))
    return places


def _legend(chart: _Chart) -> tuple[Element, float]:
    """Explain land, water and depths below the plot; return the legend and its lower end."""
    sheet, view, colours = chart.sheet, chart.view, chart.sheet.colours
    left, y = sheet.margin, chart.box.bottom + 9 + sheet.small_size * 3
    drawn: list[Element | None] = []
    entries = [(colours.land, "too bright"), (colours.paper, "dark, target not usable")]
    if any(len(_moonlit(night)) for night in view.nights):
        entries.append((sheet.hatch("moon"), "Moon up, over half lit"))
    x = left
    for level, tint in zip((view.floor_deg, *_levels(view)), colours.tints, strict=True):
        wide = width_of("30°", sheet.small_size) + 12
        drawn.append(rect(x, y - sheet.small_size, wide, sheet.small_size + 5, fill=tint, stroke=colours.soft_ink))
        drawn.append(sheet.write((x + wide / 2, y), f"{level:.0f}°", anchor="middle"))
        x += wide
    drawn.append(sheet.write((x + 8, y), "altitude from", ink=colours.soft_ink))
    x += 8 + width_of("altitude from", sheet.small_size) + 18
    for paint, words in entries:
        wide = 30 + width_of(words, sheet.small_size) + 16
        if x + wide > sheet.across:
            x, y = left, y + sheet.small_size * 1.7
        ground = colours.tints[2] if paint.startswith("url") else paint
        drawn.append(rect(x, y - 12, 24, 14, fill=ground, stroke=colours.soft_ink, stroke_width=0.7))
        drawn.append(rect(x, y - 12, 24, 14, fill=paint) if paint.startswith("url") else None)
        drawn.append(sheet.write((x + 30, y), words, ink=colours.soft_ink))
        x += wide
    wide = 30 + width_of("full Moon", sheet.small_size)
    x, y = (left, y + sheet.small_size * 1.7) if x + wide > sheet.across else (x, y)
    drawn.append(moon_disc(sheet, (x + 12, y - 5), 6, 1.0))
    drawn.append(sheet.write((x + 30, y), "full Moon", ink=colours.soft_ink))
    y += sheet.small_size * (1.0 if sheet.narrow else 2.0)
    for text in wrap(view.verdict, sheet.across - 2 * left, sheet.body_size):
        y += sheet.body_size * 1.3
        drawn.append(sheet.write((left, y), text, size=sheet.body_size))
    return group(*drawn, id=sheet.id("legend")), y + 4

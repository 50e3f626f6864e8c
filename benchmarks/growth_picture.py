"""The picture of growth: time against size, both axes in powers of ten, one small chart for each series."""

import math
from collections.abc import Sequence

from benchmarks.measure import Point, clock, exponent

from sidelight.pictures.lettering import width_of
from sidelight.pictures.sheet import Sheet
from sidelight.pictures.svg import Element, circle, element, group, line, polyline_data, rect

COLUMNS = 3
DECADE = 44.0
"""Units of the picture for a power of ten, the same for size and time, so that proportional growth is 45 degrees."""
WIDE, HIGH = 5.0, 3.5
"""Powers of ten that each small chart holds."""
LEFT, ABOVE, BELOW = 62.0, 52.0, 44.0
TITLE = "How the time grows"


def draw_growth(every: Sequence[Sequence[Point]]) -> str:
    """Return the small charts of all series as SVG text."""
    sheet = Sheet("day", "wide", "growth")
    high = ABOVE + HIGH * DECADE + BELOW
    top = sheet.below_heading + sheet.small_size * 2
    rows = math.ceil(len(every) / COLUMNS)
    step = (sheet.across - 2 * sheet.margin) / COLUMNS
    charts = [
        _chart(sheet, points, sheet.margin + (k % COLUMNS) * step, top + (k // COLUMNS) * high)
        for k, points in enumerate(every)
    ]
    legend = "Both scales in powers of ten; the thin slope through the last point is growth in proportion."
    at = (sheet.margin, sheet.below_heading + sheet.small_size * 0.6)
    return sheet.finish(
        sheet.write(at, legend, ink=sheet.colours.soft_ink),
        *charts,
        height=top + rows * high + sheet.margin,
        title=TITLE,
        desc=describe(every),
    )


def describe(every: Sequence[Sequence[Point]]) -> str:
    """Return the charts in words."""
    return " ".join(
        f"{points[0].what}: {clock(points[0].ours_s)} for {points[0].size:,.0f} {points[0].axis}, "
        f"{clock(points[-1].ours_s)} for {points[-1].size:,.0f}, as n^{exponent(points):.2f}."
        for points in every
    )


def _middle(values: Sequence[float], decades: float) -> float:
    """Return the power of ten at which a scale begins, so that the values stand in its middle."""
    low, high = math.log10(min(values)), math.log10(max(values))
    return (low + high - decades) / 2.0


def _chart(sheet: Sheet, points: Sequence[Point], x: float, y: float) -> Element:
    """Draw one series."""
    sizes, times = [one.size for one in points], [one.ours_s for one in points]
    size_0, time_0 = _middle(sizes, WIDE), _middle(times, HIGH)
    left, top, bottom = x + LEFT, y + ABOVE, y + ABOVE + HIGH * DECADE
    right = left + WIDE * DECADE

    def at(size: float, time_s: float) -> tuple[float, float]:
        return left + (math.log10(size) - size_0) * DECADE, bottom - (math.log10(time_s) - time_0) * DECADE

    places = [at(size, time_s) for size, time_s in zip(sizes, times, strict=True)]
    ink, overlay = sheet.colours.ink, sheet.colours.overlay
    return group(
        *_words(sheet, points, x, y),
        rect(left, top, right - left, bottom - top, fill="none", stroke=ink, stroke_width=1),
        *_size_scale(sheet, (left, right, top, bottom), size_0),
        *_time_scale(sheet, (left, right, top, bottom), time_0),
        _in_proportion(sheet, places[-1], (left, right, top, bottom)),
        element("path", d=polyline_data(places), fill="none", stroke=overlay, stroke_width=2),
        *[circle(place, 3.5, fill=overlay, stroke=sheet.colours.paper, stroke_width=1) for place in places],
    )


def _words(sheet: Sheet, points: Sequence[Point], x: float, y: float) -> tuple[Element, Element]:
    """Set what is measured above a chart, and how it grows."""
    grows = f"by {points[0].axis}: n^{exponent(points):.2f}"
    small = sheet.small_size
    what, room = points[0].what, (sheet.across - 2 * sheet.margin) / COLUMNS - 8
    size = min(small, small * room / (1.12 * width_of(what, small)))  # bold letters are wider
    return (
        sheet.write((x, y + 18), what, size=size, bold=True),
        sheet.write((x, y + 18 + small * 1.3), grows, ink=sheet.colours.soft_ink),
    )


def _size_scale(sheet: Sheet, box: tuple[float, float, float, float], start: float) -> list[Element]:
    """Draw powers of ten along the bottom."""
    left, _, top, bottom = box
    drawn = []
    for power in range(math.ceil(start), math.floor(start + WIDE) + 1):
        at = left + (power - start) * DECADE
        drawn.append(line((at, top), (at, bottom), stroke=sheet.colours.hairline, stroke_width=0.7))
        if power >= 0:
            label = {3: "1k", 4: "10k", 5: "100k", 6: "1M", 7: "10M"}.get(power, str(10**power))
            drawn.append(sheet.write((at, bottom + 17), label, anchor="middle", ink=sheet.colours.soft_ink))
    return drawn


def _time_scale(sheet: Sheet, box: tuple[float, float, float, float], start: float) -> list[Element]:
    """Draw powers of ten up the left side."""
    left, right, _, bottom = box
    drawn = []
    for power in range(math.ceil(start), math.floor(start + HIGH) + 1):
        at = bottom - (power - start) * DECADE
        drawn.append(line((left, at), (right, at), stroke=sheet.colours.hairline, stroke_width=0.7))
        label = clock(10.0**power)
        drawn.append(sheet.write((left - 6, at + 5), label, anchor="end", ink=sheet.colours.soft_ink))
    return drawn


def _in_proportion(sheet: Sheet, last: tuple[float, float], box: tuple[float, float, float, float]) -> Element:
    """Draw the slope of growth in proportion through the last point."""
    left, right, top, bottom = box
    before, after = min(last[0] - left, bottom - last[1]), min(right - last[0], last[1] - top)
    ends = (last[0] - before, last[1] + before), (last[0] + after, last[1] - after)
    return line(*ends, stroke=sheet.colours.soft_ink, stroke_width=1, stroke_dasharray="4 4")

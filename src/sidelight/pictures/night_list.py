"""Below the night's plot: the plan as a list, or its signs in a line where the times stand elsewhere."""

from sidelight.pictures.axes import clock
from sidelight.pictures.chart_records import NightView, PlannedStretch
from sidelight.pictures.lettering import fit, width_of, wrap
from sidelight.pictures.night_chart import NightChart
from sidelight.pictures.sheet import Sheet
from sidelight.pictures.svg import Element, Point, group, path, polyline_data, rect

_READING = "Firm line: usable. Dotted: too low, behind the horizon or too bright. Broad band: planned."
_FLIP_PAUSE_MIN = 15.0
"""A flip so near to a stay's end still belongs to it; our choice."""


def flips_on_the_way(view: NightView) -> tuple[tuple[str, float], ...]:
    """Return the flips that fall into a planned stay; the mount makes no other."""
    near = _FLIP_PAUSE_MIN / 1440.0  # the plan is cut at the flip, and may pause for it
    return tuple(
        (name, at)
        for name, at in view.flips_mjd
        if any(stay.name == name and stay.start_mjd - near <= at <= stay.end_mjd + near for stay in view.plan)
    )


def side_paint(sheet: Sheet, stretch: PlannedStretch) -> str:
    """Return the fill of a planned stretch: that of its side, as on the dial."""
    return sheet.hatch("east") if stretch.side == "east" else sheet.colours.lit_west


def draw_listing(chart: NightChart) -> tuple[Element, float]:
    """List the plan below the plot: sign, clock times, target, side; flips between; return it and its lower end."""
    sheet, view, colours = chart.sheet, chart.view, chart.sheet.colours
    left, y = sheet.margin, chart.box.bottom + 10 + sheet.small_size * 3.2
    drawn: list[Element | None] = []
    entries: list[tuple[float, PlannedStretch | None, str]] = [(s.start_mjd, s, "") for s in view.plan]
    entries += [(at, None, name) for name, at in flips_on_the_way(view)]
    size = sheet.body_size
    at_name = left + 34 + width_of("00:00–00:00 ", size)
    for at, stretch, name in sorted(entries, key=lambda entry: entry[0]):
        room = sheet.across - sheet.margin - at_name
        if stretch is None:
            drawn.append(_flip_sign(sheet, (left + 12, y - size * 0.36)))
            drawn.append(sheet.write((left + 34, y), clock(at, view.zone), size=size, ink=colours.overlay))
            drawn.append(sheet.write((at_name, y), fit(f"flip: {name}", room, size), size=size, ink=colours.overlay))
        else:
            span = f"{clock(stretch.start_mjd, view.zone)}–{clock(stretch.end_mjd, view.zone)}"
            edge = {"stroke": colours.lit_edge, "stroke_width": "1"}
            drawn.append(rect(left, y - size * 0.7, 24, size * 0.75, fill=side_paint(sheet, stretch), **edge))
            drawn.append(sheet.write((left + 34, y), span, size=size))
            side = f" in the {stretch.side}" if stretch.side in ("east", "west") else ""
            words = fit(stretch.name, (room - width_of(side, size)) / 1.08, size)
            drawn.append(sheet.write((at_name, y), words, size=size, bold=True))
            if side:
                place = at_name + width_of(words, size) * 1.08 + 6
                drawn.append(sheet.write((place, y), side.strip(), size=size, ink=colours.soft_ink))
        y += size * 1.6
    if not entries:
        drawn.append(sheet.write((left, y), "nothing planned", ink=colours.soft_ink))
        y += size * 1.6
    reading, y = _reading(sheet, y + sheet.small_size * 0.4)
    return group(*drawn, *reading, id=sheet.id("listing")), y


def _flip_sign(sheet: Sheet, at: Point) -> Element:
    """Draw the flip's two triangles for the list."""
    x, y = at
    left = polyline_data([(x - 1, y - 6), (x - 1, y + 6), (x - 9, y)], closed=True)
    right = polyline_data([(x + 1, y - 6), (x + 1, y + 6), (x + 9, y)], closed=True)
    return path(left + right, fill=sheet.colours.overlay)


def draw_signs(chart: NightChart) -> tuple[Element, float]:
    """Explain the fills of the two sides and the flip's sign in a line; return it and its lower end."""
    sheet, colours = chart.sheet, chart.sheet.colours
    x, y = sheet.margin, chart.box.bottom + 10 + sheet.small_size * 2.8
    size = sheet.small_size
    edge = {"stroke": colours.lit_edge, "stroke_width": "1"}
    sides = {stretch.side: stretch for stretch in chart.view.plan}
    drawn: list[Element | None] = []
    for side, words in (("east", "target in the east"), ("west", "target in the west"), ("any", "planned")):
        if side in sides:
            drawn.append(rect(x, y - size * 0.72, 24, size * 0.78, fill=side_paint(sheet, sides[side]), **edge))
            drawn.append(sheet.write((x + 32, y), words))
            x += 32 + width_of(words, size) + 22
    if flips_on_the_way(chart.view):
        if x + 28 + width_of("flip", size) > sheet.across - sheet.margin:
            x, y = sheet.margin, y + size * 1.5
        drawn += [_flip_sign(sheet, (x + 10, y - size * 0.34)), sheet.write((x + 28, y), "flip", ink=colours.overlay)]
    reading, end = _reading(sheet, y + size * 1.6)
    return group(*drawn, *reading, id=sheet.id("listing")), end


def _reading(sheet: Sheet, y: float) -> tuple[list[Element | None], float]:
    """Say how the curves are read; return the lines and their lower end."""
    drawn: list[Element | None] = []
    for words in wrap(_READING, sheet.across - 2 * sheet.margin, sheet.small_size):
        drawn.append(sheet.write((sheet.margin, y), words, ink=sheet.colours.soft_ink))
        y += sheet.small_size * 1.35
    return drawn, y - sheet.small_size

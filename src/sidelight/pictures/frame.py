"""What charts share at their edges: a graduated left side, the months along the bottom, the line through a night."""

import datetime as dt
from collections.abc import Sequence
from itertools import pairwise

from sidelight.pictures.axes import Scale, Tick, month_starts, short_date
from sidelight.pictures.lettering import Box, width_of
from sidelight.pictures.sheet import Sheet, zebra
from sidelight.pictures.svg import Element, circle, group, line, rect


def faint(sheet: Sheet) -> dict[str, str]:
    """Return the attributes of the lines that help the eye across a chart."""
    return {"stroke": sheet.colours.hairline, "stroke_width": "0.7", "stroke_dasharray": "1 4"}


def outline(sheet: Sheet, box: Box) -> Element:
    """Draw a chart's frame."""
    wide, high = box.right - box.left, box.bottom - box.top
    return rect(box.left, box.top, wide, high, fill="none", stroke=sheet.colours.ink, stroke_width=1)


def left_side(sheet: Sheet, box: Box, y: Scale, edges: Sequence[float], ticks: Sequence[Tick]) -> Element:
    """Draw a scale up the left side, its intervals filled in turn, with its labels and faint lines across."""
    soft = sheet.colours.soft_ink
    lower = sheet.small_size * 0.36
    return group(
        *[line((box.left, y.at(tick.at)), (box.right, y.at(tick.at)), **faint(sheet)) for tick in ticks],
        zebra(sheet, [y.at(edge) for edge in edges], box.left - 7, 7, upright=True),
        *[
            sheet.write((box.left - 12, y.at(tick.at) + lower), tick.label, anchor="end", ink=soft)
            for tick in ticks
            if tick.label
        ],
    )


def months(sheet: Sheet, box: Box, x: Scale, first: dt.date, count: int) -> Element:
    """Draw the months along the bottom, filled in turn, each named in its middle where its name has room.

    The scale counts nights from the first.
    """
    starts = month_starts(first, count)
    edges = sorted({0, *(index for index, _ in starts), count})
    names: list[Element | None] = []
    full = width_of("May", sheet.small_size) < x.at(28) - x.at(0)
    for start, end in pairwise(edges):
        name = short_date(first + dt.timedelta(days=start)).split()[1]
        shown = name if full else name[0]
        if width_of(shown, sheet.small_size) < x.at(end) - x.at(start):
            place = (x.at((start + end) / 2), box.bottom + 9 + sheet.small_size)
            names.append(sheet.write(place, shown, anchor="middle", ink=sheet.colours.soft_ink))
    lines = [line((x.at(at), box.top), (x.at(at), box.bottom), **faint(sheet)) for at in edges[1:-1]]
    return group(*lines, zebra(sheet, [x.at(at) for at in edges], box.bottom, 6), outline(sheet, box), *names)


def marked_night(
    sheet: Sheet, box: Box, x: Scale, nights: tuple[dt.date, int], night: dt.date | None, name: str
) -> Element | None:
    """Draw a line through one night, its name ("from", "tonight") and date above the chart; None if it is not there.

    nights : the first, and how many.
    """
    first, count = nights
    if night is None or not 0 <= (night - first).days < count:
        return None
    place = x.at((night - first).days + 0.5)
    words = f"{name} {short_date(night)}"
    half = width_of(words, sheet.small_size) / 2
    middle = min(max(place, box.left + half), box.right - half)
    top = box.top - (16 if sheet.narrow else 24)
    colours = sheet.colours
    return group(
        line((place, box.top), (place, box.bottom), stroke=colours.paper, stroke_width=4),
        line((place, top + 3), (place, box.bottom), stroke=colours.overlay, stroke_width=1.8),
        circle((place, box.bottom + 3), 4, fill=colours.overlay, stroke=colours.paper, stroke_width=1),
        sheet.write((middle, top), words, anchor="middle", bold=True, ink=colours.overlay, halo=colours.paper),
        id=sheet.id("today"),
    )

"""The season's overview: a row for each target, the months across, hours a night by lightness and as figures.

Figures stand on the tints as soundings stand on the depths of a sea chart: the mean of each half month
(each month on a phone).
"""

import datetime as dt
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from sidelight.ground.types import FloatArray
from sidelight.pictures.axes import Scale, short_date
from sidelight.pictures.chart_records import SeasonRow, SeasonView
from sidelight.pictures.frame import marked_night, months
from sidelight.pictures.lettering import Box, fit, width_of, wrap
from sidelight.pictures.palette import Theme
from sidelight.pictures.records import Width
from sidelight.pictures.sheet import Sheet
from sidelight.pictures.svg import Element, group, line, rect

_STEPS_H = (0.25, 2.0, 4.0, 6.0, 8.0)
"""Hours from which each tint is used; below the first the cell stays blank."""


def draw_season(view: SeasonView, *, theme: Theme = "day", width: Width = "wide", prefix: str = "season") -> str:
    """Return the overview as SVG text."""
    sheet = Sheet(theme, width, prefix)
    nights = max((len(row.hours_h) for row in view.rows), default=1) or 1
    label_wide = 0.0 if sheet.narrow else 214.0
    row_tall = 46.0 if sheet.narrow else 40.0
    left, top = sheet.margin + label_wide, sheet.below_heading + (26 if sheet.narrow else 34)
    box = Box(left, top, sheet.across - sheet.margin, top + row_tall * max(1, len(view.rows)))
    x = Scale(0.0, float(nights), box.left, box.right)
    cells = _cells(view.first_date, nights, whole_months=sheet.narrow)
    areas = [
        Box(sheet.margin, top + row_tall * index, box.right, top + row_tall * (index + 1))
        for index in range(len(view.rows))
    ]
    pairs = list(zip(view.rows, areas, strict=True))
    legend, bottom = _legend(sheet, view, box.bottom + sheet.small_size * 3.2)
    return sheet.finish(
        group(*[_cell_shapes(sheet, row, cells, x, area) for row, area in pairs], id=sheet.id("cells")),
        months(sheet, box, x, view.first_date, nights),
        marked_night(sheet, box, x, (view.first_date, nights), view.today, view.marked_as),
        group(*[_writing(sheet, row, cells, x, area) for row, area in pairs], id=sheet.id("rows")),
        legend,
        height=bottom + sheet.margin,
        title=view.title,
        desc=describe_season(view),
    )


def describe_season(view: SeasonView) -> str:
    """Return the overview in words."""
    sentences = [f"Rows of targets, months across, {view.hours_name}."]
    for row in view.rows:
        hours = np.nan_to_num(row.hours_h)
        if not len(hours) or not np.any(hours > 0):
            sentences.append(f"{row.name}: no hours.")
            continue
        best = int(np.argmax(hours))
        day = view.first_date + dt.timedelta(days=best)
        sentences.append(f"{row.name}: most on {short_date(day, year=True)}, {hours[best]:.1f} h.")
    return " ".join(sentences)


def _cells(first: dt.date, nights: int, *, whole_months: bool) -> list[tuple[int, int]]:
    """Return (start, end) night indices of the half or whole months that the nights cover."""
    edges = [0]
    for index in range(1, nights):
        day = (first + dt.timedelta(days=index)).day
        if day == 1 or (day == 16 and not whole_months):
            edges.append(index)
    edges.append(nights)
    return list(pairwise(edges))


def _tint(sheet: Sheet, hours: float) -> str | None:
    """Return the tint of a number of hours, None for next to nothing."""
    at = sum(hours >= step for step in _STEPS_H)
    return sheet.colours.tints[at - 1] if at else None


def _cell_shapes(sheet: Sheet, row: SeasonRow, cells: Sequence[tuple[int, int]], x: Scale, area: Box) -> Element:
    """Draw one target's cells."""
    top, tall = _band(sheet, area)
    drawn: list[Element | None] = []
    for start, end in cells:
        tint = _tint(sheet, _mean(row.hours_h[start:end]))
        if tint is not None:
            drawn.append(rect(x.at(start) + 0.6, top, x.at(end) - x.at(start) - 1.2, tall, fill=tint))
    return group(*drawn, line((area.left, area.bottom), (area.right, area.bottom), stroke=sheet.colours.hairline))


def _band(sheet: Sheet, area: Box) -> tuple[float, float]:
    """Return where a row's cells begin and how tall they are: below the name on a phone."""
    top = area.top + (20 if sheet.narrow else 4)
    return top, area.bottom - 4 - top


def _writing(sheet: Sheet, row: SeasonRow, cells: Sequence[tuple[int, int]], x: Scale, area: Box) -> Element:
    """Write one target's figures, name and note; over the marked night's line, which they interrupt."""
    top, tall = _band(sheet, area)
    size, soft, paper = sheet.small_size, sheet.colours.soft_ink, sheet.colours.paper
    drawn: list[Element | None] = []
    for start, end in cells:
        mean = _mean(row.hours_h[start:end])
        tint = _tint(sheet, mean)
        figure = f"{mean:.0f}" if mean >= 0.5 else "½"
        if tint is not None and width_of(figure, size) < x.at(end) - x.at(start):
            place = (x.at((start + end) / 2), top + tall / 2 + size * 0.36)
            drawn.append(sheet.write(place, figure, anchor="middle", italic=True, halo=tint))
    if sheet.narrow:
        room = area.right - area.left - 16
        note = fit(row.note, room * 0.5, size)
        name = fit(row.name, (room - width_of(note, size) - 8) / 1.08, size)
        drawn.append(sheet.write((area.left + 5, area.top + 15), name, bold=True, halo=paper))
        drawn.append(sheet.write((area.right - 5, area.top + 15), note, anchor="end", ink=soft, halo=paper))
        return group(*drawn)
    room = x.start - area.left - 12
    name = fit(row.name, room / 1.08, size)
    drawn.append(sheet.write((area.left, area.top + (17 if row.note else 25)), name, bold=True))
    drawn.append(sheet.write((area.left, area.top + 34), fit(row.note, room, size), ink=soft) if row.note else None)
    return group(*drawn)


def _mean(hours: FloatArray) -> float:
    """Return the mean of the hours that are known, 0 when none is."""
    known = hours[np.isfinite(hours)]
    return float(np.mean(known)) if len(known) else 0.0


def _legend(sheet: Sheet, view: SeasonView, top: float) -> tuple[Element, float]:
    """Explain tints and figures; return the legend and its lower end."""
    left, y = sheet.margin, top
    drawn: list[Element | None] = []
    x = left
    for step, tint in zip(_STEPS_H, sheet.colours.tints, strict=True):
        words = "<2" if step < 1 else f"{step:.0f}+"
        wide = width_of("<2", sheet.small_size) + 16
        tall = sheet.small_size
        drawn.append(rect(x, y - tall, wide, tall + 5, fill=tint, stroke=sheet.colours.hairline))
        drawn.append(sheet.write((x + wide / 2, y), words, anchor="middle", italic=True))
        x += wide
    per = "month" if sheet.narrow else "half month"
    words = f"figures: {view.hours_name}, mean of each {per}"
    room = sheet.across - sheet.margin - (left if sheet.narrow else x + 12)
    if sheet.narrow:
        x, y = left - 12, y + sheet.small_size * 1.8
    for text in wrap(words, room, sheet.small_size):
        drawn.append(sheet.write((x + 12, y), text, ink=sheet.colours.soft_ink))
        y += sheet.small_size * 1.35
    return group(*drawn, id=sheet.id("legend")), y

"""What was collected: a bar for each wish, filled as far as its effective hours go, open water left to sail."""

from collections.abc import Sequence
from dataclasses import dataclass

from sidelight.pictures.axes import Scale, number_ticks, plain_number
from sidelight.pictures.lettering import Box, fit, width_of
from sidelight.pictures.palette import Theme
from sidelight.pictures.records import Width
from sidelight.pictures.sheet import Sheet
from sidelight.pictures.svg import Anchor, Element, group, line, rect, tip

_LEAST_H = 0.1
"""The scale is never drawn for fewer hours than this."""


@dataclass(frozen=True)
class CollectedRow:
    """One wish: a target in one filter ("" for all together). effective_h : what hours_h of exposure count."""

    name: str
    filter: str
    wanted_h: float
    hours_h: float
    effective_h: float


@dataclass(frozen=True)
class CollectedView:
    """Wishes below each other, all on one scale of hours."""

    title: str
    rows: tuple[CollectedRow, ...]


def draw_collected(
    view: CollectedView, *, theme: Theme = "day", width: Width = "wide", prefix: str = "collected"
) -> str:
    """Return the bars as SVG text; bars are effective hours, the line under them hours of exposure."""
    sheet = Sheet(theme, width, prefix)
    label_wide, figure_wide = (0.0, 0.0) if sheet.narrow else (230.0, 205.0)
    row_tall = 58.0 if sheet.narrow else 46.0
    top = sheet.below_heading + 12
    right = sheet.across - sheet.margin - figure_wide
    box = Box(sheet.margin + label_wide, top, right, top + row_tall * max(1, len(view.rows)))
    most = max([max(row.wanted_h, row.hours_h, row.effective_h) for row in view.rows], default=1.0)
    most = most if most >= _LEAST_H else 1.0
    x = Scale(0.0, most, box.left, box.right)
    tops = [top + row_tall * at for at in range(len(view.rows))]
    legend, bottom = _legend(sheet, box.bottom + sheet.small_size * 4.0)
    return sheet.finish(
        _grid(sheet, x, box, most),
        group(
            *[_bar(sheet, row, x, y, row_tall) for row, y in zip(view.rows, tops, strict=True)], id=sheet.id("bars")
        ),
        group(
            *[_words(sheet, view.rows, at, box, y, row_tall) for at, y in enumerate(tops)],
            id=sheet.id("rows"),
        ),
        legend,
        height=bottom + sheet.margin,
        title=view.title,
        desc=describe_collected(view),
    )


def describe_collected(view: CollectedView) -> str:
    """Return the bars in words."""
    if not view.rows:
        return "No target wants hours yet."
    said = [
        f"{' '.join((row.name, row.filter)).strip()}: {_figure(row)} effective, "
        f"{plain_number(round(row.hours_h, 1))} h of exposure."
        for row in view.rows
    ]
    return " ".join(said)


def _figure(row: CollectedRow) -> str:
    """Return collected of wanted hours."""
    return f"{plain_number(round(row.effective_h, 1))} of {plain_number(round(row.wanted_h, 1))} h"


def _grid(sheet: Sheet, x: Scale, box: Box, most: float) -> Element:
    """Draw the scale of hours below the bars, with thin lines through them."""
    drawn: list[Element | None] = []
    y = box.bottom + sheet.small_size * 1.4
    for tick in number_ticks(0.0, most, 4 if sheet.narrow else 8, unit=" h"):
        at = x.at(tick.at)
        drawn.append(line((at, box.top), (at, box.bottom), stroke=sheet.colours.hairline, stroke_width=0.8))
        anchor: Anchor = "start" if at - box.left < 8 else "end" if box.right - at < 8 else "middle"
        drawn.append(sheet.write((at, y), tick.label, anchor=anchor, ink=sheet.colours.soft_ink))
    return group(*drawn, id=sheet.id("scale"))


def _bar(sheet: Sheet, row: CollectedRow, x: Scale, top: float, row_tall: float) -> Element:
    """Draw one wish: what is wanted as an outline, what is collected as its filling, exposure as a line beneath."""
    colours = sheet.colours
    tall = 17.0
    y = top + (26.0 if sheet.narrow else (row_tall - tall) / 2 - 2)
    filled = min(row.effective_h, row.wanted_h) if row.wanted_h > 0 else row.effective_h
    over = max(0.0, row.effective_h - row.wanted_h) if row.wanted_h > 0 else 0.0
    zero = x.at(0.0)
    fill = colours.soft_ink if sheet.theme == "night" else colours.ink
    words = f"{row.name} {row.filter}: {_figure(row)}".replace(" :", ":")
    shade = {"fill": colours.tints[1] if sheet.theme != "print" else colours.paper}
    return group(
        tip(words),
        rect(zero, y, x.at(row.wanted_h) - zero, tall, stroke=colours.soft_ink, stroke_width=0.9, **shade)
        if row.wanted_h > 0
        else None,
        rect(zero, y, x.at(filled) - zero, tall, fill=fill) if filled > 0 else None,
        rect(
            x.at(row.wanted_h), y + 3, x.at(row.wanted_h + over) - x.at(row.wanted_h), tall - 6, fill=colours.overlay
        )
        if over > 0
        else None,
        line((zero, y + tall + 4), (x.at(row.hours_h), y + tall + 4), stroke=colours.overlay, stroke_width=2)
        if row.hours_h > 0
        else None,
    )


def _words(sheet: Sheet, rows: Sequence[CollectedRow], at: int, box: Box, top: float, row_tall: float) -> Element:
    """Write a wish's name, once for all filters of a target, and its figures."""
    row, size = rows[at], sheet.small_size
    first = at == 0 or rows[at - 1].name != row.name
    name = row.name if first or sheet.narrow else ""
    short = row.wanted_h - row.effective_h
    left_over = "done" if short <= 0.05 else f"{plain_number(round(short, 1))} h missing"
    soft = sheet.colours.soft_ink
    rule = (
        line((sheet.margin, top), (sheet.across - sheet.margin, top), stroke=sheet.colours.hairline)
        if first
        else None
    )
    if sheet.narrow:
        y = top + 18
        figure = f"{_figure(row)}, {left_over}"
        room = box.right - box.left - width_of(figure, size) - 10
        named = fit(f"{name} {row.filter}".strip(), room / 1.08, size)
        return group(
            rule,
            sheet.write((box.left, y), named, bold=True) if named else None,
            sheet.write((box.right, y), figure, anchor="end", ink=soft),
        )
    y = top + row_tall / 2 + size * 0.3
    through = fit(row.filter, 90.0, size)
    filter_wide = width_of(through, size) + 14 if through else 0.0
    room = box.left - sheet.margin - 14 - filter_wide
    shown = fit(name, room / 1.08, sheet.body_size) if name.strip() else ""
    return group(
        rule,
        sheet.write((sheet.margin, y), shown, size=sheet.body_size, bold=True) if shown else None,
        sheet.write((box.left - 12, y), through, anchor="end", ink=soft) if through else None,
        sheet.write((box.right + 16, y - 8), _figure(row), bold=True),
        sheet.write((box.right + 16, y + 9), left_over, ink=soft),
    )


def _legend(sheet: Sheet, y: float) -> tuple[Element, float]:
    """Explain bar, outline and line; return the legend and its lower end."""
    colours, x = sheet.colours, sheet.margin
    fill = colours.soft_ink if sheet.theme == "night" else colours.ink
    open_fill = colours.tints[1] if sheet.theme != "print" else colours.paper
    drawn: list[Element | None] = []
    marks = (
        ("effective hours collected", rect(0, 0, 22, 12, fill=fill)),
        ("still wanted", rect(0, 0, 22, 12, fill=open_fill, stroke=colours.soft_ink, stroke_width=0.9)),
        ("hours of exposure", line((0, 7), (22, 7), stroke=colours.overlay, stroke_width=2)),
    )
    for words, mark in marks:
        if x > sheet.margin and x + 30 + width_of(words, sheet.small_size) > sheet.across - sheet.margin:
            x, y = sheet.margin, y + sheet.small_size * 1.7
        drawn.append(group(mark, transform=f"translate({x:.1f} {y - 11:.1f})"))
        drawn.append(sheet.write((x + 29, y), words, ink=colours.soft_ink))
        x += 29 + width_of(words, sheet.small_size) + 18
    return group(*drawn, id=sheet.id("legend")), y + sheet.small_size * 0.6

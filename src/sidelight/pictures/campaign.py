"""The campaign: nights across, a row for each target, planned stays as bars, odds and hours beside it."""

from sidelight.pictures.axes import Scale, plain_number, short_date
from sidelight.pictures.chart_records import CampaignRow, CampaignView
from sidelight.pictures.frame import marked_night, months
from sidelight.pictures.lettering import Box, fit, width_of
from sidelight.pictures.palette import Theme
from sidelight.pictures.records import Width
from sidelight.pictures.sheet import Sheet
from sidelight.pictures.svg import Element, group, line, path, polyline_data, rect, tip


def draw_campaign(
    view: CampaignView, *, theme: Theme = "day", width: Width = "wide", prefix: str = "campaign"
) -> str:
    """Return the campaign as SVG text: bar heights are hours, all rows alike."""
    sheet = Sheet(theme, width, prefix)
    nights = max(1, view.nights)
    label_wide = 0.0 if sheet.narrow else 318.0
    row_tall = 92.0 if sheet.narrow else 66.0
    left, top = sheet.margin + label_wide, sheet.below_heading + (26 if sheet.narrow else 34)
    box = Box(left, top, sheet.across - sheet.margin, top + row_tall * max(1, len(view.rows)))
    x = Scale(0.0, float(nights), box.left, box.right)
    most = max([stretch.hours_h for row in view.rows for stretch in row.stretches], default=1.0) or 1.0
    areas = [
        Box(sheet.margin, top + row_tall * at, box.right, top + row_tall * (at + 1)) for at in range(len(view.rows))
    ]
    pairs = list(zip(view.rows, areas, strict=True))
    legend, bottom = _legend(sheet, most, box.bottom + sheet.small_size * 3.2)
    return sheet.finish(
        group(*[_bars(sheet, view, row, x, most, area) for row, area in pairs], id=sheet.id("bars")),
        months(sheet, box, x, view.first_date, nights),
        marked_night(sheet, box, x, (view.first_date, nights), view.today, view.marked_as),
        group(*[_writing(sheet, row, x, area) for row, area in pairs], id=sheet.id("rows")),
        legend,
        height=bottom + sheet.margin,
        title=view.title,
        desc=describe_campaign(view),
    )


def describe_campaign(view: CampaignView) -> str:
    """Return the campaign in words."""
    sentences = [f"{view.nights} nights from {short_date(view.first_date, year=True)}."]
    for row in view.rows:
        last = f", last call {short_date(row.last_call, year=True)}" if row.last_call is not None else ""
        sentences.append(f"{row.name}: {_progress_words(row)}{last}.")
    return " ".join(sentences)


def _progress_words(row: CampaignRow) -> str:
    """Return a row's hours and odds in words."""
    words = f"{plain_number(round(row.collected_h, 1))} of {plain_number(round(row.wanted_h, 1))} h"
    return words if row.odds_fraction is None else f"{words}, odds {row.odds_fraction * 100:.0f} %"


def _bars(sheet: Sheet, view: CampaignView, row: CampaignRow, x: Scale, most: float, area: Box) -> Element:
    """Draw one target's nights as bars that stand on the row's line, and the pennant of its last call."""
    drawn: list[Element | None] = []
    head = (sheet.body_size + 27 + sheet.small_size) if sheet.narrow else 12.0
    full = area.bottom - area.top - head
    wide = max(1.6, x.at(1.0) - x.at(0.0) - 0.8)
    for stretch in row.stretches:
        index = (stretch.date - view.first_date).days
        if not 0 <= index < view.nights or not stretch.hours_h > 0:
            continue
        tall = max(2.0, stretch.hours_h / most * full)
        words = f"{row.name}, {short_date(stretch.date)}: {stretch.hours_h:.1f} h planned"
        drawn.append(_bar(sheet, x.at(index), area.bottom - tall, wide, tall, words))
    if row.last_call is not None and 0 <= (row.last_call - view.first_date).days < view.nights:
        drawn.append(_last_call(sheet, x.at((row.last_call - view.first_date).days + 1.0), area, full))
    return group(*drawn, line((area.left, area.bottom), (area.right, area.bottom), stroke=sheet.colours.hairline))


def _writing(sheet: Sheet, row: CampaignRow, x: Scale, area: Box) -> Element:
    """Write one target's name, last call, progress and odds; over the marked night's line, which they interrupt."""
    colours, size, paper = sheet.colours, sheet.small_size, sheet.colours.paper
    left, right = (area.left + 6, area.right - 6) if sheet.narrow else (area.left, x.start - 16)
    last = f"last call {short_date(row.last_call)}" if row.last_call is not None else ""
    name = fit(row.name, (right - left - width_of(last, size) - 10) / 1.08, sheet.body_size)
    y = area.top + sheet.body_size + 3
    below, words = y + 19 + size, fit(_progress_words(row), right - left, size)
    return group(
        sheet.write((left, y), name, size=sheet.body_size, bold=True, halo=paper),
        sheet.write((right, y), last, anchor="end", ink=colours.overlay, halo=paper) if last else None,
        _progress(sheet, row, (left, y + 6), right - left),
        sheet.write((left, below), words, ink=colours.soft_ink, halo=paper),
    )


def _bar(sheet: Sheet, left: float, top: float, wide: float, tall: float, words: str) -> Element:
    """Draw a night's planned hours."""
    colours = sheet.colours
    fill = colours.lit_west if sheet.theme == "day" else colours.paper
    return group(tip(words), rect(left + 0.4, top, wide, tall, fill=fill, stroke=colours.lit_edge, stroke_width=0.7))


def _last_call(sheet: Sheet, x: float, area: Box, full: float) -> Element:
    """Draw a small pennant at the last night on which starting still makes sense."""
    top = area.bottom - min(full, 34.0)
    flag = polyline_data([(x, top), (x - 12, top + 5), (x, top + 10)], closed=True)
    ink = sheet.colours.overlay
    return group(
        tip("last call"),
        line((x, top), (x, area.bottom), stroke=ink, stroke_width=1.6),
        path(flag, fill=ink, stroke=ink),
    )


def _progress(sheet: Sheet, row: CampaignRow, at: tuple[float, float], room: float) -> Element:
    """Draw collected of wanted hours as a filled scale."""
    colours = sheet.colours
    share = min(1.0, max(0.0, row.collected_h / row.wanted_h)) if row.wanted_h > 0 else 1.0
    high = 7.0 if sheet.narrow else 9.0
    return group(
        rect(at[0], at[1], room, high, fill=colours.tints[0], stroke=colours.soft_ink, stroke_width=0.8),
        rect(at[0], at[1], room * share, high, fill=colours.ink if sheet.theme != "night" else colours.soft_ink),
    )


def _legend(sheet: Sheet, most: float, top: float) -> tuple[Element, float]:
    """Explain bars and pennant; return the legend and its lower end."""
    y, x = top, sheet.margin
    drawn: list[Element | None] = []
    words = f"planned in a night (tallest {most:.1f} h)"
    drawn.append(_bar(sheet, x, y - 13, 9, 15, words))
    drawn.append(sheet.write((x + 18, y), words, ink=sheet.colours.soft_ink))
    x += 18 + width_of(words, sheet.small_size) + 16
    if x + 18 + width_of("last call", sheet.small_size) > sheet.across:
        x, y = sheet.margin, y + sheet.small_size * 1.8
    drawn.append(_last_call(sheet, x + 12, Box(0, 0, 0, y + 2), 18.0))
    drawn.append(sheet.write((x + 20, y), "last call", ink=sheet.colours.soft_ink))
    return group(*drawn, id=sheet.id("legend")), y + sheet.small_size * 0.6

"""The ledger as a picture: what was collected of what is wanted."""

from sidelight.desk.ledger_show import LedgerReport
from sidelight.pictures.collected import CollectedRow, CollectedView, draw_collected
from sidelight.pictures.palette import Theme
from sidelight.pictures.records import Width


def collected_picture(report: LedgerReport, theme: Theme, width: Width = "wide", prefix: str = "collected") -> str:
    """Draw a bar for each wish: effective hours collected of those wanted."""
    exposed: dict[tuple[str, str], float] = {}
    for row in (*report.by_filter, *report.by_target):
        exposed[row.target, row.filter.casefold()] = row.hours_h
    rows = tuple(
        CollectedRow(
            one.target,
            one.filter,
            one.wanted_h,
            exposed.get((one.target, one.filter.casefold()), 0.0),
            one.collected_h,
        )
        for one in report.missing
    )
    return draw_collected(CollectedView("Collected, and still wanted", rows), theme=theme, width=width, prefix=prefix)

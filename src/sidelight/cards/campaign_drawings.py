"""The campaign as pictures: its plan by nights, and the odds over the calendar."""

import datetime as dt

import numpy as np

from sidelight.cards.drawings import night_name
from sidelight.desk.campaign_records import CampaignReport
from sidelight.pictures.campaign import draw_campaign
from sidelight.pictures.chart_records import CampaignRow, CampaignStretch, CampaignView, CurvesView, Rule, Series
from sidelight.pictures.curves import draw_curves
from sidelight.pictures.palette import Theme
from sidelight.pictures.records import Width


def campaign_picture(
    report: CampaignReport, theme: Theme, width: Width = "wide", *, today: dt.date | None = None
) -> str:
    """Draw the nights across, the planned hours as bars, hours collected and odds beside each target."""
    rows = []
    for target in report.targets:
        nights: dict[dt.date, float] = {}
        for stay in report.plan:
            if stay.target == target.target:
                nights[stay.date] = nights.get(stay.date, 0.0) + stay.hours
        rows.append(
            CampaignRow(
                target.target,
                tuple(CampaignStretch(date, hours) for date, hours in nights.items()),
                target.collected_hours,
                target.wanted_hours,
                target.odds_fraction,
                target.last_call,
            )
        )
    view = CampaignView(
        f"{'' if width == 'narrow' else 'Campaign, '}{report.nights_count} nights from {report.first_date}",
        report.first_date,
        report.nights_count,
        tuple(rows),
        report.first_date,
        night_name(report.first_date, today),
    )
    return draw_campaign(view, theme=theme, width=width)


def odds_picture(report: CampaignReport, theme: Theme, width: Width = "wide") -> str:
    """Draw the share of weathers in which each target is done by each night, with two standard errors."""
    curves = report.curves
    x = np.array([float(day.toordinal()) for day in curves.dates])
    series = tuple(
        Series(
            target.target,
            x,
            curves.done_fraction[i],
            np.clip(curves.done_fraction[i] - 2 * curves.standard_error_fraction[i], 0.0, 1.0),
            np.clip(curves.done_fraction[i] + 2 * curves.standard_error_fraction[i], 0.0, 1.0),
        )
        for i, target in enumerate(report.targets)
    )
    wanted = Rule("y", report.odds_wanted_fraction, f"last calls are made at {report.odds_wanted_fraction:.0%}")
    view = CurvesView(
        "Odds of being done" + ("" if width == "narrow" else f", in {report.weathers_count:,} weathers"),
        "evening",
        "done by then",
        series,
        (wanted,),
        x_dates=True,
        y_percent=True,
    )
    return draw_curves(view, theme=theme, width=width, prefix="odds")


def campaign_pictures(
    report: CampaignReport, theme: Theme, width: Width = "wide", *, today: dt.date | None = None
) -> dict[str, str]:
    """Return the campaign's pictures by file name; none without a target."""
    if not report.targets:
        return {}
    drawn = campaign_picture(report, theme, width, today=today)
    return {"campaign": drawn, "odds": odds_picture(report, theme, width)}

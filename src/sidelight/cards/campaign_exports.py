"""The campaign's plan as files for other programs: iCalendar, CSV, ECSV."""

import datetime as dt

from sidelight.cards.calendar import CalendarEvent, calendar_text
from sidelight.cards.tables import cell, csv_text, utc_text
from sidelight.desk.campaign_records import CampaignReport

COLUMNS = (
    ("evening", "string", None, "date of the night's evening at the site"),
    ("target", "string", None, "name in targets.toml"),
    ("filters", "string", None, "filters in order, joined by +"),
    ("set_up", "string", None, "set-up of the night"),
    ("start_utc", "string", None, "start, slewing and focus included"),
    ("end_utc", "string", None, "end"),
    ("hours", "float64", "h", "hours with the shutter open"),
    ("effective_hours", "float64", "h", "effective hours, if the night is clear"),
    ("usable_probability", "float64", None, "chance that the night can be used"),
    ("reserve", "string", None, "yes: beyond the goal in average weather, against a bad run"),
)
"""Name, datatype, unit and description of each column."""


def campaign_rows(report: CampaignReport) -> list[list[str]]:
    """Return the plan's stays as rows of text in the order of COLUMNS."""
    return [
        [
            one.date.isoformat(),
            one.target,
            "+".join(one.filters),
            one.set_up,
            utc_text(one.start_utc),
            utc_text(one.end_utc),
            f"{one.hours:.4f}",
            f"{one.effective_hours:.4f}",
            f"{one.usable_probability:.4f}",
            "yes" if one.reserve else "no",
        ]
        for one in report.plan
    ]


def campaign_csv(report: CampaignReport) -> str:
    """Return the plan as CSV (RFC 4180 quoting), one row a stay; the first row names the columns."""
    return csv_text(_names(), ([cell(value) for value in row] for row in campaign_rows(report)))


def _names() -> list[str]:
    """Return the names of the columns."""
    return [name for name, *_ in COLUMNS]


def campaign_ecsv(report: CampaignReport) -> str:
    """Return the plan as ECSV 1.0 (Astropy Proposal for Enhancement 6): CSV under a header of types and units."""
    lines = ["# %ECSV 1.0", "# ---", "# delimiter: ','", "# datatype:"]
    for name, datatype, unit, words in COLUMNS:
        in_unit = f", unit: {unit}" if unit else ""
        said = words.replace("'", "''")
        lines.append(f"# - {{name: {name}{in_unit}, datatype: {datatype}, description: '{said}'}}")
    lines += [
        "# meta: !!omap",
        f"# - {{first_evening: '{report.first_date}'}}",
        f"# - {{nights_count: {report.nights_count}}}",
        f"# - {{weathers_count: {report.weathers_count}}}",
        f"# - {{seed: {report.seed}}}",
        "# schema: astropy-2.0",
    ]
    return "\n".join(lines) + "\n" + csv_text(_names(), campaign_rows(report))


def campaign_calendar(report: CampaignReport) -> str:
    """Return the plan as iCalendar: an event for each stay, an all-day one for each last call.

    Identifiers follow from site, night and target, so that a later plan replaces an earlier one; the stamp is the
    plan's first day, so that the same plan is the same file.
    """
    stamp = dt.datetime.combine(report.first_date, dt.time(12), tzinfo=dt.UTC)
    events: list[CalendarEvent] = []
    seen: dict[tuple[dt.date, str], int] = {}
    for one in report.plan:
        number = seen[one.date, one.target] = seen.get((one.date, one.target), 0) + 1
        filters = f" ({' + '.join(one.filters)})" if one.filters else ""
        words = f"{one.hours:.1f} h exposing, {one.effective_hours:.1f} effective; "
        words += f"{one.usable_probability:.0%} odds of a usable night."
        if one.set_up:
            words += f" Set-up: {one.set_up}."
        key = f"{report.site}/{one.date}/{one.target}/{number}"
        events.append(CalendarEvent(key, one.start_utc, one.end_utc, f"{one.target}{filters}", words))
    for target in report.targets:
        if target.last_call:
            events.append(
                CalendarEvent(
                    f"{report.site}/last call/{target.target}",
                    target.last_call,
                    target.last_call + dt.timedelta(days=1),
                    f"Last call: {target.target}",
                    f"The last evening to begin for {report.odds_wanted_fraction:.0%} odds of finishing.",
                )
            )
    return calendar_text(events, stamp)

"""``sidelight campaign``: finish the objects before the season takes them."""

import datetime as dt
from pathlib import Path

import click

from sidelight.cli import options
from sidelight.cli.answers import Answer, answered, progress
from sidelight.cli.output import write_file
from sidelight.cli.words import table
from sidelight.desk.campaign import SEED, WEATHERS
from sidelight.desk.campaign_records import CampaignReport, CampaignTargetReport
from sidelight.desk.labels import clock
from sidelight.pictures.palette import Theme

SHOWN_NIGHTS = 7


@click.command("campaign")
@options.notebook
@options.date("First night.")
@options.nights(800, "How many nights [planned_nights_count in campaign.toml].")
@click.option(
    "--weathers",
    type=options.Between(100, 1_000_000, "weathers", "10000", whole=True),
    metavar="N",
    default=WEATHERS,
    show_default=True,
    help="In how many simulated weathers the season is played; more make the odds sharper.",
)
@click.option(
    "--seed", type=click.IntRange(0), default=SEED, show_default=True, help="The same number draws the same weathers."
)
@click.option(
    "--quick",
    is_flag=True,
    help="The plan and the odds only: not what giving up a target, another night or another sky would change.",
)
@options.file("--calendar", meaning="Write the plan there as iCalendar.")
@options.file("--csv", "csv_file", meaning="Write the plan there as CSV.")
@options.file("--ecsv", "ecsv_file", meaning="Write the plan there as ECSV.")
@answered(drawn=True)
def command(
    notebook: Path,
    date: dt.date | None,
    nights: int | None,
    weathers: int,
    seed: int,
    quick: bool,
    calendar: Path | None,
    csv_file: Path | None,
    ecsv_file: Path | None,
    answer: Answer,
) -> None:
    """Plan the coming months: which hours go where, the odds of finishing each object, its last call."""
    from sidelight.desk.campaign import campaign_report
    from sidelight.desk.clock import tonight
    from sidelight.desk.open import open_for

    book, day = open_for(notebook, date)
    with progress("Playing seasons") as tell:
        report = campaign_report(
            book, day, nights, weathers, seed, not quick, lambda done, whole: tell(done / max(1, whole))
        )
    _write(report, calendar, csv_file, ecsv_file)
    today = tonight(book.site)
    answer.give(report, campaign_text, lambda given, look: _pictures(given, look, today))


def _write(report: CampaignReport, calendar: Path | None, csv_file: Path | None, ecsv_file: Path | None) -> None:
    """Write the files that were asked for."""
    from sidelight.cards.campaign_exports import campaign_calendar, campaign_csv, campaign_ecsv

    for path, text in ((calendar, campaign_calendar), (csv_file, campaign_csv), (ecsv_file, campaign_ecsv)):
        if path:
            write_file(path, text(report))


def _pictures(report: CampaignReport, look: Theme, today: dt.date) -> dict[str, str]:
    """Draw the plan and the odds."""
    from sidelight.cards.campaign_drawings import campaign_pictures

    return campaign_pictures(report, look, today=today)


def campaign_text(report: CampaignReport) -> str:
    """Return the report for a person at a terminal; times are the site's, with the zone named."""
    lines = [
        f"Campaign from {report.first_date}, {report.nights_count} nights, {report.site}",
        f"{report.usable_nights_count} of them are yours to use, {report.usable_hours:.0f} dark hours.",
        f"{report.weathers_count:,} simulated weathers, seed {report.seed}.",
        "",
        report.sentence,
        "",
    ]
    if not report.targets:
        return "\n".join(lines)
    head = ["target", "wanted", "have", "odds", "done by: 50 %", "90 %", "last call", "on average"]
    lines += [table(head, [_row(one) for one in report.targets], right=(1, 2, 3, 7)), ""]
    lines += [one.sentence for one in report.targets]
    if report.prices:
        lines += ["", *report.prices]
    if report.giving_up:
        lines += ["", "Giving up one would change the others' odds:", *[f"  {words}" for words in _giving_up(report)]]
    if report.other_skies:
        lines += ["", *[one.sentence for one in report.other_skies]]
    if report.one_more_night and report.one_more_night.weekday:
        changes = ", ".join(f"{one.target} {one.change_fraction:+.0%}" for one in report.one_more_night.targets)
        lines += ["", f"With {report.one_more_night.weekday} evenings too: {changes}."]
    lines += ["", *_set_ups(report), *_plan(report), ""]
    lines += [f"Note: {note}" for note in report.notes]
    lines.append(f"In average weather the plan is within {report.gap_fraction:.1%} of the best there is.")
    return "\n".join(lines)


def _row(one: CampaignTargetReport) -> list[str]:
    """Return a target's line."""
    return [
        one.target,
        f"{one.wanted_hours:g} h",
        f"{one.collected_hours:.1f} h",
        f"{one.odds_fraction:.0%} ± {one.standard_error_fraction * 100:.1f}",
        str(one.done_by_50_percent or "–"),
        str(one.done_by_90_percent or "–"),
        str(one.last_call or "–"),
        f"{one.expected_hours:.1f} h",
    ]


def _giving_up(report: CampaignReport) -> list[str]:
    """Return a line for each target that might be given up."""
    found = []
    for one in report.giving_up:
        gains = [f"{other.target} {other.change_fraction:+.0%}" for other in one.others]
        worth = [words for words, other in zip(gains, one.others, strict=True) if abs(other.change_fraction) >= 0.01]
        found.append(f"{one.target}: {', '.join(worth) or 'nothing to speak of'}")
    return found


def _set_ups(report: CampaignReport) -> list[str]:
    """Return a line for each set-up."""
    found = []
    for one in report.set_ups:
        served = ", ".join(
            place.target + ("" if place.east and place.west else " (east only)" if place.east else " (west only)")
            for place in one.serves
            if place.east or place.west
        )
        found.append(f"{one.name[0].upper()}{one.name[1:]}, {one.nights_count} nights: {served or 'serves nothing'}.")
    return found


def _plan(report: CampaignReport) -> list[str]:
    """Return the plan of the first nights."""
    nights = sorted({one.date for one in report.plan})[:SHOWN_NIGHTS]
    if not nights:
        return []
    rows = [
        [
            str(one.date),
            f"{clock(one.start_utc, report.time_zone)}–{clock(one.end_utc, report.time_zone)}",
            one.target,
            " + ".join(one.filters),
            f"{one.hours:.1f} h",
            f"{one.effective_hours:.1f} h",
            f"{one.usable_probability:.0%}",
            "in reserve" if one.reserve else "",
        ]
        for one in report.plan
        if one.date in nights
    ]
    head = ["evening", "from – to", "target", "filters", "exposing", "effective", "odds of a clear night", ""]
    return [
        "",
        f"The plan's next nights, were they clear (times in {report.zone})",
        table(head, rows, right=(4, 5, 6)),
    ]

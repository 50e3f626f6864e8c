"""``sidelight season``: when in the year each object gives usable dark hours."""

import datetime as dt
from pathlib import Path

import click

from sidelight.cli import options
from sidelight.cli.answers import Answer, answered
from sidelight.cli.words import table
from sidelight.desk.labels import clock
from sidelight.desk.season import SeasonReport, TargetSeasonReport
from sidelight.pictures.palette import Theme


@click.command("season")
@options.notebook
@options.date("First night.")
@options.nights(800, "How many nights.", 365)
@options.targets("--only")
@click.option("--each-night", is_flag=True, help="List every night of each target, not only its season.")
@answered(drawn=True)
def command(
    notebook: Path,
    date: dt.date | None,
    nights: int,
    only: tuple[str, ...],
    each_night: bool,
    answer: Answer,
) -> None:
    """Show when each object gives usable dark hours above your skyline, and which one is lost soonest."""
    from sidelight.desk.clock import tonight
    from sidelight.desk.open import open_for
    from sidelight.desk.season import season_report

    book, day = open_for(notebook, date)
    report = season_report(book, day, nights, only, drawings=answer.pictures is not None)
    today = tonight(book.site)
    answer.give(
        report, lambda given: season_text(given, each_night), lambda given, look: _pictures(given, look, today)
    )


def _pictures(report: SeasonReport, look: Theme, today: dt.date) -> dict[str, str]:
    """Draw the season, and the year of each target."""
    from sidelight.cards.drawings import year_pictures

    return year_pictures(report, look, today=today)


def season_text(report: SeasonReport, each_night: bool = False) -> str:
    """Return the report for a person at a terminal, what is lost soonest first."""
    lines = [
        f"Season from {report.first_date}, {report.nights} nights, {report.site}",
        f"Usable: Sun below {report.twilight_deg:g}°, target above your skyline and {report.floor_deg:g}°.",
        "Effective hours count what the sky gives: 1 is an hour at the zenith of your moonless sky.",
        "What has the fewest effective hours left for each hour wanted stands first.",
        "",
    ]
    if not report.targets:
        return "\n".join([*lines, *report.notes])
    rows = [
        [
            target.target,
            str(target.first_useful or "–"),
            str(target.last_useful or "–"),
            str(target.nights_left),
            f"{target.hours_left:.0f}",
            f"{target.effective_hours_left:.0f}",
            f"{target.hours_wanted:.0f}",
            _best(target),
        ]
        for target in report.targets
    ]
    head = ["target", "from", "until", "nights left", "dark h left", "effective h", "wanted", "best night"]
    lines += [table(head, rows, right=(3, 4, 5, 6)), ""]
    lines += [f"{target.target}: {target.sentence}" for target in report.targets]
    if each_night:
        for target in report.targets:
            lines += [
                "",
                f"{target.target}, night by night (times in {report.time_zone})",
                _nights(target, report.time_zone),
            ]
    return "\n".join(lines)


def _best(target: TargetSeasonReport) -> str:
    """Return the best night with what it is worth."""
    if not target.best_nights:
        return "–"
    night = next(one for one in target.nights if one.date == target.best_nights[0])
    return f"{night.date}: {night.effective_hours:.1f} h effective in {target.filter}"


def _nights(target: TargetSeasonReport, zone: str) -> str:
    """Return one target's nights."""
    rows = [
        [
            str(night.date),
            ", ".join(f"{clock(one.start_utc, zone)}–{clock(one.end_utc, zone)}" for one in night.windows) or "–",
            f"{night.dark_hours:.2f}",
            f"{night.effective_hours:.2f}",
            f"{night.hours_east:.2f}",
            f"{night.hours_west:.2f}",
            "–" if night.max_altitude_deg is None else f"{night.max_altitude_deg:.0f}°",
            f"{night.moon_illuminated_fraction:.0%}",
            f"{night.moon_takes_share:.0%}",
        ]
        for night in target.nights
    ]
    head = ["evening", "windows", "dark", "effective", "east", "west", "highest", "Moon", "it takes"]
    return table(head, rows, right=range(2, 9))

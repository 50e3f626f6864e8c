"""``sidelight suggest``: what else to photograph, with the set-up as it stands or in the coming months."""

import datetime as dt
from pathlib import Path

import click

from sidelight.cli import options
from sidelight.cli.answers import Answer, answered
from sidelight.cli.words import table
from sidelight.desk.suggest_records import SuggestReport


@click.command("suggest")
@options.notebook
@options.date("First night.")
@options.nights(366, "How many nights [14; 90 for a fresh start].")
@click.option(
    "--count",
    type=options.Between(1, 200, "objects", "20", whole=True),
    metavar="N",
    default=20,
    show_default=True,
    help="How many objects.",
)
@click.option("--fresh", is_flag=True, help="Any angles: objects worth the coming months for this rig and site.")
@click.option("--any-hour", is_flag=True, help="Every dark hour, not only those in which no target of yours is up.")
@answered()
def command(
    notebook: Path,
    date: dt.date | None,
    nights: int | None,
    count: int,
    fresh: bool,
    any_hour: bool,
    answer: Answer,
) -> None:
    """Rank the whole catalogue for your free hours: what the set-up on the telescope frames and guides."""
    from sidelight.desk.open import open_for
    from sidelight.desk.suggest import suggest_report

    book, day = open_for(notebook, date)
    report = suggest_report(book, day, nights, count, fresh, any_hour)
    answer.give(report, suggest_text)


def suggest_text(report: SuggestReport) -> str:
    """Return the report for a person at a terminal."""
    lines = [
        f"Suggestions from {report.first_date}, {report.nights_count} nights, {report.site}",
        "",
        report.sentence,
        f"{report.formula[0].upper()}{report.formula[1:]}.",
    ]
    if report.suggestions:
        rows = [
            [
                one.name,
                one.common_name or (one.catalogue_name if one.catalogue_name != one.name else ""),
                one.kind,
                f"{one.major_arcmin:.1f}′",
                f"{one.surface_brightness_mag_arcsec2:.1f}",
                f"{one.hours:.1f} h",
                f"{one.max_altitude_deg:.0f}°",
                f"{one.snr_per_arcsec2:.1f}",
                ", ".join(f"{side} {star.mag:.1f}" for side, star in one.guide_stars),
            ]
            for one in report.suggestions
        ]
        head = ["object", "name", "kind", "size", "mag/″²", "hours", "highest", "S/N", "guide stars"]
        lines += ["", table(head, rows, right=(3, 4, 5, 6, 7))]
    lines += ["", *[f"Note: {note}" for note in report.notes]]
    return "\n".join(lines)

"""``sidelight night``: tonight's run."""

import datetime as dt
from pathlib import Path

import click

from sidelight.cli.common import (
    answer_json,
    card_option,
    date_option,
    json_option,
    look_option,
    notebook_argument,
    pictures_option,
    table,
)
from sidelight.cli.completion import complete_setup
from sidelight.cli.output import write_file
from sidelight.cli.words import clock, hours, place_px, star_mag, star_snr
from sidelight.desk.night import NightReport, moon_words
from sidelight.pictures.palette import Theme

EVENT_NAMES = {
    "sunset": "Sun sets",
    "sunrise": "Sun rises",
    "civil_dusk": "civil dusk",
    "civil_dawn": "civil dawn",
    "nautical_dusk": "nautical dusk",
    "nautical_dawn": "nautical dawn",
    "astronomical_dusk": "astronomical dusk",
    "astronomical_dawn": "astronomical dawn",
    "moonrise": "Moon rises",
    "moonset": "Moon sets",
}


@click.command("night")
@notebook_argument
@date_option("The night, by the date of its evening.")
@click.option(
    "--setup",
    "kept",
    shell_complete=complete_setup,
    metavar="NAME",
    help="A set-up kept by name [the one in use, else the best found].",
)
@json_option
@pictures_option
@look_option
@card_option
def command(
    notebook: Path,
    date: dt.date | None,
    kept: str | None,
    as_json: bool,
    pictures: Path | None,
    look: Theme,
    card: Path | None,
) -> None:
    """Plan one night: what to shoot from when to when, when the mount flips, which star to guide on."""
    from sidelight.desk.clock import tonight
    from sidelight.desk.kept import setup_in_use
    from sidelight.desk.night import night_report
    from sidelight.desk.open import open_notebook

    book = open_notebook(notebook)
    day = date or tonight(book.site)
    report = night_report(book, day, setup_in_use(book, day, kept))
    if pictures or card:
        from sidelight.cards.drawings import file_name, night_picture, sensor_picture
        from sidelight.cards.night import night_card

        if pictures:
            write_file(pictures / "night.svg", night_picture(report, look))
            for target in report.targets:
                svg = sensor_picture(target, report, look)
                if svg:
                    write_file(pictures / f"sensor-{file_name(target.target)}.svg", svg)
        if card:
            write_file(card, night_card(report, look))
    if as_json:
        answer_json(report)
    else:
        click.echo(night_text(report))


def night_text(report: NightReport) -> str:
    """Return the report for a person at a terminal."""
    zone = report.time_zone
    lines = [f"Night of {report.date}, {report.site} (times in {report.zone})", "", report.sentence, ""]
    if report.darkness == "dark":
        lines.append(f"Dark from {clock(report.dusk_utc, zone)} to {clock(report.dawn_utc, zone)}.")
    elif report.darkness == "always_dark":
        lines.append("The Sun stays below the twilight limit all day.")
    lines.append(f"Moon {moon_words(report)}.")
    happenings = [f"{EVENT_NAMES[event.kind]} {clock(event.at_utc, zone)}" for event in report.events]
    lines += [", ".join(happenings) + "." if happenings else "", ""]
    if report.plan:
        lines += [_plan(report), ""]
    if report.targets:
        lines += [_targets(report), ""]
    guides = _guides(report)
    if guides:
        lines += [guides, ""]
    lines += [f"Note: {note}" for note in report.notes]
    lines += ["", "Take care", *[f"  {caution}" for caution in report.cautions]]
    return "\n".join(lines)


def _plan(report: NightReport) -> str:
    """Return the run, a row for each stretch."""
    zone = report.time_zone
    rows = [
        [
            clock(one.start_utc, zone),
            clock(one.end_utc, zone),
            one.target,
            hours(one.hours),
            " then ".join(one.sides),
            clock(one.flip_utc, zone),
        ]
        for one in report.plan
    ]
    return table(["from", "to", "target", "for", "side", "flip"], rows)


def _targets(report: NightReport) -> str:
    """Return every target's night."""
    zone = report.time_zone
    rows = []
    for target in report.targets:
        spans = [f"{clock(one.start_utc, zone)}–{clock(one.end_utc, zone)}" for one in target.windows]
        rows.append(
            [
                target.target,
                ", ".join(spans) or target.reason,
                hours(target.dark_hours) if target.windows else "",
                clock(target.transit_utc, zone),
                clock(target.flip_utc, zone),
                "" if target.max_altitude_deg is None else f"{target.max_altitude_deg:.0f}°",
            ]
        )
    return table(["target", "usable", "in all", "transit", "flip", "highest"], rows)


def _guides(report: NightReport) -> str:
    """Return the guide stars by target and side."""
    rows = [
        [
            target.target,
            {"east": "before the flip", "west": "after the flip"}.get(guide.side, "all night"),
            star_mag(guide.star.mag if guide.star else None),
            star_snr(guide.star.snr, bool(guide.star.faults)) if guide.star else "",
            place_px(guide.place_on_sensor_px),
            f"{guide.slack_deg:.1f}°" if guide.star else "",
        ]
        for target in report.targets
        for guide in target.guides
    ]
    return table(["target", "when", "guide star", "SNR", "on the sensor", "slack"], rows, right=(3,)) if rows else ""

"""``sidelight night``: tonight's run."""

import datetime as dt
from pathlib import Path

import click

from sidelight.cli import options
from sidelight.cli.answers import Answer, answered
from sidelight.cli.words import star_mag, star_snr, table
from sidelight.desk.labels import camera_words, clock, event_words, hours, pixels, side_words
from sidelight.desk.night_records import NightReport
from sidelight.desk.night_words import moon_words
from sidelight.pictures.palette import Theme


@click.command("night")
@options.notebook
@options.date("The night, by the date of its evening.")
@options.setup
@answered(drawn=True, printed=True)
def command(
    notebook: Path,
    date: dt.date | None,
    kept: str | None,
    answer: Answer,
) -> None:
    """Plan one night: what to shoot from when to when, when the mount flips, which star to guide on."""
    from sidelight.desk.kept import setup_in_use
    from sidelight.desk.night import night_report
    from sidelight.desk.open import open_for

    book, day = open_for(notebook, date)
    report = night_report(book, day, setup_in_use(book, day, kept))
    answer.give(report, night_text, _pictures, _card)


def _pictures(report: NightReport, look: Theme) -> dict[str, str]:
    """Draw the night and the guide sensor."""
    from sidelight.cards.drawings import night_pictures

    return night_pictures(report, look)


def _card(report: NightReport, look: Theme) -> str:
    """Return the printable page."""
    from sidelight.cards.night import night_card

    return night_card(report, look)


def night_text(report: NightReport) -> str:
    """Return the report for a person at a terminal."""
    zone = report.time_zone
    lines = [f"Night of {report.date}, {report.site} (times in {report.zone})", "", report.sentence, ""]
    if report.darkness == "dark":
        lines.append(f"Dark from {clock(report.dusk_utc, zone)} to {clock(report.dawn_utc, zone)}.")
    elif report.darkness == "always_dark":
        lines.append("The Sun stays below the twilight limit all day.")
    lines.append(f"Moon {moon_words(report)}.")
    happenings = [f"{event_words(event.kind)} {clock(event.at_utc, zone)}" for event in report.events]
    lines += [", ".join(happenings) + "." if happenings else "", ""]
    if report.plan:
        lines += [_plan(report), ""]
    if report.targets:
        lines += [_targets(report), ""]
    guides = _guides(report)
    if guides:
        lines += [guides, report.guide_picture, ""]
    lines += [f"Note: {note}" for note in report.notes]
    lines += ["", "Take care", *[f"  {caution}" for caution in report.cautions]]
    return "\n".join(lines)


def _plan(report: NightReport) -> str:
    """Return the run, a row for each stretch."""
    zone = report.time_zone
    camera = {target.target: target.camera_angle_deg for target in report.targets}
    rows = [
        [
            clock(one.start_utc, zone),
            clock(one.end_utc, zone),
            one.target,
            hours(one.hours),
            f"{one.effective_hours:.1f} h in {one.filter}",
            " then ".join(one.sides),
            clock(one.flip_utc, zone),
            camera_words(camera[one.target], one.sides if len(one.sides) < 2 else ("east", "west")),
        ]
        for one in report.plan
    ]
    return table(["from", "to", "target", "for", "effective", "side", "flip", "camera, east / west"], rows)


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
    """Return the guide stars by target and side, those of the run first and in its order."""
    order = list(dict.fromkeys(one.target for one in report.plan))
    shown = sorted(report.targets, key=lambda one: order.index(one.target) if one.target in order else len(order))
    rows = [
        [
            target.target,
            side_words(guide.side),
            star_mag(guide.star.mag if guide.star else None),
            star_snr(guide.star.snr, bool(guide.star.faults)) if guide.star else "",
            pixels(guide.place_on_sensor_px, ""),
            f"{guide.slack_deg:.1f}°" if guide.star else "",
        ]
        for target in shown
        for guide in target.guides
    ]
    return table(["target", "when", "guide star", "SNR", "on the sensor", "slack"], rows, right=(3,)) if rows else ""

"""``sidelight light``: what an hour is worth tonight and through the month."""

import datetime as dt
from pathlib import Path

import click

from sidelight.cli import options
from sidelight.cli.answers import Answer, answered
from sidelight.cli.words import table
from sidelight.desk.hours import DEFAULT_NIGHTS
from sidelight.desk.hours_records import LightReport, TargetLightReport
from sidelight.desk.labels import clock
from sidelight.pictures.palette import Theme


@click.command("light")
@options.notebook
@options.date("First night.")
@options.nights(400, "How many nights.", DEFAULT_NIGHTS)
@options.targets("--only")
@options.filters("all of the notebook's")
@answered(drawn=True)
def command(
    notebook: Path,
    date: dt.date | None,
    nights: int,
    only: tuple[str, ...],
    filters: tuple[str, ...],
    answer: Answer,
) -> None:
    """Show what hours are worth: effective hours per target and filter, and what the Moon takes.

    One effective hour is an hour on a target at the zenith of your moonless sky.
    """
    from sidelight.desk.hours import light_report
    from sidelight.desk.open import open_for

    book, day = open_for(notebook, date)
    report = light_report(book, day, nights, only, filters)
    answer.give(report, light_text, _pictures)


def _pictures(report: LightReport, look: Theme) -> dict[str, str]:
    """Draw the weights through the night, and the month."""
    from sidelight.cards.light_drawings import light_pictures

    return light_pictures(report, look)


def light_text(report: LightReport) -> str:
    """Return the report for a person at a terminal."""
    lines = [
        f"Light on the night of {report.date}, {report.site} (times in {report.zone})",
        "",
        report.sentence,
        *([report.month_sentence] if report.month_sentence else []),
        _sky(report),
        "",
    ]
    if not report.targets:
        return "\n".join(lines).rstrip()
    lines += ["Effective hours tonight, and what the Moon takes", _tonight(report), ""]
    if report.times_utc:
        lines += ["Weight of an hour through the night", _through_the_night(report), ""]
    lines += [f"{one.target}: {one.sentence}" for one in report.targets]
    lines += ["", f"Effective hours in the {report.night_count} nights", _month(report)]
    return "\n".join(lines)


def _sky(report: LightReport) -> str:
    """Return how dark the site is and where that is from."""
    zenith = f"{report.sky_zenith_mag_arcsec2:.2f} ± {report.sky_uncertainty_mag:.1f} mag/arcsec² overhead"
    air = f"the air takes {report.extinction_mag_per_airmass:.2f} mag per airmass in V"
    return f"Sky: {zenith} ({report.sky_source}); {air}."


def _tonight(report: LightReport) -> str:
    """Return tonight, a row for each target."""
    rows = []
    for target in report.targets:
        cells = [
            f"{one.effective_hours:.1f} (−{100 * one.moon_takes_share:.0f} %)"
            if one.moon_takes_share >= 0.005
            else f"{one.effective_hours:.1f}"
            for one in target.filters
        ]
        rows.append([target.target, f"{target.dark_hours:.1f}", *cells])
    names = [one.filter for one in report.filters]
    return table(["target", "dark", *names], rows, right=range(1, len(names) + 2))


def _through_the_night(report: LightReport) -> str:
    """Return the weights in each target's main filter, about once an hour."""
    every = range(0, len(report.times_utc), max(1, round(len(report.times_utc) / 10)))
    rows = [[target.target, target.main_filter, *_weights(target, every)] for target in report.targets]
    times = [clock(report.times_utc[n], report.time_zone) for n in every]
    return table(["target", "in", *times], rows, right=range(2, len(times) + 2))


def _weights(target: TargetLightReport, every: range) -> list[str]:
    """Return some of a target's weights."""
    line = next(one.weights for one in target.weights if one.filter == target.main_filter)
    return ["–" if (weight := line[n]) is None else f"{weight:.2f}" for n in every]


def _month(report: LightReport) -> str:
    """Return the nights, a column for each target in its main filter; a star marks its best night."""
    place = {one.filter: n for n, one in enumerate(report.filters)}
    rows = []
    for n, night in enumerate(report.targets[0].nights):
        cells = [
            f"{target.nights[n].filters[place[target.main_filter]].effective_hours:.1f}"
            + ("*" if target.best_night == night.date else " ")
            for target in report.targets
        ]
        rows.append([str(night.date), f"{night.moon_illuminated_fraction:.0%}", *cells])
    names = [f"{target.target} ({target.main_filter})" for target in report.targets]
    return table(["evening", "Moon", *names], rows, right=range(1, len(names) + 2))

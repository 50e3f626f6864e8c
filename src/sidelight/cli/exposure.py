"""``sidelight exposure``: how long to expose, how often, and what it reaches."""

import datetime as dt
from pathlib import Path

import click

from sidelight.cli import options
from sidelight.cli.answers import Answer, answered
from sidelight.cli.words import table
from sidelight.desk.exposure_records import ExposureQuestion, ExposureReport, FilterExposureReport
from sidelight.desk.labels import hours as in_hours
from sidelight.pictures.palette import Theme


@click.command("exposure")
@options.notebook
@options.target(required=False)
@options.filters("the target's own, else all")
@click.option("--hours", type=float, metavar="H", help="Effective hours to reckon with [those wanted].")
@click.option("--brightness", type=float, metavar="MAG",
              help="The object's surface brightness in mag/arcsec² [the catalogue's].")  # fmt: skip
@click.option("--snr", type=float, metavar="N", help="Signal-to-noise to reach on one square arcsecond.")
@click.option(
    "--share",
    type=float,
    metavar="PERCENT",
    help="How much read noise may add to the sky's noise [as in light.toml].",
)
@click.option("--star", type=float, metavar="MAG", help="A star that must not burn out.")
@options.date("The night that frames, storage and overhead are counted for.")
@answered(drawn=True)
def command(
    notebook: Path,
    target: str | None,
    filters: tuple[str, ...],
    hours: float | None,
    brightness: float | None,
    snr: float | None,
    share: float | None,
    star: float | None,
    date: dt.date | None,
    answer: Answer,
) -> None:
    """Work out single exposures, their number, and the signal-to-noise that so many effective hours reach.

    Figures hold at the zenith of your moonless sky; "sidelight light" says what an hour elsewhere counts.
    """
    from sidelight.desk.exposure import exposure_report
    from sidelight.desk.open import open_for

    if options.standing_in(notebook, target):
        notebook, target = Path(), str(notebook)
    book, day = open_for(notebook, date)
    question = ExposureQuestion(
        date=day,
        target=target,
        filters=filters,
        hours_h=hours,
        brightness_mag_arcsec2=brightness,
        wanted_snr=snr,
        read_noise_share_percent=share,
        star_mag=star,
    )
    report = exposure_report(book, question)
    answer.give(report, exposure_text, _pictures)


def _pictures(report: ExposureReport, look: Theme) -> dict[str, str]:
    """Draw read noise over the exposure, and what the hours reach."""
    from sidelight.cards.light_drawings import exposure_pictures

    return exposure_pictures(report, look)


def exposure_text(report: ExposureReport) -> str:
    """Return the report for a person at a terminal."""
    what = f", {report.target}" if report.target else ""
    sky = f"{report.sky_zenith_mag_arcsec2:.2f} ± {report.sky_uncertainty_mag:.1f} mag/arcsec² overhead"
    lines = [
        f"Exposures at the moonless zenith, {report.site}{what}",
        "",
        f"Sky {sky} ({report.sky_source}).",
        f"{report.pixel_scale_arcsec:.2f}″ a pixel, seeing {report.seeing_arcsec:g}″.",
    ]
    if report.brightness_mag_arcsec2 is not None:
        lines.append(f"Object {report.brightness_mag_arcsec2:.1f} mag/arcsec² ({report.brightness_source}).")
    else:
        lines += report.notes[:1]
    lines += ["", "One exposure", _single(report), ""]
    lines += [f"{one.filter}: {one.sentence}" for one in report.filters]
    lines += ["", "In all, for the effective hours asked", _in_all(report), ""]
    lines += [f"The night of {report.date} with one filter alone", _night(report), ""]
    lines += [
        report.uncertainty,
        *[f"Note: {note}" for note in report.notes[report.brightness_mag_arcsec2 is None :]],
    ]
    return "\n".join(lines)


def _single(report: ExposureReport) -> str:
    """Return rates and the single exposure, a row for each filter."""
    rows = [
        [
            one.filter,
            f"{one.sky_e_per_s:.3g}",
            "–" if one.object_e_per_s is None else f"{one.object_e_per_s:.3g}",
            f"{one.dark_e_per_s:.2g}",
            _seconds(one.sky_limited_s),
            _seconds(one.saturates_s),
            _seconds(one.chosen_s),
        ]
        for one in report.filters
    ]
    star = "star burns out" if report.star_mag is None else f"{report.star_mag:g} mag burns out"
    limited = f"read noise adds {report.wanted_share_percent:g} %"
    head = ["filter", "sky e/s/px", "object e/s/px", "dark e/s/px", limited, star, "take"]
    return table(head, rows, right=range(1, 7))


def _in_all(report: ExposureReport) -> str:
    """Return number, total and signal-to-noise, a row for each filter."""
    rows = [
        [
            one.filter,
            f"{one.effective_hours:g} h",
            f"{one.frames_count} × {one.chosen_s:.0f} s",
            f"{one.clock_hours:.1f} h",
            f"{one.storage_gb:.1f} GB",
            *_reached(one),
        ]
        for one in report.filters
    ]
    wanted = f"for SNR {report.wanted_snr:g} on 1 arcsec²"
    head = ["filter", "effective", "frames", "by the clock", "storage", "SNR 1 px", "SNR 1 arcsec²", wanted]
    return table(head, rows, right=range(1, 8))


def _reached(one: FilterExposureReport) -> tuple[str, str, str]:
    """Return signal-to-noise and hours for it; dashes without an object."""
    if one.snr_per_pixel is None or one.snr_per_arcsec2 is None or one.hours_for_snr_per_arcsec2 is None:
        return "–", "–", "–"
    return f"{one.snr_per_pixel:.3g}", f"{one.snr_per_arcsec2:.3g}", in_hours(one.hours_for_snr_per_arcsec2)


def _night(report: ExposureReport) -> str:
    """Return frames, overhead and storage of the night, a row for each filter."""
    rows = [
        [
            one.filter,
            f"{one.night.clock_hours:.1f} h",
            str(one.night.frames_count),
            f"{one.night.open_hours:.1f} h",
            f"{one.night.overhead_share:.1%}",
            f"{one.night.storage_gb:.1f} GB",
            "–" if one.night.effective_hours is None else f"{one.night.effective_hours:.1f}",
        ]
        for one in report.filters
    ]
    head = ["filter", "usable", "frames", "shutter open", "overhead", "storage", "effective hours"]
    return table(head, rows, right=range(1, 7))


def _seconds(value_s: float | None) -> str:
    """Return seconds as a person reads them."""
    return "–" if value_s is None else f"{value_s:.0f} s" if value_s >= 10 else f"{value_s:.2g} s"

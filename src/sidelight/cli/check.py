"""``sidelight check``: what solved images say about the angles on the telescope."""

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sidelight.cli import options
from sidelight.cli.answers import Answer, answered
from sidelight.cli.words import angle, sky_angle, star_mag, table
from sidelight.desk.labels import pixels
from sidelight.pictures.palette import Theme

if TYPE_CHECKING:
    from sidelight.desk.first_image_records import FirstImageReport, StemReport


@click.command("check")
@options.notebook
@click.argument("images", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="IMAGE...")
@options.day("--date", "First night that the set-up must serve [the night of the last image].")
@options.setup
@click.option("--side", "sides", multiple=True, type=click.Choice(["east", "west"]),
              help="Side of the meridian the target was on: once, or once for each image [by time].")  # fmt: skip
@click.option("--guide-star", "guide_stars", multiple=True, metavar="X,Y[,RA,DEC]",
              help="Where the guide star was on the guide camera: pixels from the left and upper edge; which star, "
              'in degrees, if it is not found. Once for each image, "-" for none.')  # fmt: skip
@click.option("--guide-stars", "star_table", type=options.FILE_THERE,
              metavar="FILE",
              help="The same as CSV: image,x_px,y_px[,ra_deg,dec_deg]; several stars for an image.")  # fmt: skip
@options.day("--bench-day", "The day on which the angles were set [what agrees with what was learnt].")
@click.option("--learn", is_flag=True, help="Keep what the images say in the notebook; bench uses it from then on.")
@answered(drawn=True)
def command(
    notebook: Path,
    images: tuple[Path, ...],
    date: dt.date | None,
    kept: str | None,
    sides: tuple[str, ...],
    guide_stars: tuple[str, ...],
    star_table: Path | None,
    bench_day: dt.date | None,
    learn: bool,
    answer: Answer,
) -> None:
    """Say by solved IMAGEs (FITS) how the camera really stands, and whether to turn it or to leave it.

    Any plate solver will do that writes its solution into the file's header.
    """
    from sidelight.desk.first_image import check_images
    from sidelight.desk.first_image_records import CheckQuestion
    from sidelight.desk.open import open_notebook
    from sidelight.desk.sightings import spots_from_options, spots_from_table

    spots = spots_from_options(guide_stars, images)
    if star_table:
        spots += spots_from_table(star_table, images)
    question = CheckQuestion(images, date, kept, sides, spots, bench_day)  # type: ignore[arg-type]
    report = check_images(open_notebook(notebook), question, keep=learn)
    answer.give(report, check_text, _pictures)


def _pictures(report: "FirstImageReport", look: Theme) -> dict[str, str]:
    """Draw the dial and the fields as the telescope now stands."""
    from sidelight.cards.first_image import check_pictures

    return check_pictures(report, look)


def check_text(report: "FirstImageReport") -> str:
    """Return the report for a person at a terminal."""
    lines = [report.sentence, "", _images_table(report), "", _figures(report)]
    turns = [one for one in report.turns if one.sense != "none"]
    if turns:
        lines += ["", f"To the plan. {report.view}"]
        lines += [f"  Turn {one.part} {one.by_deg:.1f}° {one.sense}." for one in turns]
        lines.append("  Then take and solve another image, and check again.")
    if report.places:
        lines += ["", "As it now stands" if not report.by_rotator else "With that turn", _places_table(report)]
    if report.stem:
        lines += ["", _stem_words(report.stem)]
    lines += ["", *[f"Note: {note}" for image in report.images for note in image.notes]]
    lines += [f"Note: {note}" for note in report.notes]
    lines.append(
        f"Learnt in {report.learned_in}; bench uses it from now on."
        if report.learned_in
        else "Nothing was kept; --learn keeps what the images say for the next bench day."
    )
    lines += ["", "Take care", *[f"  {caution}" for caution in report.cautions]]
    return "\n".join(lines)


def _images_table(report: "FirstImageReport") -> str:
    """Return one row for each image."""
    head = ["image", "target", "side", "camera (ICRS)", "expected", "off", "″/px", "focal length", "mirrored"]
    cells = [
        [
            Path(one.file).name,
            one.target or "–",
            one.side,
            sky_angle(one.camera_angle_deg),
            sky_angle(one.expected_deg),
            f"{one.difference_deg:+.2f}°",
            f"{one.scale_arcsec_per_px:.4f}",
            f"{one.focal_length_mm:.1f} mm",
            "yes" if one.mirrored else "no",
        ]
        for one in report.images
    ]
    return table(head, cells, right=(3, 4, 5, 6, 7))


def _figures(report: "FirstImageReport") -> str:
    """Return the figures that all images give together."""
    stands, planned = sky_angle(report.camera_angle_deg), sky_angle(report.planned_camera_angle_deg)
    camera = f"Camera angle as the plan counts it {stands}, planned {planned}"
    focal = f"Focal length {report.focal_length_mm:.1f} mm{_spread(report.focal_length_error_mm, ' mm')}"
    gauge = f"Gauge to sky: {report.gauge_to_sky_deg:+.1f}° ± {report.gauge_to_sky_error_deg:.1f}°"
    lines = [
        f"{camera}: {report.difference_deg:+.2f}°{_spread(report.difference_error_deg, '°')}.",
        f"{gauge}, the setting by gauge included. {report.gauge_to_sky_words}".rstrip(),
        f"{focal}; in use {report.focal_length_in_use_mm:.1f} mm.",
    ]
    if report.flip_deg is not None:
        lines.append(f"West less east: {report.flip_deg:+.2f}°{_spread(report.flip_error_deg, '°')}.")
    if report.cone_arcmin is not None and report.declination_arcmin is not None:
        lines.append(
            f"Cone error {report.cone_arcmin:+.1f}′{_spread(report.cone_error_arcmin, '′')}, in declination "
            f"{report.declination_arcmin:+.1f}′, if the mount was not synchronised nor the target centred in between."
        )
    return "\n".join(lines)


def _spread(error: float | None, unit: str) -> str:
    """Return an error behind its value; nothing when nobody knows it."""
    if error is None:
        return ""
    return f" ± {error:.2f}{unit}" if error >= 0.02 else f" ± {error:.3f}{unit}"


def _places_table(report: "FirstImageReport") -> str:
    """Return which guide star falls where now."""
    head = ["target", "side", "guide star", "on the sensor", "slack", "planned", "frame", ""]
    cells = [
        [
            one.target,
            one.side,
            star_mag(one.star.mag if one.star else None),
            pixels(one.place_on_sensor_px, ""),
            angle(one.slack_deg),
            angle(one.planned_slack_deg),
            angle(one.frame_slack_deg) if one.framed else "cut off",
            "lost" if one.lost else "" if one.needed else "not needed",
        ]
        for one in report.places
    ]
    return table(head, cells, right=(4, 5, 6))


def _stem_words(stem: "StemReport") -> str:
    """Return where the stem is."""
    rests = "" if stem.settled else " This rests on an assumption and is not learnt; see the notes."
    return (
        f"Stem radius {stem.stem_radius_mm:.2f} mm{_spread(stem.stem_radius_error_mm, ' mm')}, stem offset "
        f"{stem.stem_offset_deg:+.2f}°{_spread(stem.stem_offset_error_deg, '°')}; guider angle "
        f"{sky_angle(stem.guider_angle_deg)}, planned {sky_angle(stem.planned_guider_angle_deg)}; guide camera out "
        f"of square by {stem.tilt_deg:+.1f}°{_spread(stem.tilt_error_deg, '°')}.{rests}"
    )

"""``sidelight setup``: one camera angle and one guider angle that serve all objects."""

import datetime as dt
from pathlib import Path

import click

from sidelight.cli import options
from sidelight.cli.answers import Answer, answered
from sidelight.cli.words import angle, sky_angle, star_mag, star_snr, table
from sidelight.desk.labels import pixels, set_up_words
from sidelight.desk.setup import DEFAULT_NIGHTS, Refusal, SetupQuestion, SetupReport, setup_report
from sidelight.ground.spans import total
from sidelight.pictures.palette import Theme

DEGREES = options.Between(-360, 360, "degrees", "57.2")


@click.command("setup")
@options.notebook
@options.date("First night that the set-up must serve.")
@options.nights(400, "How many nights it must serve.", DEFAULT_NIGHTS)
@click.option("--camera-angle", type=DEGREES, metavar="DEG", help="Hold the camera at this position angle.")
@click.option("--stem-offset", type=DEGREES, metavar="DEG",
              help="Hold the stem at this offset: guider angle less camera angle, as clamped.")  # fmt: skip
@click.option("--grant-shift", type=options.Between(0, 60, "arcminutes", "3"), metavar="ARCMIN",
              help="Let the middle of the frame move so far off an object to reach a star.")  # fmt: skip
@options.targets("--leave-out", meaning="A target not to serve; may be repeated.")
@options.targets("--only", meaning="Serve only this target; may be repeated.")
@click.option("--refuse", multiple=True, type=click.Choice(["saturating", "companions"]),
              help="Never guide on such stars; may be repeated [as rig.toml says].")  # fmt: skip
@click.option("--keep", metavar="NAME", help="Keep the answer in the notebook under this name, for bench and night.")
@click.option("--replace", "replacing", is_flag=True, help="With --keep: let another set-up of that name give way.")
@answered(drawn=True)
def command(
    notebook: Path,
    date: dt.date | None,
    nights: int,
    camera_angle: float | None,
    stem_offset: float | None,
    grant_shift: float | None,
    leave_out: tuple[str, ...],
    only: tuple[str, ...],
    refuse: tuple[Refusal, ...],
    keep: str | None,
    replacing: bool,
    answer: Answer,
) -> None:
    """Find one camera angle and one guider angle for all objects, on both sides of the meridian.

    Angles are position angles on the sky, north through east, for targets in the west.
    "sidelight bench" turns them into angles on the metal.
    """
    from sidelight.desk.open import open_for

    book, day = open_for(notebook, date)
    question = SetupQuestion(
        date=day,
        nights=nights,
        camera_angle_deg=camera_angle,
        stem_offset_deg=stem_offset,
        grant_shift_arcmin=grant_shift,
        leave_out=leave_out,
        only=only,
        refuse=refuse,
    )
    report = setup_report(book, question)
    if keep is not None:
        from sidelight.desk.clock import tonight
        from sidelight.desk.kept import keep_setup

        click.echo(keep_setup(book, report, keep, tonight(book.site), replacing=replacing), err=True)
    answer.give(report, setup_text, _pictures)


def _pictures(report: SetupReport, look: Theme) -> dict[str, str]:
    """Draw the dial and the fields."""
    from sidelight.cards.drawings import setup_pictures

    return setup_pictures(report, look)


def setup_text(report: SetupReport) -> str:
    """Return the report for a person at a terminal."""
    lines = [f"Set-up for {report.nights} nights from {report.date}", "", report.sentence, ""]
    if report.camera_angle_deg is not None or report.guider_angle_deg is not None or report.best:
        lines += [*_angles(report), ""]
    if report.rings:
        lines += [_rings(report), "", *_guider(report)]
    lines += _targets(report) + _more(report)
    lines += [f"Note: {note}" for note in report.notes]
    return "\n".join(lines).rstrip()


def _angles(report: SetupReport) -> list[str]:
    """Return the chosen angles, one a line."""
    rows = [
        ("camera angle", sky_angle(report.camera_angle_deg), "position angle of the image's up, targets in the west"),
        (
            "guider angle",
            sky_angle(report.guider_angle_deg),
            "where the guide sensor sits, seen from the field centre",
        ),
        ("stem offset", sky_angle(report.stem_offset_deg), "guider angle less camera angle: fixed once clamped"),
        (
            "slack",
            angle(report.slack_deg),
            f"smallest turn that loses a guide star; wanted {report.tolerance_deg:g}°",
        ),
        ("frame slack", angle(report.frame_slack_deg), "turn of the camera that cuts something off"),
        ("shadow slack", angle(report.shadow_slack_deg), "turn of the stem that brings the prism's shadow in"),
        (
            "share",
            f"{report.share_of_angles:.1%}" if report.share_of_angles > 0 else "none",
            f"of all {_what_turns(report)} serves everything needed",
        ),
    ]
    if not report.rings:
        rows = [row for row in rows if row[0] not in ("slack", "shadow slack")]
    return [f"  {name:13}{value:>9}   {meaning}" for name, value, meaning in rows if value]


def _what_turns(report: SetupReport) -> str:
    """Say which angles the share counts."""
    if not report.rings:
        return "camera angles"
    return "stem offsets" if report.camera_angle_deg is None else "guider angles"


def _rings(report: SetupReport) -> str:
    """Return one row for each target and side."""
    rows = [
        [
            ring.target,
            ring.side,
            "yes" if ring.needed else "no",
            f"{ring.share_of_angles:.0%}",
            star_mag(ring.star.mag if ring.star else None),
            star_snr(ring.star.snr, bool(ring.star.faults)) if ring.star else "",
            pixels(ring.place_on_sensor_px, ""),
            angle(ring.slack_deg) if ring.star else "no star",
        ]
        for ring in report.rings
    ]
    head = ["target", "side", "needed", "lit", "guide star", "SNR", "on the sensor", "slack"]
    return table(head, rows, right=(3, 5, 7))


def _guider(report: SetupReport) -> list[str]:
    """Return what the guide camera sees, and whose limit holds."""
    if report.guider is None:
        return []
    typed = f" rig.toml sets {report.limit_mag:.1f} mag as the faintest, and that holds." if report.limit_mag else ""
    return [report.guider.sentence + (typed if report.guider.limit_is_typed else ""), ""]


def _targets(report: SetupReport) -> list[str]:
    """Return a line for each target whose pointing moves or whose frame needs a word."""
    lines = [
        f"{place.target}: pointing moved {place.shift_arcmin:.1f}′ "
        f"({abs(place.shift_east_arcmin):.1f}′ {'east' if place.shift_east_arcmin >= 0 else 'west'}, "
        f"{abs(place.shift_north_arcmin):.1f}′ {'north' if place.shift_north_arcmin >= 0 else 'south'})."
        for place in report.targets
        if place.shift_arcmin > 0.005
    ]
    if report.best and report.camera_angle_deg is None:
        lines += [
            f"{place.target}: turn the camera to {sky_angle(place.camera_angle_deg)}." for place in report.targets
        ]
    tight = [frame for frame in report.frames if not frame.fits or total(frame.arcs) < 360.0 or not frame.sizes_known]
    if report.frames and len(tight) < len(report.frames):
        who = "Every target" if not tight else "Every other target"
        lines.append(f"{who} fits the frame at every camera angle.")
    return [frame.sentence for frame in tight] + lines


def _more(report: SetupReport) -> list[str]:
    """Return what stands in the way, what would help, and the next best."""
    lines: list[str] = [""]
    lines += [f"In the way: {one.sentence}" for one in report.blocked if one.kind != "never_framed"]
    lines += [f"Would help: {one.sentence}" for one in report.help]
    if len(report.smallest_cover) > 1:
        lines.append(f"Everything can be served by {len(report.smallest_cover)} set-ups, and by no fewer:")
        lines += [f"  {set_up_words(one)}" for one in report.smallest_cover]
    if report.next_best:
        lines.append("Next best:")
        lines += [f"  {set_up_words(one)}: {one.behind}" for one in report.next_best]
    return [*lines, ""] if len(lines) > 1 else []

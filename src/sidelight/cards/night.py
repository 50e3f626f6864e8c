"""The night card: one page with tonight's run, the flips and the guide stars."""

from sidelight.cards.drawings import night_picture, sensor_picture
from sidelight.cards.page import (
    cautions,
    figure,
    figure_for_any_width,
    figures,
    heading,
    notes,
    page,
    paragraph,
    table,
)
from sidelight.desk.labels import camera_words, clock, pixels, side_words
from sidelight.desk.night_records import GuideReport, NightReport, TargetNightReport
from sidelight.desk.night_words import moon_words
from sidelight.ground.angles import format_dec, format_ra
from sidelight.pictures.palette import Theme

_PLOT_HEIGHTS = (196.0, 180.0)
"""Of the chart's plot, with up to two targets planned and with more, so that the card stays on one sheet."""
_PLACES = "On the sensor: from its middle, right and up; in brackets from its upper left corner, right and down."


def night_card(report: NightReport, theme: Theme = "print") -> str:
    """Return the night card as a self-contained HTML page; times are the site's, with the zone named."""
    zone = report.time_zone
    planned, others = _in_the_order_of_the_run(report)
    sensors = [svg for target in planned if (svg := sensor_picture(target, report, theme, low=True))]
    wide = night_picture(report, theme, plot_height=_PLOT_HEIGHTS[len(planned) > 2])
    body = [
        figures(
            [
                ("dark from", clock(report.dusk_utc, zone)),
                ("dark until", clock(report.dawn_utc, zone)),
                ("Moon", moon_words(report)),
            ]
        ),
        paragraph(report.sentence),
        heading("Tonight's run") + _plan(report) if report.plan else "",
        figure_for_any_width(wide, night_picture(report, theme, "narrow", prefix="night-n")),
        heading("Guide stars") + _guides(planned, report) if any(target.guides for target in planned) else "",
        '<div class="sensors">' + "".join(figure(svg) for svg in sensors) + "</div>" if sensors else "",
        notes([f"{_PLACES} {report.guide_picture}"]) if sensors else "",
        heading("If you change your mind") + _others(others, report) if others else "",
        notes(report.notes),
        cautions(report.cautions),
    ]
    title = f"Night card, {report.date:%A} {report.date}"
    return page(title, f"{report.site}; times in {report.zone}", body, theme, "Sidelight")


def _in_the_order_of_the_run(
    report: NightReport,
) -> tuple[list[TargetNightReport], list[TargetNightReport]]:
    """Return the planned targets in the order of the run, and the others that are up and have a guide star."""
    by_key = {target.target: target for target in report.targets}
    planned = [by_key[key] for key in dict.fromkeys(one.target for one in report.plan)]
    others = [target for target in report.targets if target not in planned and target.windows and target.guides]
    return planned, others


def _plan(report: NightReport) -> str:
    """Return the run as a table."""
    zone = report.time_zone
    by_key = {target.target: target for target in report.targets}
    rows = []
    for one in report.plan:
        target = by_key[one.target]
        rows.append(
            [
                f"{clock(one.start_utc, zone)}–{clock(one.end_utc, zone)}",
                one.target,
                " then ".join(one.sides),
                clock(one.flip_utc, zone),
                f"{format_ra(target.pointing_ra_deg)}  {format_dec(target.pointing_dec_deg)}",
                camera_words(target.camera_angle_deg, one.sides),
                f"{one.hours:.1f} h",
                f"{one.effective_hours:.1f} h in {one.filter}",
            ]
        )
    flips = any(one.sides != ("any",) for one in report.plan)
    camera = "camera, east / west" if flips else "camera"
    return table(["time", "target", "side", "flip", "point at (ICRS)", camera, "for", "effective"], rows)


def _guides(shown: list[TargetNightReport], report: NightReport) -> str:
    """Return the guide stars as a table."""
    rows = []
    for target in shown:
        for guide in target.guides:
            if guide.star is None:
                rows.append([target.target, side_words(guide.side), "none in this set-up", "", "", "", ""])
                continue
            rows.append(
                [
                    target.target,
                    side_words(guide.side),
                    f"{guide.star.mag:.1f} mag",
                    "" if guide.star.snr is None else f"{guide.star.snr:.0f}",
                    _on_sensor(guide, report),
                    f"{guide.slack_deg:.1f}°",
                    f"{format_ra(guide.star.ra_deg)}  {format_dec(guide.star.dec_deg)}",
                ]
            )
    return table(["target", "when", "star", "SNR", "on the sensor", "slack", "place (ICRS)"], rows)


def _on_sensor(guide: GuideReport, report: NightReport) -> str:
    """Return where a guide star sits: from the middle, and from the upper left as a first image is measured."""
    if guide.place_on_sensor_px is None or report.guide_width_px is None or report.guide_height_px is None:
        return "–"
    right, up = guide.place_on_sensor_px
    x_px, y_px = report.guide_width_px / 2 + right, report.guide_height_px / 2 - up
    return f"{pixels(guide.place_on_sensor_px).removesuffix(' px')} (x {x_px:.0f}, y {y_px:.0f})"


def _others(others: list[TargetNightReport], report: NightReport) -> str:
    """Return when the targets that are not planned can be used, and with which guide stars, a row for each."""
    zone = report.time_zone
    sides = list(dict.fromkeys(guide.side for target in others for guide in target.guides))
    rows = []
    for target in others:
        usable = ", ".join(f"{clock(one.start_utc, zone)}–{clock(one.end_utc, zone)}" for one in target.windows)
        by_side = {guide.side: guide for guide in target.guides}
        stars = [_star_words(by_side.get(side), report) for side in sides]
        rows.append([target.target, usable, clock(target.flip_utc, zone), *stars])
    return table(["target", "usable", "flip", *[f"guide star {side_words(side)}" for side in sides]], rows)


def _star_words(guide: GuideReport | None, report: NightReport) -> str:
    """Return one guide star in a few words."""
    if guide is None:
        return "–"
    return "none" if guide.star is None else f"{guide.star.mag:.1f} mag, {_on_sensor(guide, report)}"

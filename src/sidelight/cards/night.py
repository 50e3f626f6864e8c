"""The night card: one page with tonight's run, the flips and the guide stars."""

from sidelight.cards.drawings import night_picture, sensor_picture
from sidelight.cards.page import cautions, figure, figure_for_any_width, figures, heading, notes, page, table
from sidelight.desk.labels import clock, pixels, side_words
from sidelight.desk.night_records import NightReport, TargetNightReport
from sidelight.desk.night_words import moon_words
from sidelight.ground.angles import format_dec, format_ra
from sidelight.pictures.palette import Theme


def night_card(report: NightReport, theme: Theme = "print") -> str:
    """Return the night card as a self-contained HTML page; times are the site's, with the zone named."""
    zone = report.time_zone
    planned = {one.target for one in report.plan}
    shown = [target for target in report.targets if target.target in planned]
    sensors = [svg for target in shown if (svg := sensor_picture(target, report, theme))]
    body = [
        figures(
            [
                ("dark from", clock(report.dusk_utc, zone)),
                ("dark until", clock(report.dawn_utc, zone)),
                ("Moon", moon_words(report)),
            ]
        ),
        f"<p>{report.sentence}</p>",
        heading("Tonight's run") + _plan(report) if report.plan else "",
        figure_for_any_width(night_picture(report, theme), night_picture(report, theme, "narrow", prefix="night-n")),
        heading("Guide stars") + _guides(shown) if shown else "",
        '<div class="sensors">' + "".join(figure(svg) for svg in sensors) + "</div>" if sensors else "",
        notes(report.notes),
        cautions(report.cautions),
    ]
    title = f"Night card, {report.date:%A} {report.date}"
    return page(title, f"{report.site}; times in {report.zone}", body, theme, "Sidelight")


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
                f"{one.hours:.1f} h",
            ]
        )
    return table(["time", "target", "side", "flip", "point at (ICRS)", "for"], rows)


def _guides(shown: list[TargetNightReport]) -> str:
    """Return the guide stars as a table."""
    rows = []
    for target in shown:
        for guide in target.guides:
            when = side_words(guide.side)
            if guide.star is None or guide.place_on_sensor_px is None:
                rows.append([target.target, when, "none in this set-up", "", "", "", ""])
                continue
            rows.append(
                [
                    target.target,
                    when,
                    f"{guide.star.mag:.1f} mag",
                    "" if guide.star.snr is None else f"{guide.star.snr:.0f}",
                    pixels(guide.place_on_sensor_px),
                    f"{guide.slack_deg:.1f}°",
                    f"{format_ra(guide.star.ra_deg)}  {format_dec(guide.star.dec_deg)}",
                ]
            )
    return table(["target", "when", "star", "SNR", "on the sensor", "slack", "place (ICRS)"], rows)

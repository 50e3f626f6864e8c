"""Reports as pictures: the one place where what the desk says becomes what the pictures draw."""

import datetime as dt
import re
from typing import Literal
from zoneinfo import ZoneInfo

import numpy as np

from sidelight.desk.bench_records import BenchAngle, BenchReport
from sidelight.desk.fields import FieldReport
from sidelight.desk.labels import side_words
from sidelight.desk.night_records import NightReport, TargetNightReport
from sidelight.desk.season import SeasonReport
from sidelight.desk.setup import SetupReport
from sidelight.pictures.back import draw_back
from sidelight.pictures.chart_records import (
    NightCurve,
    NightView,
    PlannedStretch,
    SeasonRow,
    SeasonView,
    YearNight,
    YearView,
)
from sidelight.pictures.dial import draw_dial
from sidelight.pictures.field import draw_field
from sidelight.pictures.night import draw_night
from sidelight.pictures.palette import Theme
from sidelight.pictures.records import (
    BackView,
    Dial,
    DialRing,
    FieldOutline,
    FieldStar,
    FieldView,
    Footprint,
    GuideSensorView,
    GuideStarMark,
    Reading,
    SensorPlace,
    Width,
)
from sidelight.pictures.season import draw_season
from sidelight.pictures.sensor import draw_guide_sensor
from sidelight.pictures.year import draw_year


def file_name(text: str) -> str:
    """Return a target's name as part of a file name."""
    return re.sub(r"[^a-z0-9]+", "-", text.casefold()).strip("-") or "target"


def dial_picture(report: SetupReport, theme: Theme, width: Width = "wide") -> str:
    """Draw the dial of a set-up."""
    rings = tuple(
        DialRing(
            ring.target,
            ring.side,
            tuple((arc.from_deg, arc.from_deg + arc.length_deg) for arc in ring.arcs),
            ring.needed,
            ring.slack_deg if ring.star else None,
            _star_words(ring.star.mag, ring.star.snr) if ring.star else "",
            ring.shallow_arcs_deg,
        )
        for ring in report.rings
    )
    nights = "" if width == "narrow" else f", {report.nights} nights from {report.date}"
    title = f"Guide stars round the dial{nights}"
    return draw_dial(Dial(title, rings, report.guider_angle_deg), theme=theme, width=width)


def _star_words(mag: float, snr: float | None) -> str:
    """Return a guide star's magnitude, and its signal-to-noise where that is known."""
    return f"{mag:.1f} mag" if snr is None else f"{mag:.1f} mag, SNR {snr:.0f}"


def field_picture(field: FieldReport, theme: Theme, width: Width = "wide", prefix: str = "field") -> str:
    """Draw the field of one target with the frame and both places of the guide sensor."""
    scale = field.arcmin_per_mm
    view = FieldView(
        title=f"Field of {field.target}",
        stars=tuple(
            FieldStar(float(x) * scale, float(y) * scale, float(mag))
            for (x, y), mag in zip(field.stars_east_north_mm, field.stars_mag, strict=True)
        ),
        outlines=tuple(
            FieldOutline(
                o.name,
                o.east_mm * scale,
                o.north_mm * scale,
                o.semi_major_arcmin,
                o.semi_minor_arcmin,
                o.position_angle_deg,
            )
            for o in field.outlines
        ),
        frame_width_arcmin=field.frame_width_mm * scale,
        frame_height_arcmin=field.frame_height_mm * scale,
        camera_angle_deg=field.camera_angle_deg or 0.0,
        footprints=tuple(
            Footprint(f.side, f.angle_deg, f.radius_mm * scale, f.half_along_mm * scale, f.half_across_mm * scale)
            for f in field.footprints
        ),
        guide_stars=tuple(
            GuideStarMark(g.side, g.east_mm * scale, g.north_mm * scale, g.mag) for g in field.guide_stars
        ),
    )
    return draw_field(view, theme=theme, width=width, prefix=prefix)


def setup_pictures(report: SetupReport, theme: Theme, width: Width = "wide") -> dict[str, str]:
    """Return the set-up's pictures by file name: the dial, and a field for each target."""
    pictures = {"dial": dial_picture(report, theme, width)} if report.rings else {}
    for field in report.fields:
        pictures[f"field-{file_name(field.target)}"] = field_picture(field, theme, width)
    return pictures


def bench_picture(report: BenchReport, theme: Theme, width: Width = "wide", prefix: str = "back") -> str:
    """Draw the back of the telescope, or the focuser of a Newtonian."""
    view = BackView(
        title="Into the focuser" if report.newtonian else "The back of the telescope",
        camera_top_deg=report.camera.bench_deg,
        stem_deg=report.stem.bench_deg if report.stem else None,
        camera_width_mm=report.camera_width_mm,
        camera_height_mm=report.camera_height_mm,
        stem_radius_mm=report.stem_radius_mm or 20.0,
        view=_back_seen(report),
        camera_clock=report.camera.clock,
        stem_clock=report.stem.clock if report.stem else "",
        camera_reading=_reading(report.camera),
        stem_reading=_reading(report.stem) if report.stem else None,
    )
    return draw_back(view, theme=theme, width=width, prefix=prefix)


def _back_seen(report: BenchReport) -> Literal["back", "fork", "focuser"]:
    """Return from where the angles are seen."""
    if report.newtonian:
        return "focuser"
    return "fork" if report.mount == "fork" else "back"


def _reading(part: BenchAngle) -> Reading:
    """Return a gauge reading as the drawing words it."""
    return Reading(part.gauge.tilt_deg, part.gauge.low_end)


def sensor_picture(
    target: TargetNightReport, night: NightReport, theme: Theme, width: Width = "narrow", *, low: bool = False
) -> str | None:
    """Draw where the guide star sits before and after the flip; None without a guide star. low : as a card has it."""
    places = tuple(
        SensorPlace(
            side_words(guide.side), *guide.place_on_sensor_px, note=_star_words(guide.star.mag, guide.star.snr)
        )
        for guide in target.guides
        if guide.star and guide.place_on_sensor_px
    )
    if not places or night.guide_width_px is None or night.guide_height_px is None:
        return None
    view = GuideSensorView(
        f"Guide sensor, {target.target}",
        night.guide_width_px,
        night.guide_height_px,
        places,
        night.guide_usable_width_px,
        night.guide_usable_height_px,
    )
    prefix = f"sensor-{file_name(target.target)}"
    return draw_guide_sensor(view, theme=theme, width=width, prefix=prefix, low=low)


def night_picture(
    report: NightReport,
    theme: Theme,
    width: Width = "wide",
    now_mjd: float | None = None,
    prefix: str = "night",
    *,
    plot_height: float | None = None,
) -> str:
    """Draw the night's altitudes with its plan; with a plot height, the plan's times are left to the page."""
    curves = report.curves
    view = NightView(
        title=f"Night of {report.date}" + ("" if width == "narrow" else f", {report.site}"),
        times_mjd=curves.times_mjd,
        curves=tuple(
            NightCurve(target.target, curves.altitude_deg[target.target], curves.windows_mjd[target.target])
            for target in report.targets
        ),
        zone=ZoneInfo(report.time_zone),
        sun_altitude_deg=curves.sun_altitude_deg,
        moon_altitude_deg=curves.moon_altitude_deg,
        moon_illuminated_fraction=report.moon_illuminated_fraction,
        moon_waxing=report.moon_waxing,
        plan=tuple(PlannedStretch(*one) for one in curves.plan_mjd),
        flips_mjd=curves.flips_mjd,
        floor_deg=report.floor_deg,
        twilight_limit_deg=report.twilight_deg,
        now_mjd=now_mjd,
    )
    return draw_night(view, theme=theme, width=width, prefix=prefix, plot_height=plot_height)


def night_pictures(report: NightReport, theme: Theme, width: Width = "wide") -> dict[str, str]:
    """Return the night's pictures by file name: its altitudes, and the guide sensor for each target."""
    pictures = {"night": night_picture(report, theme, width)}
    for target in report.targets:
        svg = sensor_picture(target, report, theme)
        if svg:
            pictures[f"sensor-{file_name(target.target)}"] = svg
    return pictures


def year_pictures(
    report: SeasonReport, theme: Theme, width: Width = "wide", *, today: dt.date | None = None
) -> dict[str, str]:
    """Return the season's pictures by file name: all targets together, and the year of each. today : if known."""
    pictures = {
        "season": season_picture(report, theme, width, today=today),
        "season-effective": effective_picture(report, theme, width, today=today),
    }
    for year in report.years:
        nights = tuple(
            YearNight(n.date, n.dark_h, n.windows_h, n.altitudes_deg, n.moon_up_h, n.moon_illuminated_fraction)
            for n in year.nights
        )
        view = YearView(
            f"The year of {year.target}",
            year.clock_h,
            nights,
            report.first_date,
            report.floor_deg,
            year.sentence,
            night_name(report.first_date, today),
        )
        pictures[f"year-{file_name(year.target)}"] = draw_year(view, theme=theme, width=width)
    return pictures


def _how_many(report: SeasonReport, width: Width) -> str:
    """Return how many targets a picture of the season shows, where its title has room for it."""
    count = len(report.targets)
    return "" if width == "narrow" else f", {count} target{'s' if count != 1 else ''}"


def night_name(first_date: dt.date, today: dt.date | None) -> str:
    """Return what is written at the line of the first night: it is tonight only when the first night is today's."""
    return "tonight" if first_date == today else "from"


def season_picture(report: SeasonReport, theme: Theme, width: Width = "wide", *, today: dt.date | None = None) -> str:
    """Draw the dark hours of all targets through the year."""
    rows = tuple(
        SeasonRow(target.target, np.array([night.dark_hours for night in target.nights]), target.short)
        for target in report.targets
    )
    title = "Dark hours above your skyline" + _how_many(report, width)
    named = night_name(report.first_date, today)
    view = SeasonView(title, report.first_date, rows, report.first_date, marked_as=named)
    return draw_season(view, theme=theme, width=width)


def effective_picture(
    report: SeasonReport,
    theme: Theme,
    width: Width = "wide",
    prefix: str = "effective",
    *,
    today: dt.date | None = None,
) -> str:
    """Draw the effective hours of all targets through the year: what the Moon and low altitude leave."""
    rows = tuple(
        SeasonRow(
            target.target,
            np.array([night.effective_hours for night in target.nights]),
            f"{target.effective_hours_left:.0f} h in {target.filter}" if target.nights_left else target.short,
        )
        for target in report.targets
    )
    title = "Effective hours under your sky" + _how_many(report, width)
    named = night_name(report.first_date, today)
    view = SeasonView(title, report.first_date, rows, report.first_date, "effective hours a night", named)
    return draw_season(view, theme=theme, width=width, prefix=prefix)

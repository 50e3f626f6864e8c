"""Light and exposure as pictures: the weight through the night, the month of nights."""

from zoneinfo import ZoneInfo

import numpy as np

from sidelight.cards.drawings import file_name
from sidelight.desk.exposure_records import ExposureReport
from sidelight.desk.hours_records import LightReport, TargetLightReport
from sidelight.ground.types import FloatArray
from sidelight.pictures.chart_records import CurvesView, Rule, Series
from sidelight.pictures.curves import draw_curves
from sidelight.pictures.palette import Theme
from sidelight.pictures.records import Width


def light_pictures(report: LightReport, theme: Theme, width: Width = "wide") -> dict[str, str]:
    """Return by file name: the weight of an hour on all targets, and for each target its night and its month."""
    if not report.targets:
        return {}
    pictures = {"light": weights_picture(report, theme, width)} if report.times_utc else {}
    for target in report.targets:
        name = file_name(target.target)
        if any(weight is not None for one in target.weights for weight in one.weights):
            pictures[f"light-{name}"] = target_weights_picture(report, target, theme, width)
        pictures[f"month-{name}"] = month_picture(report, target, theme, width)
    return pictures


def weights_picture(report: LightReport, theme: Theme, width: Width = "wide", prefix: str = "light") -> str:
    """Draw what an hour is worth through the night, a curve for each target in its main filter."""
    series = tuple(
        Series(f"{target.target} {one.filter}", report.times_mjd, _gaps(one.weights))
        for target in report.targets
        for one in target.weights
        if one.filter == target.main_filter
    )
    return _through_the_night(report, f"Worth of an hour, {report.date}", series, theme, width, prefix)


def target_weights_picture(
    report: LightReport, target: TargetLightReport, theme: Theme, width: Width = "wide", prefix: str = "light"
) -> str:
    """Draw what an hour on one target is worth through the night, a curve for each filter."""
    series = tuple(Series(one.filter, report.times_mjd, _gaps(one.weights)) for one in target.weights)
    title = f"An hour on {target.target}, {report.date}"
    return _through_the_night(report, title, series, theme, width, f"{prefix}-{file_name(target.target)}")


def _through_the_night(
    report: LightReport, title: str, series: tuple[Series, ...], theme: Theme, width: Width, prefix: str
) -> str:
    """Draw curves of weight from dusk to dawn."""
    view = CurvesView(
        title=title,
        x_name=f"clock, {report.zone}",
        y_name="share of an hour at the moonless zenith",
        series=series,
        x_zone=ZoneInfo(report.time_zone),
        y_percent=True,
    )
    return draw_curves(view, theme=theme, width=width, prefix=prefix)


def month_picture(
    report: LightReport, target: TargetLightReport, theme: Theme, width: Width = "wide", prefix: str = "month"
) -> str:
    """Draw the nights of one target: dark hours, and effective ones in each filter."""
    days = np.array([night.date.toordinal() for night in target.nights], dtype=np.float64)
    dark = Series("dark", days, np.array([night.dark_hours for night in target.nights]))
    filters = tuple(
        Series(one.filter, days, np.array([night.filters[f].effective_hours for night in target.nights]))
        for f, one in enumerate(report.filters)
    )
    best = (
        (Rule("x", float(target.best_night.toordinal()), f"best in {target.main_filter}"),)
        if target.best_night
        else ()
    )
    view = CurvesView(
        title=f"Nights of {target.target}",
        x_name="evening",
        y_name="hours a night, dark and effective",
        series=(dark, *filters),
        rules=(*best, *_full_moons(target)),
        x_dates=True,
    )
    return draw_curves(view, theme=theme, width=width, prefix=f"{prefix}-{file_name(target.target)}")


def _full_moons(target: TargetLightReport) -> tuple[Rule, ...]:
    """Return a line at each night on which the Moon is fullest."""
    lit = [night.moon_illuminated_fraction for night in target.nights]
    return tuple(
        Rule("x", float(target.nights[n].date.toordinal()), "full Moon")
        for n in range(1, len(lit) - 1)
        if lit[n] > 0.9 and lit[n - 1] <= lit[n] > lit[n + 1]
    )


def _gaps(weights: tuple[float | None, ...]) -> FloatArray:
    """Return weights with a gap where there is none."""
    return np.array([np.nan if one is None else one for one in weights])


def exposure_pictures(report: ExposureReport, theme: Theme, width: Width = "wide") -> dict[str, str]:
    """Return by file name: what read noise adds over the exposure; signal-to-noise over hours for a known object."""
    pictures = {"exposure": read_noise_picture(report, theme, width)}
    if report.curves.snr_per_arcsec2 is not None:
        pictures["exposure-snr"] = snr_picture(report, theme, width)
    return pictures


def read_noise_picture(report: ExposureReport, theme: Theme, width: Width = "wide", prefix: str = "exposure") -> str:
    """Draw what read noise adds to the background's noise over the length of one exposure."""
    curves = report.curves
    view = CurvesView(
        title="How long one exposure should be",
        x_name="one exposure, seconds",
        y_name="per cent that read noise adds to the noise of the moonless sky",
        series=tuple(
            Series(one.filter, curves.exposure_s, 100.0 * line)
            for one, line in zip(report.filters, curves.shares, strict=True)
        ),
        rules=(Rule("y", report.wanted_share_percent, f"{report.wanted_share_percent:g} %, as wanted"),),
        x_log=True,
    )
    return draw_curves(view, theme=theme, width=width, prefix=prefix)


def snr_picture(report: ExposureReport, theme: Theme, width: Width = "wide", prefix: str = "snr") -> str:
    """Draw the signal-to-noise on one square arcsecond over effective hours."""
    curves = report.curves
    assert curves.snr_per_arcsec2 is not None
    of = f" of {report.target}" if report.target else ""
    view = CurvesView(
        title=f"What hours reach: {report.brightness_mag_arcsec2:.1f} mag/arcsec²{of}",
        x_name="effective hours",
        y_name="signal-to-noise on one square arcsecond",
        series=tuple(
            Series(one.filter, curves.hours_h, line)
            for one, line in zip(report.filters, curves.snr_per_arcsec2, strict=True)
        ),
        rules=(Rule("y", report.wanted_snr, f"{report.wanted_snr:g}, as wanted"),),
    )
    return draw_curves(view, theme=theme, width=width, prefix=prefix)

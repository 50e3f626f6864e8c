"""What an hour is worth tonight and through the month: per target and filter, with the Moon's cost as a number."""

import datetime as dt
from collections.abc import Sequence

import numpy as np

from sidelight.desk.chosen import chosen_targets
from sidelight.desk.clock import utc, zone_label
from sidelight.desk.hours_records import (
    FilterHoursReport,
    FilterReport,
    FilterWeightsReport,
    LightReport,
    NightHoursReport,
    TargetLightReport,
)
from sidelight.desk.hours_words import hours_report, month_sentence, moon_sentence, target_sentence, together
from sidelight.desk.light import FilterHours, filter_hours, filter_of, hour_weights, main_filter
from sidelight.desk.windows import windows_of
from sidelight.ground import spans
from sidelight.ground.types import FloatArray
from sidelight.light.filters import Filter, filter_extinction_mag_per_airmass, moonlight_factor
from sidelight.notebook.read import Notebook
from sidelight.season.windows import SeasonTable
from sidelight.targets.records import Target

DEFAULT_NIGHTS = 30
CURVE_STEP_MIN = 10.0


def light_report(
    notebook: Notebook,
    date: dt.date,
    night_count: int = DEFAULT_NIGHTS,
    only: tuple[str, ...] = (),
    filters: tuple[str, ...] = (),
) -> LightReport:
    """Return what hours are worth; raises BadInput for unknown targets and filters.

    filters : by name; all of the notebook's when empty.
    """
    targets = chosen_targets(notebook, only)
    asked = tuple(dict.fromkeys(filter_of(notebook, name) for name in filters)) or notebook.light.filters
    table = windows_of(notebook, targets, date, night_count)
    hours = filter_hours(notebook, targets, table, asked)
    times = _times(table)
    sky, night = notebook.light.sky, table.darkness.nights[0]
    return LightReport(
        notebook=str(notebook.folder),
        site=notebook.site.name,
        time_zone=notebook.site.time_zone,
        zone=zone_label(notebook.site, utc(night.start_mjd + 0.5)),
        date=date,
        night_count=night_count,
        dark_hours=float(table.dark_h[0]),
        moon_illuminated_fraction=float(table.moon_illuminated_fraction[0]),
        moon_up_hours=float(table.moon_up_h[0]),
        sentence=moon_sentence(table, hours, asked, 0),
        month_sentence=month_sentence(table, hours, asked),
        sky_zenith_mag_arcsec2=sky.zenith_mag_arcsec2,
        sky_uncertainty_mag=sky.uncertainty_mag,
        sky_source=sky.source,
        extinction_mag_per_airmass=sky.extinction_mag_per_airmass,
        filters=tuple(_filter_report(notebook, one) for one in asked),
        moon=together(hours, asked, 0),
        times_utc=tuple(utc(one) for one in times.tolist()),
        targets=_targets(notebook, targets, table, hours, asked, times),
        integral_error_hours=float(np.max(hours.error_h, initial=0.0)),
        times_mjd=times,
    )


def _times(table: SeasonTable) -> FloatArray:
    """Return instants from the first night's dusk to its dawn; none when it does not get dark."""
    dark = table.darkness.dark.of(0)
    if not len(dark):
        return np.empty(0)
    count = max(2, round((dark[-1, 1] - dark[0, 0]) * 1440.0 / CURVE_STEP_MIN) + 1)
    return np.linspace(dark[0, 0], dark[-1, 1], count)


def _filter_report(notebook: Notebook, one: Filter) -> FilterReport:
    """Return a filter with what the weights take from it."""
    k = filter_extinction_mag_per_airmass(one, notebook.light.sky, notebook.site.elevation_m)
    return FilterReport(one.name, one.centre_nm, one.bandwidth_nm, k, moonlight_factor(one))


def _targets(
    notebook: Notebook,
    targets: Sequence[Target],
    table: SeasonTable,
    hours: FilterHours,
    asked: Sequence[Filter],
    times: FloatArray,
) -> tuple[TargetLightReport, ...]:
    """Return every target's report."""
    weights = hour_weights(notebook, targets, asked, times) if targets else np.empty((0, len(asked), 0))
    return tuple(_target(notebook, one, n, table, hours, asked, times, weights[n]) for n, one in enumerate(targets))


def _target(
    notebook: Notebook,
    target: Target,
    row: int,
    table: SeasonTable,
    hours: FilterHours,
    asked: Sequence[Filter],
    times: FloatArray,
    weights: FloatArray,
) -> TargetLightReport:
    """Return one target's report."""
    own = main_filter(notebook, target)
    main = asked.index(own) if own in asked else 0
    usable = spans.contains(table.windows(row, 0), times)
    best = int(np.argmax(hours.effective_h[main, row]))
    best_h = float(hours.effective_h[main, row, best])
    nights = tuple(
        NightHoursReport(
            date,
            float(table.dark_hours_h[row, night]),
            float(table.moon_illuminated_fraction[night]),
            _filters(hours, asked, row, night),
        )
        for night, date in enumerate(table.dates)
    )
    return TargetLightReport(
        target=target.key,
        main_filter=asked[main].name,
        sentence=target_sentence(nights, best, best_h, main),
        dark_hours=nights[0].dark_hours,
        filters=nights[0].filters,
        best_night=table.dates[best] if best_h > 0 else None,
        best_effective_hours=best_h,
        weights=tuple(
            FilterWeightsReport(one.name, tuple(float(w) if up else None for w, up in zip(line, usable, strict=True)))
            for one, line in zip(asked, weights, strict=True)
        ),
        nights=nights,
    )


def _filters(hours: FilterHours, asked: Sequence[Filter], row: int, night: int) -> tuple[FilterHoursReport, ...]:
    """Return one target's night in each filter."""
    return tuple(
        hours_report(one, float(hours.effective_h[f, row, night]), float(hours.moonless_h[f, row, night]))
        for f, one in enumerate(asked)
    )

"""What an hour is worth tonight and through the month: per target and filter, with the Moon's cost as a number."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from sidelight.desk.chosen import NO_TARGETS, chosen_targets
from sidelight.desk.clock import utc, zone_label
from sidelight.desk.light import FilterHours, filter_hours, filter_of, hour_weights, main_filter
from sidelight.ground import spans
from sidelight.ground.types import FloatArray
from sidelight.light.filters import Filter, filter_extinction_mag_per_airmass, moonlight_factor
from sidelight.light.hours import moon_cost_share
from sidelight.notebook.read import Notebook
from sidelight.rig.mount import flip_hour_angle_deg
from sidelight.season.windows import SeasonTable, target_windows
from sidelight.targets.records import Target

DEFAULT_NIGHTS = 30
CURVE_STEP_MIN = 10.0
FULL_FRACTION, NEW_FRACTION = 0.98, 0.02


@dataclass(frozen=True)
class FilterReport:
    """A filter as the weights see it.

    extinction_mag_per_airmass : what the air takes in it. moonlight_factor : how much more the Moon brightens the sky
    in it than in V.
    """

    filter: str
    centre_nm: float
    bandwidth_nm: float
    extinction_mag_per_airmass: float
    moonlight_factor: float


@dataclass(frozen=True)
class FilterHoursReport:
    """One night of a target in one filter. moonless_hours : effective hours had there been no Moon.

    moon_takes_share : of them, 0 to 1.
    """

    filter: str
    effective_hours: float
    moonless_hours: float
    moon_takes_share: float


@dataclass(frozen=True)
class FilterWeightsReport:
    """Weights in one filter at the report's `times_utc`; null where the target is not usable."""

    filter: str
    weights: tuple[float | None, ...]


@dataclass(frozen=True)
class NightHoursReport:
    """One target in one night."""

    date: dt.date
    dark_hours: float
    moon_illuminated_fraction: float
    filters: tuple[FilterHoursReport, ...]


@dataclass(frozen=True)
class TargetLightReport:
    """One target: tonight in each filter, the weight through the night, the nights of the month.

    main_filter : the one its figures are counted in where one is asked. best_night : the night with most effective
    hours in it, null when there is none.
    """

    target: str
    main_filter: str
    sentence: str
    dark_hours: float
    filters: tuple[FilterHoursReport, ...]
    best_night: dt.date | None
    best_effective_hours: float
    weights: tuple[FilterWeightsReport, ...]
    nights: tuple[NightHoursReport, ...]


@dataclass(frozen=True)
class LightReport:
    """What hours are worth in the nights from `date` on; 1 effective hour is an hour at the moonless zenith here.

    moon : what the Moon takes of the night, over all targets, in each filter. integral_error_hours : the largest
    error that an effective-hours figure may have from its quadrature; the models behind the weight are good to 8 to
    23 % of the Moon's light. times_utc : of the weights.
    """

    notebook: str
    site: str
    time_zone: str
    zone: str
    date: dt.date
    night_count: int
    dark_hours: float
    moon_illuminated_fraction: float
    moon_up_hours: float
    sentence: str
    month_sentence: str
    sky_zenith_mag_arcsec2: float
    sky_uncertainty_mag: float
    sky_source: str
    extinction_mag_per_airmass: float
    filters: tuple[FilterReport, ...]
    moon: tuple[FilterHoursReport, ...]
    times_utc: tuple[dt.datetime, ...]
    targets: tuple[TargetLightReport, ...]
    integral_error_hours: float
    times_mjd: FloatArray = field(
        metadata={"json": False}, repr=False, compare=False, default_factory=lambda: np.empty(0)
    )


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
    table = target_windows(
        notebook.site,
        [one.ra_deg for one in targets],
        [one.dec_deg for one in targets],
        date,
        night_count,
        flip_hour_angle_deg(notebook.rig.mount),
    )
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
        sentence=_moon_sentence(table, hours, asked, 0),
        month_sentence=_month_sentence(table, hours, asked),
        sky_zenith_mag_arcsec2=sky.zenith_mag_arcsec2,
        sky_uncertainty_mag=sky.uncertainty_mag,
        sky_source=sky.source,
        extinction_mag_per_airmass=sky.extinction_mag_per_airmass,
        filters=tuple(_filter_report(notebook, one) for one in asked),
        moon=_together(hours, asked, 0),
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
        sentence=_target_sentence(nights, best, best_h, main),
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
        _hours_report(one, float(hours.effective_h[f, row, night]), float(hours.moonless_h[f, row, night]))
        for f, one in enumerate(asked)
    )


def _together(hours: FilterHours, asked: Sequence[Filter], night: int) -> tuple[FilterHoursReport, ...]:
    """Return a night in each filter, over all targets."""
    return tuple(
        _hours_report(one, float(hours.effective_h[f, :, night].sum()), float(hours.moonless_h[f, :, night].sum()))
        for f, one in enumerate(asked)
    )


def _hours_report(one: Filter, effective_h: float, moonless_h: float) -> FilterHoursReport:
    """Return hours with what the Moon takes of them."""
    share = float(moon_cost_share(np.array(effective_h), np.array(moonless_h)))
    return FilterHoursReport(one.name, effective_h, moonless_h, share)


def moon_name(illuminated_fraction: float) -> str:
    """Return a Moon in words: "a full Moon", "a Moon 63 % lit", "a new Moon"."""
    if illuminated_fraction >= FULL_FRACTION:
        return "a full Moon"
    if illuminated_fraction <= NEW_FRACTION:
        return "a new Moon"
    return f"a Moon {100 * illuminated_fraction:.0f} % lit"


def takes(costs: Sequence[FilterHoursReport]) -> str:
    """Return what the Moon takes as "78 % of this night for L, 24 % for Ha"."""
    first, *others = [f"{100 * one.moon_takes_share:.0f} %" for one in costs]
    words = [f"{first} of this night for {costs[0].filter}"]
    return ", ".join(words + [f"{share} for {one.filter}" for share, one in zip(others, costs[1:], strict=True)])


def _moon_sentence(table: SeasonTable, hours: FilterHours, asked: Sequence[Filter], night: int) -> str:
    """Say what the Moon costs in a night, over all targets."""
    costs = _together(hours, asked, night)
    moon = moon_name(float(table.moon_illuminated_fraction[night]))
    name = moon[0].upper() + moon[1:]
    if not len(table.darkness.dark.of(night)):
        return "It does not get dark by this notebook's twilight limit; the night is worth nothing."
    if not hours.effective_h.shape[1]:
        return NO_TARGETS
    if not any(one.moonless_hours > 0 for one in costs):
        return "No target is above your horizon and floor in the dark; the night is worth nothing."
    if not any(one.moon_takes_share >= 0.005 for one in costs):  # what rounds to 0 % is nothing
        return f"{name} takes nothing of this night."
    return f"{name} takes {takes(costs)}."


def _month_sentence(table: SeasonTable, hours: FilterHours, asked: Sequence[Filter]) -> str:
    """Say what the Moon costs in the month's worst night and in all."""
    effective, moonless = hours.effective_h.sum(axis=1), hours.moonless_h.sum(axis=1)
    if not np.any(moonless > 0):
        return ""
    cost = moon_cost_share(effective[0], moonless[0])
    worst = int(np.argmax(cost))
    if cost[worst] < 0.005:
        return f"In the {len(table.dates)} nights the Moon takes nothing."
    whole = moon_cost_share(effective.sum(axis=1), moonless.sum(axis=1))
    parts = ", ".join(f"{100 * share:.0f} % for {one.name}" for share, one in zip(whole, asked, strict=True))
    name = moon_name(float(table.moon_illuminated_fraction[worst]))
    return (
        f"On {table.dates[worst]} {name} takes {takes(_together(hours, asked, worst)).replace('this', 'that')}. "
        f"Of all {len(table.dates)} nights it takes {parts}."
    )


def _target_sentence(nights: Sequence[NightHoursReport], best: int, best_h: float, main: int) -> str:
    """Say what tonight is worth on a target and when its best night is."""
    if best_h <= 0:
        return f"not usable in these {len(nights)} nights."
    tonight = nights[0].filters[main]
    if best == 0:
        return f"tonight is its best night of these {len(nights)}: {best_h:.1f} effective hours in {tonight.filter}."
    worth = f"{tonight.effective_hours:.1f} effective hours of {nights[0].dark_hours:.1f} dark ones tonight"
    return f"{worth} in {tonight.filter}; best on {nights[best].date} with {best_h:.1f}."

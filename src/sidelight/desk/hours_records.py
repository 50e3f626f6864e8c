"""What a report on the worth of hours holds."""

import datetime as dt
from dataclasses import dataclass, field

import numpy as np

from sidelight.ground.types import FloatArray


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

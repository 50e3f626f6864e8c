"""What the drawings over time are made from: the year, the night, the horizon, the season, the campaign, curves.

Instants are UTC as Modified Julian Dates; a drawing that shows clock times is given the site's time zone.
Clock hours of the year's picture count from noon of the evening's date (21:30 is 9.5, 04:00 is 16.0) in the site's
own clock, so that a change of the clocks shows as what it is: a step.
Arrays are given as NumPy arrays; a value that is not finite leaves a gap in a curve.
"""

import datetime as dt
from dataclasses import dataclass, field

import numpy as np

from sidelight.ground.types import FloatArray

Hours = tuple[tuple[float, float], ...]
"""Spans (start, end) in hours."""


def _none() -> FloatArray:
    return np.empty(0)


@dataclass(frozen=True)
class YearNight:
    """One night of a target's year, in clock hours after noon.

    dark_h : when the Sun is below the limit. windows_h : when the target can be used.
    altitudes_deg : the target's altitude at the year's `clock_h`. moon_up_h : when the Moon is above the horizon.
    """

    date: dt.date
    dark_h: Hours
    windows_h: Hours
    altitudes_deg: FloatArray
    moon_up_h: Hours = ()
    moon_illuminated_fraction: float = 0.0


@dataclass(frozen=True)
class YearView:
    """A target's year: consecutive nights, and the clock hours at which their altitudes are given.

    today : the night that a line marks; marked_as : what is written before its date, "from" or "tonight".
    """

    title: str
    clock_h: FloatArray
    nights: tuple[YearNight, ...]
    today: dt.date | None = None
    floor_deg: float = 30.0
    verdict: str = ""
    marked_as: str = "from"


@dataclass(frozen=True)
class NightCurve:
    """A target's night: apparent altitude at the view's times, and the spans in which it can be used."""

    name: str
    altitude_deg: FloatArray
    usable_mjd: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class PlannedStretch:
    """A stretch of the plan: which target, from when to when, on which side of the meridian."""

    name: str
    start_mjd: float
    end_mjd: float
    side: str = ""


@dataclass(frozen=True)
class NightView:
    """A night: altitudes, twilight, Moon, plan and flips.

    times_mjd : of all curves. sun_altitude_deg, moon_altitude_deg : at these times, empty when not wanted.
    flips_mjd : (target, instant) pairs. twilight_limit_deg : below it the sky counts as dark.
    zone : the site's time zone, for the clock along the bottom. now_mjd : a line at the present.
    """

    title: str
    times_mjd: FloatArray
    curves: tuple[NightCurve, ...]
    zone: dt.tzinfo = dt.UTC
    sun_altitude_deg: FloatArray = field(default_factory=_none)
    moon_altitude_deg: FloatArray = field(default_factory=_none)
    moon_illuminated_fraction: float = 0.0
    moon_waxing: bool = True
    plan: tuple[PlannedStretch, ...] = ()
    flips_mjd: tuple[tuple[str, float], ...] = ()
    floor_deg: float = 30.0
    twilight_limit_deg: float = -18.0
    now_mjd: float | None = None


@dataclass(frozen=True)
class SkyTrack:
    """A target's path over the horizon: azimuths and altitudes at rising times, `labels` beside some points."""

    name: str
    azimuth_deg: FloatArray
    altitude_deg: FloatArray
    labels: tuple[str, ...] = ()


@dataclass(frozen=True)
class HorizonView:
    """The person's own horizon as a silhouette: measured points joined by straight lines, across north too."""

    title: str
    azimuth_deg: FloatArray
    altitude_deg: FloatArray
    floor_deg: float = 30.0
    tracks: tuple[SkyTrack, ...] = ()
    centre_azimuth_deg: float = 180.0


@dataclass(frozen=True)
class SeasonRow:
    """One target of the season's overview: dark hours of each night, and a few words at the row's end."""

    name: str
    hours_h: FloatArray
    note: str = ""


@dataclass(frozen=True)
class SeasonView:
    """Targets by nights; `hours_name`: what the hours are ("dark hours a night"). today, marked_as : as in a year."""

    title: str
    first_date: dt.date
    rows: tuple[SeasonRow, ...]
    today: dt.date | None = None
    hours_name: str = "dark hours a night"
    marked_as: str = "from"


@dataclass(frozen=True)
class CampaignStretch:
    """Hours planned for a target in one night."""

    date: dt.date
    hours_h: float


@dataclass(frozen=True)
class CampaignRow:
    """A target of the campaign; odds_fraction None: not simulated. last_call : the last night to start."""

    name: str
    stretches: tuple[CampaignStretch, ...]
    collected_h: float
    wanted_h: float
    odds_fraction: float | None = None
    last_call: dt.date | None = None


@dataclass(frozen=True)
class CampaignView:
    """Nights across, a row for each target. today, marked_as : as in a year."""

    title: str
    first_date: dt.date
    nights: int
    rows: tuple[CampaignRow, ...]
    today: dt.date | None = None
    marked_as: str = "from"


@dataclass(frozen=True)
class Series:
    """A curve with its label; low and high, when given, draw the band of its uncertainty."""

    name: str
    x: FloatArray
    y: FloatArray
    low: FloatArray = field(default_factory=_none)
    high: FloatArray = field(default_factory=_none)


@dataclass(frozen=True)
class Rule:
    """A straight line across the chart at one value of an axis, with its label."""

    axis: str
    at: float
    label: str


@dataclass(frozen=True)
class CurvesView:
    """Curves over one horizontal and one vertical axis.

    x_dates : x holds days as proleptic Gregorian ordinals (``date.toordinal()``) and is labelled with dates.
    x_zone : x holds instants as MJD and is labelled with the clock of this time zone.
    y_percent : y holds fractions and is labelled in per cent.
    """

    title: str
    x_name: str
    y_name: str
    series: tuple[Series, ...]
    rules: tuple[Rule, ...] = ()
    x_dates: bool = False
    x_log: bool = False
    x_zone: dt.tzinfo | None = None
    y_percent: bool = False
    y_from_zero: bool = True

"""The night as an object, named by the local date of its evening, and when it is dark."""

import datetime as dt
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Literal
from zoneinfo import ZoneInfo

import numpy as np

from sidelight.ground.types import FloatArray
from sidelight.sky.site import Site

Darkness = Literal["dark", "never_dark", "always_dark"]

_MJD_OF_ORDINAL_ZERO = -678576
"""MJD of a date is its ordinal (Python's day count) plus this."""


@dataclass(frozen=True)
class Night:
    """From one local mean solar noon to the next, 24 hours, whatever the clocks do.

    date : the local civil date of its evening. start_mjd, end_mjd : the two noons, UTC.
    """

    date: dt.date
    start_mjd: float
    end_mjd: float


@dataclass(frozen=True, eq=False)
class DuskDawn:
    """When a night is dark.

    kind : "dark" for a night with an edge, "never_dark" where the Sun stays above the limit, "always_dark" where it
    stays below it. dark : the dark spans, shape (n, 2) of MJD. dusk_mjd, dawn_mjd : the first and the last edge;
    None where there is none (a night that is dark from noon on has no dusk).
    """

    kind: Darkness
    dark: FloatArray = field(repr=False)
    dusk_mjd: float | None
    dawn_mjd: float | None


def night_of(site: Site, date: dt.date) -> Night:
    """Return the night whose evening falls on a local civil date.

    Its start is the local mean noon nearest to civil noon of that date, so that places by the date line, whose
    clocks run up to 14 hours ahead of Greenwich, name it as their people do. Clock changes make no difference.
    """
    noon = _noon_number(site, date)
    return Night(date, _mean_noon_mjd(site, noon), _mean_noon_mjd(site, noon + 1))


def nights(site: Site, first_date: dt.date, count: int) -> tuple[Night, ...]:
    """Return `count` nights in a row from a first date; each ends at the instant at which the next begins."""
    return tuple(night_of(site, first_date + dt.timedelta(days=day)) for day in range(count))


def evening_date(site: Site, mjd: float) -> dt.date:
    """Return the date of the night that an instant belongs to; noon itself begins the new night."""
    day = int(np.floor(mjd + site.longitude_deg / 360.0 - 0.5))
    guess = dt.date.fromordinal(day - _MJD_OF_ORDINAL_ZERO)
    for shift in (0, 1, -1):
        night = night_of(site, guess + dt.timedelta(days=shift))
        if night.start_mjd <= mjd < night.end_mjd:
            return night.date
    return guess


def dark_spans(site: Site, night: Night, sun_limit_deg: float | None = None) -> FloatArray:
    """Return the spans of a night in which the Sun's centre is below a true altitude, shape (n, 2) of MJD.

    sun_limit_deg : the site's own twilight limit by default. A night has one span, or none, or by a pole two.
    Edges within 1 s of DE421's where the Sun crosses steeply.
    Spans of nights in the polar night run from noon to noon.
    """
    return dusk_dawn(site, night, sun_limit_deg).dark


def dusk_dawn(site: Site, night: Night, sun_limit_deg: float | None = None) -> DuskDawn:
    """Return when a night is dark, or that it never or always is; the limit as in `dark_spans`."""
    from sidelight.sky.sun import sun_below

    limit_deg = site.twilight_deg if sun_limit_deg is None else sun_limit_deg
    dark = sun_below(site, np.array([night.start_mjd]), np.array([night.end_mjd]), limit_deg).of(0)
    return dusk_dawn_of(dark, night.start_mjd, night.end_mjd)


def dusk_dawn_of(dark: FloatArray, start_mjd: float, end_mjd: float) -> DuskDawn:
    """Return the stated outcome for a night's dark spans."""
    if not len(dark):
        return DuskDawn("never_dark", dark, None, None)
    starts_dark, ends_dark = bool(dark[0, 0] <= start_mjd), bool(dark[-1, 1] >= end_mjd)
    if starts_dark and ends_dark and len(dark) == 1:
        return DuskDawn("always_dark", dark, None, None)
    dusks = dark[1:, 0] if starts_dark else dark[:, 0]
    dawns = dark[:-1, 1] if ends_dark else dark[:, 1]
    return DuskDawn("dark", dark, float(dusks[0]) if len(dusks) else None, float(dawns[-1]) if len(dawns) else None)


def _mean_noon_mjd(site: Site, number: int) -> float:
    """Return the instant of the local mean noon with this day number."""
    return number + (0.5 - site.longitude_deg / 360.0)


@lru_cache(maxsize=32)
def _zone(name: str) -> ZoneInfo:
    """Return a time zone, kept; a name that does not exist is found by `check_site` before."""
    return ZoneInfo(name)


def _noon_number(site: Site, date: dt.date) -> int:
    """Return the day number (MJD of its date at Greenwich) of the mean noon nearest to civil noon of a date.

    The zone's standard time decides, without summer time, or else a place half a day from its zone's meridian
    (a polar station on a far country's time) would skip a night when the clocks change.
    """
    midday = dt.datetime.combine(date, dt.time(12), tzinfo=_zone(site.time_zone))
    standard = (midday.utcoffset() or dt.timedelta()) - (midday.dst() or dt.timedelta())
    ahead_days = site.longitude_deg / 360.0 - standard / dt.timedelta(days=1)
    return date.toordinal() + _MJD_OF_ORDINAL_ZERO + int(np.floor(round(ahead_days, 9) + 0.5))

"""Scales and ticks: straight and logarithmic scales, round numbers, clock times, months."""

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sidelight.ground.clock import clock_time
from sidelight.ground.types import FloatArray, Floats

_MJD_EPOCH = dt.datetime(1858, 11, 17, tzinfo=dt.UTC)
_MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]


@dataclass(frozen=True)
class Scale:
    """A straight map from values to picture units; with `log`, straight in the logarithm."""

    low: float
    high: float
    start: float
    end: float
    log: bool = False

    def at(self, value: float) -> float:
        """Return the place of one value; plain arithmetic, because charts ask for thousands of single places."""
        low, high = self.low, self.high
        if self.log:
            if value <= 0:
                return -math.inf if value == 0 else math.nan
            value, low, high = math.log10(value), math.log10(low), math.log10(high)
        share = (value - low) / (high - low) if high != low else 0.0
        return self.start + share * (self.end - self.start)

    def all(self, values: Floats) -> FloatArray:
        """Return the places of many values; a value the scale cannot hold becomes not finite."""
        given = np.asarray(values, dtype=np.float64)
        low, high = self.low, self.high
        if self.log:
            with np.errstate(divide="ignore", invalid="ignore"):
                given = np.log10(given)
            low, high = math.log10(low), math.log10(high)
        width = high - low
        share = (given - low) / width if width else np.zeros_like(given)
        return np.asarray(self.start + share * (self.end - self.start))


@dataclass(frozen=True)
class Tick:
    """A mark on an axis; an empty label is a mark without writing."""

    at: float
    label: str = ""


def round_step(span: float, most: int) -> float:
    """Return the step of 1, 2 or 5 times a power of ten that cuts a span into at most `most` parts."""
    if not (span > 0 and math.isfinite(span)):
        return 1.0
    least = span / max(1, most)
    power = 10.0 ** math.floor(math.log10(least))
    for factor in (1.0, 2.0, 5.0, 10.0):
        if factor * power >= least * (1 - 1e-9):
            return factor * power
    return 10.0 * power


def plain_number(value: float) -> str:
    """Return a number as people write it: no exponent, a true minus sign, thin groups of thousands."""
    text = f"{value:,.10g}" if abs(value) < 1e9 else f"{value:.3g}"
    if "." not in text and "e" not in text:
        text = text.replace(",", "\u202f")
    return text.replace("-", "−")


def number_ticks(low: float, high: float, most: int = 6, *, unit: str = "") -> tuple[Tick, ...]:
    """Return ticks at round numbers from low to high."""
    step = round_step(high - low, most)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    return tuple(
        Tick(count * step, plain_number(round(count * step, decimals)) + unit) for count in range(first, last + 1)
    )


def log_ticks(low: float, high: float) -> tuple[Tick, ...]:
    """Return ticks at 1, 2 and 5 times the powers of ten from low to high."""
    powers = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    values = [factor * 10.0**power for power in powers for factor in (1, 2, 5)]
    inside = [value for value in values if low * (1 - 1e-9) <= value <= high * (1 + 1e-9)]
    return tuple(Tick(value, plain_number(float(f"{value:.6g}"))) for value in inside)


def moment(mjd: float, zone: dt.tzinfo = dt.UTC) -> dt.datetime:
    """Return the instant of a UTC Modified Julian Date in a zone, to the nearest second."""
    return (_MJD_EPOCH + dt.timedelta(seconds=round(mjd * 86400.0))).astimezone(zone)


def instant_mjd(when: dt.datetime) -> float:
    """Return the UTC Modified Julian Date of an aware moment."""
    return (when - _MJD_EPOCH).total_seconds() / 86400.0


def clock(mjd: float, zone: dt.tzinfo = dt.UTC) -> str:
    """Return the local clock time to the nearest minute, "22:41"."""
    return clock_time(moment(mjd), zone)


def hour_ticks(start_mjd: float, end_mjd: float, zone: dt.tzinfo = dt.UTC, *, every_h: int = 1) -> tuple[Tick, ...]:
    """Return a tick at each full local hour, labelled where it divides by `every_h`.

    Steps in UTC, so that an hour that the clocks repeat has its two ticks and one they skip has none.
    """
    first = moment(start_mjd, zone)
    local = first.replace(minute=0, second=0, microsecond=0)
    at = instant_mjd(local)
    while at < start_mjd - 1e-9:
        at += 1 / 24
    ticks = []
    while at <= end_mjd + 1e-9:
        here = moment(at, zone)
        if here.minute:  # after a change of half an hour: back to the local full hour
            at += (60 - here.minute) / 1440
            continue
        ticks.append(Tick(at, here.strftime("%H:%M") if here.hour % every_h == 0 else ""))
        at += 1 / 24
    return tuple(ticks)


def month_starts(first: dt.date, count_days: int) -> tuple[tuple[int, str], ...]:
    """Return (day index, month name) of each first of a month within the days."""
    starts = []
    for index in range(count_days):
        day = first + dt.timedelta(days=index)
        if day.day == 1:
            starts.append((index, _MONTHS[day.month - 1]))
    return tuple(starts)


def short_date(day: dt.date, *, year: bool = False) -> str:
    """Return "6 Mar" or "6 Mar 2027"; the month names are the pictures' own, whatever the machine's locale."""
    text = f"{day.day} {_MONTHS[day.month - 1]}"
    return f"{text} {day.year}" if year else text


def date_ticks(first_ordinal: float, last_ordinal: float, most: int = 8) -> tuple[Tick, ...]:
    """Return ticks on days, given as ordinals: firsts of months, or every few days over short spans."""
    first = max(1, math.ceil(first_ordinal))
    last = min(dt.date.max.toordinal(), math.floor(last_ordinal))
    if last < first:
        return ()
    days = [dt.date.fromordinal(ordinal) for ordinal in range(first, last + 1)]
    firsts = [day for day in days if day.day == 1]
    if len(firsts) >= 3:
        every = math.ceil(len(firsts) / most)
        chosen: Sequence[dt.date] = [day for day in firsts if (day.year * 12 + day.month - 1) % every == 0]
        return tuple(Tick(day.toordinal(), _MONTHS[day.month - 1]) for day in chosen)
    every = math.ceil(len(days) / most)
    return tuple(Tick(day.toordinal(), short_date(day)) for day in days[::every])

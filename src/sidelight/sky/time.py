"""Instants: UTC as Modified Julian Date, and Terrestrial Time."""

import datetime as dt
from functools import lru_cache

import numpy as np

from sidelight.ground.errors import BadInput, Problem
from sidelight.ground.types import FloatArray, Floats

MJD_ZERO = 2400000.5
_EPOCH = dt.datetime(1858, 11, 17, tzinfo=dt.UTC)
_TT_MINUS_TAI_S = 32.184
_DAY = dt.timedelta(days=1)


def mjd_from_datetime(instant: dt.datetime) -> float:
    """Return the Modified Julian Date (UTC) of an aware datetime.

    Exact to half a microsecond, what float64 holds there; a leap second has no label of its own.
    Raises BadInput for a datetime without a time zone.
    """
    if instant.tzinfo is None or instant.utcoffset() is None:
        raise BadInput(
            Problem(
                f"The time {instant.isoformat()} has no time zone.",
                expected="a time with its zone, such as 2027-03-06T21:15:00Z",
                suggestion='Add "Z" for UTC or an offset such as "+01:00".',
            )
        )
    return (instant - _EPOCH) / _DAY


def datetime_from_mjd(mjd: float) -> dt.datetime:
    """Return the UTC datetime of a Modified Julian Date, rounded to a microsecond."""
    return _EPOCH + dt.timedelta(days=float(mjd))


@lru_cache(maxsize=1)
def _leap_seconds() -> tuple[FloatArray, FloatArray]:
    """Return the dates (MJD) on which TAI−UTC changed since 1972, and its values in seconds."""
    import erfa

    table = erfa.leap_seconds.get()
    table = table[table["year"] >= 1972]
    days = [dt.date(int(row["year"]), int(row["month"]), 1).toordinal() for row in table]
    return np.asarray(days, dtype=np.float64) - _EPOCH.date().toordinal(), np.asarray(table["tai_utc"], dtype=float)


def tt_mjd(utc_mjd: Floats) -> FloatArray:
    """Return Terrestrial Time as MJD for UTC as MJD; any shape.

    Leap seconds come from ERFA's own table, read directly: nothing is fetched and no date is refused. After the
    table's last entry its value is kept, an error of one second for each leap second since: it moves the Moon by
    0.5″ and the Sun by 0.04″. Before 1972 the first value is kept.
    Source: IERS Bulletin C by way of ERFA.
    """
    utc = np.asarray(utc_mjd, dtype=np.float64)
    since, tai_minus_utc = _leap_seconds()
    row = np.maximum(np.searchsorted(since, utc, side="right") - 1, 0)
    return np.asarray(utc + (tai_minus_utc[row] + _TT_MINUS_TAI_S) / 86400.0)

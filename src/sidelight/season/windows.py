"""The season's windows: when each target stands above skyline and floor in the dark, night by night."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sidelight.ground.angles import unit_vector
from sidelight.ground.errors import BadInput, Problem
from sidelight.ground.types import BoolArray, FloatArray, Floats
from sidelight.season.cuts import Windows, windows
from sidelight.season.measures import extreme_altitudes_deg, west_deg
from sidelight.season.stretches import SKY_TURN_DEG_PER_DAY, DarkStretches, dark_stretches
from sidelight.sky.crossings import usable_sky
from sidelight.sky.darkness import DarkNights, year_of_darkness
from sidelight.sky.night import nights
from sidelight.sky.site import Site
from sidelight.sky.sun import sun_below

_BLOCK = 100_000
"""Objects times nights worked on together: their tables stay in the processor's cache."""
_H_PER_DEG = 24.0 / SKY_TURN_DEG_PER_DAY
_Singles = NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class SeasonTable:
    """Windows of n targets in t nights, w windows in all.

    darkness : the nights, their dark spans and the Moon. flip_hour_angle_deg : where east ends.
    sun_limit_deg : the Sun's altitude below which it is dark.
    offsets : windows of target i in night j are rows offsets[i * t + j] to offsets[i * t + j + 1], n * t + 1 of them.
    start_mjd, end_mjd : shape (w,), sorted by target and time.
    Per target and night, shape (n, t), single precision (good to a millisecond and to 0.00001°): dark_hours_h; of
    these, hours_east_h and hours_west_h of the flip; max_altitude_deg, min_altitude_deg: highest and lowest apparent
    altitude within the windows, 0 in a night without a window (`has_window` tells).
    """

    darkness: DarkNights = field(repr=False)
    flip_hour_angle_deg: float
    sun_limit_deg: float
    offsets: NDArray[np.int32] = field(repr=False)
    start_mjd: FloatArray = field(repr=False)
    end_mjd: FloatArray = field(repr=False)
    dark_hours_h: _Singles = field(repr=False)
    hours_east_h: _Singles = field(repr=False)
    hours_west_h: _Singles = field(repr=False)
    max_altitude_deg: _Singles = field(repr=False)
    min_altitude_deg: _Singles = field(repr=False)

    @property
    def dates(self) -> tuple[dt.date, ...]:
        """The nights by the date of their evening, t of them."""
        return tuple(night.date for night in self.darkness.nights)

    @property
    def has_window(self) -> BoolArray:
        """Whether a target is usable in a night at all, shape (n, t)."""
        return self.dark_hours_h > 0

    @property
    def dark_h(self) -> FloatArray:
        """Dark hours of each night whatever the target, shape (t,)."""
        return self.darkness.dark_h

    @property
    def moon_up_h(self) -> FloatArray:
        """Hours of each night in which it is dark and the Moon is up, shape (t,)."""
        return self.darkness.moon_up_dark_h

    @property
    def moon_illuminated_fraction(self) -> FloatArray:
        """Illuminated fraction of the Moon's disc at each night's middle, shape (t,)."""
        return self.darkness.moon_illuminated_fraction

    def windows(self, target: int, night: int) -> FloatArray:
        """Return the windows of one target in one night, both numbered from 0, shape (k, 2) of MJD."""
        place = target * len(self.darkness.nights) + night
        rows = slice(int(self.offsets[place]), int(self.offsets[place + 1]))
        return np.column_stack([self.start_mjd[rows], self.end_mjd[rows]])


def target_windows(
    site: Site,
    targets_ra_deg: Floats,
    targets_dec_deg: Floats,
    first_date: dt.date,
    count: int = 365,
    flip_hour_angle_deg: float | None = 0.0,
    sun_limit_deg: float | None = None,
) -> SeasonTable:
    """Return when targets stand above skyline and floor in the dark, in each of `count` nights from a date.

    Parameters
    ----------
    targets_ra_deg, targets_dec_deg : ICRS, shape (n,) or numbers. Proper motion is not known here.
    first_date : the local date of the first evening; count : nights, 0 or more.
    flip_hour_angle_deg : where east ends and west begins, in (-180, 180); None, for a mount that never flips: the
    meridian. sun_limit_deg : the site's own twilight limit by default.

    Raises
    ------
    BadInput : places that are not finite or out of range or do not pair up, a negative count, a flip out of range.

    Notes
    -----
    Window edges are crossings, not steps of a grid. Against a scan with ERFA's full apparent place of each instant
    every edge is within 10 s, or, where an object grazes the edge, the altitude there is right to 2″
    (tests/reference/test_season_scan.py); of 6,500 edges half were within 0.01 s and all within 0.2 s. UT1−UTC is
    taken as 0 (0.9 s).
    """
    directions = _directions(targets_ra_deg, targets_dec_deg)
    _check(count, flip_hour_angle_deg)
    flip_deg = 0.0 if flip_hour_angle_deg is None else flip_hour_angle_deg
    darkness = year_of_darkness(site, first_date, count, sun_limit_deg)
    stretches = dark_stretches(site, darkness.dark)
    columns = [np.zeros((len(directions), count), dtype=np.float32) for _ in range(5)]
    windows_count = np.zeros((len(directions), count), dtype=np.int32)
    starts, ends = [np.empty(0)], [np.empty(0)]
    for rows, found in _blocks(site, stretches, directions):
        windows_count[rows], *measured = _measured(site, stretches, found, flip_deg, windows_count[rows].shape)
        for column, values in zip(columns, measured, strict=True):
            column[rows] = values
        begin = stretches.start_mjd[found.stretch]
        starts.append(begin + found.start_deg / SKY_TURN_DEG_PER_DAY)
        ends.append(begin + found.end_deg / SKY_TURN_DEG_PER_DAY)
    offsets = np.zeros(windows_count.size + 1, dtype=np.int32)
    np.cumsum(windows_count, out=offsets[1:])
    limit_deg = site.twilight_deg if sun_limit_deg is None else sun_limit_deg
    return SeasonTable(darkness, flip_deg, limit_deg, offsets, np.concatenate(starts), np.concatenate(ends), *columns)


def usable_hours_h(
    site: Site,
    targets_ra_deg: Floats,
    targets_dec_deg: Floats,
    first_date: dt.date,
    count: int = 365,
    sun_limit_deg: float | None = None,
) -> FloatArray:
    """Return the dark hours of targets in each night and nothing else, shape (n, count); as in `target_windows`."""
    directions = _directions(targets_ra_deg, targets_dec_deg)
    _check(count, None)
    run = nights(site, first_date, count)
    limit_deg = site.twilight_deg if sun_limit_deg is None else sun_limit_deg
    start, end = np.array([one.start_mjd for one in run]), np.array([one.end_mjd for one in run])
    stretches = dark_stretches(site, sun_below(site, start, end, limit_deg))
    hours = np.zeros((len(directions), count))
    for rows, found in _blocks(site, stretches, directions):
        place = found.row * count + stretches.night[found.stretch]
        hours[rows] = np.bincount(place, found.end_deg - found.start_deg, hours[rows].size).reshape(-1, count)
    return hours * _H_PER_DEG


def _blocks(site: Site, stretches: DarkStretches, directions: FloatArray) -> Iterator[tuple[slice, Windows]]:
    """Yield the windows of some objects at a time, with the rows that they are."""
    if not len(stretches.night):
        return
    sky = usable_sky(site)
    size = max(1, _BLOCK // len(stretches.night))
    for first in range(0, len(directions), size):
        rows = slice(first, min(first + size, len(directions)))
        yield rows, windows(sky, stretches, directions[rows])


def _measured(
    site: Site, stretches: DarkStretches, found: Windows, flip_deg: float, shape: tuple[int, ...]
) -> Iterator[NDArray[np.generic]]:
    """Yield tables of this shape: number of windows, dark hours, hours east, hours west, highest, lowest altitude."""
    size = shape[0] * shape[1]
    place = found.row * shape[1] + stretches.night[found.stretch]
    length = (found.end_deg - found.start_deg) * _H_PER_DEG
    west = west_deg(found, flip_deg) * _H_PER_DEG
    yield np.bincount(place, minlength=size).reshape(shape)
    for hours in (length, length - west, west):
        yield np.bincount(place, hours, size).reshape(shape)
    first = np.flatnonzero(np.diff(place, prepend=-1))
    for altitude in extreme_altitudes_deg(found, first, site) if len(first) else (np.empty(0), np.empty(0)):
        table = np.zeros(size)
        table[place[first]] = altitude
        yield table.reshape(shape)


def _directions(ra_deg: Floats, dec_deg: Floats) -> FloatArray:
    """Return unit vectors, shape (n, 3), or refuse."""
    ra = np.atleast_1d(np.asarray(ra_deg, dtype=np.float64))
    dec = np.atleast_1d(np.asarray(dec_deg, dtype=np.float64))
    if ra.shape != dec.shape or ra.ndim != 1:
        raise BadInput(
            Problem(
                f"{ra.size} right ascensions do not pair with {dec.size} declinations.",
                expected="two lists of one length",
            )
        )
    bad = np.flatnonzero(~(np.isfinite(ra) & (np.abs(dec) <= 90.0)))
    if len(bad):
        raise BadInput(
            Problem(
                f"Target {row + 1} stands at right ascension {ra[row]:g}°, declination {dec[row]:g}°.",
                expected="finite degrees, declination -90 to 90",
            )
            for row in bad.tolist()
        )
    return unit_vector(ra, dec)


def _check(count: int, flip_hour_angle_deg: float | None) -> None:
    """Refuse a number of nights or a flip that make no sense."""
    if count < 0:
        raise BadInput(Problem(f"{count} nights cannot be looked at.", key="count", expected="0 or more"))
    if flip_hour_angle_deg is not None and not -180.0 < flip_hour_angle_deg < 180.0:
        raise BadInput(
            Problem(
                f"A flip at {flip_hour_angle_deg:g}° of hour angle is out of range.",
                key="flip_hour_angle_deg",
                expected="between -180 and 180 degrees; 15 degrees are an hour past the meridian",
            )
        )

"""The sky's frame at an instant: precession, nutation, the Earth's motion, sidereal time.

Nutation and the Earth's orbit are long series (80 µs an instant) but smooth. Where many instants are asked for,
they are computed at evenly spaced nodes and interpolated; where few, at the instants themselves.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sidelight.ground.angles import wrap_360
from sidelight.ground.types import FloatArray, Floats
from sidelight.sky.time import MJD_ZERO, tt_mjd

Ephemeris = Callable[[FloatArray], FloatArray]
"""A function from TT as MJD, shape (n,), to rows of shape (n, m)."""

C_AU_PER_DAY = 173.14463267424031
"""Speed of light (exact) over the astronomical unit (exact): 299792458 m/s, 149597870700 m."""

_POINTS = np.arange(-2.0, 4.0)
_DAY_STEP_DAYS = 1.0
_NODES_WORTH_AN_INSTANT = 4
"""Nodes are kept and asked for again, so that up to four of them for an instant are still less work."""
_BLOCK = 16
_MOST_BLOCKS = 2048
_KEPT: dict[tuple[Ephemeris, float, int], FloatArray] = {}
_TO_DATE, _ORIGINS, _SUN = slice(0, 9), slice(9, 10), slice(10, 13)
_HELIOCENTRIC, _VELOCITY = slice(13, 16), slice(16, 19)


@dataclass(frozen=True, eq=False)
class SkyFrame:
    """How the sky stands at each of some instants; every field has the instants' shape in front.

    to_date : (..., 3, 3), turns a GCRS direction into the true equator and equinox of date.
    earth_au : (..., 3), the Earth's place from the Sun (ICRS axes).
    earth_velocity_c : (..., 3), barycentric velocity as a share of the speed of light.
    greenwich_deg : Greenwich apparent sidereal time, UT1 = UTC.
    """

    to_date: FloatArray
    earth_au: FloatArray
    earth_velocity_c: FloatArray
    greenwich_deg: FloatArray


def sky_frame(mjd: Floats) -> SkyFrame:
    """Return the frame of date for instants (UTC, MJD) of any shape.

    IAU 2006/2000A precession-nutation and the Earth ephemeris of ERFA (epv00). Interpolation between nodes adds less
    than 0.1 milliarcsecond to the frame and 0.1 km to the Earth's place.
    """
    utc = np.asarray(mjd, dtype=np.float64)
    tt = tt_mjd(utc)
    return SkyFrame(
        to_date=to_date_matrix(tt),
        earth_au=earth_au(tt),
        earth_velocity_c=through_nodes(_day_rows, tt, _DAY_STEP_DAYS, _VELOCITY),
        greenwich_deg=greenwich_deg(utc),
    )


def greenwich_deg(mjd: Floats) -> FloatArray:
    """Return Greenwich apparent sidereal time, [0, 360) degrees, with UT1 = UTC; any shape."""
    import erfa

    utc = np.asarray(mjd, dtype=np.float64)
    origins = through_nodes(_day_rows, tt_mjd(utc), _DAY_STEP_DAYS, _ORIGINS)[..., 0]
    return wrap_360(np.degrees(erfa.era00(MJD_ZERO, utc) - origins))


def sidereal_deg(mjd: Floats, longitude_deg: Floats) -> FloatArray:
    """Return the local apparent sidereal time in degrees, [0, 360); broadcasts.

    IAU 2006/2000A (ERFA) with UT1−UTC taken as 0: that is the largest error, up to 0.9 s of time or 0.004°; against
    ERFA itself with the same UT1 it is good to 0.1 milliarcsecond. Polar motion (0.5″) is left out.
    """
    return wrap_360(greenwich_deg(mjd) + np.asarray(longitude_deg, dtype=np.float64))


def to_date_matrix(tt: FloatArray) -> FloatArray:
    """Return the matrices from GCRS to the true equator and equinox of date, shape (..., 3, 3), for TT as MJD."""
    return through_nodes(_day_rows, tt, _DAY_STEP_DAYS, _TO_DATE).reshape((*np.shape(tt), 3, 3))


def earth_au(tt: FloatArray) -> FloatArray:
    """Return the Earth's place from the Sun (ICRS axes, au), shape (..., 3), for TT as MJD."""
    return through_nodes(_day_rows, tt, _DAY_STEP_DAYS, _HELIOCENTRIC)


def sun_of_date(tt: FloatArray) -> FloatArray:
    """Return the Sun's apparent unit vectors of date (true equator and equinox), shape (..., 3), for TT as MJD."""
    return through_nodes(_day_rows, tt, _DAY_STEP_DAYS, _SUN)


def _day_rows(tt: FloatArray) -> FloatArray:
    """Return rows of all that changes slowly: matrix to date, equation of the origins, Sun, Earth."""
    import erfa

    matrix = erfa.pnm06a(MJD_ZERO, tt)
    x, y = erfa.bpn2xy(matrix)
    origins = erfa.eors(matrix, erfa.s06(MJD_ZERO, tt, x, y))
    # the bare function: the wrapped one warns from 2100 on, a little past which nodes for 2099 reach
    heliocentric, barycentric, _ = erfa.ufunc.epv00(MJD_ZERO, tt)
    place, velocity_c = heliocentric["p"], barycentric["v"] / C_AU_PER_DAY
    distance = np.sqrt(np.sum(place**2, axis=-1))
    slowing = np.sqrt(1.0 - np.sum(velocity_c**2, axis=-1))
    # The Sun itself moves 0.01″ about the barycentre while its light travels: left out
    sun = erfa.rxp(matrix, erfa.ab(-place / distance[..., None], velocity_c, distance, slowing))
    return np.column_stack([matrix.reshape(-1, 9), origins, sun, place, velocity_c])


def through_nodes(function: Ephemeris, tt: FloatArray, step_days: float, columns: slice = slice(None)) -> FloatArray:
    """Return columns of `function` at instants of any shape, (*tt.shape, m), by nodes where that is less work.

    Six-point Lagrange interpolation, whose error is 0.005 (2π step / period)⁶ of a wave's amplitude.
    """
    flat = np.asarray(tt, dtype=np.float64).ravel()
    if not len(flat):
        return np.zeros((*np.shape(tt), function(np.array([51544.5]))[:, columns].shape[-1]))
    at = flat / step_days
    first, last = int(np.floor(at.min())) - 2, int(np.floor(at.max())) + 3
    if len(flat) * _NODES_WORTH_AN_INSTANT < last - first + 1:
        values = function(flat)[:, columns]
    else:
        begin, nodes = _nodes(function, step_days, first, last)
        values = _interpolate(nodes[:, columns], at - begin)
    return values.reshape((*np.shape(tt), values.shape[-1]))


def _nodes(function: Ephemeris, step_days: float, first: int, last: int) -> tuple[int, FloatArray]:
    """Return nodes that reach from `first` to `last` at least, and the number of the first one among them.

    They are made in blocks and kept, because one year's nights are asked for again and again.
    """
    blocks = range(first // _BLOCK, last // _BLOCK + 1)
    kept = {block: _KEPT.get((function, step_days, block)) for block in blocks}
    missing = np.array([block for block in blocks if kept[block] is None])
    if len(missing):
        numbers = missing[:, None] * _BLOCK + np.arange(_BLOCK)
        at = np.asarray(numbers.ravel() * step_days, dtype=np.float64)
        made = function(at).reshape(len(missing), _BLOCK, -1)
        if len(_KEPT) + len(missing) > _MOST_BLOCKS:
            _KEPT.clear()
        for block, rows in zip(missing.tolist(), made, strict=True):
            kept[block] = _KEPT[function, step_days, block] = rows
    return blocks[0] * _BLOCK, np.concatenate([rows for rows in kept.values() if rows is not None])


def _interpolate(nodes: FloatArray, at: FloatArray) -> FloatArray:
    """Return the values at fractional node numbers `at`, shape (n,), by six-point Lagrange interpolation."""
    cell = np.floor(at).astype(np.int64)
    fraction = at - cell
    total = np.zeros((len(at), nodes.shape[1]))
    for point in _POINTS:
        weight = np.ones(len(at))
        for other in _POINTS:
            if other != point:
                weight = weight * (fraction - other) / (point - other)
        total += weight[:, None] * nodes[cell + int(point)]
    return total

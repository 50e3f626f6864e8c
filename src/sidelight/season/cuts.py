"""From arcs of hour angle to windows in the dark: each night's stretch of turning sky laid over an object's arcs."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from sidelight.ground.types import FloatArray, IntArray
from sidelight.season.stretches import DarkStretches
from sidelight.season.yearly_arcs import YearlyArcs, yearly_arcs
from sidelight.sky.crossings import UsableSky


@dataclass(frozen=True, eq=False)
class Windows:
    """Windows of n objects in s dark stretches, w of them, sorted by object, stretch and time.

    row, stretch : whose and when, shape (w,). start_deg, end_deg : how far the sky has turned since the
    stretch began. dusk_hour_angle_deg : the object's hour angle when the stretch begins, not wrapped.
    sin_dec : sine of its declination that night.
    """

    row: IntArray
    stretch: IntArray
    start_deg: FloatArray
    end_deg: FloatArray
    dusk_hour_angle_deg: FloatArray
    sin_dec: FloatArray


def windows(sky: UsableSky, stretches: DarkStretches, icrs_directions: FloatArray) -> Windows:
    """Return when objects, unit vectors of shape (n, 3), are usable in each dark stretch."""
    ra_deg, sin_dec = stretches.places(icrs_directions)
    count = ra_deg.shape[1]
    dusk = stretches.sidereal_deg - ra_deg
    arcs = yearly_arcs(sky, sin_dec.min(axis=1), sin_dec.max(axis=1))
    parts = [
        *_never_setting(arcs, stretches),
        *_fitted(arcs, stretches, dusk, sin_dec),
        *_night_by_night(arcs, sky, stretches, dusk, sin_dec),
    ]
    place = np.concatenate([part[0] for part in parts])
    start = np.concatenate([part[1] for part in parts])
    end = np.concatenate([part[2] for part in parts])
    # place and start in one number: a stretch is shorter than 400°
    order = np.argsort(place * 400.0 + start)
    place = place[order]
    return Windows(
        row=place // count,
        stretch=place % count,
        start_deg=start[order],
        end_deg=end[order],
        dusk_hour_angle_deg=dusk.ravel()[place],
        sin_dec=sin_dec.ravel()[place],
    )


_Part = tuple[IntArray, FloatArray, FloatArray]
"""Windows as (place in the flat table of objects by stretches, start_deg, end_deg)."""


def _never_setting(arcs: YearlyArcs, stretches: DarkStretches) -> Iterator[_Part]:
    """Yield the windows of objects that are usable all night."""
    rows, count = np.flatnonzero(arcs.never_sets), len(stretches.night)
    place = (rows[:, None] * count + np.arange(count)).ravel()
    length = np.tile(stretches.length_deg, len(rows))
    yield place, np.zeros(len(place)), length


def _fitted(arcs: YearlyArcs, stretches: DarkStretches, dusk: FloatArray, sin_dec: FloatArray) -> Iterator[_Part]:
    """Yield the windows of objects with fitted arcs: the first arc of all of them, then the second, ..."""
    count = len(stretches.night)
    for number in range(int(np.max(arcs.number, initial=-1)) + 1):
        chosen = np.flatnonzero(arcs.number == number)
        rows = arcs.owner[chosen]
        drift = sin_dec[rows] - arcs.middle_sin_dec[rows, None]
        start = _parabola(arcs.start_deg[chosen], drift)
        width = _parabola(arcs.width_deg[chosen], drift)
        for index, begin, end in _cut(start - dusk[rows], width, stretches.length_deg):
            yield rows[index // count] * count + index % count, begin, end


def _night_by_night(
    arcs: YearlyArcs, sky: UsableSky, stretches: DarkStretches, dusk: FloatArray, sin_dec: FloatArray
) -> Iterator[_Part]:
    """Yield the windows of objects whose arcs are computed for each night."""
    rows, count = np.flatnonzero(arcs.each_night), len(stretches.night)
    nightly = sky.arcs(sin_dec[rows].ravel())
    place = np.repeat((rows[:, None] * count + np.arange(count)).ravel(), np.diff(nightly.offsets))
    width = nightly.end_deg - nightly.start_deg
    length = stretches.length_deg[place % count]
    whole = width >= 360.0
    yield place[whole], np.zeros(int(whole.sum())), length[whole]
    part = np.flatnonzero(~whole)
    place, length = place[part], length[part]
    for index, begin, end in _cut(nightly.start_deg[part] - dusk.ravel()[place], width[part], length):
        yield place[index], begin, end


def _cut(start: FloatArray, width: FloatArray, length: FloatArray) -> Iterator[_Part]:
    """Yield what arcs cover of a stretch that begins at 0, as (flat index, start, end), degrees.

    An arc comes round once a turn: it may have begun before the stretch, begin within it, and in the 24 hours of a
    polar night begin a second time within the last degree.
    """
    first = start - 360.0 * np.floor(start * (1.0 / 360.0))
    longest = float(np.max(length, initial=0.0))
    for turn in (-360.0, 0.0) if longest <= 360.0 else (-360.0, 0.0, 360.0):
        begin = np.maximum(first + turn, 0.0)
        end = np.minimum(first + (width + turn), length)
        index = np.flatnonzero(end > begin)
        yield index, begin.ravel()[index], end.ravel()[index]


def _parabola(coefficients: FloatArray, x: FloatArray) -> FloatArray:
    """Return the values, shape (a, s), of parabolas (a, 3) at x (a, s)."""
    c0, c1, c2 = (coefficients[:, power, None] for power in range(3))
    return np.asarray((c2 * x + c1) * x + c0)

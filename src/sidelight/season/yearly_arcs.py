"""Arcs of hour angle through a year: an object's declination drifts by less than 0.02°, and its arcs follow.

The ends of an object's arcs are fitted by parabolas over the little range that its declination runs through
(aberration, nutation, precession). The few objects that graze the edge somewhere in that range, or pass a corner of
it, are computed night by night.
"""

from dataclasses import dataclass

import numpy as np

from sidelight.ground.angles import wrap_180
from sidelight.ground.types import BoolArray, FloatArray, IntArray
from sidelight.sky.crossings import UsableSky

FIT_TOLERANCE_DEG = 1e-4
"""Of hour angle: 24 ms of time. Where the parabola misses by more, every night is computed."""


@dataclass(frozen=True, eq=False)
class YearlyArcs:
    """The arcs of n objects.

    middle_sin_dec : of each object, shape (n,). never_sets : shape (n,). each_night : objects whose arcs must be
    computed for each night, shape (n,); they own no fitted arc.
    owner : the object of each fitted arc, ascending, shape (a,). number : which of its object's arcs it is.
    start_deg, width_deg : parabolas in sin(declination) less the middle one, lowest power first, shape (a, 3).
    """

    middle_sin_dec: FloatArray
    never_sets: BoolArray
    each_night: BoolArray
    owner: IntArray
    number: IntArray
    start_deg: FloatArray
    width_deg: FloatArray


def yearly_arcs(sky: UsableSky, lowest_sin_dec: FloatArray, highest_sin_dec: FloatArray) -> YearlyArcs:
    """Return the arcs of objects whose sin(declination) stays between two values, shapes (n,)."""
    middle, reach = (lowest_sin_dec + highest_sin_dec) / 2.0, (highest_sin_dec - lowest_sin_dec) / 2.0
    band = sky.band(lowest_sin_dec)
    each_night = sky.band(highest_sin_dec) != band
    rows, owner = sky.arc_rows(band)
    start, start_miss = _parabola(sky, sky.start_run[rows], middle[owner], reach[owner])
    end, end_miss = _parabola(sky, sky.end_run[rows], middle[owner], reach[owner])
    each_night[owner[np.maximum(start_miss, end_miss) > FIT_TOLERANCE_DEG]] = True
    kept = ~each_night[owner]
    owner, start, end = owner[kept], start[kept], end[kept]
    width = end - start
    width[:, 0] = np.mod(width[:, 0], 360.0)
    return YearlyArcs(
        middle_sin_dec=middle,
        never_sets=sky.never_sets[band] & ~each_night,
        each_night=each_night,
        owner=owner,
        number=np.arange(len(owner)) - np.searchsorted(owner, owner),
        start_deg=start,
        width_deg=width,
    )


def _parabola(sky: UsableSky, run: IntArray, middle: FloatArray, reach: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the parabola of hour angle on each run about the middle, and its miss half way to the ends, degrees."""
    places = middle + np.array([-1.0, -0.5, 0.0, 0.5, 1.0])[:, None] * reach
    crossing = sky.runs.hour_angle_deg(np.broadcast_to(run, places.shape), places)
    centre = crossing[2]
    aside = wrap_180(crossing - centre)
    slope, bend = (aside[4] - aside[0]) / 2.0, (aside[4] + aside[0]) / 2.0
    miss = np.maximum(np.abs(aside[3] - slope / 2.0 - bend / 4.0), np.abs(aside[1] + slope / 2.0 - bend / 4.0))
    per = 1.0 / np.where(reach == 0, 1.0, reach)
    return np.column_stack([centre, slope * per, bend * per**2]), miss

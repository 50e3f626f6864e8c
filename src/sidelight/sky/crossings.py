"""Where objects cross skyline and floor: the arcs of hour angle in which a declination can be used, exactly.

The declinations fall into bands. Within one band every object crosses the same runs of the edge in the same order,
so that its arcs are a look-up and one smooth function for each end: no scan, no grid, and no rising or setting lost.
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from sidelight.ground.types import BoolArray, FloatArray, Floats, IntArray
from sidelight.sky.refraction import true_altitude_deg
from sidelight.sky.site import Site
from sidelight.sky.skyline import SkylineRuns, skyline_runs


@dataclass(frozen=True, eq=False)
class HourAngleArcs:
    """Arcs of hour angle of n objects: those of object i are rows offsets[i] to offsets[i + 1].

    start_deg is in [-180, 180); end_deg lies above it by up to 360, so that an arc across lower transit ends beyond
    180. An object that never sets has one arc of 360 degrees, one that never rises has none.
    """

    offsets: IntArray
    start_deg: FloatArray
    end_deg: FloatArray

    def of(self, one: int) -> FloatArray:
        """Return the arcs of one object, shape (k, 2)."""
        rows = slice(self.offsets[one], self.offsets[one + 1])
        return np.column_stack([self.start_deg[rows], self.end_deg[rows]])


@dataclass(frozen=True, eq=False)
class UsableSky:
    """A site's sky above skyline and floor, by bands of declination.

    band_sin_dec : sines of declination that part the b bands, shape (b + 1,), from -1 to 1.
    never_sets : whether all of a band's circle is usable, shape (b,).
    arc_offsets : which arcs belong to each band, shape (b + 1,). start_run, end_run : the run of the edge at each
    arc's ends, shape (a,).
    """

    runs: SkylineRuns
    band_sin_dec: FloatArray
    never_sets: BoolArray
    arc_offsets: IntArray
    start_run: IntArray
    end_run: IntArray

    def band(self, sin_dec: FloatArray) -> IntArray:
        """Return the band of each declination, given as its sine; any shape."""
        last = len(self.band_sin_dec) - 2
        return np.clip(np.searchsorted(self.band_sin_dec, sin_dec, side="right") - 1, 0, last).astype(np.int64)

    def arcs(self, sin_dec: FloatArray) -> HourAngleArcs:
        """Return the usable arcs of declinations given as sines, shape (n,)."""
        band = self.band(sin_dec)
        rows, owner = self.arc_rows(band)
        start = self.runs.hour_angle_deg(self.start_run[rows], sin_dec[owner])
        end = self.runs.hour_angle_deg(self.end_run[rows], sin_dec[owner])
        whole = self.never_sets[band]
        count = np.bincount(owner, minlength=len(band)) + whole
        offsets = np.concatenate([[0], np.cumsum(count)]).astype(np.int64)
        every_start, every_end = np.full(offsets[-1], -180.0), np.full(offsets[-1], 180.0)
        in_part = np.repeat(~whole, count)
        every_start[in_part] = start
        every_end[in_part] = start + np.mod(end - start, 360.0)
        return HourAngleArcs(offsets, every_start, every_end)

    def arc_rows(self, band: IntArray) -> tuple[IntArray, IntArray]:
        """Return the arcs (rows of start_run and end_run) of each object's band, and each arc's object."""
        first, count = self.arc_offsets[band], self.arc_offsets[band + 1] - self.arc_offsets[band]
        owner = np.repeat(np.arange(len(band)), count)
        number = np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count)
        return first[owner] + number, owner


def hour_angle_arcs(dec_deg: Floats, site: Site) -> HourAngleArcs:
    """Return the hour angles at which objects stand above skyline and floor.

    Parameters
    ----------
    dec_deg : apparent declinations of date, shape (n,).
    site : its skyline, its floor and, for the refraction, its elevation.

    Returns
    -------
    Arcs whose ends are within 1e-6° (0.24 ms of time) of the crossings that the model defines: apparent altitude in
    standard air equal to the higher of skyline and floor. Two edges that lie within 0.01″ of declination of each
    other may be taken for none. Real air differs from standard air by some seconds of time at 30°, by a minute or
    more at the horizon.
    """
    return usable_sky(site).arcs(np.sin(np.radians(np.atleast_1d(np.asarray(dec_deg, dtype=np.float64)))))


@lru_cache(maxsize=16)
def usable_sky(site: Site) -> UsableSky:
    """Return a site's usable sky; a few milliseconds, then kept."""
    runs = skyline_runs(site)
    edges = np.unique(np.concatenate([[-1.0, 1.0], runs.low_sin_dec, runs.high_sin_dec]))
    never_sets = np.zeros(len(edges) - 1, dtype=np.bool_)
    starts, ends, counts = [], [], []
    for band, (low, high) in enumerate(pairwise(edges)):
        crossed = np.flatnonzero((runs.low_sin_dec <= low) & (runs.high_sin_dec >= high))
        start, end, never_sets[band] = _arcs_of_band(site, runs, crossed, 0.5 * (low + high))
        starts.append(start)
        ends.append(end)
        counts.append(len(start))
    return UsableSky(
        runs=runs,
        band_sin_dec=edges,
        never_sets=never_sets,
        arc_offsets=np.concatenate([[0], np.cumsum(counts)]).astype(np.int64),
        start_run=np.concatenate(starts).astype(np.int64),
        end_run=np.concatenate(ends).astype(np.int64),
    )


def _arcs_of_band(
    site: Site, runs: SkylineRuns, crossed: IntArray, sin_dec: float
) -> tuple[IntArray, IntArray, bool]:
    """Return the runs at which the arcs of one declination start and end, in order, and whether it never sets."""
    at = np.full(len(crossed), sin_dec)
    hour_angle = runs.hour_angle_deg(crossed, at)
    order = np.argsort(hour_angle)
    crossed, hour_angle = crossed[order], hour_angle[order]
    if not len(crossed):
        return crossed, crossed, bool(_is_usable(site, np.zeros(1), sin_dec)[0])
    following = np.append(hour_angle[1:], hour_angle[0] + 360.0)
    after = _is_usable(site, 0.5 * (hour_angle + following), sin_dec)
    before = np.roll(after, 1)
    starts, ends = np.flatnonzero(after & ~before), np.flatnonzero(before & ~after)
    if len(starts) and ends[0] < starts[0]:
        ends = np.roll(ends, -1)
    return crossed[starts], crossed[ends], bool(np.all(after))


def _is_usable(site: Site, hour_angle_deg: FloatArray, sin_dec: float) -> BoolArray:
    """Tell whether an object stands above skyline and floor at hour angles, shape (n,)."""
    ha, latitude = np.radians(hour_angle_deg), np.radians(site.latitude_deg)
    cos_dec = np.sqrt(max(0.0, 1.0 - sin_dec**2))
    north = np.cos(latitude) * sin_dec - np.sin(latitude) * cos_dec * np.cos(ha)
    up = np.sin(latitude) * sin_dec + np.cos(latitude) * cos_dec * np.cos(ha)
    east = -cos_dec * np.sin(ha)
    altitude = np.degrees(np.arctan2(up, np.hypot(north, east)))
    edge = site.lowest_usable_deg(np.degrees(np.arctan2(east, north)))
    return np.asarray(altitude > true_altitude_deg(edge, site.elevation_m))

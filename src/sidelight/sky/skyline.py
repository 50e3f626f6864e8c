"""The edge of the usable sky as a curve in declination and hour angle, which turn with the stars.

Skyline and floor together bound the usable sky by one closed line around the zenith. Each point of it has a true
altitude and an azimuth, hence a declination and an hour angle. The line is cut into runs along which the declination
only rises or only falls, so that an object of given declination crosses a run once at the most, at an hour angle
that is a smooth function of declination. That function is kept as cubics.
"""

from dataclasses import dataclass

import numpy as np

from sidelight.ground.angles import wrap_180
from sidelight.ground.roots import bracketed_roots
from sidelight.ground.types import BoolArray, FloatArray, IntArray
from sidelight.sky.refraction import true_altitude_deg
from sidelight.sky.site import Site

_STEP_DEG = 0.5
"""Between the points at which the line is first looked at. A double turn between two of them is missed by less than
0.01″ of declination."""
_TOLERANCE_DEG = 1e-6
"""The cubics are halved until they are as good as this at three points between their nodes: 0.24 ms of time."""
_MOST_HALVINGS = 40
_SLOPE_STEP_DEG = 1e-4
_SAME_SIN_DEC = 13
"""Decimals to which sines of declination are told apart."""


@dataclass(frozen=True, eq=False)
class SkylineRuns:
    """Hour angle as a function of declination along each of r runs of the edge, by cubics over c cells.

    low_sin_dec, high_sin_dec : the range of sin(declination) of each run, shape (r,).
    The rest, shape (c,) or (c, 4), serves `hour_angle_deg`.
    """

    low_sin_dec: FloatArray
    high_sin_dec: FloatArray
    first_cell: IntArray
    key: FloatArray
    from_sin_dec: FloatArray
    per_sin_dec: FloatArray
    bent: BoolArray
    coefficients: FloatArray

    def hour_angle_deg(self, run: IntArray, sin_dec: FloatArray) -> FloatArray:
        """Return at which hour angle, [-180, 180), each run crosses each declination; equal shapes.

        Within 1e-6° of the edge that skyline, floor and refraction define, away from the celestial poles. Outside
        the run's range the nearest end's.
        """
        cell = np.searchsorted(self.key, 3.0 * run + sin_dec + 1.0, side="right") - 1
        cell = np.clip(cell, self.first_cell[run], self.first_cell[run + 1] - 1)
        share = np.clip((sin_dec - self.from_sin_dec[cell]) * self.per_sin_dec[cell], 0.0, 1.0)
        share = np.where(self.bent[cell], np.sqrt(share), share)
        return wrap_180(_cubic(self.coefficients[cell], share))


@dataclass(frozen=True, eq=False)
class _Edge:
    """The closed line as straight pieces in azimuth and apparent altitude, each followed by a fraction 0 to 1."""

    site: Site
    azimuth_deg: FloatArray
    altitude_deg: FloatArray

    @property
    def size_deg(self) -> FloatArray:
        """The larger of a piece's extents in azimuth and altitude."""
        return np.maximum(np.diff(self.azimuth_deg), np.abs(np.diff(self.altitude_deg)))

    def at(self, piece: IntArray, fraction: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return sin(declination) and hour angle in degrees, [-180, 180]."""
        rise, turn = np.diff(self.altitude_deg), np.diff(self.azimuth_deg)
        apparent = self.altitude_deg[piece] + fraction * rise[piece]
        h = np.radians(true_altitude_deg(apparent, self.site.elevation_m))
        azimuth = np.radians(self.azimuth_deg[piece] + fraction * turn[piece])
        latitude = np.radians(self.site.latitude_deg)
        sin_dec = np.sin(latitude) * np.sin(h) + np.cos(latitude) * np.cos(h) * np.cos(azimuth)
        to_meridian = np.cos(latitude) * np.sin(h) - np.sin(latitude) * np.cos(h) * np.cos(azimuth)
        return sin_dec, np.degrees(np.arctan2(-np.cos(h) * np.sin(azimuth), to_meridian))

    def slope(self, piece: IntArray, fraction: FloatArray) -> FloatArray:
        """Return the change of sin(declination) by fraction."""
        step = np.minimum(0.25, _SLOPE_STEP_DEG / self.size_deg)[piece]
        return (self.at(piece, fraction + step)[0] - self.at(piece, fraction - step)[0]) / (2.0 * step)


def skyline_runs(site: Site) -> SkylineRuns:
    """Return the edge of a site's usable sky: the skyline or the floor, whichever is higher, around the horizon."""
    edge = _edge(site)
    piece, fraction, turns = _knots(edge)
    inside = piece[1:] == piece[:-1]
    cells = np.column_stack([fraction[:-1], fraction[1:]])[inside]
    cell_piece = piece[:-1][inside]
    # a run begins with each piece and at each turning point
    begins = turns[:-1][inside] | (cells[:, 0] == 0.0)
    return _fitted(edge, cell_piece, cells, np.cumsum(begins) - 1)


def _edge(site: Site) -> _Edge:
    """Return the line with corners at the skyline's points and where the skyline meets the floor."""
    azimuth = np.append(site.horizon.azimuth_deg, site.horizon.azimuth_deg[0] + 360.0)
    above = np.append(site.horizon.altitude_deg, site.horizon.altitude_deg[0]) - site.floor_deg
    crosses = np.flatnonzero(above[1:] * above[:-1] < 0)
    share = above[crosses] / (above[crosses] - above[crosses + 1])
    meets = azimuth[crosses] + share * (azimuth[crosses + 1] - azimuth[crosses])
    corners = np.concatenate([azimuth, meets])
    heights = np.concatenate([np.maximum(above, 0.0), np.zeros(len(meets))]) + site.floor_deg
    order = np.argsort(corners, kind="stable")
    corners, heights = corners[order], heights[order]
    distinct = np.append(np.diff(corners) > 0, True)
    return _Edge(site, corners[distinct], heights[distinct])


def _knots(edge: _Edge) -> tuple[IntArray, FloatArray, BoolArray]:
    """Return points along the line in order: piece, fraction, and whether the declination turns there."""
    steps = np.maximum(2, np.ceil(edge.size_deg / _STEP_DEG)).astype(np.int64)
    piece = np.repeat(np.arange(len(steps)), steps + 1)
    number = np.arange(len(piece)) - np.repeat(np.cumsum(steps + 1) - steps - 1, steps + 1)
    fraction = number / steps[piece]
    rises = edge.slope(piece, fraction) >= 0
    changes = np.flatnonzero((piece[1:] == piece[:-1]) & (rises[1:] != rises[:-1]))
    on = piece[changes]
    turning = bracketed_roots(lambda at: edge.slope(on, at), fraction[changes], fraction[changes + 1], 1e-12)
    every_piece, every_fraction = np.concatenate([piece, on]), np.concatenate([fraction, turning])
    turns = np.concatenate([np.zeros(len(piece), dtype=np.bool_), np.ones(len(on), dtype=np.bool_)])
    order = np.lexsort((~turns, every_fraction, every_piece))
    every_piece, every_fraction, turns = every_piece[order], every_fraction[order], turns[order]
    new = np.append(True, (np.diff(every_fraction) != 0) | (np.diff(every_piece) != 0))
    return every_piece[new], every_fraction[new], turns[new]


def _fitted(edge: _Edge, piece: IntArray, cells: FloatArray, run: IntArray) -> SkylineRuns:
    """Return cubics for all cells, those that are not good enough halved until they are."""
    done: list[tuple[IntArray, FloatArray, FloatArray, BoolArray, FloatArray]] = []
    for halving in range(_MOST_HALVINGS + 1):
        start, end, bent = _ends(edge, piece, cells)
        coefficients, miss = _fit(edge, piece, cells, (start, end, bent))
        good = (miss <= _TOLERANCE_DEG) | (halving == _MOST_HALVINGS)
        done.append((run[good], start[good], end[good], bent[good], coefficients[good]))
        piece, run, (low, high) = (np.repeat(piece[~good], 2), np.repeat(run[~good], 2), cells[~good].T)
        middle = (low + high) / 2.0
        cells = np.stack([np.stack([low, middle], axis=-1), np.stack([middle, high], axis=-1)], axis=1).reshape(-1, 2)
        if not len(cells):
            break
    runs, starts, ends, bents, every = (np.concatenate(column) for column in zip(*done, strict=True))
    lowest = np.minimum(starts, ends)
    order = np.lexsort((lowest, runs))
    runs, starts, ends, lowest = runs[order], starts[order], ends[order], lowest[order]
    first = np.searchsorted(runs, np.arange(runs[-1] + 2))
    width = ends - starts
    return SkylineRuns(
        low_sin_dec=_rounded(np.minimum.reduceat(lowest, first[:-1])),
        high_sin_dec=_rounded(np.maximum.reduceat(np.maximum(starts, ends), first[:-1])),
        first_cell=first.astype(np.int64),
        key=3.0 * runs + lowest + 1.0,
        from_sin_dec=starts,
        per_sin_dec=np.where(width == 0, 0.0, 1.0 / np.where(width == 0, 1.0, width)),
        bent=bents[order],
        coefficients=every[order],
    )


def _rounded(sin_dec: FloatArray) -> FloatArray:
    """Return sines of declination so that runs which meet share their end exactly."""
    return np.asarray(np.round(sin_dec, _SAME_SIN_DEC), dtype=np.float64)


def _ends(edge: _Edge, piece: IntArray, cells: FloatArray) -> tuple[FloatArray, FloatArray, BoolArray]:
    """Return sin(declination) at a cell's two ends, an end where it turns first, and whether there is one.

    By a turning point the hour angle goes with the root of the distance in declination.
    """
    low, high = edge.at(piece, cells[:, 0])[0], edge.at(piece, cells[:, 1])[0]
    level = np.abs(high - low) * 1e-4
    size = cells[:, 1] - cells[:, 0]
    low_turns = np.abs(edge.slope(piece, cells[:, 0])) * size <= level
    high_turns = np.abs(edge.slope(piece, cells[:, 1])) * size <= level
    backwards = high_turns & ~low_turns
    return np.where(backwards, high, low), np.where(backwards, low, high), low_turns != high_turns


def _fit(
    edge: _Edge, piece: IntArray, cells: FloatArray, ends: tuple[FloatArray, FloatArray, BoolArray]
) -> tuple[FloatArray, FloatArray]:
    """Return the cubic through four points of each cell and its largest miss, degrees, at the points between."""
    fractions = cells[:, :1] + np.arange(7) / 6.0 * (cells[:, 1:] - cells[:, :1])
    sin_dec, hour_angle = edge.at(piece[:, None], fractions)
    hour_angle = hour_angle[:, :1] + wrap_180(hour_angle - hour_angle[:, :1])
    start, end, bent = (column[:, None] for column in ends)
    width = np.where(end == start, 1.0, end - start)
    share = np.clip((sin_dec - start) / width, 0.0, 1.0)
    share = np.where(bent, np.sqrt(share), share)
    coefficients = _through_four(share[:, 0::2], hour_angle[:, 0::2])
    miss = np.abs(_cubic(coefficients[:, None, :], share[:, 1::2]) - hour_angle[:, 1::2])
    flat = np.abs(ends[1] - ends[0]) <= 10.0**-_SAME_SIN_DEC
    return coefficients, np.where(flat, 0.0, np.max(miss, axis=1))


def _through_four(x: FloatArray, y: FloatArray) -> FloatArray:
    """Return coefficients, lowest power first, of the cubics through four points each, shapes (n, 4).

    Newton's divided differences; a repeated point (a cell without extent) counts as no slope.
    """
    differences = y.copy()
    for level in range(1, 4):
        gap = x[:, level:] - x[:, :-level]
        step = differences[:, level:] - differences[:, level - 1 : -1]
        differences[:, level:] = np.where(gap == 0, 0.0, step / np.where(gap == 0, 1.0, gap))
    coefficients = np.zeros_like(y)
    for level in range(3, -1, -1):
        coefficients[:, 1:] = coefficients[:, :-1] - coefficients[:, 1:] * x[:, level : level + 1]
        coefficients[:, 0] = differences[:, level] - coefficients[:, 0] * x[:, level]
    return coefficients


def _cubic(coefficients: FloatArray, x: FloatArray) -> FloatArray:
    """Return the cubics' values; the coefficients' last axis is the power."""
    c = coefficients
    return np.asarray(c[..., 0] + x * (c[..., 1] + x * (c[..., 2] + x * c[..., 3])))

"""Spells: the exact spans in which a smooth height lies below zero, over many stretches of time at once."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sidelight.ground.roots import bracketed_roots
from sidelight.ground.types import BoolArray, FloatArray, IntArray

Height = Callable[[FloatArray], FloatArray]
"""A height in degrees as a function of instants (MJD), element by element."""

_EDGE_TOLERANCE_DAYS = 1e-8
_STEP_DAYS = 1.0 / 24.0


@dataclass(frozen=True, eq=False)
class Spells:
    """Spans of several stretches, kept in one array: those of stretch i are rows offsets[i] to offsets[i + 1].

    offsets : shape (n + 1,). spans_mjd : shape (m, 2), start and end, sorted, disjoint within a stretch.
    """

    offsets: IntArray
    spans_mjd: FloatArray

    def of(self, stretch: int) -> FloatArray:
        """Return the spans of one stretch, shape (k, 2)."""
        return self.spans_mjd[self.offsets[stretch] : self.offsets[stretch + 1]]

    def lengths_h(self) -> FloatArray:
        """Return the summed hours of each stretch, shape (n,)."""
        lengths = np.concatenate([[0.0], np.cumsum(self.spans_mjd[:, 1] - self.spans_mjd[:, 0])])
        return np.asarray(np.diff(lengths[self.offsets]) * 24.0)


def spells_below(height: Height, start_mjd: FloatArray, end_mjd: FloatArray) -> Spells:
    """Return where `height` is below zero in each stretch [start, end], shapes (n,).

    Edges are roots of the function, to a millisecond; an edge of a stretch is a span's end only where the height is
    below zero there. The height is looked at every hour and at each of its turning points, so that a spell is
    missed only if the curve turns twice within an hour; Sun and Moon turn twice a day.
    """
    row, at, value = _samples(height, start_mjd, end_mjd)
    below = value < 0
    neighbours = row[1:] == row[:-1]
    changes = np.flatnonzero(neighbours & (below[1:] != below[:-1]))
    edges = _edges(height, at[changes], at[changes + 1])
    first = np.concatenate([[True], ~neighbours])
    last = np.concatenate([~neighbours, [True]])
    rising = below[changes]
    starts = np.concatenate([at[first & below], edges[~rising]])
    ends = np.concatenate([at[last & below], edges[rising]])
    row_of_start = np.concatenate([row[first & below], row[changes][~rising]])
    row_of_end = np.concatenate([row[last & below], row[changes][rising]])
    start_order, end_order = np.lexsort((starts, row_of_start)), np.lexsort((ends, row_of_end))
    spans = np.column_stack([starts[start_order], ends[end_order]])
    rows = row_of_start[start_order]
    real = spans[:, 1] > spans[:, 0]
    offsets = np.searchsorted(rows[real], np.arange(len(start_mjd) + 1))
    return Spells(offsets.astype(np.int64), spans[real])


def _edges(height: Height, low: FloatArray, high: FloatArray) -> FloatArray:
    """Return the root in each bracket; none at all is allowed."""
    return bracketed_roots(height, low, high, _EDGE_TOLERANCE_DAYS) if len(low) else np.empty(0)


def _samples(height: Height, start_mjd: FloatArray, end_mjd: FloatArray) -> tuple[IntArray, FloatArray, FloatArray]:
    """Return stretch number, instant and height of all samples, sorted by stretch and instant."""
    pieces = max(1, int(np.ceil(np.max(end_mjd - start_mjd, initial=0.0) / _STEP_DAYS)))
    step = (end_mjd - start_mjd)[:, None] / pieces
    # one sample beyond either end, so that a turning point beside the edge is seen too
    wide = start_mjd[:, None] + step * np.arange(-1, pieces + 2)
    wide[:, -2] = end_mjd
    wide_height = height(wide)
    row, column = np.nonzero(_turns_that_matter(wide_height))
    turned = _turning_points(height, wide[row, column + 1], step[row, 0])
    turned = np.clip(turned, start_mjd[row], end_mjd[row])
    grid, grid_height = wide[:, 1:-1], wide_height[:, 1:-1]
    every_row = np.concatenate([np.repeat(np.arange(len(start_mjd)), pieces + 1), row])
    every_at = np.concatenate([grid.ravel(), turned])
    every_height = np.concatenate([grid_height.ravel(), height(turned)])
    order = np.lexsort((every_at, every_row))
    return every_row[order], every_at[order], every_height[order]


def _turns_that_matter(values: FloatArray) -> BoolArray:
    """Tell at which inner samples the curve turns towards zero without having crossed it, shape (n, k - 2)."""
    before, here, after = values[:, :-2], values[:, 1:-1], values[:, 2:]
    crest = (here >= before) & (here >= after) & (here < 0)
    trough = (here <= before) & (here <= after) & (here >= 0)
    return crest | trough


def _turning_points(height: Height, near: FloatArray, step: FloatArray) -> FloatArray:
    """Return the instants at which the height turns, by two parabolas, the second on a finer step."""
    for _ in range(2):
        before, here, after = height(near - step), height(near), height(near + step)
        bend = before - 2 * here + after
        shift = 0.5 * (before - after) / np.where(bend == 0, 1.0, bend)
        near = near + step * np.clip(np.where(bend == 0, 0.0, shift), -1.0, 1.0)
        step = step / 12.0
    return near

"""Interval sets: spans of a line (time) and arcs of a circle (angles), by the same code.

A set is an array of shape (n, 2): rows of start and end, start <= end, sorted, disjoint.
Spans of zero length are dropped, spans that touch are joined.
An arc set lives on a circle of 360 degrees and is kept unwrapped: starts in [0, 360), an arc that crosses
north ends beyond 360. The full circle is one arc from 0 to 360.
"""

from collections.abc import Iterable

import numpy as np

from sidelight.ground.types import BoolArray, FloatArray, Floats

EMPTY: FloatArray = np.empty((0, 2))
EMPTY.setflags(write=False)
FULL_CIRCLE: FloatArray = np.array([[0.0, 360.0]])
FULL_CIRCLE.setflags(write=False)


def union(*sets: Floats) -> FloatArray:
    """Return everything covered by any of the sets; rows may come unsorted and overlapping."""
    rows = [np.asarray(one, dtype=np.float64).reshape(-1, 2) for one in sets]
    every = np.concatenate(rows) if rows else EMPTY
    every = every[every[:, 1] > every[:, 0]]
    if not len(every):
        return EMPTY.copy()
    every = every[np.argsort(every[:, 0], kind="stable")]
    reach = np.maximum.accumulate(every[:, 1])
    opens = np.r_[True, every[1:, 0] > reach[:-1]]
    closes = np.r_[opens[1:], True]
    return np.column_stack([every[opens, 0], reach[closes]])


def intersect(first: Floats, second: Floats) -> FloatArray:
    """Return what both sets cover."""
    a = np.asarray(first, dtype=np.float64).reshape(-1, 2)
    b = np.asarray(second, dtype=np.float64).reshape(-1, 2)
    starts = np.maximum(a[:, None, 0], b[None, :, 0]).ravel()
    ends = np.minimum(a[:, None, 1], b[None, :, 1]).ravel()
    return union(np.column_stack([starts, ends]))


def complement(spans: Floats, start: float, end: float) -> FloatArray:
    """Return what the set leaves free between start and end."""
    inside = intersect(spans, [[start, end]])
    starts = np.r_[start, inside[:, 1]]
    ends = np.r_[inside[:, 0], end]
    return union(np.column_stack([starts, ends]))


def total(spans: Floats) -> float:
    """Return the summed length of a set."""
    rows = np.asarray(spans, dtype=np.float64).reshape(-1, 2)
    return float(np.sum(rows[:, 1] - rows[:, 0]))


def contains(spans: Floats, points: Floats) -> BoolArray:
    """Tell for each point whether the set covers it, ends included; the shape of `points`."""
    rows = np.asarray(spans, dtype=np.float64).reshape(-1, 2)
    at = np.asarray(points, dtype=np.float64)
    inside = (at[..., None] >= rows[:, 0]) & (at[..., None] <= rows[:, 1])
    return np.asarray(np.any(inside, axis=-1))


def arcs(rows: Iterable[Iterable[float]] | Floats) -> FloatArray:
    """Return an arc set from rows of (from, to) in degrees, each running upwards from `from`, however unwrapped.

    A row with to < from crosses north. A row of 360 degrees or more is the full circle.
    """
    raw = np.asarray(rows, dtype=np.float64).reshape(-1, 2)
    if not len(raw):
        return EMPTY.copy()
    length = raw[:, 1] - raw[:, 0]
    length = np.where(length < 0, np.mod(length, 360.0), length)
    if np.any(length >= 360.0):
        return FULL_CIRCLE.copy()
    start = np.mod(raw[:, 0], 360.0)
    start = np.where(start >= 360.0, 0.0, start)
    return _join_north(_split_north(np.column_stack([start, start + length])))


def arcs_union(*sets: Floats) -> FloatArray:
    """Return the union of arc sets."""
    return _join_north(union(*[_split_north(np.asarray(one, dtype=np.float64).reshape(-1, 2)) for one in sets]))


def arcs_intersect(first: Floats, second: Floats) -> FloatArray:
    """Return the intersection of two arc sets."""
    a = _split_north(np.asarray(first, dtype=np.float64).reshape(-1, 2))
    b = _split_north(np.asarray(second, dtype=np.float64).reshape(-1, 2))
    return _join_north(intersect(a, b))


def arcs_complement(one: Floats) -> FloatArray:
    """Return the rest of the circle."""
    return _join_north(complement(_split_north(np.asarray(one, dtype=np.float64).reshape(-1, 2)), 0.0, 360.0))


def arcs_turn(one: Floats, by_deg: float) -> FloatArray:
    """Return the arc set turned by an angle."""
    return arcs(np.asarray(one, dtype=np.float64).reshape(-1, 2) + by_deg)


def arcs_contain(one: Floats, angles_deg: Floats) -> BoolArray:
    """Tell for each angle whether an arc covers it, ends included."""
    at = np.mod(np.asarray(angles_deg, dtype=np.float64), 360.0)
    rows = np.asarray(one, dtype=np.float64).reshape(-1, 2)
    return contains(rows, at) | contains(rows, at + 360.0)


def arcs_slack(one: Floats, angles_deg: Floats) -> FloatArray:
    """Return for each angle the distance in degrees to the nearer end of the arc it stands in; 0 outside.

    The full circle has no end: its slack is 180, the largest turn there is.
    """
    at = np.mod(np.asarray(angles_deg, dtype=np.float64), 360.0)
    rows = np.asarray(one, dtype=np.float64).reshape(-1, 2)
    best = np.zeros(at.shape)
    for start, end in rows:
        if end - start >= 360.0:
            return np.full(at.shape, 180.0)
        for turn in (0.0, 360.0):
            best = np.maximum(best, np.minimum(at + turn - start, end - at - turn))
    return best


def _split_north(rows: FloatArray) -> FloatArray:
    """Return rows on the line [0, 360], those that cross north cut in two."""
    over = rows[:, 1] > 360.0
    cut = np.column_stack([np.zeros(int(over.sum())), rows[over, 1] - 360.0])
    return union(np.column_stack([rows[:, 0], np.minimum(rows[:, 1], 360.0)]), cut)


def _join_north(rows: FloatArray) -> FloatArray:
    """Return arcs from line rows, the two that meet at north joined into one."""
    rows = union(rows)
    if len(rows) > 1 and rows[0, 0] <= 0.0 and rows[-1, 1] >= 360.0:
        joined = np.array([[rows[-1, 0], rows[0, 1] + 360.0]])
        return np.concatenate([rows[1:-1], joined])
    return rows

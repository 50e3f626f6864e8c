"""Shaded regions of charts whose columns are nights: from spans in each column to smooth closed outlines."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from sidelight.ground.types import FloatArray, IntArray
from sidelight.pictures.svg import Point, polyline_data


def above(x: FloatArray, y: FloatArray, level: float) -> FloatArray:
    """Return the spans of x, shape (n, 2), in which a curve given by points is at or above a level.

    Straight between points; a point that is not finite ends the curve there.
    """
    return above_each(x, np.asarray(y, dtype=np.float64)[None, :], level)[0]


def above_each(x: FloatArray, rows: FloatArray, level: float) -> list[FloatArray]:
    """Return the spans above a level of many curves over the same x: one array of shape (n, 2) for each row."""
    count, width = rows.shape
    if width < 2:
        return [np.empty((0, 2))] * count
    high = np.zeros((count, width + 2), dtype=bool)
    high[:, 1:-1] = rows >= level  # false where a value is not finite
    change = np.diff(high.astype(np.int8), axis=1)
    starts, ends = np.argwhere(change == 1).T, np.argwhere(change == -1).T
    spans = np.column_stack(
        [_crossing(x, rows, starts, level, before=True), _crossing(x, rows, ends, level, before=False)]
    )
    kept = spans[:, 1] > spans[:, 0]
    cuts = np.searchsorted(starts[0][kept], np.arange(1, count))
    return np.split(spans[kept], cuts)


def _crossing(x: FloatArray, rows: FloatArray, places: IntArray, level: float, *, before: bool) -> FloatArray:
    """Return where the curves cross the level beside their first or last high points; the points at ends and gaps."""
    row, column = places
    inner = column if before else column - 1
    outer = inner - 1 if before else inner + 1
    inside = (outer >= 0) & (outer < rows.shape[1])
    outer = np.where(inside, outer, inner)
    y_in, y_out = rows[row, inner], rows[row, outer]
    usable = inside & np.isfinite(y_out) & np.isfinite(y_in)
    drop = np.where(usable, y_in - y_out, 1.0)
    share = np.where(usable, (y_in - level) / np.where(drop > 0, drop, 1.0), 0.0)
    return np.asarray(x[inner] + share * (x[outer] - x[inner]))


def common(first: FloatArray, second: FloatArray) -> FloatArray:
    """Return the spans that two small sets share; plain loops, which beat array work for one or two spans."""
    rows = [(max(a, c), min(b, d)) for a, b in first.tolist() for c, d in second.tolist() if min(b, d) > max(a, c)]
    return np.array(rows).reshape(-1, 2)


@dataclass
class _Strip:
    """A run of neighbouring columns whose spans belong together."""

    first: int
    spans: list[tuple[float, float]] = field(default_factory=list)


def strips(columns: Sequence[FloatArray]) -> tuple[tuple[int, tuple[tuple[float, float], ...]], ...]:
    """Join spans of neighbouring columns that overlap one to one; return (first column, spans) of each strip.

    Where a span splits or two merge, the strips end and new ones begin, so that nothing is bridged wrongly.
    """
    done: list[_Strip] = []
    running: list[_Strip] = []
    for index, column in enumerate(columns):
        rows = [(float(low), float(high)) for low, high in column]
        kept: list[_Strip] = []
        for low, high in rows:
            met = [one for one in running if one.spans[-1][0] < high and low < one.spans[-1][1]]
            alone = len(met) == 1 and sum(_overlap(met[0].spans[-1], row) for row in rows) == 1
            strip = met[0] if alone else _Strip(index)
            strip.spans.append((low, high))
            kept.append(strip)
        done += [one for one in running if not any(one is other for other in kept)]
        running = kept
    return tuple((strip.first, tuple(strip.spans)) for strip in sorted(done + running, key=lambda one: one.first))


def _overlap(one: tuple[float, float], other: tuple[float, float]) -> bool:
    return one[0] < other[1] and other[0] < one[1]


def region_data(columns: Sequence[FloatArray], x_at: Callable[[float], float], y_at: Callable[[float], float]) -> str:
    """Return path data of the region that the columns' spans cover; each column is one unit of x wide."""
    data = ""
    for first, spans in strips(columns):
        lows = _edge(first, [low for low, _ in spans], x_at, y_at)
        highs = _edge(first, [high for _, high in spans], x_at, y_at)
        data += polyline_data([*thin(highs), *reversed(thin(lows))], closed=True)
    return data


def _edge(
    first: int, values: Sequence[float], x_at: Callable[[float], float], y_at: Callable[[float], float]
) -> list[Point]:
    """Return a strip's edge through the middles of its columns, out to the outer sides of the first and last."""
    points = [(x_at(first + index + 0.5), y_at(value)) for index, value in enumerate(values)]
    return [(x_at(first), points[0][1]), *points, (x_at(first + len(values)), points[-1][1])]


def thin(points: Sequence[Point], tolerance: float = 0.3) -> list[Point]:
    """Return the points without those that lie closer than the tolerance to the line that stays.

    The method of Ramer (1972) and of Douglas & Peucker (1973), without recursion.
    """
    if len(points) < 3:
        return list(points)
    line = np.asarray(points, dtype=np.float64)
    keep = np.zeros(len(line), dtype=bool)
    keep[[0, -1]] = True
    todo = [(0, len(line) - 1)]
    while todo:
        start, end = todo.pop()
        if end - start < 2:
            continue
        along = line[end] - line[start]
        offsets = line[start + 1 : end] - line[start]
        length = float(np.hypot(along[0], along[1]))
        across = np.abs(offsets[:, 0] * along[1] - offsets[:, 1] * along[0])
        far = across / length if length > 0 else np.hypot(offsets[:, 0], offsets[:, 1])
        worst = int(np.argmax(far))
        if far[worst] > tolerance:
            middle = start + 1 + worst
            keep[middle] = True
            todo += [(start, middle), (middle, end)]
    return [(float(x), float(y)) for x, y in line[keep]]

"""One night's run: which target in which stretch, so that the most value is collected with few changes."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from sidelight.ground import spans
from sidelight.ground.types import BoolArray, FloatArray, IntArray


@dataclass(frozen=True)
class Candidate:
    """One target as the night sees it.

    windows : spans of MJD in which it can be photographed, shape (n, 2).
    value_per_h : what an hour on it is worth now, in any common unit; more for what is lost sooner.
    weight_times_mjd, weights : how the worth of an instant goes through the night (effective hours an hour),
    interpolated; empty means 1 throughout.
    most_h : no more than this many hours tonight (what is still wanted); None for no bound.
    """

    key: str
    windows: FloatArray
    value_per_h: float
    weight_times_mjd: FloatArray | None = None
    weights: FloatArray | None = None
    most_h: float | None = None


@dataclass(frozen=True)
class Stretch:
    """A stay on one target."""

    key: str
    start_mjd: float
    end_mjd: float

    @property
    def length_h(self) -> float:
        """Hours from start to end."""
        return (self.end_mjd - self.start_mjd) * 24.0


@dataclass(frozen=True)
class NightRules:
    """What a change of target costs and how short a stay may be.

    change_cost_h : hours lost to slewing, focus and the guider's start at each change, the first one included.
    shortest_stay_h : a shorter stay is not planned. step_min : boundaries between targets fall on this grid, besides
    the exact edges of the windows.
    """

    change_cost_h: float = 0.25
    shortest_stay_h: float = 0.5
    step_min: float = 5.0


DEFAULT_RULES = NightRules()


def plan_night(candidates: Sequence[Candidate], rules: NightRules = DEFAULT_RULES) -> tuple[Stretch, ...]:
    """Return the stretches of the night's best run, in order, never overlapping, each inside a window.

    The best of all runs whose boundaries lie on the grid: the sum of value x weight x time over the stretches, less
    the value lost to changes, found by dynamic programming; exact on that grid. At equal worth the target whose
    window ends first goes first. No candidate, or none with a window as long as the shortest stay, gives ().
    A target that would get more than its `most_h` is held to one part of that length, the best of some twenty.
    Where the best run leaves the sky idle although something is up, neighbours are drawn out, and what is then left
    of a gap is filled even with a stay below the shortest, if it is longer than the change costs.
    """
    awake = [_while_worth(one) for one in candidates]
    return _without_gaps(_bounded_run(awake, rules), awake, rules)


def _while_worth(one: Candidate) -> Candidate:
    """Return the candidate without the beginning and the end of the night where its weights are 0."""
    if one.weights is None or one.weight_times_mjd is None or not len(one.weights) or np.all(one.weights > 0):
        return one
    worth = np.flatnonzero(one.weights > 0)
    if not len(worth):
        return replace(one, windows=spans.EMPTY.copy())
    first, last = int(worth[0]), int(worth[-1])
    start = -np.inf if first == 0 else one.weight_times_mjd[first - 1]
    end = np.inf if last == len(one.weights) - 1 else one.weight_times_mjd[last + 1]
    return replace(one, windows=spans.intersect(one.windows, [[start, end]]))


def _bounded_run(candidates: Sequence[Candidate], rules: NightRules) -> tuple[Stretch, ...]:
    """Return the best run in which no target gets more than its `most_h`."""
    run = _best_run(candidates, rules)
    for one in candidates:
        if one.most_h is not None and _spent_h(run, one.key) > one.most_h + 1e-6:
            parts = [replace(one, windows=part, most_h=None) for part in _parts(one, rules)]
            held = [[part if other is one else other for other in candidates] for part in parts]
            drop = [other for other in candidates if other is not one]
            choices = [*held, drop]
            runs = [_best_run(choice, rules) for choice in choices]
            best = max(range(len(runs)), key=lambda k: _worth(runs[k], choices[k], rules))
            return _bounded_run(choices[best], rules)
    return run


def _without_gaps(
    run: tuple[Stretch, ...], candidates: Sequence[Candidate], rules: NightRules
) -> tuple[Stretch, ...]:
    """Return the run with its gaps closed where any candidate is up; an empty run stays empty."""
    if not run:
        return run
    by_key = {one.key: one for one in candidates if one.value_per_h > 0}
    up = spans.union(*[one.windows for one in by_key.values()]) if by_key else spans.EMPTY
    filled = list(run)
    # filling part of a gap leaves smaller ones, which may take another target
    while any(_fill(filled, gap, by_key, rules) for gap in _gaps(filled, up)):
        pass
    return tuple(filled)


def _fill(filled: list[Stretch], gap: tuple[float, float], by_key: dict[str, Candidate], rules: NightRules) -> bool:
    """Fill a gap as well as one stay can, in place; return whether a stay was added."""
    idle_from, end = gap
    before = next((n for n, one in enumerate(filled) if abs(one.end_mjd - idle_from) < 1e-9), None)
    start = idle_from if before is None else _drawn_out(filled, before, by_key, (idle_from, end))
    spare_h = (end - start) * 24.0
    options = []
    for one in by_key.values():
        inside = spans.intersect(one.windows, [[start, end]])
        room = _spent_h(filled, one.key) + min(spare_h, rules.shortest_stay_h) <= (one.most_h or np.inf)
        if not len(inside) or not room:
            continue
        a, b = inside[np.argmax(inside[:, 1] - inside[:, 0])]
        if (b - a) * 24.0 > rules.change_cost_h + 1e-9:
            options.append((one.value_per_h * (b - a), Stretch(one.key, float(a), float(b))))
    if not options:
        return False
    filled.append(max(options, key=lambda pair: pair[0])[1])
    filled.sort(key=lambda one: one.start_mjd)
    return True


def _gaps(run: Sequence[Stretch], up: FloatArray) -> list[tuple[float, float]]:
    """Return the spans in which something is up and nothing is planned."""
    if not len(up):
        return []
    planned = spans.union([[one.start_mjd, one.end_mjd] for one in run])
    idle = spans.intersect(spans.complement(planned, float(up[0, 0]), float(up[-1, 1])), up)
    return [(float(a), float(b)) for a, b in idle]


def _drawn_out(run: list[Stretch], index: int, by_key: dict[str, Candidate], gap: tuple[float, float]) -> float:
    """Draw a stretch out into the gap behind it as far as its window and its bound allow; return its new end."""
    one = run[index]
    candidate = by_key[one.key]
    reach = next((float(b) for a, b in candidate.windows if a <= one.start_mjd and b >= one.end_mjd - 1e-9), gap[0])
    room_h = np.inf if candidate.most_h is None else candidate.most_h - _spent_h(run, one.key)
    end = min(gap[1], reach, one.end_mjd + max(0.0, room_h) / 24.0)
    run[index] = Stretch(one.key, one.start_mjd, max(one.end_mjd, end))
    return run[index].end_mjd


def _parts(one: Candidate, rules: NightRules) -> list[FloatArray]:
    """Return spans of the wanted length inside the candidate's windows, some twenty in all."""
    length = max(one.most_h or 0.0, rules.shortest_stay_h) / 24.0
    room = [(start, end - length) for start, end in one.windows if end - length >= start]
    each = max(2, 20 // max(1, len(room)))
    starts = [start for low, high in room for start in np.linspace(low, high, each)]
    return [np.array([[start, start + length]]) for start in starts]


def _spent_h(run: Sequence[Stretch], key: str) -> float:
    """Return the hours a run gives to one target."""
    return sum(stretch.length_h for stretch in run if stretch.key == key)


def _worth(run: Sequence[Stretch], candidates: Sequence[Candidate], rules: NightRules) -> float:
    """Return a run's value less its changes, with each candidate's weight at the middle of its stretch."""
    by_key = {one.key: one for one in candidates}
    worth = 0.0
    for stretch in run:
        one = by_key[stretch.key]
        weight = 1.0
        if one.weights is not None and one.weight_times_mjd is not None and len(one.weights):
            weight = float(np.interp(0.5 * (stretch.start_mjd + stretch.end_mjd), one.weight_times_mjd, one.weights))
        worth += one.value_per_h * (stretch.length_h * weight - rules.change_cost_h)
    return worth


def _best_run(candidates: Sequence[Candidate], rules: NightRules) -> tuple[Stretch, ...]:
    """Return the best run with no bound on any target's hours."""
    usable = [one for one in candidates if one.value_per_h > 0 and len(one.windows)]
    if not usable:
        return ()
    edges = _boundaries([one.windows for one in usable], rules.step_min)
    open_, value = _tables(usable, edges)
    runs = _best_runs(edges, open_, value, usable, rules)
    return tuple(Stretch(usable[i].key, float(edges[a]), float(edges[b])) for i, a, b in runs)


def _boundaries(windows: Sequence[FloatArray], step_min: float) -> FloatArray:
    """Return every window edge and a regular grid between the first and the last, ascending."""
    edges = np.concatenate([one.ravel() for one in windows])
    first, last = float(edges.min()), float(edges.max())
    count = int((last - first) * 1440.0 / step_min)
    grid = first + np.arange(1, count + 1) * step_min / 1440.0
    # a grid point within a second of an edge would only make slivers
    apart = np.min(np.abs(grid[:, None] - edges[None, :]), axis=1) > 1.0 / 86400.0 if count else np.zeros(0, bool)
    return np.unique(np.concatenate([edges, grid[apart]]))


def _tables(candidates: Sequence[Candidate], edges: FloatArray) -> tuple[BoolArray, FloatArray]:
    """Return whether each candidate is open in each interval, and its cumulative value at each boundary."""
    middle, hours = 0.5 * (edges[1:] + edges[:-1]), np.diff(edges) * 24.0
    open_ = np.array([spans.contains(one.windows, middle) for one in candidates])
    value = np.zeros((len(candidates), len(edges)))
    for i, one in enumerate(candidates):
        weight = np.ones(len(middle))
        if one.weights is not None and one.weight_times_mjd is not None and len(one.weights):
            weight = np.interp(middle, one.weight_times_mjd, one.weights)
        # a hair more for the earlier instant of what ends sooner settles ties in its favour
        sooner = 1.0 - 1e-4 * (middle - edges[0]) * (1.0 + edges[-1] - float(one.windows.max()))
        gain = np.where(open_[i], hours * weight * sooner * one.value_per_h, 0.0)
        value[i, 1:] = np.cumsum(gain)
    return open_, value


def _best_runs(
    edges: FloatArray, open_: BoolArray, value: FloatArray, candidates: Sequence[Candidate], rules: NightRules
) -> list[tuple[int, int, int]]:
    """Return (candidate, first boundary, last boundary) of each stretch of the best run."""
    count, last = value.shape
    first_open = _first_open_boundary(open_)
    mean_value = float(np.mean([one.value_per_h for one in candidates]))
    best = np.zeros(last)
    came: list[tuple[int, int] | None] = [None] * last
    for b in range(1, last):
        best[b] = best[b - 1]
        for i in range(count):
            starts = np.arange(first_open[i, b], b)
            stay_h = (edges[b] - edges[starts]) * 24.0
            allowed = stay_h >= rules.shortest_stay_h - 1e-9
            if not allowed.any():
                continue
            gains = best[starts] + value[i, b] - value[i, starts] - rules.change_cost_h * mean_value
            gains[~allowed] = -np.inf
            k = int(np.argmax(gains))
            if gains[k] > best[b] + 1e-12:
                best[b], came[b] = gains[k], (i, int(starts[k]))
    return _trace(came, last - 1)


def _first_open_boundary(open_: BoolArray) -> IntArray:
    """Return for each candidate and boundary the earliest boundary from which it has been open without a break."""
    count, intervals = open_.shape
    first = np.zeros((count, intervals + 1), dtype=np.int64)
    for b in range(1, intervals + 1):
        first[:, b] = np.where(open_[:, b - 1], first[:, b - 1], b)
    return first


def _trace(came: list[tuple[int, int] | None], end: int) -> list[tuple[int, int, int]]:
    """Follow the choices back from the last boundary."""
    runs: list[tuple[int, int, int]] = []
    b = end
    while b > 0:
        step = came[b]
        if step is None:
            b -= 1
            continue
        i, a = step
        runs.append((i, a, b))
        b = a
    return _joined(runs[::-1])


def _joined(runs: list[tuple[int, int, int]]) -> list[tuple[int, int, int]]:
    """Join neighbouring stretches on the same candidate."""
    joined: list[tuple[int, int, int]] = []
    for i, a, b in runs:
        if joined and joined[-1][0] == i and joined[-1][2] == a:
            joined[-1] = (i, joined[-1][1], b)
        else:
            joined.append((i, a, b))
    return joined

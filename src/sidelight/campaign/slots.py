"""Cutting the nights a person can use into slots, with what each is worth to each job."""

import datetime as dt
import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from sidelight.campaign.records import Job, Slots
from sidelight.ground.types import BoolArray, FloatArray, IntArray

Weight = Callable[[Job, FloatArray], FloatArray]
"""Effective hours an hour for a job's target and filter at instants (MJD)."""

POINTS = 3
"""Gauss-Legendre points in each slot: exact for weights that run as a quintic within the hour."""
STEP_H = 1.0
GRID_H = 1.0 / 12.0
GAIN_DIGITS = 9
"""Decimals of an effective hour. The digits after them depend on how the memory lies, and equal plans must be told
apart the same way in every run."""
_TINY_DAYS = 5e-9


@dataclass(frozen=True, eq=False)
class Openings:
    """When one target can be photographed in one night.

    spans : (k, 2) of MJD, sorted, disjoint; a span ends where the side of the meridian changes.
    west : on which side of the flip each span lies, shape (k,).
    """

    spans: FloatArray
    west: BoolArray


NEVER = Openings(np.empty((0, 2)), np.zeros(0, dtype=bool))


@dataclass(frozen=True, eq=False)
class _Cuts:
    """The slots of all nights before anything is said of jobs."""

    night: IntArray
    start_mjd: FloatArray
    end_mjd: FloatArray


def cut_nights(
    jobs: Sequence[Job],
    nights: Sequence[tuple[dt.date, FloatArray]],
    openings: Callable[[str, int], Openings],
    weight: Weight,
    flip_overhead_h: float = 0.0,
    step_h: float = STEP_H,
    grid_h: float = GRID_H,
) -> Slots:
    """Return the slots of the given nights; each job is open in the whole of a slot or not at all.

    Parameters
    ----------
    nights : date and the spans (MJD) that the person can use in it.
    openings : for a target's key and a night's number, when it can be photographed.
    weight : see `Weight`. flip_overhead_h : clock hours lost at a flip, taken off the first slot west of it.
    step_h : no slot is longer. grid_h : edges of windows are moved inwards to a grid of this step that begins with
    the usable span, so that a window may lose up to one step at either end; flips are cut where they are.
    """
    keys = list(dict.fromkeys(job.key for job in jobs))
    open_at = {
        key: [openings(key, n) if len(usable) else NEVER for n, (_, usable) in enumerate(nights)] for key in keys
    }
    cuts = _cut(nights, [open_at[key] for key in keys], step_h, grid_h)
    length_h = (cuts.end_mjd - cuts.start_mjd) * 24.0
    by_key = {key: _open_in(cuts, open_at[key]) for key in keys}
    shape = (len(jobs), len(length_h))
    open_, west = np.zeros(shape, dtype=bool), np.zeros(shape, dtype=bool)
    gain_h = np.zeros(shape)
    for j, job in enumerate(jobs):
        open_[j], west[j] = by_key[job.key]
        gain_h[j] = _gain(job, cuts, open_[j], weight)
        first_west = _first_after_flip(cuts, open_[j], west[j])
        gain_h[j, first_west] *= np.maximum(0.0, 1.0 - flip_overhead_h / length_h[first_west])
    return Slots(
        dates=tuple(day for day, _ in nights),
        night=cuts.night,
        start_mjd=cuts.start_mjd,
        length_h=length_h,
        open_h=open_ * length_h,
        gain_h=np.round(gain_h, GAIN_DIGITS),
        west=west,
    )


def _cut(
    nights: Sequence[tuple[dt.date, FloatArray]], openings: Sequence[Sequence[Openings]], step_h: float, grid_h: float
) -> _Cuts:
    """Return the slots between all edges of all windows, long ones divided."""
    rows: list[tuple[int, float, float]] = []
    for n, (_, usable) in enumerate(nights):
        spans = [one[n].spans for one in openings if len(one[n].spans)]
        every = np.concatenate(spans) if spans else np.empty((0, 2))
        for start, end in usable:
            edges = _edges(float(start), float(end), every, grid_h)
            for a, b in itertools.pairwise(edges):
                count = max(1, int(np.ceil((b - a) * 24.0 / step_h - 1e-6)))
                rows += [(n, x, y) for x, y in itertools.pairwise(np.linspace(a, b, count + 1).tolist())]
    table = np.array(rows, dtype=np.float64).reshape(-1, 3)
    return _Cuts(table[:, 0].astype(np.int64), table[:, 1], table[:, 2])


def _edges(start: float, end: float, spans: FloatArray, grid_h: float) -> list[float]:
    """Return where a usable span is cut, both ends included: windows' edges moved inwards to the grid, and flips."""
    step = grid_h / 24.0
    flips = np.intersect1d(spans[:, 0], spans[:, 1])
    opening = start + np.ceil((spans[:, 0] - start) / step - 1e-6) * step
    closing = start + np.floor((spans[:, 1] - start) / step + 1e-6) * step
    moved = np.concatenate([opening[~np.isin(spans[:, 0], flips)], closing[~np.isin(spans[:, 1], flips)]])
    inside = np.concatenate([np.round((moved - start) / step) * step + start, flips])
    return [start, *np.unique(inside[(inside > start + _TINY_DAYS) & (inside < end - _TINY_DAYS)]).tolist(), end]


def _open_in(cuts: _Cuts, nights: Sequence[Openings]) -> tuple[BoolArray, BoolArray]:
    """Return in which slots a target is open throughout, and in which of them it is in the west."""
    open_, west = np.zeros(len(cuts.night), dtype=bool), np.zeros(len(cuts.night), dtype=bool)
    bounds = np.searchsorted(cuts.night, np.arange(len(nights) + 1))
    for n, one in enumerate(nights):
        here = slice(int(bounds[n]), int(bounds[n + 1]))
        for (start, end), is_west in zip(one.spans, one.west, strict=True):
            within = (cuts.start_mjd[here] >= start - _TINY_DAYS) & (cuts.end_mjd[here] <= end + _TINY_DAYS)
            open_[here] |= within
            west[here] |= within & bool(is_west)
    return open_, west


def _gain(job: Job, cuts: _Cuts, open_: BoolArray, weight: Weight) -> FloatArray:
    """Return a job's effective hours in each slot, its weight asked once for all instants."""
    gain_h = np.zeros(len(open_))
    at = np.flatnonzero(open_)
    if len(at):
        node, node_weight = np.polynomial.legendre.leggauss(POINTS)
        half = 0.5 * (cuts.end_mjd[at] - cuts.start_mjd[at])
        instants = (0.5 * (cuts.start_mjd[at] + cuts.end_mjd[at]))[:, None] + half[:, None] * node
        worth = np.asarray(weight(job, instants.ravel())).reshape(instants.shape)
        gain_h[at] = (worth * node_weight).sum(axis=1) * half * 24.0
    return gain_h


def _first_after_flip(cuts: _Cuts, open_: BoolArray, west: BoolArray) -> IntArray:
    """Return the slots in the west that come right after an open one in the east."""
    follows = (cuts.night[1:] == cuts.night[:-1]) & (cuts.start_mjd[1:] - cuts.end_mjd[:-1] < _TINY_DAYS)
    return np.flatnonzero(follows & open_[:-1] & ~west[:-1] & open_[1:] & west[1:]) + 1

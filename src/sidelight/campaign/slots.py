"""Cutting the nights a person can use into slots, with what each is worth to each job."""

import datetime as dt
import itertools
from collections.abc import Callable, Sequence

import numpy as np

from sidelight.campaign.records import Job, Slots
from sidelight.ground import spans
from sidelight.ground.types import FloatArray

Weight = Callable[[Job, FloatArray], FloatArray]
"""Effective hours an hour for a job's target and filter at instants (MJD)."""

POINTS = 3
"""Gauss-Legendre points in each open part of a slot: exact for weights that run as a quintic within the hour."""


def cut_nights(
    jobs: Sequence[Job],
    nights: Sequence[tuple[dt.date, FloatArray]],
    windows: Callable[[Job, dt.date], FloatArray],
    weight: Weight,
    step_h: float = 1.0,
) -> Slots:
    """Return the slots of the given nights.

    nights : date and the spans (MJD) that the person can use in it. windows : spans in which a job's target can be
    photographed in a night. A slot lies wholly in one usable span; none is longer than `step_h`.
    """
    rows: list[tuple[int, float, float]] = []
    for n, (_, usable) in enumerate(nights):
        for start, end in usable:
            count = max(1, int(np.ceil((end - start) * 24.0 / step_h - 1e-9)))
            edges = np.linspace(start, end, count + 1)
            rows += [(n, float(a), float(b)) for a, b in itertools.pairwise(edges)]
    table = np.array(rows, dtype=np.float64).reshape(-1, 3)
    open_h, gain_h = np.zeros((len(jobs), len(table))), np.zeros((len(jobs), len(table)))
    for j, job in enumerate(jobs):
        open_h[j], gain_h[j] = _job_row(job, table, nights, windows, weight)
    return Slots(
        dates=tuple(day for day, _ in nights),
        night=table[:, 0].astype(np.int64),
        start_mjd=table[:, 1],
        length_h=(table[:, 2] - table[:, 1]) * 24.0,
        open_h=open_h,
        gain_h=gain_h,
    )


def _job_row(
    job: Job,
    table: FloatArray,
    nights: Sequence[tuple[dt.date, FloatArray]],
    windows: Callable[[Job, dt.date], FloatArray],
    weight: Weight,
) -> tuple[FloatArray, FloatArray]:
    """Return one job's open and effective hours in each slot, its weight asked once for all instants."""
    node, node_weight = np.polynomial.legendre.leggauss(POINTS)
    pieces: list[tuple[int, float, float]] = []
    night = table[:, 0].astype(np.int64)
    for n, (day, _) in enumerate(nights):
        up = windows(job, day)
        if len(up):
            for s in np.flatnonzero(night == n):
                pieces += [(int(s), a, b) for a, b in spans.intersect(table[s : s + 1, 1:], up)]
    open_h, gain_h = np.zeros(len(table)), np.zeros(len(table))
    if pieces:
        slot, start, end = (np.array(column) for column in zip(*pieces, strict=True))
        half = 0.5 * (end - start)
        instants = (0.5 * (start + end))[:, None] + half[:, None] * node
        worth = np.asarray(weight(job, instants.ravel())).reshape(instants.shape)
        np.add.at(open_h, slot, 2 * half * 24.0)
        np.add.at(gain_h, slot, (worth * node_weight).sum(axis=1) * half * 24.0)
    return open_h, gain_h

"""What an hour is worth later: each job's value of what remains, night by night.

The campaign as a whole is too large for exact dynamic programming; with a price on each clock hour (the dual prices
of the allocation) it falls apart into one small problem for each job, solved exactly backwards over the nights. This
is the Lagrangian relaxation of a weakly coupled decision process (Adelman & Mersereau 2008, Operations Research 56,
712): the sum of the parts is an upper bound, and acting greedily on their slopes is the policy that the odds are
simulated with, so what the policy loses shows in the odds and never flatters them.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sidelight.campaign.records import Job, Slots
from sidelight.ground.types import FloatArray, IntArray

GRID_H = 0.25
FINISH_SHARE = 0.5
"""Part of a job's worth that lies in finishing it, for a job that wants to be finished this season."""

EAGERNESS = 0.01
"""Added to each slope, as a part of the worth of a goal's mean hour: each job alone believes that it can have all
that is free later, so between a use now and none the use now is right."""


@dataclass(frozen=True, eq=False)
class Values:
    """For each job the worth of what may still come.

    value : shape (j, n + 1, r), worth expected from night n on with r * GRID_H hours remaining; index n is the end.
    slope : shape (j, n + 1, r), worth of the next effective hour (or the rest, when less remains) from night n on;
    never quite 0 while anything remains, so that time to spare is used early.
    """

    value: FloatArray
    slope: FloatArray

    def grid(self, remaining_h: FloatArray) -> IntArray:
        """Return the grid index for hours remaining; any positive rest counts as at least one step."""
        index = np.ceil(remaining_h / GRID_H - 1e-9).astype(np.int64)
        return np.clip(index, 0, self.value.shape[2] - 1)


def worth_of_rest(job: Job, remaining_h: FloatArray) -> FloatArray:
    """Return the worth of ending the season with so many hours missing: priority when none is."""
    done = 1.0 - np.minimum(1.0, remaining_h / max(job.wanted_h, 1e-9))
    share = FINISH_SHARE if job.finish else 0.0
    return job.priority * ((1.0 - share) * done + share * (remaining_h <= 1e-9))


def values(jobs: Sequence[Job], slots: Slots, chance: FloatArray, price_per_h: FloatArray) -> Values:
    """Return each job's values under the given prices.

    price_per_h : expected worth of a clock hour of each slot, shape (s,), as the allocation gives it.
    """
    nights = len(slots.dates)
    top = max([job.remaining_h for job in jobs], default=0.0)
    levels = int(np.ceil(top / GRID_H - 1e-9)) + 1
    value = np.zeros((len(jobs), nights + 1, levels))
    remaining: FloatArray = np.arange(levels, dtype=np.float64) * GRID_H
    bounds = np.searchsorted(slots.night, np.arange(nights + 1))
    spent = price_per_h / np.maximum(chance[slots.night], 1e-9)
    for j, job in enumerate(jobs):
        value[j, nights] = worth_of_rest(job, remaining)
        for n in range(nights - 1, -1, -1):
            here = slice(int(bounds[n]), int(bounds[n + 1]))
            gain, cost = _options(slots.open_h[j, here], slots.gain_h[j, here], spent[here])
            left = np.maximum(0.0, remaining - gain[:, None])
            taken = np.interp(left, remaining, value[j, n + 1]) - cost[:, None]
            best = taken.max(axis=0, initial=-np.inf)
            value[j, n] = value[j, n + 1] + chance[n] * np.maximum(0.0, best - value[j, n + 1])
    eager = np.array([EAGERNESS * job.priority / max(job.wanted_h, 1e-9) for job in jobs])
    return Values(value, _slopes(value) + eager[:, None, None] * (np.arange(levels) > 0))


def _options(open_h: FloatArray, gain_h: FloatArray, price: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return effective hours and cost of taking the best slot, the best two, and so on."""
    up = gain_h > 1e-9
    open_h, gain_h, price = open_h[up], gain_h[up], price[up]
    order = np.argsort(price * open_h / gain_h, kind="stable")
    return np.cumsum(gain_h[order]), np.cumsum((price * open_h)[order])


def _slopes(value: FloatArray) -> FloatArray:
    """Return the mean worth of the next effective hour at each level; 0 where nothing remains."""
    step = round(1 / GRID_H)
    levels = value.shape[2]
    level = np.arange(levels)
    lower = np.maximum(level - step, 0)
    hours = np.maximum((level - lower) * GRID_H, GRID_H)
    return np.asarray((value[:, :, lower] - value) / hours * (level > 0))

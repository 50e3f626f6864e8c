"""The allocation's master programme: one plan for each night, one set-up for each block of nights.

Over plans l[n, u, k] of night n in set-up u, set-ups z[b, u] of blocks of nights, and changes c[b]:

    maximise   sum_j priority_j / wanted_j * y_j  -  change cost * sum_b c[b]
    y_j <= remaining_j,   y_j <= sum_{n, u, k} p_n * gain_j(plan k) * l[n, u, k]
    sum_k l[n, u, k] <= z[block(n), u],   sum_u z[b, u] = 1,   c[b] >= z[b, u] - z[b-1, u]

p_n is the chance that night n is usable, so y is the expectation of the effective hours. Solved by HiGHS (Huangfu &
Hall 2018, Mathematical Programming Computation 10, 119).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sidelight.campaign.plans import Plan
from sidelight.campaign.records import Job
from sidelight.ground.errors import OurFault
from sidelight.ground.types import FloatArray, IntArray

PATIENCE_S = 20.0
"""No search of whole plans takes longer on the clock."""


@dataclass(frozen=True, eq=False)
class Season:
    """What the master programme is about.

    chance : of each night, shape (n,). block : of each night, shape (n,). change_weight : cost of a change.
    set_up_now : the set-up on the telescope; None when the first one costs nothing.
    """

    jobs: tuple[Job, ...]
    chance: FloatArray
    block: IntArray
    set_ups_count: int
    change_weight: float
    set_up_now: int | None

    @property
    def blocks_count(self) -> int:
        """How many blocks have a set-up each."""
        return int(self.block[-1]) + 1

    @property
    def worth_per_h(self) -> FloatArray:
        """What an effective hour of each job counts until it has all it wants, shape (j,)."""
        return np.array([job.priority / max(job.wanted_h, 1e-9) * (job.remaining_h > 0) for job in self.jobs])

    @property
    def remaining_h(self) -> FloatArray:
        """What each job still wants, shape (j,)."""
        return np.array([job.remaining_h for job in self.jobs])


@dataclass(frozen=True, eq=False)
class Column:
    """A plan that may be chosen in a night under a set-up."""

    set_up: int
    plan: Plan


@dataclass(frozen=True, eq=False)
class Chosen:
    """A solution: share of each column, share of each set-up in each block (b, u), worth, and the jobs' prices.

    bound : what no choice of these columns exceeds; None where that was not asked.
    """

    share: FloatArray
    set_up: FloatArray
    worth: float
    job_worth_per_h: FloatArray
    bound: float | None = None


@dataclass(frozen=True, eq=False)
class _Rows:
    """The programme in the solver's form: minimise cost @ v, matrix @ v <= high, 0 <= v <= upper; y, l, z, c in v."""

    cost: FloatArray
    matrix: Any
    high: FloatArray
    equal: Any
    upper: FloatArray
    first_set_up: int


def relaxed(season: Season, columns: Sequence[Column]) -> Chosen:
    """Solve the master with plans and set-ups in parts; its dual prices are the jobs' worth of an hour."""
    from scipy.optimize import linprog

    rows = _rows(season, columns)
    box: Any = np.column_stack([np.zeros(len(rows.upper)), rows.upper])
    result = linprog(rows.cost, rows.matrix, rows.high, rows.equal, np.ones(season.blocks_count), box, method="highs")
    if result.x is None:
        raise OurFault(f"The allocation's relaxation could not be solved: {result.message}")
    price = -np.asarray(result.ineqlin.marginals)[: len(season.jobs)]
    return _chosen(season, rows, np.asarray(result.x), price)


def whole(
    season: Season, columns: Sequence[Column], gap: float, most_nodes: int, plans: bool = True
) -> Chosen | None:
    """Solve the master with whole set-ups and, unless told otherwise, whole plans; None for nothing found in time.

    The search ends at the gap or after so many nodes, so that any machine finds the same; PATIENCE_S is for the odd
    season in which even these take too long.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    rows = _rows(season, columns)
    integral = np.ones(len(rows.upper), dtype=np.int64)
    integral[: len(season.jobs) if plans else rows.first_set_up] = 0
    integral[len(rows.upper) - season.blocks_count :] = 0
    result = milp(
        rows.cost,
        integrality=integral,
        bounds=Bounds(0.0, rows.upper),
        constraints=[
            LinearConstraint(rows.matrix, -np.inf, rows.high),
            LinearConstraint(rows.equal, 1.0, 1.0),
        ],
        options={"mip_rel_gap": gap, "node_limit": most_nodes, "time_limit": PATIENCE_S},
    )
    if result.x is None:
        return None
    found = _chosen(season, rows, np.asarray(result.x), np.zeros(len(season.jobs)))
    return replace(found, bound=-float(result.mip_dual_bound))


def rounded(season: Season, columns: Sequence[Column], parts: Chosen) -> Chosen:
    """Return whole plans from a solution in parts: each block its largest set-up, each night its largest plan."""
    order = np.argmax(parts.set_up, axis=1)
    share = np.zeros(len(columns))
    best: dict[int, int] = {}
    for k, column in enumerate(columns):
        n = column.plan.night
        if column.set_up == order[season.block[n]] and parts.share[k] > parts.share[best.get(n, k)] - 1e-15:
            best[n] = k
    share[list(best.values())] = 1.0
    set_up = np.zeros(parts.set_up.shape)
    set_up[np.arange(len(order)), order] = 1.0
    return Chosen(share, set_up, worth_of(season, columns, share, order), parts.job_worth_per_h)


def worth_of(season: Season, columns: Sequence[Column], share: FloatArray, order: IntArray) -> float:
    """Return the objective of whole plans and an order of set-ups."""
    got = np.zeros(len(season.jobs))
    for k in np.flatnonzero(share > 0.5).tolist():
        got += season.chance[columns[k].plan.night] * columns[k].plan.gain_h
    changes = int(np.sum(order[1:] != order[:-1]))
    changes += int(season.set_up_now is not None and order[0] != season.set_up_now)
    return float(season.worth_per_h @ np.minimum(got, season.remaining_h)) - changes * season.change_weight


def bound_at(season: Season, price_per_h: FloatArray, night_worth: FloatArray) -> float:
    """Return the Lagrangian bound at the jobs' prices.

    night_worth : worth of the best plan of each usable night under each set-up at these prices, shape (n, u).
    """
    worth = np.zeros((season.blocks_count, season.set_ups_count))
    np.add.at(worth, season.block, season.chance[:, None] * night_worth)
    change = season.change_weight * (1.0 - np.eye(season.set_ups_count))
    total = worth[0] - (change[season.set_up_now] if season.set_up_now is not None else 0.0)
    for row in worth[1:]:
        total = (total[:, None] - change).max(axis=0) + row
    spare = np.maximum(0.0, season.worth_per_h - price_per_h)
    return float(spare @ season.remaining_h + total.max())


def _rows(season: Season, columns: Sequence[Column]) -> _Rows:
    """Return the programme for these columns."""
    from scipy.sparse import csr_array

    jobs, blocks, set_ups = len(season.jobs), season.blocks_count, season.set_ups_count
    z = jobs + len(columns)
    c = z + blocks * set_ups
    night = np.array([one.plan.night for one in columns], dtype=np.int64)
    set_up = np.array([one.set_up for one in columns], dtype=np.int64)
    gains = season.chance[night] * np.array([one.plan.gain_h for one in columns]).reshape(-1, jobs).T
    j, k = np.nonzero(gains)
    places, row_of = np.unique(night * set_ups + set_up, return_inverse=True)
    later = np.arange((blocks - 1) * set_ups)
    first = np.array([c, z + season.set_up_now]) if season.set_up_now is not None else np.empty(0, np.int64)
    plan_row, change_row = jobs, jobs + len(places)
    last_row = change_row + len(later)
    row = np.r_[
        np.arange(jobs),
        j,
        plan_row + row_of.ravel(),
        plan_row + np.arange(len(places)),
        np.tile(change_row + later, 3),
        np.full(len(first), last_row),
    ]
    column = np.r_[
        np.arange(jobs),
        jobs + k,
        jobs + np.arange(len(columns)),
        z + season.block[places // set_ups] * set_ups + places % set_ups,
        np.r_[z + set_ups + later, z + later, c + 1 + later // set_ups],
        first,
    ]
    value = np.r_[
        np.ones(jobs),
        -gains[j, k],
        np.ones(len(columns)),
        -np.ones(len(places)),
        np.r_[np.ones(len(later)), -np.ones(2 * len(later))],
        -np.ones(len(first)),
    ]
    count = last_row + (1 if len(first) else 0)
    high = np.zeros(count)
    high[last_row:] = -1.0
    every = np.arange(blocks * set_ups)
    equal = csr_array((np.ones(len(every)), (every // set_ups, z + every)), shape=(blocks, c + blocks))
    return _Rows(
        cost=np.r_[-season.worth_per_h, np.zeros(c - jobs), np.full(blocks, season.change_weight)],
        matrix=csr_array((value, (row, column)), shape=(count, c + blocks)),
        high=high,
        equal=equal,
        upper=np.r_[season.remaining_h, np.ones(c - jobs + blocks)],
        first_set_up=z,
    )


def _chosen(season: Season, rows: _Rows, vector: FloatArray, price: FloatArray) -> Chosen:
    """Return a solver's vector in parts."""
    z = rows.first_set_up
    set_up = vector[z : z + season.blocks_count * season.set_ups_count]
    return Chosen(
        share=vector[len(season.jobs) : z],
        set_up=set_up.reshape(season.blocks_count, season.set_ups_count),
        worth=-float(rows.cost @ vector),
        job_worth_per_h=price,
    )

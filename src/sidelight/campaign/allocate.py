"""The allocation: which job gets which hours of which night, in which set-up, solved exactly.

A mixed-integer linear programme over clock hours x[j, s] of job j in slot s:

    maximise   sum_j priority_j / wanted_j * y_j  -  change cost * changes of set-up
    y_j <= remaining_j,   y_j <= sum_s p[night(s)] * rate[j, s] * x[j, s]
    sum_j x[j, s] <= length_s,    x[j, s] <= open[j, s]
    stay * b[j, n] <= sum_{s in n} x[j, s] <= H_n * b[j, n]
    sum_{j, s in n} x[j, s] + overhead * sum_j b[j, n] <= H_n
    x only for jobs that the night's one set-up z[n, u] serves

p is the chance that the night is usable, so y is the expectation of the effective hours. Solved by HiGHS (Huangfu &
Hall 2018, Mathematical Programming Computation 10, 119), to the gap that is reported with the answer.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from sidelight.campaign.records import Allocation, Job, Rules, SetUpChoice, Slots
from sidelight.ground.errors import OurFault
from sidelight.ground.types import FloatArray, IntArray

Sparse = Any
"""A scipy.sparse matrix; scipy is imported only when it is needed."""

RELATIVE_GAP = 0.01
TIME_LIMIT_S = 4.0
"""The proof can take minutes when several set-ups compete; the gap that is left is reported instead."""


@dataclass(frozen=True)
class _Layout:
    """Where each kind of variable stands in the long vector: x, then y, b, z, c."""

    jobs: int
    slots: int
    nights: int
    set_ups: int
    pair_job: IntArray
    pair_slot: IntArray
    block: IntArray

    @property
    def blocks(self) -> int:
        return int(self.block[-1]) + 1 if len(self.block) else 0

    @property
    def y(self) -> int:
        return len(self.pair_job)

    @property
    def b(self) -> int:
        return self.y + self.jobs

    @property
    def z(self) -> int:
        return self.b + self.jobs * self.nights

    @property
    def c(self) -> int:
        return self.z + self.blocks * self.set_ups

    @property
    def size(self) -> int:
        return self.c + self.blocks


def allocate(
    jobs: Sequence[Job],
    slots: Slots,
    chance: FloatArray,
    rules: Rules,
    set_ups: Sequence[SetUpChoice] = (),
    set_up_now: int | None = None,
    gap: float = RELATIVE_GAP,
    block: IntArray | None = None,
) -> Allocation:
    """Return the allocation of the highest expected, priority-weighted share of the goals.

    chance : probability of each night being usable, shape (n,). set_ups : empty means one that serves every job.
    set_up_now : the set-up on the telescope, so that leaving it in the first night costs a change.
    block : nights with the same number share one set-up, shape (n,), from 0 and rising by at most 1: the set-up is
    changed only between blocks. Each night is its own block unless given.
    A job that nothing can reach gets no hours; that is an outcome, not an error.
    Raises OurFault when the solver fails, which it must not: doing nothing is always allowed.
    """
    choices = tuple(set_ups) or (SetUpChoice("", tuple(range(len(jobs)))),)
    blocks = np.arange(len(slots.dates)) if block is None else block
    layout = _layout(jobs, slots, choices, blocks)
    if not layout.y:
        return _nothing(jobs, slots)
    matrix, low, high = _constraints(slots, chance, rules, choices, layout, set_up_now)
    cost = _cost(jobs, rules, layout)
    upper = _upper_bounds(jobs, slots, layout)
    relaxed = _relax(cost, matrix, high, upper, layout)
    box = (np.zeros(layout.size), upper)
    if layout.set_ups > 1:
        # first the order of set-ups with visits in parts, then whole visits in that order: two small searches
        first, _, bound = _solve(cost, matrix, low, high, box, _whole(layout, visits=False), gap)
        box[0][layout.z : layout.c] = box[1][layout.z : layout.c] = np.round(first[layout.z : layout.c])
        solution, worth, _ = _solve(cost, matrix, low, high, box, _whole(layout, visits=True), gap)
    else:
        solution, worth, bound = _solve(cost, matrix, low, high, box, _whole(layout, visits=True), gap)
    return _answer(jobs, slots, chance, layout, solution, (worth, min(bound, relaxed.bound)), relaxed.price_per_h)


def _layout(jobs: Sequence[Job], slots: Slots, choices: Sequence[SetUpChoice], block: IntArray) -> _Layout:
    """Keep only the pairs of job and slot that are open, wanted and served by some set-up."""
    served = {j for choice in choices for j in choice.jobs}
    wanted = np.array([job.remaining_h > 0 and job.priority > 0 and j in served for j, job in enumerate(jobs)], bool)
    pair_job, pair_slot = (
        np.nonzero((slots.gain_h > 1e-9) & wanted[:, None]) if len(jobs) else (np.zeros(0, int),) * 2
    )
    return _Layout(len(jobs), len(slots.night), len(slots.dates), len(choices), pair_job, pair_slot, block)


def _cost(jobs: Sequence[Job], rules: Rules, layout: _Layout) -> FloatArray:
    """Return what is minimised: minus the worth."""
    cost = np.zeros(layout.size)
    cost[layout.y : layout.b] = [-job.priority / max(job.wanted_h, 1e-9) for job in jobs]
    mean_wanted = float(np.mean([job.wanted_h for job in jobs])) or 1.0
    cost[layout.c :] = rules.change_cost_h / mean_wanted
    return cost


def _upper_bounds(jobs: Sequence[Job], slots: Slots, layout: _Layout) -> FloatArray:
    """Return the upper bound of each variable; all start at 0."""
    upper = np.ones(layout.size)
    upper[: layout.y] = slots.open_h[layout.pair_job, layout.pair_slot]
    upper[layout.y : layout.b] = [job.remaining_h for job in jobs]
    return upper


class _Rows:
    """Collects the rows of a sparse matrix with their bounds."""

    def __init__(self) -> None:
        self.row: list[IntArray] = []
        self.column: list[IntArray] = []
        self.value: list[FloatArray] = []
        self.low: list[FloatArray] = []
        self.high: list[FloatArray] = []
        self.count = 0

    def add(
        self, row: IntArray, column: IntArray, value: FloatArray | float, count: int, high: FloatArray | float
    ) -> None:
        """Add `count` rows of the form sum <= high; `row` counts from 0 within them."""
        self.row.append(np.asarray(row, np.int64) + self.count)
        self.column.append(np.asarray(column, np.int64))
        self.value.append(np.broadcast_to(np.asarray(value, float), np.shape(row)))
        self.low.append(np.full(count, -np.inf))
        self.high.append(np.broadcast_to(np.asarray(high, float), (count,)))
        self.count += count


def _constraints(
    slots: Slots,
    chance: FloatArray,
    rules: Rules,
    choices: Sequence[SetUpChoice],
    layout: _Layout,
    set_up_now: int | None,
) -> tuple[Sparse, FloatArray, FloatArray]:
    """Return the sparse matrix and its row bounds; the first rows are the slots' lengths, for their prices."""
    from scipy.sparse import csr_array

    rows = _Rows()
    pairs = np.arange(layout.y)
    j, s = layout.pair_job, layout.pair_slot
    n = slots.night[s]
    night_h = np.bincount(slots.night, slots.length_h, minlength=layout.nights).astype(np.float64)
    rows.add(s, pairs, 1.0, layout.slots, slots.length_h)
    expected = -slots.rate[j, s] * chance[n]
    every_job = np.arange(layout.jobs)
    rows.add(np.r_[j, every_job], np.r_[pairs, layout.y + every_job], np.r_[expected, np.ones(layout.jobs)],
             layout.jobs, 0.0)  # fmt: skip
    _visits(rows, layout, rules, night_h, n)
    _set_ups(rows, layout, choices, slots, set_up_now)
    matrix = csr_array(
        (np.concatenate(rows.value), (np.concatenate(rows.row), np.concatenate(rows.column))),
        shape=(rows.count, layout.size),
    )
    return matrix, np.concatenate(rows.low), np.concatenate(rows.high)


def _visits(rows: _Rows, layout: _Layout, rules: Rules, night_h: FloatArray, n: IntArray) -> None:
    """Hold each visit to its shortest stay, and charge its overhead."""
    pairs, j = np.arange(layout.y), layout.pair_job
    visits = layout.jobs * layout.nights
    visit = j * layout.nights + n
    every = np.arange(visits)
    length = np.tile(night_h, layout.jobs)
    one = np.ones(layout.y)
    rows.add(np.r_[visit, every], np.r_[pairs, layout.b + every], np.r_[one, -length], visits, 0.0)
    rows.add(np.r_[visit, every], np.r_[pairs, layout.b + every], np.r_[-one, np.full(visits, rules.shortest_stay_h)],
             visits, 0.0)  # fmt: skip
    rows.add(np.r_[n, every % layout.nights], np.r_[pairs, layout.b + every],
             np.r_[one, np.full(visits, rules.overhead_h)], layout.nights, night_h)  # fmt: skip


def _set_ups(
    rows: _Rows,
    layout: _Layout,
    choices: Sequence[SetUpChoice],
    slots: Slots,
    set_up_now: int | None,
) -> None:
    """Give each night one set-up, each job one that serves it, and count changes in c."""
    blocks, every = layout.blocks, np.arange(layout.blocks * layout.set_ups)
    rows.add(every // layout.set_ups, layout.z + every, 1.0, blocks, 1.0)
    serves = np.zeros((layout.jobs, layout.set_ups), dtype=bool)
    for u, choice in enumerate(choices):
        serves[list(choice.jobs), u] = True
    for u in range(layout.set_ups):
        # a slot whose night has this set-up is closed to the jobs that the set-up does not serve
        other = np.flatnonzero(~serves[layout.pair_job, u])
        z = layout.z + layout.block[slots.night] * layout.set_ups + u
        every_slot = np.arange(layout.slots)
        rows.add(np.r_[layout.pair_slot[other], every_slot], np.r_[other, z],
                 np.r_[np.ones(len(other)), slots.length_h], layout.slots, slots.length_h)  # fmt: skip
    if layout.set_ups == 1:
        return
    # a block that does no work names a set-up too, so that every change is seen
    rows.add(every // layout.set_ups, layout.z + every, -1.0, blocks, -1.0)
    later = np.arange((blocks - 1) * layout.set_ups)
    at = layout.z + layout.set_ups + later
    rows.add(
        np.r_[later, later, later],
        np.r_[at, at - layout.set_ups, layout.c + 1 + later // layout.set_ups],
        np.r_[np.ones(len(later)), -np.ones(len(later)), -np.ones(len(later))],
        len(later),
        0.0,
    )
    if set_up_now is not None:
        rows.add(np.zeros(2, int), np.array([layout.z + set_up_now, layout.c]), np.array([-1.0, -1.0]), 1, -1.0)


def _whole(layout: _Layout, visits: bool) -> IntArray:
    """Return 1 for each variable that must be an integer: the set-ups, and the visits if asked."""
    whole = np.zeros(layout.size, dtype=np.int64)
    whole[layout.z : layout.c] = 1
    if visits:
        whole[layout.b : layout.z] = 1
    return whole


def _solve(
    cost: FloatArray,
    matrix: Sparse,
    low: FloatArray,
    high: FloatArray,
    box: tuple[FloatArray, FloatArray],
    whole: IntArray,
    gap: float,
) -> tuple[FloatArray, float, float]:
    """Return the solution within the box, its worth and the proven bound; `whole` is 1 where only integers count."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    result = milp(
        cost,
        integrality=whole,
        bounds=Bounds(*box),
        constraints=LinearConstraint(matrix, low, high),
        options={"mip_rel_gap": gap, "time_limit": TIME_LIMIT_S},
    )
    if result.x is None:
        raise OurFault(f"The allocation could not be solved: {result.message}")
    bound = result.mip_dual_bound if result.mip_dual_bound is not None else result.fun
    return np.asarray(result.x), -float(result.fun), -float(bound)


@dataclass(frozen=True, eq=False)
class _Relaxed:
    """The programme without whole visits and whole set-ups: a bound, and the slots' prices."""

    bound: float
    price_per_h: FloatArray


def _relax(cost: FloatArray, matrix: Sparse, high: FloatArray, upper: FloatArray, layout: _Layout) -> _Relaxed:
    """Solve the relaxation; its dual prices are those of the slots' lengths."""
    from scipy.optimize import linprog

    result = linprog(cost, A_ub=matrix, b_ub=high, bounds=[(0.0, float(top)) for top in upper])
    if result.x is None:
        raise OurFault(f"The allocation's relaxation could not be solved: {result.message}")
    dual = -np.asarray(result.ineqlin.marginals)
    return _Relaxed(-float(cost @ result.x), dual[: layout.slots])


def _nothing(jobs: Sequence[Job], slots: Slots) -> Allocation:
    """Return the allocation of no hours."""
    shape = (len(jobs), len(slots.night))
    nights = np.zeros(len(slots.dates), dtype=np.int64)
    return Allocation(np.zeros(shape), nights, np.zeros(len(jobs)), 0.0, 0.0, 0.0, np.zeros(shape[1]))


def _answer(
    jobs: Sequence[Job],
    slots: Slots,
    chance: FloatArray,
    layout: _Layout,
    solution: FloatArray,
    objective: tuple[float, float],
    price: FloatArray,
) -> Allocation:
    """Return the allocation in words of jobs and slots."""
    worth, bound = objective
    hours = np.zeros((layout.jobs, layout.slots))
    hours[layout.pair_job, layout.pair_slot] = np.maximum(0.0, solution[: layout.y])
    expected = (hours * slots.rate * chance[slots.night]).sum(axis=1)
    wanted = np.array([job.remaining_h for job in jobs])
    z = solution[layout.z : layout.c].reshape(layout.blocks, layout.set_ups)
    return Allocation(
        hours_h=hours,
        set_up=np.argmax(z, axis=1)[layout.block],
        expected_h=np.minimum(expected, wanted),
        worth=worth,
        bound=max(bound, worth),
        gap_fraction=max(0.0, (bound - worth) / bound) if bound > 0 else 0.0,
        price_per_h=price,
    )

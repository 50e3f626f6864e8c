"""The allocation: which target in which stretch of which night, in which set-up.

There are far too many plans of a night to list them all, so the master programme (see `master`) begins with a few and
is given more as its prices ask for them: at the prices of the jobs' hours the best plan of every night is found
exactly (see `plans`), until none would add anything. This is column generation (Dantzig & Wolfe 1960, Operations
Research 8, 101); the prices also give a proven bound at every step. Whole plans and set-ups are then chosen among the
plans found. Where nights are so short that all plans can be listed, they are, and the answer is exact.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from sidelight.campaign.master import Chosen, Column, Season, bound_at, relaxed, rounded, whole, worth_of
from sidelight.campaign.plans import NightTable, Plan, best_plans, every_plan
from sidelight.campaign.prices import hour_prices
from sidelight.campaign.records import (
    Allocation,
    Job,
    PlannedStay,
    Rules,
    SetUpChoice,
    Slots,
    change_worth,
    served_table,
)
from sidelight.ground.types import BoolArray, FloatArray, IntArray

RELATIVE_GAP = 0.005
MOST_ROUNDS = 40
EVERY_PLAN_UP_TO = 300
"""Assignments of jobs to slots in a night up to which all its plans are listed."""
SET_UP_NODES = 1
PLAN_NODES = 100
PROOF_NODES = 10_000
"""Nodes of the solver's tree at most. For set-ups the root: in three seasons of 10 to 30 targets forty found nothing
better. For plans about three seconds with thirty targets. Where all plans are listed, as many as a proof may need."""


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
    gap : share of the bound that may be left; a large season may leave more, and the answer says how much.
    A job that nothing can reach gets no hours; that is an outcome, not an error.
    """
    blocks = np.arange(len(slots.dates)) if block is None else block
    served = served_table(len(jobs), slots, set_ups)
    useful = slots.gain_h * served.any(axis=0)
    if not jobs or not np.any(useful[[job.remaining_h > 0 for job in jobs]] > 0):
        return _nothing(jobs, slots, set_up_now)
    season = Season(tuple(jobs), chance, blocks, len(served), change_worth(jobs, rules), set_up_now)
    if _few_plans(slots, useful):
        return _exact(season, slots, rules, served, gap)
    return _searched(season, slots, rules, served, gap)


def _exact(season: Season, slots: Slots, rules: Rules, served: BoolArray, gap: float) -> Allocation:
    """Return the best allocation over all plans there are."""
    columns = [
        Column(u, plan)
        for u, one in enumerate(served)
        for n in range(len(slots.dates))
        for plan in every_plan(season.jobs, slots, rules, one, n)
    ]
    parts = relaxed(season, columns)
    best = whole(season, columns, gap, PROOF_NODES) or rounded(season, columns, parts)
    bound = best.worth if best.bound is None else best.bound
    return _answer(season, slots, served, columns, best, bound, parts.job_worth_per_h)


def _searched(season: Season, slots: Slots, rules: Rules, served: BoolArray, gap: float) -> Allocation:
    """Return a good allocation of a season whose plans are too many, first its set-ups, then its plans."""
    columns, parts, bound = _generated(season, slots, rules, served, gap)
    if len(served) == 1:
        best = _whole_plans(season, columns, parts, gap)
        return _answer(season, slots, served, columns, best, bound, parts.job_worth_per_h)
    first = whole(season, columns, gap / 2, SET_UP_NODES, plans=False) or parts
    order = np.argmax(first.set_up, axis=1)
    here = served[order[season.block[slots.night]], :, np.arange(len(slots.night))].T[None]
    alone = replace(season, set_ups_count=1, set_up_now=None)
    own = [Column(0, one.plan) for one in columns if one.set_up == order[season.block[one.plan.night]]]
    columns, parts, _ = _generated(alone, slots, rules, here, gap, own)
    best = _whole_plans(alone, columns, parts, gap)
    columns = [Column(int(order[season.block[one.plan.night]]), one.plan) for one in columns]
    set_up = np.zeros((season.blocks_count, len(served)))
    set_up[np.arange(len(order)), order] = 1.0
    return _answer(season, slots, served, columns, replace(best, set_up=set_up), bound, parts.job_worth_per_h)


def _whole_plans(season: Season, columns: Sequence[Column], parts: Chosen, gap: float) -> Chosen:
    """Return whole plans: those the solver finds in time, or the rounded ones when these are no worse."""
    simple = rounded(season, columns, parts)
    if simple.worth >= (1 - gap / 2) * parts.worth:
        return simple
    found = whole(season, columns, gap / 2, PLAN_NODES)
    return simple if found is None or found.worth < simple.worth else found


def _few_plans(slots: Slots, useful: FloatArray) -> bool:
    """Tell whether every night's plans can be listed."""
    choices = np.log(1.0 + (useful > 0).sum(axis=0))
    return bool(np.bincount(slots.night, choices).max() <= np.log(EVERY_PLAN_UP_TO) + 1e-9)


class _Pool:
    """The plans found so far, each once."""

    def __init__(self) -> None:
        self.columns: list[Column] = []
        self.known: set[tuple[int, int, bytes]] = set()

    def add(self, set_up: int, plans: Sequence[Plan]) -> int:
        """Add plans that are new, and return how many were."""
        before = len(self.columns)
        for plan in plans:
            name = (set_up, plan.night, np.round(plan.gain_h, 9).tobytes())
            if name not in self.known:
                self.known.add(name)
                self.columns.append(Column(set_up, plan))
        return len(self.columns) - before


def _generated(
    season: Season, slots: Slots, rules: Rules, served: BoolArray, gap: float, known: Sequence[Column] = ()
) -> tuple[list[Column], Chosen, float]:
    """Return plans, the known ones among them, the master's solution over them in parts, and the bound."""
    table, pool = NightTable.of(slots), _Pool()
    for column in known:
        pool.add(column.set_up, [column.plan])
    somewhere: BoolArray = np.asarray(served.any(axis=0))
    start = hour_prices(season.jobs, slots, season.chance, somewhere).job_worth_per_h
    price, best_price, bound = start, start, np.inf
    # the first prices are about right; plans at others beside them give the master something to choose from
    for guess in (season.worth_per_h, 0.5 * (start + season.worth_per_h)):
        _add_plans(season, slots, table, rules, served, guess, pool)
    parts = None
    for _ in range(MOST_ROUNDS):
        added, here = _add_plans(season, slots, table, rules, served, price, pool)
        if here < bound:
            bound, best_price = here, price
        if parts is not None and added == 0 and np.array_equal(price, parts.job_worth_per_h):
            break
        parts = relaxed(season, pool.columns)
        if bound - parts.worth <= 0.25 * gap * bound:
            break
        # half way to the best prices so far: the master's own jump about (Wentges 1997)
        price = 0.5 * (parts.job_worth_per_h + best_price) if added else parts.job_worth_per_h
    assert parts is not None
    return pool.columns, parts, bound


def _add_plans(
    season: Season,
    slots: Slots,
    table: NightTable,
    rules: Rules,
    served: BoolArray,
    price_per_h: FloatArray,
    pool: _Pool,
) -> tuple[int, float]:
    """Add each night's best plans at some prices; return how many were new, and the bound there."""
    worth = np.zeros((len(slots.dates), len(served)))
    added = 0
    for u, one in enumerate(served):
        worth[:, u], plans = best_plans(season.jobs, slots, table, rules, one, price_per_h)
        added += pool.add(u, plans)
    return added, bound_at(season, price_per_h, worth)


def _nothing(jobs: Sequence[Job], slots: Slots, set_up_now: int | None) -> Allocation:
    """Return the allocation of no hours."""
    count, size = len(jobs), len(slots.night)
    nights = np.full(len(slots.dates), set_up_now or 0, dtype=np.int64)
    return Allocation(
        (), np.zeros((count, size)), nights, np.zeros(count), 0.0, 0.0, 0.0, np.zeros(count), np.zeros(size)
    )


def _answer(
    season: Season,
    slots: Slots,
    served: BoolArray,
    columns: Sequence[Column],
    chosen: Chosen,
    bound: float,
    price_per_h: FloatArray,
) -> Allocation:
    """Return the allocation in words of jobs and slots."""
    order = np.argmax(chosen.set_up, axis=1)
    worth = worth_of(season, columns, chosen.share, order)
    bound = max(bound, worth)
    hours = np.zeros((len(season.jobs), len(slots.night)))
    stays: list[PlannedStay] = []
    picked = [columns[int(k)] for k in np.flatnonzero(chosen.share > 0.5)]
    for column in sorted(picked, key=lambda one: one.plan.night):
        for j, s, clock_h in column.plan.hours_h:
            hours[j, s] += clock_h
        stays += _planned(column.plan, slots)
    rate = slots.rate * season.chance[slots.night]
    set_up = order[season.block]
    here = served[set_up[slots.night], :, np.arange(len(slots.night))].T
    return Allocation(
        stays=tuple(stays),
        hours_h=hours,
        set_up=set_up,
        expected_h=np.minimum((hours * rate).sum(axis=1), season.remaining_h),
        worth=worth,
        bound=bound,
        gap_fraction=max(0.0, (bound - worth) / bound) if bound > 0 else 0.0,
        job_worth_per_h=price_per_h,
        worth_per_h=(price_per_h[:, None] * rate * here).max(axis=0, initial=0.0),
    )


def _planned(plan: Plan, slots: Slots) -> list[PlannedStay]:
    """Return a plan's stays with their instants."""
    stays = []
    for stay in plan.stays:
        hours: dict[int, float] = {}
        for j, s, clock_h in plan.hours_h:
            if stay.first <= s < stay.after:
                hours[j] = hours.get(j, 0.0) + clock_h
        start = float(slots.start_mjd[stay.first])
        end = float(slots.start_mjd[stay.after - 1] + slots.length_h[stay.after - 1] / 24.0)
        stays.append(PlannedStay(plan.night, stay.target, start, end, tuple(hours.items())))
    return stays

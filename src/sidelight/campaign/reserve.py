"""What is left of the nights once average weather has filled every goal: hours in reserve against a bad run.

The allocation counts on average weather, so hours beyond the goals add nothing to it and stay empty, though the odds
of every goal may be well below certainty. Here they are given to whoever's goal is worth most and least certain. The
allocation's own stays are kept, drawn out into the gaps beside them, and joined by new ones. Then the poorest hours
that a goal does not need in average weather are marked as the reserve. What the allocation collects of each goal is
still collected by the stays that are not in reserve, so its worth, bound and gap stay true.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from sidelight.campaign.records import Allocation, Job, PlannedStay, Rules, Slots, target_numbers
from sidelight.campaign.value import GRID_H, Values
from sidelight.ground.types import BoolArray, FloatArray, IntArray

_TINY_H = 1e-6
RATE_STEP = 0.1
"""Effective hours an hour that differ by less count alike: the earlier stay is then the plan, the later reserve."""


@dataclass(frozen=True)
class _Run:
    """A stay on a target from a slot to the slot after its last."""

    target: int
    first: int
    after: int


@dataclass(frozen=True, eq=False)
class _Bids:
    """What the targets offer for each slot: whether they can use it, what it is worth, and for which job, (t, s)."""

    open_: BoolArray
    worth: FloatArray
    job: IntArray


def with_reserve(
    plan: Allocation,
    jobs: Sequence[Job],
    slots: Slots,
    chance: FloatArray,
    rules: Rules,
    served: BoolArray,
    price_per_h: FloatArray,
) -> Allocation:
    """Return the allocation with its empty hours filled and each stay marked as planned or in reserve.

    served : where the plan's set-ups serve a job, shape (j, s). price_per_h : what an effective hour of each job in
    reserve is worth in each night, shape (j, n); 0 for a goal that is certain or met, which gets none.
    In each gap the best row of stays is found exactly, first with none below the shortest stay, then, in what no
    neighbour can be drawn out over either, also shorter ones that outlast the change. `hours_h` and `stays` contain
    the reserve; `worth`, `bound` and `gap_fraction` stay the allocation's own.
    """
    if not jobs or not len(slots.night):
        return plan
    number = target_numbers(jobs)
    bids = _bids(slots, served, price_per_h, number, plan.hours_h)
    runs = [_run_of(stay, slots) for stay in plan.stays]
    for shortest_h in (rules.shortest_stay_h, 0.0):
        for gap in list(_gaps(runs, slots)):
            runs += _best_row(gap, runs, bids, slots, rules.overhead_h, shortest_h)
        runs = _joined(runs, slots)
    hours = np.zeros(plan.hours_h.shape)
    stays = []
    for run in runs:
        inside = _exposing_h(run, slots, rules.overhead_h)
        given: dict[int, float] = {}
        for s, hours_h in inside:
            j = int(bids.job[run.target, s])
            hours[j, s] += hours_h
            given[j] = given.get(j, 0.0) + hours_h
        end_mjd = slots.start_mjd[run.after - 1] + slots.length_h[run.after - 1] / 24.0
        start_mjd = float(slots.start_mjd[run.first])
        night = int(slots.night[run.first])
        stays.append(PlannedStay(night, run.target, start_mjd, float(end_mjd), tuple(given.items())))
    gains = _gains(runs, slots, chance, hours, number)
    return replace(plan, stays=_marked(stays, gains, np.array([job.remaining_h for job in jobs])), hours_h=hours)


def slopes_on_average(
    jobs: Sequence[Job], slots: Slots, chance: FloatArray, plan: Allocation, worth: Values
) -> FloatArray:
    """Return what an effective hour of each job is worth in each night, shape (j, n), by the policy's values.

    Each job is taken to have what the plan gives it on average by then; one that has it all, the last bit to go.
    """
    nights = len(slots.dates)
    rate = slots.rate * chance[slots.night]
    found = np.zeros((len(jobs), nights))
    for j, job in enumerate(jobs):
        gained = np.bincount(slots.night, plan.hours_h[j] * rate[j], minlength=nights)
        left = np.maximum(job.remaining_h - (np.cumsum(gained) - gained), min(GRID_H, job.remaining_h))
        found[j] = worth.slope[j, np.arange(1, nights + 1), worth.grid(left)]
    return found


def _bids(slots: Slots, served: BoolArray, price_per_h: FloatArray, number: IntArray, planned_h: FloatArray) -> _Bids:
    """Return the targets' bids; a slot that the plan has given to a job stays that job's."""
    rate = slots.rate * served
    bid = rate * price_per_h[:, slots.night]
    shape = (int(number.max()) + 1, bid.shape[1])
    open_, worth, job = np.zeros(shape, dtype=bool), np.zeros(shape), np.zeros(shape, dtype=np.int64)
    for t in range(shape[0]):
        mine = np.flatnonzero(number == t)
        best = np.where(planned_h[mine] > 0, np.inf, bid[mine])
        job[t] = mine[np.argmax(best, axis=0)]
        worth[t] = bid[mine].max(axis=0)
        open_[t] = worth[t] > 0
    return _Bids(open_, worth, job)


def _run_of(stay: PlannedStay, slots: Slots) -> _Run:
    """Return a planned stay by its slots."""
    first = int(np.searchsorted(slots.start_mjd, stay.start_mjd - 1e-7))
    after = int(np.searchsorted(slots.start_mjd, stay.end_mjd - 1e-7))
    return _Run(stay.target, first, after)


def _gaps(runs: Sequence[_Run], slots: Slots) -> Iterator[tuple[int, int]]:
    """Yield unbroken rows of slots that nothing is planned in, as (first, after)."""
    taken = np.zeros(len(slots.night), dtype=bool)
    for run in runs:
        taken[run.first : run.after] = True
    first = None
    for s in range(len(taken)):
        if first is not None and (taken[s] or not slots.follows[s]):
            yield first, s
            first = None
        if first is None and not taken[s]:
            first = s
    if first is not None:
        yield first, len(taken)


def _best_row(
    gap: tuple[int, int], runs: Sequence[_Run], bids: _Bids, slots: Slots, overhead_h: float, shortest_h: float
) -> list[_Run]:
    """Return the stays that are worth most in a gap; those that draw a neighbour out pay no overhead."""
    first, after = gap
    before = next((one.target for one in runs if one.after == first and slots.follows[first]), -1)
    meets = after < len(slots.night) and slots.follows[after]
    behind = next((one.target for one in runs if one.first == after and meets), -1)
    best, came = [0.0] * (after - first + 1), dict[int, _Run]()
    for b in range(first + 1, after + 1):
        best[b - first] = best[b - first - 1]
        for t in np.flatnonzero(bids.open_[:, b - 1]).tolist():
            worth = length_h = 0.0
            for a in range(b - 1, first - 1, -1):
                if not bids.open_[t, a]:
                    break
                worth += float(bids.worth[t, a] * slots.length_h[a])
                length_h += float(slots.length_h[a])
                joins = (a == first and t == before) or (b == after and t == behind)
                if not joins and (length_h <= overhead_h + _TINY_H or length_h < shortest_h + overhead_h - _TINY_H):
                    continue
                lost = 0.0 if joins else _lost(bids.worth[t], slots, a, overhead_h)
                if best[a - first] + worth - lost > best[b - first] + 1e-12:
                    best[b - first], came[b] = best[a - first] + worth - lost, _Run(t, a, b)
    return _traced(came, first, after, best)


def _traced(came: dict[int, _Run], first: int, after: int, best: Sequence[float]) -> list[_Run]:
    """Follow the choices back from a gap's end."""
    found, b = [], after
    while b > first:
        if best[b - first] <= best[b - first - 1]:
            b -= 1
            continue
        found.append(came[b])
        b = came[b].first
    return found[::-1]


def _lost(worth: FloatArray, slots: Slots, first: int, overhead_h: float) -> float:
    """Return what the overhead at the start of a stay costs."""
    lost, left_h, s = 0.0, overhead_h, first
    while left_h > 0 and s < len(worth):
        used_h = min(left_h, float(slots.length_h[s]))
        lost, left_h, s = lost + used_h * float(worth[s]), left_h - used_h, s + 1
    return lost


def _joined(runs: Sequence[_Run], slots: Slots) -> list[_Run]:
    """Return the stays in order, those on one target that meet made one."""
    joined: list[_Run] = []
    for run in sorted(runs, key=lambda one: one.first):
        last = joined[-1] if joined else None
        if last and last.target == run.target and last.after == run.first and slots.follows[run.first]:
            joined[-1] = _Run(run.target, last.first, run.after)
        else:
            joined.append(run)
    return joined


def _exposing_h(run: _Run, slots: Slots, overhead_h: float) -> list[tuple[int, float]]:
    """Return the hours of light in each slot of a stay, its overhead taken off the first ones."""
    found, owed_h = [], overhead_h
    for s in range(run.first, run.after):
        length_h = float(slots.length_h[s])
        if length_h > owed_h:
            found.append((s, length_h - owed_h))
        owed_h = max(0.0, owed_h - length_h)
    return found


def _gains(
    runs: Sequence[_Run], slots: Slots, chance: FloatArray, hours_h: FloatArray, number: IntArray
) -> FloatArray:
    """Return the effective hours that each stay gives each job in expectation, shape (stays, j)."""
    expected = hours_h * slots.rate * chance[slots.night]
    gains = np.zeros((len(runs), len(number)))
    for k, run in enumerate(runs):
        mine = number == run.target
        gains[k, mine] = expected[mine, run.first : run.after].sum(axis=1)
    return gains


def _marked(stays: Sequence[PlannedStay], gains: FloatArray, needed_h: FloatArray) -> tuple[PlannedStay, ...]:
    """Mark as reserve what can go while every goal is still met in average weather; the poorest and latest first."""
    left = gains.sum(axis=0)
    clock = np.array([sum(hours for _, hours in stay.hours_h) for stay in stays])
    rate = np.round(gains.sum(axis=1) / np.maximum(clock, 1e-9) / RATE_STEP)
    marked = list(stays)
    for k in sorted(range(len(stays)), key=lambda k: (rate[k], -stays[k].start_mjd)):
        if np.all(left - gains[k] >= needed_h - 1e-9):
            left = left - gains[k]
            marked[k] = replace(stays[k], reserve=True)
    return tuple(marked)

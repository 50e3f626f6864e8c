"""Plans of single nights: which target from which slot to which, the best under given prices of the jobs' hours.

A plan is a row of stays. A stay keeps to one target through slots that follow one another and are all open to it; it
begins with the overhead, in which nothing is collected, and is then at least the shortest stay long. In each of its
slots the filter is used whose hours are worth most.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sidelight.campaign.records import Job, Rules, Slots, target_numbers
from sidelight.ground.types import BoolArray, FloatArray, IntArray

_TINY_H = 1e-6


@dataclass(frozen=True)
class Stay:
    """A stay on one target: its number, its first slot, and the slot after its last."""

    target: int
    first: int
    after: int


@dataclass(frozen=True, eq=False)
class Plan:
    """One night's plan. hours_h : clock hours of (job, slot) pairs; gain_h : effective hours of each job, (j,)."""

    night: int
    stays: tuple[Stay, ...]
    hours_h: tuple[tuple[int, int, float], ...]
    gain_h: FloatArray


@dataclass(frozen=True, eq=False)
class NightTable:
    """The slots of all nights side by side, padded to the longest: what the search for plans runs on.

    slot : number of each slot, shape (n, m), -1 where a night has fewer. start_h, end_h : clock hours from the
    night's first slot, shape (n, m). follows : whether a slot begins where the one before it ends, shape (n, m).
    """

    slot: IntArray
    start_h: FloatArray
    end_h: FloatArray
    follows: BoolArray

    @classmethod
    def of(cls, slots: Slots) -> "NightTable":
        """Return the table of a campaign's slots."""
        nights = len(slots.dates)
        counts = np.bincount(slots.night, minlength=nights)
        place = np.arange(len(slots.night)) - np.repeat(np.cumsum(counts) - counts, counts)
        slot = np.full((nights, int(counts.max(initial=0))), -1, dtype=np.int64)
        slot[slots.night, place] = np.arange(len(slots.night))
        start_h, end_h = np.zeros(slot.shape), np.zeros(slot.shape)
        first = slots.start_mjd[slot[slots.night, 0]] if slot.size else np.empty(0)
        start_h[slots.night, place] = (slots.start_mjd - first) * 24.0
        end_h[slots.night, place] = (slots.start_mjd - first) * 24.0 + slots.length_h
        follows = np.zeros(slot.shape, dtype=bool)
        follows[slots.night, place] = slots.follows
        return cls(slot, start_h, end_h, follows)


def best_plans(
    jobs: Sequence[Job],
    slots: Slots,
    table: NightTable,
    rules: Rules,
    served: BoolArray,
    price_per_h: FloatArray,
) -> tuple[FloatArray, list[Plan]]:
    """Return the worth of each night's best plan, shape (n,), and the plans, nights without a stay left out.

    served : where a job can be done, shape (j, s). price_per_h : worth of an effective hour of each job, shape (j,).
    Exact: dynamic programming over the slots, all nights at once. The worth is that of a usable night.
    """
    target, number = _by_target(jobs, slots, served, price_per_h)
    open_, worth = _side_by_side(table, target)
    first, total, lost = _sums(table, open_, worth, rules.overhead_h)
    nights, places = table.slot.shape
    best = np.zeros((nights, places + 1))
    came_target = np.full((nights, places + 1), -1, dtype=np.int64)
    came_from = np.zeros((nights, places + 1), dtype=np.int64)
    row = np.arange(nights)
    for b in range(1, places + 1):
        best[:, b] = best[:, b - 1]
        for a in range(b):
            long_enough = table.end_h[:, b - 1] - table.start_h[:, a] >= (
                rules.shortest_stay_h + rules.overhead_h - _TINY_H
            )
            allowed = (first[:, :, b - 1] <= a) & open_[:, :, b - 1] & long_enough[:, None]
            if not allowed.any():
                continue
            value = best[:, a, None] + total[:, :, b] - total[:, :, a] - lost[:, :, a]
            value = np.where(allowed, value, -np.inf)
            chosen = np.argmax(value, axis=1)
            better = value[row, chosen] > best[:, b] + 1e-12
            best[better, b] = value[row, chosen][better]
            came_target[better, b], came_from[better, b] = chosen[better], a
    plans = [_plan(n, table, came_target[n], came_from[n], number, slots, rules, len(jobs)) for n in range(nights)]
    return best[:, -1] if places else np.zeros(nights), [plan for plan in plans if plan.stays]


@dataclass(frozen=True, eq=False)
class _ByTarget:
    """What each target is worth in each slot: open and worth per clock hour, shape (t, s)."""

    open_: BoolArray
    worth_per_h: FloatArray


def _by_target(
    jobs: Sequence[Job], slots: Slots, served: BoolArray, price_per_h: FloatArray
) -> tuple[_ByTarget, IntArray]:
    """Return targets by slot, and the job (filter) that is used in each, shape (t, s)."""
    number = target_numbers(jobs)
    targets = int(number.max(initial=-1)) + 1
    rate = slots.rate * served
    bid = rate * price_per_h[:, None]
    open_, worth = np.zeros((targets, bid.shape[1]), dtype=bool), np.zeros((targets, bid.shape[1]))
    job = np.zeros((targets, bid.shape[1]), dtype=np.int64)
    for t in range(targets):
        mine = np.flatnonzero(number == t)
        job[t] = mine[np.argmax(bid[mine], axis=0)]
        worth[t] = bid[mine].max(axis=0)
        open_[t] = (rate[mine] > 0).any(axis=0)
    return _ByTarget(open_, worth), job


def _side_by_side(table: NightTable, target: _ByTarget) -> tuple[BoolArray, FloatArray]:
    """Return open and worth in the padded table, shape (n, t, m)."""
    there = (table.slot >= 0)[None, :, :]
    open_ = target.open_[:, table.slot] & there
    worth = target.worth_per_h[:, table.slot] * open_
    return np.moveaxis(open_, 0, 1), np.moveaxis(worth, 0, 1)


def _sums(
    table: NightTable, open_: BoolArray, worth: FloatArray, overhead_h: float
) -> tuple[IntArray, FloatArray, FloatArray]:
    """Return for each slot where its unbroken run begins, the summed worth before it, and the overhead's worth."""
    nights, targets, places = worth.shape
    length_h = (table.end_h - table.start_h)[:, None, :]
    first = np.zeros((nights, targets, places), dtype=np.int64)
    for s in range(places):
        run_on = open_[:, :, s - 1] & table.follows[:, None, s] if s else np.zeros((nights, targets), dtype=bool)
        first[:, :, s] = np.where(run_on, first[:, :, s - 1], s)
    total = np.zeros((nights, targets, places + 1))
    total[:, :, 1:] = np.cumsum(worth * length_h, axis=2)
    lost = np.zeros((nights, targets, places))
    for a in range(places):
        left_h = np.full((nights, 1), overhead_h)
        for s in range(a, places):
            used_h = np.minimum(left_h, length_h[:, :, s])
            lost[:, :, a] += used_h * worth[:, :, s]
            left_h = left_h - used_h
            if not np.any(left_h > 0):
                break
    return first, total, lost


def _plan(
    night: int,
    table: NightTable,
    came_target: IntArray,
    came_from: IntArray,
    job: IntArray,
    slots: Slots,
    rules: Rules,
    jobs_count: int,
) -> Plan:
    """Follow the choices back from the night's end and count what the plan collects."""
    stays: list[Stay] = []
    b = len(came_target) - 1
    while b > 0:
        t, a = int(came_target[b]), int(came_from[b])
        if t < 0:
            b -= 1
            continue
        stays.append(Stay(t, int(table.slot[night, a]), int(table.slot[night, b - 1]) + 1))
        b = a
    stays.reverse()
    return counted(night, tuple(stays), job, slots, rules, jobs_count)


def counted(night: int, stays: tuple[Stay, ...], job: IntArray, slots: Slots, rules: Rules, jobs_count: int) -> Plan:
    """Return a plan with its hours; job : which job each target's slot is used for, shape (t, s)."""
    gain = np.zeros(jobs_count)
    hours: list[tuple[int, int, float]] = []
    for stay in stays:
        owed_h = rules.overhead_h
        for s in range(stay.first, stay.after):
            clock_h = max(0.0, float(slots.length_h[s]) - owed_h)
            owed_h = max(0.0, owed_h - float(slots.length_h[s]))
            if clock_h > 0:
                j = int(job[stay.target, s])
                hours.append((j, s, clock_h))
                gain[j] += clock_h * float(slots.gain_h[j, s] / slots.open_h[j, s])
    return Plan(night, stays, tuple(hours), gain)


def every_plan(jobs: Sequence[Job], slots: Slots, rules: Rules, served: BoolArray, night: int) -> list[Plan]:
    """Return all plans of a night that no other plan of it beats in every job; for nights of few slots."""
    here = np.flatnonzero(slots.night == night)
    number = target_numbers(jobs)
    choices = [[-1, *np.flatnonzero((slots.open_h[:, s] > 0) & served[:, s]).tolist()] for s in here]
    plans = []
    for pick in itertools.product(*choices):
        stays = _stays(pick, here, number, slots)
        job = np.zeros((int(number.max()) + 1, len(slots.night)), dtype=np.int64)
        for s, j in zip(here, pick, strict=True):
            job[:, s] = max(j, 0)
        needed_h = rules.shortest_stay_h + rules.overhead_h - _TINY_H
        if stays and all(slots.length_h[stay.first : stay.after].sum() >= needed_h for stay in stays):
            plans.append(counted(night, stays, job, slots, rules, len(jobs)))
    return _undominated(plans)


def _stays(pick: Sequence[int], here: IntArray, number: IntArray, slots: Slots) -> tuple[Stay, ...]:
    """Return the stays of one job (or -1) for each slot: neighbours on one target are one stay."""
    stays: list[Stay] = []
    for s, j in zip(here.tolist(), pick, strict=True):
        if j < 0:
            continue
        t = int(number[j])
        if stays and stays[-1].target == t and stays[-1].after == s and slots.follows[s]:
            stays[-1] = Stay(t, stays[-1].first, s + 1)
        else:
            stays.append(Stay(t, s, s + 1))
    return tuple(stays)


def _undominated(plans: list[Plan]) -> list[Plan]:
    """Keep plans that no other equals or beats in every job; the first of equals."""
    kept: list[Plan] = []
    for plan in sorted(plans, key=lambda one: -float(one.gain_h.sum())):
        if not any(np.all(other.gain_h >= plan.gain_h - 1e-12) for other in kept):
            kept.append(plan)
    return kept

"""What an hour of each night is worth: prices of the slots, without a linear programme.

The allocation without visits and set-ups has a dual with one price for each job only: mu_j, what one more effective
hour of it is worth, between 0 and priority / wanted. Given these, each slot goes to whoever pays most for it. The
prices are balanced as in an auction in which each job's bid falls while it is offered more than it wants, with ties
softened by a temperature that is lowered step by step (entropic regularisation; Peyré & Cuturi 2019, Foundations and
Trends in Machine Learning 11, 355, section 4). Any prices give a valid upper bound, and these give it to a per cent
or so of the exact optimum; with NumPy alone, so that it costs milliseconds where loading a solver costs a second.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from sidelight.campaign.records import Job, Slots
from sidelight.ground.types import BoolArray, FloatArray

TEMPERATURES = np.geomspace(0.3, 0.003, 80)
"""Share of a bid by which a lower one can still win; geometric steps from rough to fine."""
FIRST_STRIDE = 0.3
"""First change of a bid's logarithm; it grows while a bid keeps moving one way and is halved when it turns."""
SHARES = (1.0, 0.9, 0.7, 0.4, 0.0)
_LOWEST = -12.0
"""Natural logarithm below which a bid is as good as none."""


@dataclass(frozen=True, eq=False)
class HourPrices:
    """Prices of a campaign's hours, in the objective's unit (a goal of priority 1 met in full is 1).

    job_worth_per_h : of one more effective hour of each job, shape (j,). worth_per_h : of a clock hour of each slot
    to whoever uses it best, weather allowed for, shape (s,). price_per_h : what the next best user would pay for it,
    so what its use costs the others, shape (s,). bound : no allocation is worth more.
    """

    job_worth_per_h: FloatArray
    worth_per_h: FloatArray
    price_per_h: FloatArray
    bound: float


def hour_prices(jobs: Sequence[Job], slots: Slots, chance: FloatArray, served: BoolArray | None = None) -> HourPrices:
    """Return the prices at which the jobs' wishes and the slots balance.

    chance : probability of each night being usable, shape (n,). served : whether a job can be done in a slot at all
    (by some set-up), shape (j, s); everywhere unless given.
    """
    count, slots_count = len(jobs), len(slots.night)
    wanted = np.array([job.remaining_h for job in jobs])
    most = np.array([job.priority / max(job.wanted_h, 1e-9) for job in jobs]) * (wanted > 0)
    open_h = slots.open_h if served is None else slots.open_h * served
    rate = slots.rate * chance[slots.night] if count else np.zeros((0, slots_count))
    rate = rate * (open_h > 0)
    if not count or not slots_count or not np.any(rate * most[:, None] > 0):
        return HourPrices(np.zeros(count), np.zeros(slots_count), np.zeros(slots_count), 0.0)
    worth = _balanced(wanted, most, rate, open_h, slots.length_h)
    bid = worth[:, None] * rate
    bound = float(np.sum((most - worth) * wanted) + _best_use(bid, open_h, slots.length_h))
    return HourPrices(worth, bid.max(axis=0), _first_left_out(bid, open_h, slots.length_h), bound)


RESERVE_FACTOR = 1.6
"""How much more each job is taken to want when the policy's prices are made: bad runs of weather have to be met."""


def policy_price_per_h(
    jobs: Sequence[Job], slots: Slots, chance: FloatArray, served: BoolArray | None = None
) -> FloatArray:
    """Return the price of a clock hour of each slot that the policy goes by, shape (s,).

    Midway between what the best and the next best user would pay, were every wish larger by RESERVE_FACTOR. Of the
    prices tried in benchmarks/prices_compared.py on random campaigns these lose least against the best of all
    tried in each: 1 % on average, 5 % at worst.
    """
    larger = [
        replace(
            job,
            wanted_h=RESERVE_FACTOR * job.wanted_h,
            collected_h=RESERVE_FACTOR * job.collected_h,
            priority=RESERVE_FACTOR * job.priority,
        )
        for job in jobs
    ]
    prices = hour_prices(larger, slots, chance, served)
    return 0.5 * (prices.worth_per_h + prices.price_per_h)


def _balanced(
    wanted: FloatArray, most: FloatArray, rate: FloatArray, open_h: FloatArray, length_h: FloatArray
) -> FloatArray:
    """Return the jobs' prices of an hour, the best of those met on the way by their bound."""
    live = np.flatnonzero(most > 0)
    useful = np.flatnonzero(np.any(rate[live] > 0, axis=0))
    rate, open_h, length_h = rate[np.ix_(live, useful)], open_h[np.ix_(live, useful)], length_h[useful]
    with np.errstate(divide="ignore"):
        log_rate = np.log(rate)
    bid, stride, before = np.zeros(len(live)), np.full(len(live), FIRST_STRIDE), np.zeros(len(live))
    best, best_bound = most[live], np.inf
    for step, temperature in enumerate(TEMPERATURES):
        level = (log_rate + (bid + np.log(most[live]))[:, None]) / temperature
        weight = np.exp(level - level.max(axis=0))
        given_h = np.minimum(open_h, length_h * weight / weight.sum(axis=0))
        offered = (given_h * rate).sum(axis=1)
        towards = np.sign(wanted[live] - offered)
        stride = np.clip(stride * np.where(towards == before, 1.3, 0.5), 0.0, 2.0)
        bid, before = np.clip(bid + towards * stride, _LOWEST, 0.0), towards
        if step % 4:
            continue
        worth = most[live] * np.exp(bid)
        # where there is time for all, every bid falls to nothing together, which single bids find slowly
        for share in SHARES:
            lower = share * worth
            bound = np.sum((most[live] - lower) * wanted[live]) + _best_use(lower[:, None] * rate, open_h, length_h)
            if bound < best_bound:
                best, best_bound = lower, bound
    full = np.zeros(len(most))
    full[live] = best
    return full


def _best_use(bid: FloatArray, open_h: FloatArray, length_h: FloatArray) -> float:
    """Return the worth of giving each slot to the highest bids, each up to its open hours."""
    if np.all((open_h >= length_h - 1e-9) | (bid <= 0)):
        return float(np.sum(bid.max(axis=0, initial=0.0) * length_h))
    order = np.argsort(-bid, axis=0)
    hours = np.take_along_axis(open_h, order, axis=0)
    before = np.cumsum(hours, axis=0) - hours
    used = np.clip(length_h - before, 0.0, hours)
    return float(np.sum(used * np.take_along_axis(bid, order, axis=0)))


def _first_left_out(bid: FloatArray, open_h: FloatArray, length_h: FloatArray) -> FloatArray:
    """Return the highest bid in each slot that is not met in full, 0 where all are."""
    order = np.argsort(-bid, axis=0)
    over = np.cumsum(np.take_along_axis(open_h, order, axis=0), axis=0) > length_h + 1e-9
    first = np.argmax(over, axis=0)
    every = np.arange(bid.shape[1])
    return np.where(over.any(axis=0), np.take_along_axis(bid, order, axis=0)[first, every], 0.0)

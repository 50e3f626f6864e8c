"""The odds: the whole season played in many weathers under the policy of the values."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sidelight.campaign.records import Job, Odds, Rules, SetUpChoice, Slots
from sidelight.campaign.value import Values
from sidelight.ground.types import BoolArray, FloatArray, IntArray


@dataclass
class _State:
    """Where each weather stands; changed in place night by night."""

    remaining_h: FloatArray
    set_up: IntArray
    finish_night: IntArray
    hours: FloatArray


def play(
    jobs: Sequence[Job],
    slots: Slots,
    values: Values,
    usable: BoolArray,
    rules: Rules,
    set_ups: Sequence[SetUpChoice] = (),
    set_up_now: int = 0,
    may_change: BoolArray | None = None,
    seed: int = 0,
) -> Odds:
    """Play the campaign in given weathers.

    usable : whether each night can be used, shape (w, n). may_change : whether the set-up may be changed before each
    night, shape (n,); always, unless given. In each slot of a usable night the job with the largest worth (slope of
    its value after tonight, times effective hours it gains here) is photographed; a change of target costs its
    overhead. No job collects more than it wants, and no slot is spent twice.
    """
    serves = _serving(len(jobs), set_ups)
    weathers = usable.shape[0]
    wanted = np.array([job.remaining_h for job in jobs])
    state = _State(
        remaining_h=np.tile(wanted, (weathers, 1)),
        set_up=np.full(weathers, set_up_now),
        finish_night=np.where(wanted[None, :] <= 1e-9, 0, np.full((weathers, len(jobs)), -1)),
        hours=np.zeros((len(slots.dates), len(jobs))),
    )
    allowed = np.ones(len(slots.dates), dtype=bool) if may_change is None else may_change
    change_worth = rules.change_cost_h / max(1e-9, float(np.mean([job.wanted_h for job in jobs]))) if jobs else 0.0
    for n in range(len(slots.dates)):
        here = np.flatnonzero(slots.night == n)
        who = np.flatnonzero(usable[:, n])
        if len(here) and len(who) and len(jobs):
            _play_night(n, who, here, slots, values, rules, serves, (bool(allowed[n]), change_worth), state)
    return Odds(
        finished=state.remaining_h <= 1e-9,
        collected_h=wanted - state.remaining_h,
        finish_night=state.finish_night,
        mean_hours_h=state.hours / max(1, weathers),
        seed=seed,
        weathers_count=weathers,
    )


def _serving(jobs: int, set_ups: Sequence[SetUpChoice]) -> BoolArray:
    """Return which set-up serves which job, shape (u, j)."""
    if not set_ups:
        return np.ones((1, jobs), dtype=bool)
    serves = np.zeros((len(set_ups), jobs), dtype=bool)
    for u, choice in enumerate(set_ups):
        serves[u, list(choice.jobs)] = True
    return serves


def _play_night(
    n: int,
    who: IntArray,
    here: IntArray,
    slots: Slots,
    values: Values,
    rules: Rules,
    serves: BoolArray,
    change: tuple[bool, float],
    state: _State,
) -> None:
    """Play one night in the weathers that can use it."""
    remaining = state.remaining_h[who]
    slope_table = values.slope[:, n + 1]
    job_index = np.arange(remaining.shape[1])
    set_up = _choose_set_up(who, here, slots, values, slope_table, serves, change, state)
    state.set_up[who] = set_up
    doable = serves[set_up] if len(serves) > 1 else None
    current = np.full(len(who), -1)
    rate = slots.rate
    for s in here:
        if not np.any(slots.gain_h[:, s] > 0):
            continue
        slope = slope_table[job_index, values.grid(remaining)]
        changed = current[:, None] != job_index
        clock_h = np.maximum(0.0, slots.open_h[:, s] - rules.overhead_h * changed)
        gain_h = np.minimum(rate[:, s] * clock_h, remaining)
        worth = gain_h * slope if doable is None else gain_h * slope * doable
        best = np.argmax(worth, axis=1)
        rows = np.arange(len(who))
        taken = worth[rows, best] > 0
        gained = np.where(taken, gain_h[rows, best], 0.0)
        remaining[rows, best] = np.maximum(0.0, remaining[rows, best] - gained)
        current = np.where(taken, best, -1)
        spent = np.where(taken, clock_h[rows, best], 0.0)
        state.hours[n] += np.bincount(best, spent, minlength=remaining.shape[1])
    done = (remaining <= 1e-9) & (state.finish_night[who] < 0)
    state.finish_night[who] = np.where(done, n, state.finish_night[who])
    state.remaining_h[who] = remaining


def _choose_set_up(
    who: IntArray,
    here: IntArray,
    slots: Slots,
    values: Values,
    slope_table: FloatArray,
    serves: BoolArray,
    change: tuple[bool, float],
    state: _State,
) -> IntArray:
    """Return each weather's set-up for the night: the one whose night is worth most, less the cost of changing."""
    now = state.set_up[who]
    may_change, cost = change
    if len(serves) == 1 or not may_change:
        return now
    remaining = state.remaining_h[who]
    slope = slope_table[np.arange(remaining.shape[1]), values.grid(remaining)]
    worth = np.zeros((len(who), len(serves)))
    for s in here:
        gain = np.minimum(slots.gain_h[:, s], remaining) * slope
        for u, jobs in enumerate(serves):
            worth[:, u] += np.max(gain * jobs, axis=1)
    worth[np.arange(len(serves)) != now[:, None]] -= cost
    best = np.argmax(worth, axis=1)
    # at equal worth the set-up stays as it is
    stay = worth[np.arange(len(who)), now] >= worth[np.arange(len(who)), best] - 1e-12
    return np.where(stay, now, best)


def last_call(job_index: int, jobs: Sequence[Job], slots: Slots, usable: BoolArray, odds_wanted: float) -> int | None:
    """Return the last night from which the job, given every hour it can use, still finishes at the stated odds.

    None when not even the first night does. usable : shape (w, n), as simulated.
    """
    full_night = np.bincount(slots.night, slots.gain_h[job_index], minlength=len(slots.dates))
    from_here = np.cumsum((usable * full_night)[:, ::-1], axis=1)[:, ::-1]
    odds = (from_here >= jobs[job_index].remaining_h - 1e-9).mean(axis=0)
    enough = np.flatnonzero(odds >= odds_wanted)
    return int(enough[-1]) if len(enough) else None

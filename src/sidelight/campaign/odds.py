"""The odds: the whole season played in many weathers under the policy of the values."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sidelight.campaign.records import (
    Job,
    Odds,
    Rules,
    SetUpChoice,
    Slots,
    change_worth,
    served_table,
    target_numbers,
)
from sidelight.campaign.value import Values
from sidelight.ground.types import BoolArray, FloatArray, IntArray

_NOTHING_LEFT_H = 1e-9


@dataclass
class _State:
    """Where each weather stands; changed in place night by night."""

    remaining_h: FloatArray
    set_up: IntArray
    finish_night: IntArray
    hours: FloatArray


@dataclass(frozen=True, eq=False)
class _Game:
    """What is the same in every night and weather.

    stay_h : clock hours from the start of each slot until the job's target closes, shape (j, s).
    follows : whether each slot begins where the one before it ends, shape (s,).
    change_weight : what a change of set-up costs, in the objective's unit.
    """

    slots: Slots
    values: Values
    rules: Rules
    served: BoolArray
    target: IntArray
    rate: FloatArray
    stay_h: FloatArray
    follows: BoolArray
    change_weight: float


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
    night, shape (n,); always, unless given.
    In each slot of a usable night the job with the largest worth (slope of its value after tonight, times effective
    hours it gains here) is photographed. Another target is turned to only if it can be stayed on for the shortest
    stay; it pays the overhead, and is kept for the shortest stay. No job collects more than it wants, and no slot is
    spent twice.
    """
    weathers, nights = usable.shape[0], len(slots.dates)
    wanted = np.array([job.remaining_h for job in jobs])
    state = _State(
        remaining_h=np.tile(wanted, (weathers, 1)),
        set_up=np.full(weathers, set_up_now),
        finish_night=np.where(wanted[None, :] <= _NOTHING_LEFT_H, 0, np.full((weathers, len(jobs)), -1)),
        hours=np.zeros((nights, len(jobs))),
    )
    game = _Game(
        slots=slots,
        values=values,
        rules=rules,
        served=served_table(len(jobs), slots, set_ups),
        target=target_numbers(jobs),
        rate=slots.rate,
        stay_h=stays_h(slots),
        follows=slots.follows,
        change_weight=change_worth(jobs, rules),
    )
    bounds = np.searchsorted(slots.night, np.arange(nights + 1))
    for n in range(nights):
        here = np.arange(bounds[n], bounds[n + 1])
        who = np.flatnonzero(usable[:, n])
        if len(here) and len(who) and len(jobs):
            _play_night(game, n, who, here, may_change is None or bool(may_change[n]), state)
    return Odds(
        finished=state.remaining_h <= _NOTHING_LEFT_H,
        collected_h=wanted - state.remaining_h,
        finish_night=state.finish_night,
        mean_hours_h=state.hours / max(1, weathers),
        seed=seed,
        weathers_count=weathers,
    )


def stays_h(slots: Slots) -> FloatArray:
    """Return the clock hours from the start of each slot for which each job stays open without a break, (j, s)."""
    stay = slots.open_h.copy()
    for s in np.flatnonzero(slots.follows)[::-1]:
        stay[:, s - 1] += (slots.open_h[:, s - 1] > 0) * stay[:, s]
    return stay


def _play_night(game: _Game, n: int, who: IntArray, here: IntArray, may_change: bool, state: _State) -> None:
    """Play one night in the weathers that can use it."""
    remaining = state.remaining_h[who]
    slope_table = game.values.slope[:, n + 1]
    set_up = _choose_set_up(game, n, who, here, may_change, state)
    state.set_up[who] = set_up
    rows = np.arange(len(who))
    # -1 for none, from the night's first slot on: it follows no other
    current, stayed_h, owed_h = np.zeros(len(who), dtype=np.int64), np.zeros(len(who)), np.zeros(len(who))
    for s in here:
        jobs = np.flatnonzero((game.slots.gain_h[:, s] > 0) & game.served[:, :, s].any(axis=0))
        if not len(jobs) or not game.follows[s]:
            current[:] = -1
        if not len(jobs):
            continue
        left_h = remaining[:, jobs]
        slope = slope_table[jobs, game.values.grid(left_h)]
        same = (game.target[jobs] == game.target[current][:, None]) & (current >= 0)[:, None]
        worth = _worth(game, jobs, s, left_h, slope, same, stayed_h)
        if len(game.served) > 1:
            worth = worth * game.served[set_up[:, None], jobs, s]
        best = np.argmax(worth, axis=1)
        taken, stays = worth[rows, best] > 0, same[rows, best]
        owed_h = np.where(stays, owed_h, game.rules.overhead_h)
        open_h = game.slots.open_h[jobs[best], s]
        clock_h = np.where(taken, open_h - np.minimum(owed_h, open_h), 0.0)
        gained = np.minimum(game.rate[jobs[best], s] * clock_h, left_h[rows, best])
        owed_h = np.maximum(0.0, owed_h - open_h)
        stayed_h = np.where(stays, stayed_h, 0.0) + clock_h
        remaining[rows, jobs[best]] = np.maximum(0.0, left_h[rows, best] - gained)
        current = np.where(taken, jobs[best], -1)
        state.hours[n] += np.bincount(jobs[best], clock_h, minlength=remaining.shape[1])
    done = (remaining <= _NOTHING_LEFT_H) & (state.finish_night[who] < 0)
    state.finish_night[who] = np.where(done, n, state.finish_night[who])
    state.remaining_h[who] = remaining


def _worth(
    game: _Game, jobs: IntArray, s: int, left_h: FloatArray, slope: FloatArray, same: BoolArray, stayed_h: FloatArray
) -> FloatArray:
    """Return what each job is worth in a slot, shape (w, k): a change's overhead is spread over the stay it opens."""
    rules, gain_h = game.rules, game.slots.gain_h[jobs, s]
    stay_h = game.stay_h[jobs, s]
    kept = 1.0 - rules.overhead_h / stay_h
    long_enough = stay_h >= rules.shortest_stay_h + rules.overhead_h - 1e-6
    changed_gain = gain_h * kept * long_enough
    worth = np.minimum(np.where(same, gain_h, changed_gain), left_h) * slope
    if rules.shortest_stay_h > 0:
        # once turned to, a target is kept for the shortest stay
        held = same & (stayed_h < rules.shortest_stay_h - 1e-6)[:, None] & (worth > 0)
        worth = np.where(held.any(axis=1, keepdims=True) & ~held, 0.0, worth)
    return np.asarray(worth)


def _choose_set_up(game: _Game, n: int, who: IntArray, here: IntArray, may_change: bool, state: _State) -> IntArray:
    """Return each weather's set-up for the night: the one whose night is worth most, less the cost of changing."""
    now = state.set_up[who]
    if len(game.served) == 1 or not may_change:
        return now
    remaining = state.remaining_h[who]
    slope = game.values.slope[:, n + 1][np.arange(remaining.shape[1]), game.values.grid(remaining)]
    worth = np.zeros((len(who), len(game.served)))
    for s in here:
        gain = np.minimum(game.slots.gain_h[:, s], remaining) * slope
        for u in range(len(game.served)):
            worth[:, u] += np.max(gain * game.served[u, :, s], axis=1)
    worth[np.arange(len(game.served)) != now[:, None]] -= game.change_weight
    best = np.argmax(worth, axis=1)
    # at equal worth the set-up stays as it is
    stay = worth[np.arange(len(who)), now] >= worth[np.arange(len(who)), best] - 1e-12
    return np.where(stay, now, best)


def last_call(
    job_index: int,
    jobs: Sequence[Job],
    slots: Slots,
    usable: BoolArray,
    odds_wanted: float,
    rules: Rules | None = None,
    served: BoolArray | None = None,
) -> int | None:
    """Return the last night from which the job, given every hour it can use, still finishes at the stated odds.

    None when not even the first night does. usable : shape (w, n), as simulated. rules : take the overhead off each
    night. served : slots in which some set-up serves the job, shape (s,).
    """
    full_night = alone_h(slots.open_h[job_index], slots.gain_h[job_index], slots, rules, served)
    from_here = np.cumsum((usable * full_night)[:, ::-1], axis=1)[:, ::-1]
    odds = (from_here >= jobs[job_index].remaining_h - _NOTHING_LEFT_H).mean(axis=0)
    enough = np.flatnonzero(odds >= odds_wanted)
    return int(enough[-1]) if len(enough) else None


def alone_h(
    open_h: FloatArray, gain_h: FloatArray, slots: Slots, rules: Rules | None = None, served: BoolArray | None = None
) -> FloatArray:
    """Return the effective hours that one job can collect in each night with nothing else to do, shape (n,).

    open_h, gain_h : of the job in each slot, shape (s,). The overhead comes off at the night's mean rate.
    """
    keep = np.ones(len(open_h), dtype=bool) if served is None else served
    nights = len(slots.dates)
    gain = np.bincount(slots.night, gain_h * keep, minlength=nights)
    clock = np.bincount(slots.night, open_h * keep, minlength=nights)
    if rules is None:
        return np.asarray(gain)
    left_h = np.maximum(0.0, clock - rules.overhead_h)
    left_h = left_h * (left_h >= rules.shortest_stay_h - 1e-6)
    return np.asarray(gain * left_h / np.maximum(clock, 1e-9))

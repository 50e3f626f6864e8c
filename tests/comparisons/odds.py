"""Odds: the played season beside exact probabilities, the policy and the plan beside the best there is."""

import datetime as dt
import itertools
import math
from collections.abc import Iterator
from functools import lru_cache

import numpy as np
from scipy.stats import binom, nbinom
from tests.comparisons.records import Comparison, joined
from tests.strategies.campaign import START, slots_from

from sidelight.campaign.allocate import RELATIVE_GAP, allocate
from sidelight.campaign.odds import last_call, play
from sidelight.campaign.prices import policy_price_per_h
from sidelight.campaign.records import Job, Rules, Slots
from sidelight.campaign.tuning import tuned_scale
from sidelight.campaign.value import FINISH_SHARE, values
from sidelight.campaign.weather import Weather, chain, simulate, weather_from_records
from sidelight.ground.types import FloatArray

WEATHERS = 20_000
ERRORS = 4.5
FREE = Rules(overhead_h=0.0, shortest_stay_h=0.0, change_cost_h=0.0)
MONTHS = (0.55, 0.5, 0.45, 0.35, 0.3, 0.25, 0.2, 0.25, 0.35, 0.4, 0.45, 0.5)
# Gabriel & Neumann 1962 (Quarterly Journal of the Royal Meteorological Society 88, 90), from memory
TEL_AVIV = (0.662, 0.250)
PLAYED = (
    f"{WEATHERS:,} weathers are good to {100 * 0.5 / math.sqrt(WEATHERS):.2f} points at even odds; "
    "four and a half times that"
)
PLAYED_POINTS = ERRORS * 100 * 0.5 / math.sqrt(WEATHERS)


def comparisons() -> Iterator[Comparison]:
    """Yield every comparison of the odds."""
    yield _independent()
    yield _spells()
    yield _tel_aviv()
    yield _two_targets()
    yield from _last_calls()
    yield _estimated()
    yield _policy()
    yield _plan()


def _played(jobs: list[Job], slots: Slots, weather: Weather, seed: int, weathers: int = WEATHERS):  # noqa: ANN202
    """Play a campaign as the product does, the scale of the prices tuned on it."""
    nights = chain(weather, slots.dates)
    usable = simulate(nights, weathers, seed)
    price = policy_price_per_h(jobs, slots, nights.probability)
    scale = tuned_scale(jobs, slots, nights.probability, price, usable, FREE)
    return play(jobs, slots, values(jobs, slots, nights.probability, scale * price), usable, FREE)


def _by_night(needed: int, nights: int, weather: Weather, seed: int) -> FloatArray:
    """Return the odds that a target alone, which needs so many usable nights, is finished by each night."""
    slots = slots_from([[[1.0], [1.0]]] * nights)
    return _played([Job("a", "", 2.0 * needed)], slots, weather, seed).finished_by_fraction(nights)[:, 0]


def _independent() -> Comparison:
    """Return odds by night where no night knows of the one before."""
    off = []
    for seed, (chance, needed, nights) in enumerate(
        [(0.3, 6, 40), (0.35, 10, 40), (0.5, 15, 40), (0.2, 3, 30), (0.8, 20, 30)]
    ):
        exact = nbinom(needed, chance).cdf(np.arange(nights) + 1 - needed)
        off.append(_by_night(needed, nights, Weather((chance,) * 12, 0.0), 100 + seed) - exact)
    model, reference = "odds by each night, nights independent", "negative binomial (SciPy)"
    return Comparison("campaign", "odds", model, reference, "points", 100 * joined(off), PLAYED_POINTS, PLAYED)


def _spells() -> Comparison:
    """Return odds by night where good and bad nights come in spells and each month has its own chance."""
    off = []
    for seed, (months, persistence, needed, nights) in enumerate(
        [
            (MONTHS, 0.3, 12, 90),
            (MONTHS, 0.6, 20, 120),
            ((0.35,) * 12, 0.45, 10, 60),
            (MONTHS[6:] + MONTHS[:6], 0.15, 25, 100),
        ]
    ):
        weather = Weather(months, persistence)
        off.append(
            _by_night(needed, nights, weather, 200 + seed)
            - _exact_by_night(_chances(months, nights), persistence, needed)
        )
    model, reference = "odds by each night, weather in spells", "exact recursion over nights, nights used, last night"
    return Comparison("campaign", "odds", model, reference, "points", 100 * joined(off), PLAYED_POINTS, PLAYED)


def _chances(months: tuple[float, ...], nights: int) -> list[float]:
    """Return each night's chance."""
    return [months[(START + dt.timedelta(days=n)).month - 1] for n in range(nights)]


def _exact_by_night(chance: list[float], correlation: float, needed: int) -> FloatArray:
    """Return the exact odds of having had the nights needed by each night, of a chain with given chances.

    By recursion over (last night, nights had). Neighbours' covariance, correlation × √(p(1 − p) q(1 − q)), over p or
    1 − p is what the night before adds to the next one's chance q.
    """
    state = np.zeros((2, needed + 1))
    state[1, min(1, needed)], state[0, 0] = chance[0], 1 - chance[0]
    by_night = [state[:, needed].sum()]
    for before, now in itertools.pairwise(chance):
        together = correlation * math.sqrt(before * (1 - before) * now * (1 - now))
        following = np.zeros_like(state)
        for last, to_usable in ((1, now + together / before), (0, now - together / (1 - before))):
            following[1, 1:] += to_usable * state[last, :-1]
            following[1, needed] += to_usable * state[last, needed]
            following[0] += (1 - to_usable) * state[last]
        state = following
        by_night.append(state[:, needed].sum())
    return np.array(by_night)


def _tel_aviv() -> Comparison:
    """Return odds after sixty days of a published chain against the distribution of its successes."""
    after_wet, after_dry = TEL_AVIV
    persistence = after_wet - after_dry
    weather = Weather((after_dry / (1 - persistence),) * 12, persistence)
    days = 60
    probability = np.array([_successes(days, count, after_wet, after_dry) for count in range(days + 1)])
    assert abs(probability.sum() - 1.0) < 1e-12
    off = [
        _by_night(needed, days, weather, 300 + needed)[-1] - probability[needed:].sum() for needed in range(8, 45, 4)
    ]
    return Comparison(
        "campaign",
        "odds",
        "odds after sixty nights, weather in spells",
        "distribution of successes in a chain (Gabriel 1959, Biometrika 46, 454) of Tel Aviv's wet days",
        "points",
        100 * np.array(off),
        PLAYED_POINTS,
        PLAYED,
        remark="0.662 after a wet day, 0.250 after a dry one, Gabriel & Neumann 1962; from memory",
    )


def _successes(days: int, count: int, after_wet: float, after_dry: float) -> float:
    """Return the chance of so many wet days in a stationary chain, by counting the runs they fall into.

    With w runs of wet days and d of dry ones there are C(count − 1, w − 1) C(days − count − 1, d − 1) orders that
    begin with a given kind; each run but the first is one change, each day within a run one stay.
    """
    wet = after_dry / (1 - after_wet + after_dry)
    dry_days = days - count
    if count in (0, days):
        return wet * after_wet ** (days - 1) if count else (1 - wet) * (1 - after_dry) ** (days - 1)
    total = 0.0
    for begins_wet, first in ((True, wet), (False, 1 - wet)):
        for runs in range(2, days + 1):
            wet_runs = (runs + begins_wet) // 2
            dry_runs = runs - wet_runs
            if not (1 <= wet_runs <= count and 1 <= dry_runs <= dry_days):
                continue
            to_wet, to_dry = wet_runs - begins_wet, dry_runs - (not begins_wet)
            orders = math.comb(count - 1, wet_runs - 1) * math.comb(dry_days - 1, dry_runs - 1)
            stays = after_wet ** (count - wet_runs) * (1 - after_dry) ** (dry_days - dry_runs)
            total += first * orders * stays * after_dry**to_wet * (1 - after_wet) ** to_dry
    return total


def _two_targets() -> Comparison:
    """Return the odds of two targets whose seasons meet, each alone in its nights, against a product of exact odds.

    The first has the first 40 nights, the second the last 40 of 80: with independent nights the odds are binomial,
    whatever the policy does.
    """
    off = []
    for seed, (chance, first, second) in enumerate([(0.3, 12, 10), (0.4, 15, 18), (0.6, 25, 22)]):
        slots = slots_from([[[1.0, 0.0]]] * 40 + [[[0.0, 1.0]]] * 40)
        jobs = [Job("a", "", float(first)), Job("b", "", float(second), priority=2.0)]
        odds = _played(jobs, slots, Weather((chance,) * 12, 0.0), 400 + seed)
        both = odds.finished.all(axis=1).mean()
        exact = [binom(40, chance).sf(first - 1), binom(40, chance).sf(second - 1)]
        off += [*(odds.odds_fraction - exact), both - exact[0] * exact[1]]
    model, reference = "odds of each of two targets, and of both", "binomial (SciPy)"
    return Comparison("campaign", "odds", model, reference, "points", 100 * np.array(off), PLAYED_POINTS, PLAYED)


def _last_calls() -> Iterator[Comparison]:
    """Yield last calls, independent nights and spells, in nights."""
    independent, spells = [], []
    for seed, (chance, needed, nights) in enumerate([(0.35, 5, 40), (0.3, 8, 60), (0.5, 12, 45), (0.7, 20, 40)]):
        slots, jobs = slots_from([[[1.0], [1.0]]] * nights), [Job("a", "", 2.0 * needed)]
        usable = simulate(chain(Weather((chance,) * 12, 0.0), slots.dates), WEATHERS, 500 + seed)
        left = np.arange(nights, 0, -1)
        for wanted in (0.5, 0.8, 0.95):
            exact = _last(binom(left, chance).sf(needed - 1), wanted)
            independent.append(_call(last_call(0, jobs, slots, usable, wanted)) - exact)
        weather = Weather(MONTHS, 0.4)
        usable = simulate(chain(weather, slots.dates), WEATHERS, 600 + seed)
        every = _chances(MONTHS, nights)
        exact_from = np.array([_exact_by_night(every[first:], 0.4, needed)[-1] for first in range(nights)])
        for wanted in (0.5, 0.8, 0.95):
            spells.append(_call(last_call(0, jobs, slots, usable, wanted)) - _last(exact_from, wanted))
    reason = "where the odds of two nights lie within the simulation's 0.4 points the earlier or the later is named"
    for off, model, reference in (
        (independent, "last call, nights independent", "binomial (SciPy)"),
        (spells, "last call, weather in spells", "exact recursion from each night on"),
    ):
        yield Comparison("campaign", "odds", model, reference, "nights", np.array(off, dtype=float), 1.0, reason)


def _call(night: int | None) -> int:
    """Return a last call as a number, −1 for none."""
    return -1 if night is None else night


def _last(odds: FloatArray, wanted: float) -> int:
    """Return the last night from which the odds suffice, −1 for none."""
    enough = np.flatnonzero(odds >= wanted)
    return int(enough[-1]) if len(enough) else -1


def _estimated() -> Comparison:
    """Return the chances that are estimated from ten years of past nights, against those they were drawn with."""
    days = [dt.date(2010, 1, 1) + dt.timedelta(days=n) for n in range(3652)]
    off = []
    for seed in range(4):
        nights = simulate(chain(Weather(MONTHS, 0.3), days), 1, seed=700 + seed)[0]
        got = weather_from_records(dict(zip(days, map(bool, nights), strict=True)))
        assert got.month_error is not None
        off.append((np.array(got.month_probability) - MONTHS) / np.array(got.month_error))
    model, reference = (
        "a month's chance from past nights, in its own stated errors",
        "the chance that the nights were drawn with",
    )
    reason = "48 draws of a normal error: beyond 4 once in 300 such tables"
    return Comparison("campaign", "odds", model, reference, "errors", joined(off), 4.0, reason)


def _policy() -> Comparison:
    """Return what the played policy reaches of the best there is, by recursion over every state of two targets."""
    off = []
    for seed in range(60):
        random = np.random.default_rng(800 + seed)
        nights, chance = 8, float(random.uniform(0.3, 0.9))
        open_ = random.random((nights, 2, 2)) < 0.75
        jobs = [
            Job(name, "", float(random.integers(2, 6)), priority=float(random.choice([1.0, 2.0])))
            for name in ("a", "b")
        ]
        slots = slots_from(open_.astype(float).tolist())
        every = np.array(list(itertools.product([False, True], repeat=nights)))
        weight = np.prod(np.where(every, chance, 1 - chance), axis=1)
        price = policy_price_per_h(jobs, slots, np.full(nights, chance))
        drawn = every[random.choice(len(every), 1000, p=weight / weight.sum())]
        scale = tuned_scale(jobs, slots, np.full(nights, chance), price, drawn, FREE)
        got = play(jobs, slots, values(jobs, slots, np.full(nights, chance), scale * price), every, FREE)
        worth = sum(
            job.priority
            * ((1 - FINISH_SHARE) * got.collected_h[:, j] / job.wanted_h + FINISH_SHARE * got.finished[:, j])
            for j, job in enumerate(jobs)
        )
        off.append(100.0 * (float(weight @ worth) / _best_policy(jobs, open_, chance) - 1.0))
    model, reference = "worth of how the season is played", "the best policy, by recursion over every state"
    reason = (
        "the model's words: 1 % on average, 5 % at worst; the odds are this policy's, so that it never flatters them"
    )
    return Comparison("campaign", "odds", model, reference, "%", np.array(off), 5.0, reason)


def _best_policy(jobs: list[Job], open_: np.ndarray, chance: float) -> float:
    """Return the expected worth under the best policy there is: hours whole, two targets, a few nights."""
    wanted = tuple(int(job.wanted_h) for job in jobs)

    @lru_cache(None)
    def best(night: int, left: tuple[int, ...]) -> float:
        if night == len(open_):
            return sum(
                job.priority * ((1 - FINISH_SHARE) * (1 - rest / job.wanted_h) + FINISH_SHARE * (rest == 0))
                for job, rest in zip(jobs, left, strict=True)
            )
        ways = {left}
        for slot in open_[night]:
            ways |= {
                tuple(rest - (j == k) for k, rest in enumerate(way))
                for way in ways
                for j in np.flatnonzero(slot)
                if way[j] > 0
            }
        return chance * max(best(night + 1, way) for way in ways) + (1 - chance) * best(night + 1, left)

    return best(0, wanted)


def _plan() -> Comparison:
    """Return what the season's plan reaches of the best of all assignments of hours, each tried."""
    off = []
    for seed in range(25):
        random = np.random.default_rng(900 + seed)
        nights = int(random.integers(3, 5))
        open_ = (random.random((nights, 2, 3)) < 0.7).astype(float)
        chance = random.uniform(0.2, 1.0, nights)
        rate = random.uniform(0.4, 1.0, 3)
        jobs = [
            Job(name, "", float(random.uniform(1.0, 4.0)), priority=float(random.choice([0.5, 1.0, 2.0])))
            for name in "abc"
        ]
        answer = allocate(jobs, slots_from(open_.tolist(), rate.tolist()), chance, FREE)
        best = _best_assignment(jobs, open_, chance, rate)
        off.append(100.0 * (answer.worth / best - 1.0) if best > 0 else 100.0 * answer.worth)
    model, reference = "worth of the season's plan", "every assignment of hours tried"
    reason = "the plan stops when it is proven to be that near to the best"
    return Comparison("campaign", "odds", model, reference, "%", np.array(off), 100 * RELATIVE_GAP, reason)


def _best_assignment(jobs: list[Job], open_: np.ndarray, chance: np.ndarray, rate: np.ndarray) -> float:
    """Return the best worth over all assignments of jobs to hours, the hours' order within a night aside."""
    reached = {(0.0,) * len(jobs)}
    for night, slots in enumerate(open_):
        for slot in slots:
            gains = [(j, chance[night] * rate[j]) for j in np.flatnonzero(slot)]
            reached |= {
                tuple(
                    round(min(job.wanted_h, have + (j == k) * gain), 9)
                    for k, (have, job) in enumerate(zip(way, jobs, strict=True))
                )
                for way in reached
                for j, gain in gains
            }
    weights = [job.priority / job.wanted_h for job in jobs]
    return max(sum(w * have for w, have in zip(weights, way, strict=True)) for way in reached)

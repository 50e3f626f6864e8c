"""Allocation and odds in cases with a known answer."""

import itertools
from functools import lru_cache

import numpy as np
import pytest
from hypothesis import given, settings
from tests.strategies.campaign import slots_from, small_campaigns

from sidelight.campaign.allocate import allocate
from sidelight.campaign.odds import last_call, play
from sidelight.campaign.prices import policy_price_per_h
from sidelight.campaign.records import Job, Rules, SetUpChoice, Slots
from sidelight.campaign.value import values
from sidelight.campaign.weather import Weather, chain, simulate

FREE = Rules(overhead_h=0.0, shortest_stay_h=0.0, change_cost_h=0.0)


def policy(jobs: list[Job], slots: Slots, chance: np.ndarray):  # noqa: ANN201
    """Return the values under the policy's prices."""
    return values(jobs, slots, chance, policy_price_per_h(jobs, slots, chance))


def test_one_target_and_independent_nights_follow_the_negative_binomial() -> None:
    """Six usable nights needed: done by night n with the probability of the negative binomial, from scipy."""
    from scipy.stats import nbinom

    jobs = [Job("a", "", 12.0)]
    slots = slots_from([[[1.0], [1.0]]] * 30)
    weather = Weather((0.3,) * 12, 0.0)
    nights = chain(weather, slots.dates)
    usable = simulate(nights, 20_000, seed=3)
    odds = play(jobs, slots, policy(jobs, slots, nights.probability), usable, FREE)
    exact = nbinom(6, 0.3).cdf(np.arange(30) + 1 - 6)
    by_night = odds.finished_by_fraction(30)[:, 0]
    assert np.all(np.abs(by_night - exact) < 5 * np.sqrt(exact * (1 - exact) / 20_000) + 1e-9)
    assert odds.standard_error_fraction[0] == pytest.approx(np.sqrt(exact[-1] * (1 - exact[-1]) / 20_000), rel=0.05)


def test_simulated_odds_agree_with_all_weathers_enumerated() -> None:
    """Two competing targets over ten nights: 1,024 weathers with their exact probabilities against the simulation."""
    jobs = [Job("a", "", 4.0, priority=2.0), Job("b", "", 5.0)]
    slots = slots_from([[[1, 1], [1, 0], [0, 1]]] * 5 + [[[0, 1], [0, 1]]] * 5)
    nights = chain(Weather((0.4,) * 12, 0.4), slots.dates)
    values_ = policy(jobs, slots, nights.probability)
    every = np.array(list(itertools.product([False, True], repeat=10)))
    probability = np.where(every[:, 0], nights.probability[0], 1 - nights.probability[0])
    for n in range(1, 10):
        on = np.where(every[:, n - 1], nights.after_usable[n], nights.after_unusable[n])
        probability = probability * np.where(every[:, n], on, 1 - on)
    exact = probability @ play(jobs, slots, values_, every, FREE).finished
    odds = play(jobs, slots, values_, simulate(nights, 20_000, seed=8), FREE)
    assert np.all(np.abs(odds.odds_fraction - exact) < 5 * np.sqrt(exact * (1 - exact) / 20_000) + 1e-9)


def test_the_policy_is_near_the_best_there_is() -> None:
    """Exact dynamic programming over both targets' remainders: the policy reaches 95 % of the best expected worth."""
    jobs = [Job("short season", "", 3.0), Job("long season", "", 4.0)]
    slots = slots_from([[[1, 1], [1, 1]]] * 4 + [[[0, 1], [0, 1]]] * 4)
    chance = np.full(8, 0.5)

    @lru_cache(None)
    def best(n: int, a: int, b: int) -> float:
        if n == 8:
            return sum(0.5 * (1 - r / job.wanted_h) + 0.5 * (r == 0) for r, job in zip((a, b), jobs, strict=True))
        splits = [(2, 0), (1, 1), (0, 2)] if n < 4 else [(0, 2)]
        go = max(best(n + 1, max(0, a - x), max(0, b - y)) for x, y in splits)
        return 0.5 * go + 0.5 * best(n + 1, a, b)

    every = np.array(list(itertools.product([False, True], repeat=8)))
    got = play(jobs, slots, policy(jobs, slots, chance), every, FREE)
    rest = np.array([3.0, 4.0]) - got.collected_h
    worth = (0.5 * (1 - rest / [3.0, 4.0]) + 0.5 * (rest < 1e-9)).sum(axis=1).mean()
    assert worth <= best(0, 3, 4) + 1e-9
    assert worth >= 0.95 * best(0, 3, 4)


@settings(max_examples=25, deadline=None)
@given(small_campaigns())
def test_never_more_than_wanted_and_an_upper_bound_holds(drawn: tuple) -> None:
    """Collected hours stay within the wish, within what was open, and the mean worth below the sum of the values."""
    jobs, slots, chance = drawn
    nights = len(slots.dates)
    every = np.array(list(itertools.product([False, True], repeat=nights)))
    weight = np.prod(np.where(every, chance, 1 - chance), axis=1)
    price = policy_price_per_h(jobs, slots, chance)
    values_ = values(jobs, slots, chance, price)
    got = play(jobs, slots, values_, every, FREE)
    wanted = np.array([job.remaining_h for job in jobs])
    assert np.all(got.collected_h <= wanted + 1e-9)
    open_ = np.array([np.bincount(slots.night, row, minlength=nights) for row in slots.gain_h])
    assert np.all(got.collected_h <= every @ open_.T + 1e-9)
    share = np.array([0.5 if job.finish else 0.0 for job in jobs])
    rest = wanted - got.collected_h
    worth = np.array([job.priority for job in jobs]) * ((1 - share) * (1 - rest / wanted) + share * (rest < 1e-9))
    bound = sum(values_.value[j, 0, int(values_.grid(wanted)[j])] for j in range(len(jobs))) + float(
        (price * slots.length_h).sum()
    )
    assert float(weight @ worth.sum(axis=1)) <= bound + 1e-6


def test_more_free_nights_never_lower_the_odds() -> None:
    """In the same weathers, a target alone finishes in every weather in which it finished with fewer nights."""
    jobs = [Job("a", "", 10.0)]
    few = slots_from([[[1.0]] * 3 if n % 3 == 0 else [[0.0]] for n in range(40)])
    many = slots_from([[[1.0]] * 3 for _ in range(40)])
    nights = chain(Weather(), few.dates)
    usable = simulate(nights, 2000, seed=4)
    one = play(jobs, few, policy(jobs, few, nights.probability), usable, FREE)
    two = play(jobs, many, policy(jobs, many, nights.probability), usable, FREE)
    assert np.all(two.finished | ~one.finished)
    assert two.odds_fraction[0] > one.odds_fraction[0]


def test_set_ups_stay_unless_a_change_pays() -> None:
    """Two jobs in two set-ups: with a dear change the telescope stays, with a free one both are served."""
    jobs = [Job("a", "", 4.0), Job("b", "", 4.0)]
    slots = slots_from([[[1, 1], [1, 1]]] * 4)
    chance = np.ones(4)
    choices = [SetUpChoice("first", (0,)), SetUpChoice("second", (1,))]
    usable = np.ones((1, 4), dtype=bool)
    dear, free = Rules(0.0, 0.0, change_cost_h=100.0), FREE
    for rules, expected in ((dear, [4.0, 0.0]), (free, [4.0, 4.0])):
        answer = allocate(jobs, slots, chance, rules, choices, set_up_now=0, gap=0.0)
        assert answer.expected_h == pytest.approx(expected, abs=1e-6)
        got = play(jobs, slots, policy(jobs, slots, chance), usable, rules, choices)
        assert got.collected_h[0] == pytest.approx(expected)


def test_last_call_is_the_last_night_that_leaves_enough() -> None:
    """With certain weather the last call leaves exactly the nights needed; with none there is no call."""
    jobs = [Job("a", "", 6.0)]
    slots = slots_from([[[1.0], [1.0]]] * 10)
    assert last_call(0, jobs, slots, np.ones((1, 10), dtype=bool), 0.9) == 7
    assert last_call(0, jobs, slots, np.zeros((1, 10), dtype=bool), 0.9) is None


def test_a_goal_that_nothing_can_meet_is_an_outcome() -> None:
    """No open hour, no job, no night: hours of zero, odds of zero, no error."""
    jobs = [Job("never up", "", 10.0)]
    slots = slots_from([[[0.0]]] * 3)
    answer = allocate(jobs, slots, np.ones(3), FREE)
    assert answer.expected_h.tolist() == [0.0]
    odds = play(jobs, slots, policy(jobs, slots, np.ones(3)), np.ones((5, 3), bool), FREE)
    assert odds.odds_fraction.tolist() == [0.0]
    done = [Job("done", "", 10.0, collected_h=12.0)]
    again = play(done, slots, policy(done, slots, np.ones(3)), np.ones((5, 3), bool), FREE)
    assert again.odds_fraction.tolist() == [1.0]

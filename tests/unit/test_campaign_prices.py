"""Prices of hours against exact optima."""

import numpy as np
import pytest
from hypothesis import given, settings
from tests.strategies.campaign import slots_from, small_campaigns

from sidelight.campaign.allocate import allocate
from sidelight.campaign.prices import hour_prices
from sidelight.campaign.records import Job, Rules

FREE = Rules(overhead_h=0.0, shortest_stay_h=0.0, change_cost_h=0.0)


@settings(max_examples=40, deadline=None)
@given(small_campaigns())
def test_prices_bound_every_allocation(drawn: tuple) -> None:
    """No allocation is worth more than the prices' bound; every price lies between 0 and the best use's."""
    jobs, slots, chance = drawn
    prices = hour_prices(jobs, slots, chance)
    exact = allocate(jobs, slots, chance, FREE, gap=0.0).worth
    assert prices.bound >= exact - 1e-6
    assert np.all((prices.price_per_h >= 0) & (prices.price_per_h <= prices.worth_per_h + 1e-12))
    assert np.all(prices.job_worth_per_h <= [job.priority / job.wanted_h + 1e-12 for job in jobs])


@pytest.mark.parametrize("seed", range(5))
def test_prices_come_near_the_exact_optimum_of_a_season(seed: int) -> None:
    """Six jobs that compete over sixty nights: the bound is within 3 % of the allocation's own."""
    random = np.random.default_rng(seed)
    up = random.random((60, 6, 6)) < 0.6
    slots = slots_from(up.astype(float).tolist(), list(random.uniform(0.5, 1.0, 6)))
    jobs = [Job(str(k), "", 30.0, 0.0, float(random.choice([1.0, 2.0]))) for k in range(6)]
    chance = random.uniform(0.2, 0.6, 60)
    exact = allocate(jobs, slots, chance, FREE).bound
    assert exact * 0.995 <= hour_prices(jobs, slots, chance).bound <= 1.03 * exact


def test_time_to_spare_costs_nothing_and_scarce_time_what_is_left_out() -> None:
    """One job alone: its hours have no price to others; two for one hour: it costs what the loser would have paid."""
    chance = np.ones(1)
    alone = hour_prices([Job("a", "", 9.0)], slots_from([[[1.0], [1.0]]]), chance)
    assert alone.price_per_h == pytest.approx([0.0, 0.0])
    assert alone.worth_per_h == pytest.approx([1 / 9, 1 / 9], rel=1e-3)
    both = hour_prices([Job("a", "", 9.0, priority=2.0), Job("b", "", 9.0)], slots_from([[[1, 1]]]), chance)
    assert both.worth_per_h == pytest.approx([2 / 9], rel=1e-3)
    assert both.price_per_h == pytest.approx([1 / 9], rel=1e-3)
    nothing = hour_prices([Job("a", "", 9.0)], slots_from([[[0.0]]]), chance)
    assert (nothing.bound, nothing.price_per_h.tolist()) == (0.0, [0.0])

"""Stays, hours alone and rates by hand, with slots of unequal lengths and gaps; what a change of set-up costs."""

import numpy as np
import pytest
from tests.strategies.campaign import unequal_slots

from sidelight.campaign.odds import alone_h, stays_h
from sidelight.campaign.records import Job, Odds, Rules, change_worth

EVENING = [
    (0.0, 1.0, [1.0, 0.5]),
    (1.0, 0.75, [1.0, 0.0]),
    (1.75, 0.5, [0.5, 0.25]),
    # a break of two hours
    (4.25, 1.0, [0.5, 1.0]),
    (5.25, 0.25, [0.0, 1.0]),
]
SECOND = [(0.0, 0.5, [1.0, 0.0]), (0.5, 0.25, [1.0, 1.0])]


def test_a_stay_lasts_until_the_target_closes_or_the_night_breaks() -> None:
    """Lengths add up over slots that touch, and neither over a closed slot nor a break nor the day."""
    assert stays_h(unequal_slots([EVENING, SECOND])) == pytest.approx(
        np.array([[2.25, 1.25, 0.5, 1.0, 0.0, 0.75, 0.25], [1.0, 0.0, 0.5, 1.25, 0.25, 0.0, 0.25]])
    )


def test_slots_follow_each_other_within_a_night() -> None:
    """The first of a night follows none, nor does the one after a break, be it only a second long."""
    slots = unequal_slots([EVENING, SECOND, [(0.0, 1.0, [1.0, 1.0]), (1.0 + 1 / 3600, 1.0, [1.0, 1.0])]])
    assert slots.follows.tolist() == [False, True, True, False, True, False, True, False, False]


def test_nights_that_touch_are_not_one() -> None:
    """A night that ends where the next one begins (no daylight between them) ends a stay all the same."""
    slots = unequal_slots([[(0.0, 24.0, [1.0])], [(0.0, 24.0, [1.0])]])
    assert slots.follows.tolist() == [False, False]
    assert stays_h(slots) == pytest.approx(np.array([[24.0, 24.0]]))


def test_hours_alone_by_hand() -> None:
    """The overhead comes off each night at its mean rate; a night too short for the shortest stay gives nothing."""
    slots = unequal_slots([EVENING, SECOND, [(0.0, 0.25, [1.0, 1.0])]])
    open_h, gain_h = slots.open_h[0], slots.gain_h[0]
    # 3.25 h are open in the first night and gain 1 + 0.75 + 0.25 + 0.5 h
    assert alone_h(open_h, gain_h, slots) == pytest.approx([2.5, 0.75, 0.25])
    for overhead_h, stay_h, expected in (
        (0.5, 0.0, [2.5 * 2.75 / 3.25, 0.25, 0.0]),
        (0.5, 0.25, [2.5 * 2.75 / 3.25, 0.25, 0.0]),
        (0.5, 0.26, [2.5 * 2.75 / 3.25, 0.0, 0.0]),
        (0.0, 0.75, [2.5, 0.75, 0.0]),
        (5.0, 0.0, [0.0, 0.0, 0.0]),
    ):
        assert alone_h(open_h, gain_h, slots, Rules(overhead_h, stay_h)) == pytest.approx(expected)


def test_hours_alone_in_slots_that_a_set_up_serves() -> None:
    """What no set-up serves counts neither as clock hours nor as effective ones."""
    slots = unequal_slots([EVENING, SECOND])
    served = np.array([True, True, False, False, True, False, True])
    assert alone_h(slots.open_h[0], slots.gain_h[0], slots, served=served) == pytest.approx([1.75, 0.25])
    found = alone_h(slots.open_h[0], slots.gain_h[0], slots, Rules(0.35, 0.0), served)
    assert found == pytest.approx([1.4, 0.0])


def test_rates_in_slots_shorter_than_an_hour() -> None:
    """Effective hours a clock hour are those the slots were made with, whatever their length; 0 where closed."""
    rate = unequal_slots([EVENING, SECOND]).rate
    assert rate == pytest.approx(
        np.array([[1.0, 1.0, 0.5, 0.5, 0.0, 1.0, 1.0], [0.5, 0.0, 0.25, 1.0, 1.0, 0.0, 1.0]])
    )


def test_the_error_of_the_odds_is_the_binomials() -> None:
    """The root of p (1 - p) / w for 3 of 12, 12 of 12 and none of 12 weathers."""
    finished = np.arange(12)[:, None] < np.array([3, 12, 0])
    odds = Odds(finished, np.zeros((12, 3)), np.full((12, 3), -1), np.zeros((1, 3)), seed=0, weathers_count=12)
    assert odds.standard_error_fraction == pytest.approx([0.125, 0.0, 0.0], rel=1e-12, abs=0.0)


def test_a_change_of_set_up_costs_hours_of_a_mean_goal() -> None:
    """Three hours of goals of 4 and 8 h cost half of one; without goals there is nothing to lose."""
    jobs = [Job("a", "", 4.0, 1.0), Job("b", "", 8.0)]
    assert change_worth(jobs, Rules(change_cost_h=3.0)) == pytest.approx(0.5, rel=1e-12)
    assert change_worth([], Rules(change_cost_h=3.0)) == pytest.approx(0.0, abs=0.0)

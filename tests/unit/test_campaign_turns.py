"""When the season that is played turns to another target or set-up: single nights by hand, worths given."""

import itertools

import numpy as np
import pytest
from tests.strategies.campaign import unequal_slots

from sidelight.campaign.odds import play
from sidelight.campaign.prices import policy_price_per_h
from sidelight.campaign.records import Job, Rules, SetUpChoice, Slots
from sidelight.campaign.value import Values, values

ONE = np.ones((1, 1), dtype=bool)
Night = list[tuple[float, float, list[float]]]


def worths(slope: list[float], nights: int = 1) -> Values:
    """Return values by which an effective hour of each job is worth the same whenever and whatever remains."""
    table = np.broadcast_to(np.array(slope)[:, None, None], (len(slope), nights + 1, 81))
    return Values(np.zeros(table.shape), table)


def hours(night: Night, slope: list[float], rules: Rules, wanted_h: tuple[float, ...] = (20.0, 20.0)) -> list[float]:
    """Return the effective hours that each job collects in one usable night."""
    jobs = [Job(name, "", wanted) for name, wanted in zip("ab", wanted_h, strict=False)]
    return play(jobs, unequal_slots([night]), worths(slope), ONE, rules).collected_h[0].tolist()


@pytest.mark.parametrize(("dearer", "expected"), [(1 / 0.748, [0.5, 1.5]), (1 / 0.752, [2.5, 0.0])])
def test_a_change_must_pay_for_its_overhead(dearer: float, expected: list[float]) -> None:
    """Half an hour of overhead in a stay of two leaves 0.75 of each hour: below that worth the target is kept."""
    night = [(0.0, 1.0, [1.0, 0.0]), (1.0, 1.0, [1.0, 1.0]), (2.0, 1.0, [1.0, 1.0])]
    assert hours(night, [1.0, dearer], Rules(0.5, 0.0)) == pytest.approx(expected)


def test_an_opening_that_just_fits_the_shortest_stay_is_used() -> None:
    """An hour after a quarter of overhead fits into an hour and a quarter; two minutes less do not do."""
    rules = Rules(overhead_h=0.25, shortest_stay_h=1.0)
    assert hours([(0.0, 1.0, [1.0]), (1.0, 0.25, [1.0])], [1.0], rules, (20.0,)) == pytest.approx([1.0])
    assert hours([(0.0, 1.0, [1.0]), (1.0, 0.22, [1.0])], [1.0], rules, (20.0,)) == [0.0]


@pytest.mark.parametrize(
    ("wanted_h", "expected"), [((20.0, 20.0), [3.0, 4.0]), ((1.0, 20.0), [1.0, 6.0]), ((3.0, 3.0), [3.0, 3.0])]
)
def test_a_target_is_kept_for_the_shortest_stay_and_no_longer(wanted_h: tuple, expected: list[float]) -> None:
    """Although another soon opens that is worth far more; unless it is finished first."""
    night = [(0.0, 1.0, [1.0, 0.0])] + [(float(h), 1.0, [1.0, 1.0]) for h in range(1, 7)]
    assert hours(night, [1.0, 9.0], Rules(0.0, 3.0), wanted_h) == pytest.approx(expected)


def test_the_shortest_stay_is_counted_in_clock_hours() -> None:
    """Slots of half and quarter hours at a rate of a half: an hour and a half by the clock, and then the other."""
    night = [(0.0, 0.5, [0.5, 0.0]), (0.5, 0.25, [0.5, 1.0]), (0.75, 0.75, [0.5, 1.0])]
    night += [(1.5, 0.5, [0.5, 1.0]), (2.0, 1.0, [0.5, 1.0])]
    assert hours(night, [1.0, 9.0], Rules(0.0, 1.5)) == pytest.approx([0.75, 1.5])


def test_a_break_in_the_night_ends_a_stay() -> None:
    """After a break the target is turned to again: the overhead is paid again, and both parts must be long enough."""
    night = [(0.0, 1.0, [1.0]), (1.0, 1.0, [1.0]), (4.0, 1.0, [1.0]), (5.0, 1.0, [1.0])]
    for rules, expected in ((Rules(0.5, 0.0), 3.0), (Rules(0.5, 1.5), 3.0), (Rules(0.5, 1.75), 0.0)):
        assert hours(night, [1.0], rules, (20.0,)) == pytest.approx([expected])


def collected(jobs: list[Job], slope: list[float], now: int, choices: list[SetUpChoice]) -> list[float]:
    """Return what each job collects in an hour of one night, with changes of set-up that cost nothing."""
    slots = unequal_slots([[(0.0, 1.0, [1.0] * len(jobs))]])
    got = play(jobs, slots, worths(slope), ONE, Rules(0.0, 0.0, 0.0), choices, set_up_now=now)
    return got.collected_h[0].tolist()


def test_a_set_up_is_worth_no_more_than_what_remains() -> None:
    """A quarter of an hour left of a dear goal is worth less than a full hour of one half as dear."""
    choices = [SetUpChoice("first", (0,)), SetUpChoice("second", (1,))]
    jobs = [Job("a", "", 0.25), Job("b", "", 1.0)]
    assert collected(jobs, [1.0, 0.5], 0, choices) == [0.0, 1.0]
    assert collected(jobs, [1.0, 0.2], 0, choices) == [0.25, 0.0]


@pytest.mark.parametrize("now", [0, 1, 2])
def test_at_equal_worth_the_set_up_stays(now: int) -> None:
    """Three set-ups that are worth the same tonight: whichever is on the telescope serves its job."""
    choices = [SetUpChoice(str(u), (u,)) for u in range(3)]
    jobs = [Job(str(j), "", 5.0) for j in range(3)]
    assert collected(jobs, [1.0, 1.0, 1.0], now, choices) == [float(j == now) for j in range(3)]


def test_mean_hours_are_the_mean_of_the_weathers() -> None:
    """The hours given in each night, all weathers played at once, are the mean of those of each played alone."""
    night: Night = [(0.0, 1.0, [1.0, 0.5]), (1.0, 0.5, [0.0, 1.0])]
    slots = unequal_slots([night] * 3)
    jobs = [Job("a", "", 1.5), Job("b", "", 1.0)]
    usable = np.array([[1, 0, 1], [0, 1, 1], [1, 1, 1], [0, 0, 0]], dtype=bool)
    rules = Rules(0.25, 0.0)
    together = play(jobs, slots, worths([1.0, 0.9], 3), usable, rules).mean_hours_h
    alone = [play(jobs, slots, worths([1.0, 0.9], 3), one[None], rules).mean_hours_h for one in usable]
    assert together == pytest.approx(np.mean(alone, axis=0))
    assert together.sum() > 0


def test_overhead_and_shortest_stay_in_the_exact_binomial() -> None:
    """Ten nights give 2.5 h each after the overhead, three are too short: three of ten are needed, from scipy."""
    from scipy.stats import binom

    long: Night = [(0.0, 1.0, [1.0]), (1.0, 1.0, [1.0]), (2.0, 0.5, [1.0]), (2.5, 0.5, [1.0])]
    nights = [long] * 4 + [long[:3]] * 3 + [long] * 6
    slots: Slots = unequal_slots([list(one) for one in nights])
    jobs, chance, rules = [Job("a", "", 7.5)], np.full(13, 0.3), Rules(0.5, 2.25)
    every = np.array(list(itertools.product([False, True], repeat=13)))
    weight = np.prod(np.where(every, 0.3, 0.7), axis=1)
    got = play(jobs, slots, values(jobs, slots, chance, policy_price_per_h(jobs, slots, chance)), every, rules)
    useful = np.cumsum([len(one) == 4 for one in nights])
    done_by = [weight @ ((got.finish_night[:, 0] >= 0) & (got.finish_night[:, 0] <= n)) for n in range(13)]
    assert done_by == pytest.approx(binom(useful, 0.3).sf(2), abs=1e-12)
    assert weight @ got.finished[:, 0] == pytest.approx(binom(10, 0.3).sf(2), abs=1e-12)
    assert weight @ got.collected_h[:, 0] == pytest.approx(
        2.5 * (binom(10, 0.3).pmf(1) + 2 * binom(10, 0.3).pmf(2) + 3 * binom(10, 0.3).sf(2)), abs=1e-12
    )

"""The allocation against exhaustive search, and in seasons too large for it against its own bound."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.strategies.campaign import slots_from, small_campaigns

from sidelight.campaign import allocate as allocating
from sidelight.campaign.allocate import allocate
from sidelight.campaign.plans import NightTable, best_plans, every_plan
from sidelight.campaign.records import Allocation, Job, Rules, SetUpChoice, Slots, served_table

FREE = Rules(overhead_h=0.0, shortest_stay_h=0.0, change_cost_h=0.0)


def night_options(jobs: list[Job], slots: Slots, n: int, rules: Rules) -> list[np.ndarray]:
    """Return what each way to spend a night of hours in a row collects of each job, by hand."""
    here = np.flatnonzero(slots.night == n)
    found = []
    for pick in itertools.product(range(-1, len(jobs)), repeat=len(here)):
        if any(j >= 0 and slots.open_h[j, s] == 0 for j, s in zip(pick, here, strict=True)):
            continue
        got = np.zeros(len(jobs))
        good = True
        for job, group in itertools.groupby(zip(pick, here, strict=True), key=lambda one: one[0]):
            hours = [slots.gain_h[job, s] for _, s in group] if job >= 0 else []
            if not hours:
                continue
            stay_h = len(hours) - rules.overhead_h
            good &= stay_h >= rules.shortest_stay_h - 1e-9
            owed_h = rules.overhead_h
            for gain in hours:
                got[job] += gain * max(0.0, 1.0 - owed_h)
                owed_h = max(0.0, owed_h - 1.0)
        if good:
            found.append(got)
    return found


def exhaustive(jobs: list[Job], slots: Slots, chance: np.ndarray, rules: Rules = FREE) -> float:
    """Return the best expected, priority-weighted share over every combination of the nights' ways."""
    options = [night_options(jobs, slots, n, rules) for n in range(len(slots.dates))]
    best = 0.0
    for picks in itertools.product(*options):
        got = sum(p * one for p, one in zip(chance, picks, strict=True))
        shares = [job.priority / job.wanted_h * min(job.remaining_h, g) for job, g in zip(jobs, got, strict=True)]
        best = max(best, sum(shares))
    return best


@settings(max_examples=25, deadline=None)
@given(small_campaigns(), st.sampled_from([FREE, Rules(0.25, 0.0, 0.0), Rules(0.5, 1.0, 0.0)]))
def test_the_allocation_is_the_best_of_all(drawn: tuple, rules: Rules) -> None:
    """Exhaustive search finds nothing better and nothing worse; no instant is spent twice or outside a window."""
    jobs, slots, chance = drawn
    if len(slots.night) > 6:
        return
    answer = allocate(jobs, slots, chance, rules, gap=0.0)
    assert answer.worth == pytest.approx(exhaustive(jobs, slots, chance, rules), abs=1e-6)
    assert answer.gap_fraction <= 1e-6
    assert_rules_kept(jobs, slots, answer, rules)


def assert_rules_kept(jobs: list[Job], slots: Slots, answer: Allocation, rules: Rules) -> None:
    """Check what every allocation must keep."""
    assert np.all(answer.hours_h.sum(axis=0) <= slots.length_h + 1e-6)
    assert np.all(answer.hours_h <= slots.open_h + 1e-6)
    assert np.all(answer.expected_h <= [job.remaining_h + 1e-6 for job in jobs])
    stays = answer.stays
    for one, following in itertools.pairwise(stays):
        assert one.end_mjd <= following.start_mjd + 1e-9
    for stay in stays:
        net_h = (stay.end_mjd - stay.start_mjd) * 24 - rules.overhead_h
        assert net_h >= rules.shortest_stay_h - 1e-5
        assert sum(hours for _, hours in stay.hours_h) == pytest.approx(net_h, abs=1e-5)


@settings(max_examples=25, deadline=None)
@given(small_campaigns(), st.integers(0, 2**32 - 1))
def test_the_best_plan_of_a_night_is_found(drawn: tuple, seed: int) -> None:
    """At any prices the search over slots is worth as much as the best of all plans listed."""
    jobs, slots, _ = drawn
    rules = Rules(overhead_h=0.25, shortest_stay_h=0.5)
    price = np.random.default_rng(seed).uniform(0, 1, len(jobs))
    served = served_table(len(jobs), slots, ())[0]
    worth, plans = best_plans(jobs, slots, NightTable.of(slots), rules, served, price)
    for n in range(len(slots.dates)):
        listed = [float(plan.gain_h @ price) for plan in every_plan(jobs, slots, rules, served, n)]
        assert worth[n] == pytest.approx(max(listed, default=0.0))
    for plan in plans:
        assert float(plan.gain_h @ price) == pytest.approx(worth[plan.night])


@pytest.mark.parametrize("seed", range(4))
def test_plans_found_by_prices_come_near_the_exact_answer(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """A season small enough to be solved over all plans: the search by prices is within its gap, its bound above."""
    random = np.random.default_rng(seed)
    slots = slots_from((random.random((12, 4, 3)) < 0.7).astype(float).tolist(), list(random.uniform(0.5, 1, 3)))
    jobs = [Job("a", "L", 4.0, priority=2.0), Job("a", "Ha", 4.0), Job("b", "", 6.0)]
    choices = [SetUpChoice("one", (0, 1)), SetUpChoice("two", (2,), only_east=(0,))]
    chance = random.uniform(0.3, 1.0, 12)
    rules = Rules(overhead_h=0.25, shortest_stay_h=0.5, change_cost_h=0.5)
    block = np.arange(12) // 3
    exact = allocate(jobs, slots, chance, rules, choices, set_up_now=1, gap=0.0, block=block)
    monkeypatch.setattr(allocating, "EVERY_PLAN_UP_TO", 0.5)
    searched = allocate(jobs, slots, chance, rules, choices, set_up_now=1, block=block)
    assert searched.worth <= exact.worth + 1e-6
    assert searched.bound >= exact.worth - 1e-6
    assert searched.worth >= 0.97 * exact.worth
    assert_rules_kept(jobs, slots, searched, rules)


def every_order(jobs: list[Job], slots: Slots, chance: np.ndarray, rules: Rules, choices: list[SetUpChoice]) -> float:
    """Return the best worth over all orders of set-ups, each as a programme of its own."""
    best = 0.0
    nights = len(slots.dates)
    for order in itertools.product(range(len(choices)), repeat=nights):
        served = served_table(len(jobs), slots, choices)
        here = served[np.array(order)[slots.night], :, np.arange(len(slots.night))].T
        one = Slots(
            slots.dates, slots.night, slots.start_mjd, slots.length_h, slots.open_h * here, slots.gain_h * here
        )
        plain = Rules(rules.overhead_h, rules.shortest_stay_h, 0.0)
        changes = sum(a != b for a, b in itertools.pairwise(order))
        cost = changes * rules.change_cost_h / np.mean([job.wanted_h for job in jobs])
        best = max(best, allocate(jobs, one, chance, plain, gap=0.0).worth - float(cost))
    return best


@pytest.mark.parametrize("cost_h", [0.0, 0.5, 3.0])
def test_set_ups_against_every_order(cost_h: float) -> None:
    """Three jobs, two set-ups that serve some on one side only, four nights: as good as the best of 16 orders."""
    jobs = [Job("a", "", 3.0), Job("b", "", 3.0, priority=2.0), Job("c", "", 2.0)]
    plain = slots_from([[[1, 1, 0], [1, 0, 1]], [[1, 1, 1]], [[0, 1, 1], [1, 1, 0]], [[1, 0, 1]]])
    west = np.zeros(plain.open_h.shape, dtype=bool)
    west[1, 2:] = True
    slots = Slots(plain.dates, plain.night, plain.start_mjd, plain.length_h, plain.open_h, plain.gain_h, west)
    choices = [SetUpChoice("one", (0,), only_east=(1,)), SetUpChoice("two", (2,), only_west=(1,))]
    chance = np.array([0.5, 1.0, 0.8, 0.6])
    rules = Rules(overhead_h=0.0, shortest_stay_h=0.0, change_cost_h=cost_h)
    answer = allocate(jobs, slots, chance, rules, choices, gap=0.0)
    assert answer.worth == pytest.approx(every_order(jobs, slots, chance, rules, choices), abs=1e-6)
    served = served_table(3, slots, choices)
    assert not np.any(answer.hours_h[~served.any(axis=0)] > 1e-9)


def test_two_seasons_with_a_set_up_each_take_one_change(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two jobs up in different months with a set-up each: the set-up changes between them, once, on a set-up day."""
    open_h = [[[1.0, 0.0]] * 3 if n < 30 else [[0.0, 1.0]] * 3 for n in range(60)]
    jobs = [Job("a", "", 20.0), Job("b", "", 20.0)]
    choices = [SetUpChoice("one", (0,)), SetUpChoice("two", (1,))]
    block = np.arange(60) // 7
    for listed in (allocating.EVERY_PLAN_UP_TO, 0.5):
        monkeypatch.setattr(allocating, "EVERY_PLAN_UP_TO", listed)
        answer = allocate(jobs, slots_from(open_h), np.full(60, 0.4), Rules(), choices, set_up_now=0, block=block)
        order = answer.set_up[::7].tolist()
        assert order == sorted(order)
        assert set(order) == {0, 1}
        assert answer.expected_h == pytest.approx([20.0, 20.0])


def test_a_large_season_comes_with_a_bound_and_keeps_its_rules() -> None:
    """Ten targets, 120 nights: the bound holds and is near; stays are long enough, nights not overspent."""
    random = np.random.default_rng(7)
    rise = random.uniform(0, 6, 10)
    open_h = [
        [[float(rise[j] <= h + n / 15 <= rise[j] + 5) for j in range(10)] for h in range(8)] for n in range(120)
    ]
    slots = slots_from(open_h)
    jobs = [Job(str(j), "", 30.0) for j in range(10)]
    rules = Rules(overhead_h=0.25, shortest_stay_h=1.5)
    answer = allocate(jobs, slots, np.full(120, 0.4), rules)
    assert_rules_kept(jobs, slots, answer, rules)
    assert answer.worth <= answer.bound + 1e-9
    assert answer.gap_fraction < 0.02

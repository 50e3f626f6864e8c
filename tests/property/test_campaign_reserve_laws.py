"""Hours in reserve: they fill what the allocation leaves empty, and never take anything from it."""

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.strategies.campaign import slots_from, small_campaigns

from sidelight.campaign.allocate import allocate
from sidelight.campaign.records import Allocation, Job, Rules, Slots, target_numbers
from sidelight.campaign.reserve import with_reserve

RULES = st.sampled_from([Rules(0.0, 0.0, 0.0), Rules(0.25, 0.0, 0.0), Rules(0.5, 1.0, 0.0)])


def filled(jobs: list[Job], slots: Slots, chance: np.ndarray, rules: Rules) -> tuple[Allocation, Allocation]:
    """Return an allocation and the same with its reserve, every unmet goal being worth the same."""
    plan = allocate(jobs, slots, chance, rules)
    price = np.array([[float(job.remaining_h > 0)] * len(slots.dates) for job in jobs])
    served = np.ones(slots.open_h.shape, dtype=bool)
    return plan, with_reserve(plan, jobs, slots, chance, rules, served, price)


def expected_h(plan: Allocation, jobs: list[Job], slots: Slots, chance: np.ndarray) -> np.ndarray:
    """Return what the stays that are not in reserve collect in expectation, at most what is wanted."""
    number, got = target_numbers(jobs), np.zeros(len(jobs))
    expected = plan.hours_h * slots.rate * chance[slots.night]
    for stay in plan.stays:
        inside = (slots.start_mjd >= stay.start_mjd - 1e-9) & (slots.start_mjd < stay.end_mjd - 1e-9)
        mine = number == stay.target
        got[mine] += 0.0 if stay.reserve else expected[np.ix_(mine, inside)].sum(axis=1)
    return np.minimum(got, [job.remaining_h for job in jobs])


@settings(max_examples=40, deadline=None)
@given(small_campaigns(), RULES)
def test_the_reserve_takes_nothing_from_the_plan(drawn: tuple, rules: Rules) -> None:
    """The stays that are not in reserve are worth no less than the allocation; worth, bound and gap stay."""
    jobs, slots, chance = drawn
    plan, more = filled(jobs, slots, chance, rules)
    share = np.array([job.priority / job.wanted_h for job in jobs])
    assert share @ expected_h(more, jobs, slots, chance) >= share @ plan.expected_h - 1e-9
    assert (more.worth, more.bound, more.gap_fraction) == (plan.worth, plan.bound, plan.gap_fraction)


@settings(max_examples=40, deadline=None)
@given(small_campaigns(), RULES)
def test_no_slot_stays_empty_that_an_unmet_goal_could_use(drawn: tuple, rules: Rules) -> None:
    """Stays follow one another; no open slot longer than the overhead is left, nor one beside its target's stay."""
    jobs, slots, chance = drawn
    _, more = filled(jobs, slots, chance, rules)
    for one, following in zip(more.stays, more.stays[1:], strict=False):
        assert one.end_mjd <= following.start_mjd + 1e-9
    number = target_numbers(jobs)
    for s in range(len(slots.night)):
        middle = slots.start_mjd[s] + slots.length_h[s] / 48.0
        if any(one.start_mjd < middle < one.end_mjd for one in more.stays):
            continue
        useful = [j for j, job in enumerate(jobs) if job.remaining_h > 0 and slots.gain_h[j, s] > 1e-9]
        assert not useful or slots.length_h[s] <= rules.overhead_h + 1e-6
        end = slots.start_mjd[s] + slots.length_h[s] / 24.0
        for one in more.stays:
            meets = abs(one.end_mjd - slots.start_mjd[s]) < 1e-9 or abs(one.start_mjd - end) < 1e-9
            assert not (meets and any(number[j] == one.target for j in useful))


def two_nights() -> Slots:
    """Return two nights of three hours, the second worth half of the first."""
    slots = slots_from([[[1.0]] * 3] * 2)
    return replace(slots, gain_h=slots.open_h * [1.0, 1.0, 1.0, 0.5, 0.5, 0.5])


def test_a_met_goal_leaves_its_spare_hours_in_reserve() -> None:
    """Two sure nights of three hours for a goal of three: the better one is the plan, the poorer one in reserve."""
    slots = two_nights()
    _, more = filled([Job("A", "", 3.0)], slots, np.ones(2), Rules(0.0, 1.0, 0.0))
    assert [stay.reserve for stay in more.stays] == [False, True]
    assert more.hours_h.sum() == 6.0


def test_a_goal_without_worth_gets_no_reserve() -> None:
    """Where a goal is certain its price is nothing, and the night stays empty."""
    slots = two_nights()
    jobs, rules = [Job("A", "", 3.0)], Rules(0.0, 1.0, 0.0)
    plan = allocate(jobs, slots, np.ones(2), rules)
    more = with_reserve(plan, jobs, slots, np.ones(2), rules, np.ones((1, 6), dtype=bool), np.zeros((1, 2)))
    assert [(one.start_mjd, one.end_mjd) for one in more.stays] == [
        (one.start_mjd, one.end_mjd) for one in plan.stays
    ]

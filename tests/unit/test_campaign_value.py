"""What an hour is worth later: against an exact recursion over all choices, and by hand."""

import itertools
from functools import lru_cache

import numpy as np
import pytest
from tests.strategies.campaign import unequal_slots

from sidelight.campaign.records import Job, Slots
from sidelight.campaign.value import EAGERNESS, GRID_H, Values, values, worth_of_rest

CERTAIN = np.ones(1)


def in_the_end(job: Job, left_h: float) -> float:
    """Return the worth of ending with so much missing, as the record of a job states it."""
    share = 1.0 - min(1.0, left_h / job.wanted_h)
    return job.priority * (0.5 * share + 0.5 * (left_h == 0) if job.finish else share)


def best_by_trying(job: Job, j: int, slots: Slots, chance: np.ndarray, price: np.ndarray) -> np.ndarray:
    """Return a job's values by trying every choice of slots in every night, in whole quarters of an hour."""
    quarters = np.rint(slots.gain_h[j] * 4).astype(int)

    @lru_cache(None)
    def worth(n: int, left: int) -> float:
        if n == len(slots.dates):
            return in_the_end(job, left / 4)
        open_ = [s for s in np.flatnonzero(slots.night == n) if quarters[s]]
        used = [
            worth(n + 1, max(0, left - sum(quarters[s] for s in some)))
            - sum(price[s] * slots.open_h[j, s] for s in some) / chance[n]
            for count in range(len(open_) + 1)
            for some in itertools.combinations(open_, count)
        ]
        return chance[n] * max(used) + (1 - chance[n]) * worth(n + 1, left)

    levels = round(job.remaining_h * 4) + 1
    return np.array([[worth(n, left) for left in range(levels)] for n in range(len(slots.dates) + 1)])


def some_season(seed: int) -> tuple[list[Job], Slots, np.ndarray, np.ndarray]:
    """Return two jobs, four nights of slots of unequal lengths that gain alike in a night, chances and prices."""
    random = np.random.default_rng(seed)
    nights = []
    for _ in range(4):
        gain = random.integers(1, 5, 2) / 4
        lengths = random.choice([0.25, 0.5, 0.75, 1.0], random.integers(1, 4))
        up = random.random((len(lengths), 2)) < 0.8
        starts = np.cumsum(lengths) - lengths
        nights.append(
            [(a, h, list(gain / h * one)) for a, h, one in zip(starts.tolist(), lengths.tolist(), up, strict=True)]
        )
    slots = unequal_slots(nights)
    jobs = [
        Job("a", "", 3.0, 0.5, priority=2.0, finish=bool(seed % 2)),
        Job("b", "", 2.0, 0.25, priority=float(random.choice([0.5, 1.0])), finish=not seed % 2),
    ]
    return jobs, slots, random.choice([0.2, 0.5, 0.9, 1.0], 4), random.uniform(0.0, 0.5, len(slots.night))


@pytest.mark.parametrize("seed", range(12))
def test_values_are_those_of_the_best_choice_of_slots(seed: int) -> None:
    """A recursion that tries all choices of slots gives the same worth, in every night and for every rest."""
    jobs, slots, chance, price = some_season(seed)
    found = values(jobs, slots, chance, price)
    assert found.value.shape == (2, 5, 11)
    for j, job in enumerate(jobs):
        exact = best_by_trying(job, j, slots, chance, price)
        assert found.value[j, :, : exact.shape[1]] == pytest.approx(exact, abs=1e-12)


@pytest.mark.parametrize("seed", range(4))
def test_the_slope_is_the_mean_worth_of_the_next_hour(seed: int) -> None:
    """What an hour less to do adds (all, when less than an hour remains), and the eagerness; 0 with none left."""
    jobs, slots, chance, price = some_season(seed)
    found = values(jobs, slots, chance, price)
    for j, job in enumerate(jobs):
        exact = best_by_trying(job, j, slots, chance, price)
        for left in range(1, exact.shape[1]):
            next_h = min(1.0, left / 4)
            slope = (exact[:, left - round(next_h * 4)] - exact[:, left]) / next_h
            assert found.slope[j, :, left] == pytest.approx(
                slope + EAGERNESS * job.priority / job.wanted_h, abs=1e-12
            )
        assert found.slope[j, :, 0] == pytest.approx(0.0, abs=0.0)


def test_the_cheapest_effective_hour_is_taken_first() -> None:
    """Three slots of unequal length, rate and price: a rest of 0.25, 1.25 or 1.5 h costs what the cheapest cost."""
    # rates 1, 0.5 and 1: costs of an effective hour 0.10, 0.24 and 0.09
    slots = unequal_slots([[(0.0, 1.0, [1.0]), (1.0, 0.5, [0.5]), (1.5, 0.25, [1.0])]])
    found = values([Job("a", "", 1.5, finish=False)], slots, CERTAIN, np.array([0.10, 0.12, 0.09]))
    for left_h, cost in ((0.25, 0.0225), (1.25, 0.0225 + 0.10), (1.5, 0.0225 + 0.10 + 0.06)):
        assert found.value[0, 0, round(left_h * 4)] == pytest.approx(1.0 - cost, abs=1e-12)


def test_the_cheaper_of_two_by_the_hour_it_gains() -> None:
    """Of a short good slot and a long poor one at nearly one price a clock hour, the good one is worth its price."""
    slots = unequal_slots([[(0.0, 1.0, [0.25]), (1.0, 0.25, [1.0])]])
    found = values([Job("a", "", 0.25)], slots, CERTAIN, np.array([0.10, 0.11]))
    assert found.value[0, 0, 1] == pytest.approx(1.0 - 0.25 * 0.11, abs=1e-12)


def test_the_worth_of_what_is_missing_by_hand() -> None:
    """Half for finishing and half by the hour, or all by the hour; never less than nothing."""
    left_h = np.array([0.0, 1.0, 2.0, 4.0, 5.0])
    assert worth_of_rest(Job("a", "", 4.0, priority=2.0), left_h) == pytest.approx([2.0, 0.75, 0.5, 0.0, 0.0])
    carried = worth_of_rest(Job("a", "", 4.0, priority=2.0, finish=False), left_h)
    assert carried == pytest.approx([2.0, 1.5, 1.0, 0.0, 0.0])


def test_an_hour_that_changes_nothing_is_still_taken_early() -> None:
    """With time to spare, an hour's worth is a small part of a mean hour of its goal, the larger for a dear goal."""
    slots = unequal_slots([[(float(h), 1.0, [1.0, 1.0]) for h in range(4)]])
    jobs = [Job("a", "", 2.0, priority=3.0), Job("b", "", 4.0)]
    slope = values(jobs, slots, CERTAIN, np.zeros(4)).slope
    assert slope[0, 0, 8] == pytest.approx(EAGERNESS * 3.0 / 2.0)
    assert slope[1, 0, 8] == pytest.approx(EAGERNESS / 4.0)


def test_a_rest_counts_as_the_next_step() -> None:
    """Any rest beyond rounding is at least one step, none is no step, and more than there are is the last."""
    later = Values(np.zeros((1, 2, 9)), np.zeros((1, 2, 9)))
    left_h = np.array([0.0, 1e-11, 0.01, GRID_H, 0.26, 1.0, 1.9, 2.0, 99.0])
    assert later.grid(left_h).tolist() == [0, 0, 1, 1, 2, 4, 8, 8, 8]


def test_no_job_and_no_night_have_no_value() -> None:
    """A campaign without jobs has no values, and without nights each job has the worth of what it has."""
    slots = unequal_slots([[(0.0, 1.0, [])]])
    assert values([], slots, CERTAIN, np.zeros(1)).value.shape == (0, 2, 1)
    none = Slots((), np.zeros(0, dtype=np.int64), np.zeros(0), np.zeros(0), np.zeros((1, 0)), np.zeros((1, 0)))
    assert values([Job("a", "", 1.0, finish=False)], none, np.zeros(0), np.zeros(0)).value[0, 0] == pytest.approx(
        [1.0, 0.75, 0.5, 0.25, 0.0]
    )

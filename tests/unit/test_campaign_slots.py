"""Slots: cut at the edges of windows, never reaching outside one."""

import datetime as dt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.strategies.campaign import START, openings

from sidelight.campaign.records import Job, SetUpChoice, served_table, target_numbers
from sidelight.campaign.slots import NEVER, Openings, cut_nights

EVENING = 61_000.75
NIGHT = np.array([[EVENING, EVENING + 10 / 24]])


def even(job: Job, mjd: np.ndarray) -> np.ndarray:
    """Return weight 1 everywhere."""
    return np.ones_like(mjd)


@settings(max_examples=40, deadline=None)
@given(st.lists(openings(EVENING), min_size=1, max_size=4), st.floats(0.5, 10.0))
def test_no_slot_reaches_outside_a_window_and_little_is_lost(drawn: list[Openings], usable_h: float) -> None:
    """Each open slot lies in a window; none loses over a grid step at either end; slots fill the night."""
    jobs = [Job(f"t{k}", "", 5.0) for k in range(len(drawn))]
    night = np.array([[EVENING, EVENING + usable_h / 24]])
    slots = cut_nights(jobs, [(START, night)], lambda *at: drawn[int(at[0][1:])], even)
    end = slots.start_mjd + slots.length_h / 24
    assert slots.length_h.sum() == pytest.approx(usable_h)
    assert np.all(slots.start_mjd[1:] >= end[:-1] - 1e-8)
    assert np.all(slots.length_h <= 1.0 + 1e-6)
    for j, one in enumerate(drawn):
        for s in np.flatnonzero(slots.open_h[j] > 0):
            inside = (one.spans[:, 0] <= slots.start_mjd[s] + 1e-8) & (one.spans[:, 1] >= end[s] - 1e-8)
            assert bool(slots.west[j, s]) in one.west[inside].tolist()  # a slot of a moment may lie in two
        open_h = np.clip(np.minimum(one.spans[:, 1], night[0, 1]) - one.spans[:, 0], 0, None).sum() * 24
        steps = 2 * len(one.spans)
        assert slots.open_h[j].sum() >= open_h - steps / 12 - 1e-6


def test_effective_hours_are_the_weights_integral() -> None:
    """A weight that falls as a parabola integrates exactly; by hand."""

    def falling(job: Job, mjd: np.ndarray) -> np.ndarray:
        return 1 - ((mjd - EVENING) * 24 / 10) ** 2

    whole = Openings(NIGHT, np.array([True]))
    slots = cut_nights([Job("a", "", 5.0)], [(START, NIGHT)], lambda *_: whole, falling)
    assert slots.gain_h.sum() == pytest.approx(10 - 10 / 3)


def test_a_flip_takes_its_overhead_off_the_first_slot_after_it() -> None:
    """East until two hours, then west: the gain is what is open less the overhead; open hours stay."""
    flip = EVENING + 2.03 / 24
    one = Openings(np.array([[EVENING, flip], [flip, EVENING + 4 / 24]]), np.array([False, True]))
    slots = cut_nights([Job("a", "", 5.0)], [(START, NIGHT)], lambda *_: one, even, flip_overhead_h=0.1)
    assert slots.open_h.sum() == pytest.approx(4.0)
    assert slots.gain_h.sum() == pytest.approx(3.9)
    assert np.any(np.isclose(slots.start_mjd, flip, atol=1e-9))


def test_a_night_that_cannot_be_used_has_no_slot() -> None:
    """Nights off stay in the list of dates, so that the weather's chain runs on, but without slots."""
    nights = [(START, np.empty((0, 2))), (START + dt.timedelta(days=1), NIGHT)]
    slots = cut_nights([Job("a", "", 5.0)], nights, lambda *_: Openings(NIGHT, np.array([True])), even)
    assert len(slots.dates) == 2
    assert set(slots.night.tolist()) == {1}
    empty = cut_nights([Job("a", "", 5.0)], nights, lambda *_: NEVER, even)
    assert empty.open_h.sum() == 0.0
    assert cut_nights([], nights, lambda *_: NEVER, even).open_h.shape[0] == 0


def test_a_set_up_that_serves_one_side_serves_it_only() -> None:
    """East slots for a job that has a star in the east only, west slots for the other, all for a whole one."""
    flip = EVENING + 3 / 24
    one = Openings(np.array([[EVENING, flip], [flip, EVENING + 5 / 24]]), np.array([False, True]))
    jobs = [Job("a", "", 5.0), Job("b", "", 5.0), Job("c", "", 5.0)]
    slots = cut_nights(jobs, [(START, NIGHT)], lambda *_: one, even)
    table = served_table(3, slots, [SetUpChoice("s", (0,), only_east=(1,), only_west=(2,))])[0]
    hours = (slots.open_h * table).sum(axis=1)
    assert hours == pytest.approx([5.0, 3.0, 2.0])
    assert served_table(3, slots, []).all()
    assert SetUpChoice("s", (0,), (1,), (2,)).every_job == (0, 1, 2)


def test_filters_of_one_target_share_its_number() -> None:
    """Jobs of one target count as one place to point at."""
    jobs = [Job("a", "L", 1.0), Job("b", "L", 1.0), Job("a", "Ha", 1.0)]
    assert target_numbers(jobs).tolist() == [0, 1, 0]


def test_the_last_digits_of_a_weight_do_not_reach_the_plan() -> None:
    """Weights that differ by rounding give the same effective hours to the last bit, so the same plan every time."""
    whole = Openings(NIGHT, np.array([True]))
    chance = np.random.default_rng(11)

    def noisy(job: Job, mjd: np.ndarray) -> np.ndarray:
        return (0.3 + 0.1 * np.cos(mjd)) * (1 + 1e-15 * chance.integers(-3, 4, mjd.shape))

    first, second = (cut_nights([Job("a", "", 5.0)], [(START, NIGHT)], lambda *_: whole, noisy) for _ in range(2))
    assert first.gain_h.tobytes() == second.gain_h.tobytes()

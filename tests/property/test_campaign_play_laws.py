"""Laws of the seasons that are played."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.strategies.campaign import slots_from, small_campaigns

from sidelight.campaign.odds import alone_h, last_call, play, stays_h
from sidelight.campaign.prices import policy_price_per_h
from sidelight.campaign.records import Job, Rules, Slots
from sidelight.campaign.value import values

nights_of_hours = st.lists(st.lists(st.booleans(), min_size=0, max_size=4), min_size=2, max_size=12)


def slots_of(hours: list[list[bool]]) -> Slots:
    """Return the slots of one job."""
    return slots_from([[[float(h)] for h in night] or [[0.0]] for night in hours])


@settings(max_examples=40, deadline=None)
@given(nights_of_hours, st.data(), st.integers(0, 2**32 - 1))
def test_more_free_nights_never_lower_the_odds(hours: list, data: st.DataObject, seed: int) -> None:
    """A target alone finishes in every weather in which it finished with fewer of the same nights."""
    kept = data.draw(st.lists(st.booleans(), min_size=len(hours), max_size=len(hours)))
    rules = Rules(overhead_h=0.25, shortest_stay_h=1.0)
    jobs = [Job("a", "", data.draw(st.floats(0.5, 8.0)))]
    usable = np.random.default_rng(seed).random((64, len(hours))) < 0.6
    chance = np.full(len(hours), 0.6)
    odds = []
    for nights in ([h if k else [] for h, k in zip(hours, kept, strict=True)], hours):
        slots = slots_of(nights)
        price = policy_price_per_h(jobs, slots, chance)
        odds.append(play(jobs, slots, values(jobs, slots, chance, price), usable, rules))
    assert np.all(odds[1].collected_h >= odds[0].collected_h - 1e-9)
    assert np.all(odds[1].finished | ~odds[0].finished)


@settings(max_examples=40, deadline=None)
@given(small_campaigns(), st.floats(0.0, 0.6), st.floats(0.0, 2.0), st.integers(0, 2**32 - 1))
def test_no_night_is_overspent_and_every_change_pays(
    drawn: tuple, overhead_h: float, stay_h: float, seed: int
) -> None:
    """Hours in a night plus the first overhead fit into it; a night shorter than the shortest stay is not begun."""
    jobs, slots, chance = drawn
    rules = Rules(overhead_h=overhead_h, shortest_stay_h=stay_h)
    nights = len(slots.dates)
    usable = np.random.default_rng(seed).random((1, nights)) < 0.8
    price = policy_price_per_h(jobs, slots, chance)
    got = play(jobs, slots, values(jobs, slots, chance, price), usable, rules)
    spent = got.mean_hours_h.sum(axis=1)
    length = np.bincount(slots.night, slots.length_h, minlength=nights)
    assert np.all(spent[spent > 0] + overhead_h <= length[spent > 0] + 1e-9)
    assert np.all(spent[~usable[0]] == 0)
    longest = np.array([stays_h(slots)[:, slots.night == n].max(initial=0.0) for n in range(nights)])
    assert np.all(spent[longest < stay_h - 1e-6] == 0)


@settings(max_examples=40, deadline=None)
@given(nights_of_hours, st.floats(0.5, 8.0), st.floats(0.05, 0.95), st.integers(0, 2**32 - 1))
def test_last_call_is_where_the_played_odds_cross(hours: list, wanted_h: float, level: float, seed: int) -> None:
    """Starting on the last call reaches the odds when played; starting a night later does not."""
    slots = slots_of(hours)
    rules = Rules(overhead_h=0.25, shortest_stay_h=1.0)
    jobs = [Job("a", "", wanted_h)]
    usable = np.random.default_rng(seed).random((64, len(hours))) < 0.6
    call = last_call(0, jobs, slots, usable, level, rules)
    alone = alone_h(slots.open_h[0], slots.gain_h[0], slots, rules)
    odds_from = [
        float(((usable[:, n:] * alone[n:]).sum(axis=1) >= wanted_h - 1e-9).mean()) for n in range(len(hours))
    ]
    if call is None:
        assert max(odds_from) < level
    else:
        assert odds_from[call] >= level
        assert all(odds < level for odds in odds_from[call + 1 :])


def test_a_last_call_by_the_binomial() -> None:
    """Independent nights of two hours each: five of those left must be usable; the closed form, from scipy."""
    from scipy.stats import binom

    slots = slots_from([[[1.0], [1.0]]] * 40)
    usable = np.random.default_rng(5).random((40_000, 40)) < 0.35
    call = last_call(0, [Job("a", "", 10.0)], slots, usable, 0.8)
    left = np.arange(40, 0, -1)
    exact = binom(left, 0.35).sf(4)
    by_hand = int(np.flatnonzero(exact >= 0.8)[-1])
    # the nights about the crossing differ by far more than the simulation's error of 0.002
    assert np.min(np.abs(exact[by_hand : by_hand + 2] - 0.8)) > 0.01
    assert call == by_hand


def test_two_filters_of_a_target_share_one_visit() -> None:
    """Going from one filter to the next on the same target costs no overhead; going to another target does."""
    rules = Rules(overhead_h=0.5, shortest_stay_h=0.0)
    slots = slots_from([[[1.0, 1.0], [1.0, 1.0], [1.0, 1.0]]])
    usable = np.ones((1, 1), dtype=bool)
    for keys, expected in ((("a", "a"), 2.5), (("a", "b"), 2.0)):
        jobs = [Job(keys[0], "L", 1.25), Job(keys[1], "Ha", 1.25)]
        got = play(jobs, slots, values(jobs, slots, np.ones(1), np.zeros(3)), usable, rules)
        assert got.mean_hours_h.sum() <= expected + 1e-9
        assert got.collected_h.sum() >= expected - 0.76
    same = [Job("a", "L", 1.5), Job("a", "Ha", 1.0)]
    got = play(same, slots, values(same, slots, np.ones(1), np.zeros(3)), usable, rules)
    assert got.mean_hours_h.sum() == 2.5

"""Tonight's run in cases small enough to know the answer."""

import numpy as np

from sidelight.campaign.tonight import Candidate, NightRules, plan_night

EVENING = 61_000.75
NEVER = np.empty((0, 2))


def windows(*hours: tuple[float, float]) -> np.ndarray:
    """Return spans of MJD from hours after the evening."""
    return EVENING + np.array(hours, dtype=float).reshape(-1, 2) / 24.0


def hours_of(run: tuple) -> list[tuple[str, float, float]]:
    """Return each stretch as key and hours after the evening."""
    return [
        (one.key, round((one.start_mjd - EVENING) * 24, 2), round((one.end_mjd - EVENING) * 24, 2)) for one in run
    ]


def test_an_urgent_target_goes_first_and_the_other_fills_the_rest() -> None:
    """What is worth more takes its whole window; the night has no gap while something is up."""
    run = plan_night([Candidate("late", windows((0, 9)), 1.0), Candidate("urgent", windows((0, 4)), 3.0)])
    assert hours_of(run) == [("urgent", 0.0, 4.0), ("late", 4.0, 9.0)]


def test_equal_targets_do_not_alternate() -> None:
    """Between equals a change is never worth its cost."""
    run = plan_night([Candidate("a", windows((0, 8)), 1.0), Candidate("b", windows((0, 8)), 1.0)])
    assert len(run) == 1


def test_nothing_up_is_an_empty_run() -> None:
    """No candidate, no window, or windows shorter than the shortest stay give no stretch."""
    assert plan_night([]) == ()
    assert plan_night([Candidate("a", NEVER, 1.0)]) == ()
    assert plan_night([Candidate("a", windows((0, 0.3)), 1.0)], NightRules(shortest_stay_h=0.5)) == ()


def test_no_more_than_wanted() -> None:
    """A target that wants two hours more gets two, and another takes the rest."""
    run = plan_night([Candidate("a", windows((0, 8)), 3.0, most_h=2.0), Candidate("b", windows((0, 8)), 1.0)])
    spent = {key: sum(one.length_h for one in run if one.key == key) for key in "ab"}
    assert abs(spent["a"] - 2.0) < 1e-6
    assert spent["b"] > 5.9


def test_two_windows_round_the_lower_culmination() -> None:
    """A stay never spans the gap between two windows of the same target."""
    run = plan_night([Candidate("a", windows((0, 2), (5, 9)), 1.0)])
    assert hours_of(run) == [("a", 0.0, 2.0), ("a", 5.0, 9.0)]


def test_a_weight_that_falls_moves_the_change() -> None:
    """A target whose air gets worse is left for one that gets better, near where the worth crosses."""
    times = EVENING + np.array([0, 8]) / 24.0
    run = plan_night(
        [
            Candidate("sets", windows((0, 8)), 1.0, times, np.array([1.0, 0.0])),
            Candidate("rises", windows((0, 8)), 1.0, times, np.array([0.0, 1.0])),
        ]
    )
    assert [one.key for one in run] == ["sets", "rises"]
    assert abs((run[0].end_mjd - EVENING) * 24 - 4.0) <= 5.01 / 60


def test_nothing_is_planned_where_the_weight_is_nothing() -> None:
    """After the hour at which the weights fall to 0, a bedtime, not even a gap is filled."""
    times = EVENING + np.linspace(0, 6, 25) / 24.0
    weights = np.where(times < EVENING + 4.1 / 24.0, 1.0, 0.0)
    run = plan_night([Candidate("a", windows((0, 6)), 1.0, times, weights)])
    assert run[-1].end_mjd <= EVENING + 4.25 / 24.0 + 1e-9

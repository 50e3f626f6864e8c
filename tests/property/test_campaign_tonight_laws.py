"""Laws that tonight's run keeps whatever is up."""

import itertools

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from sidelight.campaign.tonight import Candidate, NightRules, plan_night
from sidelight.ground import spans

few = settings(max_examples=40, deadline=None)
RULES = NightRules(change_cost_h=0.2, shortest_stay_h=0.5, step_min=30.0)
window = st.tuples(st.integers(0, 16), st.integers(1, 12)).map(lambda w: (61_000 + w[0] / 48, 61_000 + sum(w) / 48))
candidate = st.tuples(st.lists(window, min_size=1, max_size=2), st.floats(0.1, 5))


@few
@given(st.lists(candidate, min_size=1, max_size=4))
def test_no_instant_twice_never_outside_a_window(drawn: list) -> None:
    """Stretches are in order, apart, inside their target's windows; a short stay only fills a gap."""
    candidates = [Candidate(str(i), spans.union(rows), value) for i, (rows, value) in enumerate(drawn)]
    run = plan_night(candidates, RULES)
    for one, following in itertools.pairwise(run):
        assert one.end_mjd <= following.start_mjd
    for one in run:
        windows = candidates[int(one.key)].windows
        assert one.length_h > 0.2
        assert np.any((windows[:, 0] <= one.start_mjd) & (windows[:, 1] >= one.end_mjd))


@few
@given(st.lists(candidate, min_size=1, max_size=4))
def test_no_gap_worth_a_change_while_something_is_up(drawn: list) -> None:
    """No idle span longer than a change costs is left in which a target stays up throughout."""
    candidates = [Candidate(str(i), spans.union(rows), value) for i, (rows, value) in enumerate(drawn)]
    run = plan_night(candidates, RULES)
    planned = spans.union([[one.start_mjd, one.end_mjd] for one in run]) if run else spans.EMPTY
    for one in candidates if run else []:
        for a, b in one.windows:
            for start, end in spans.complement(planned, float(a), float(b)):
                assert (end - start) * 24 <= 0.2 + 1e-6


@settings(max_examples=15, deadline=None)
@given(st.lists(candidate, min_size=1, max_size=2))
def test_no_run_of_one_or_two_stays_is_better(drawn: list) -> None:
    """Exhaustive search over all runs of up to two stays on a half-hour grid finds nothing better."""
    candidates = [Candidate(str(i), spans.union(rows), value) for i, (rows, value) in enumerate(drawn)]
    mean = float(np.mean([one.value_per_h for one in candidates]))

    def worth(run: list[tuple[int, float, float]]) -> float:
        return sum(candidates[i].value_per_h * (b - a) * 24 - 0.2 * mean for i, a, b in run)

    grid = 61_000 + np.arange(0, 29) / 48
    stays = [
        (i, a, b)
        for i, one in enumerate(candidates)
        for a, b in itertools.combinations(grid, 2)
        if np.any((one.windows[:, 0] <= a + 1e-9) & (one.windows[:, 1] >= b - 1e-9))
    ]
    pairs = [[s, t] for s in stays for t in stays if s[2] <= t[1]]
    best = max([0.0] + [worth(run) for run in [[s] for s in stays] + pairs])
    run = plan_night(candidates, RULES)
    gained = {s: candidates[int(s.key)].value_per_h * s.length_h for s in run}
    # a stay that only fills a gap need not earn its change, so it is left out where it does not
    got = sum(max(gain - 0.2 * mean, 0.0) for gain in gained.values())
    assert got >= best - 0.01 * max(1.0, best)

"""Laws of smallest covers: as few as any way of choosing, and every member serves what it is there for."""

from itertools import combinations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as st_arrays
from tests.strategies.setup import FewStars, lit_at, questions, rings_needed, rings_of_the_cover

from sidelight.rig.guider import usable_rectangle
from sidelight.rig.records import Rig
from sidelight.setup.cover import minimum_cover
from sidelight.setup.records import Want
from sidelight.setup.solve import solve

few = settings(max_examples=12, deadline=None)
tables = st.tuples(st.integers(1, 9), st.integers(1, 8)).flatmap(lambda shape: st_arrays.arrays(np.bool_, shape))


def fewest(table: np.ndarray) -> int:
    """Try every choice of rows, small ones first: how many are needed to hold all that any row holds."""
    reachable = table.any(axis=0)
    for size in range(len(table) + 1):
        for rows in combinations(range(len(table)), size):
            if np.array_equal(table[list(rows)].any(axis=0), reachable):
                return size
    raise AssertionError("all rows together hold everything that any row holds")


@settings(max_examples=100, deadline=None)
@given(tables)
def test_no_choice_of_fewer_sets_covers(table: np.ndarray) -> None:
    """The cover holds all that can be held, names what cannot, and no smaller choice does the same."""
    cover = minimum_cover(table)
    assert np.array_equal(table[list(cover.chosen)].any(axis=0), table.any(axis=0))
    assert cover.left_out == tuple(np.flatnonzero(~table.any(axis=0)))
    assert len(cover.chosen) == fewest(table)


@few
@given(questions(3))
def test_set_ups_of_a_cover_share_out_all_rings(question: tuple[Rig, list[Want], FewStars]) -> None:
    """Each ring that any angle lights is served in some set-up of the cover, and one or two angles never did."""
    rig, wants, stars = question
    solution = solve(rig, wants, stars)
    best = solution.best
    assert best is not None
    if best.rings_served == best.rings_needed and best.frames_served == best.frames_needed:
        assert solution.smallest_cover == ()
        return
    served = rings_of_the_cover(solution)
    assert served | set(solution.cover_leaves_out) == rings_needed(solution)
    assert not served & set(solution.cover_leaves_out)
    assert all(setup.rings_served == setup.rings_needed for setup in solution.smallest_cover)
    assert len(solution.smallest_cover) != 1 or solution.cover_leaves_out or best.frames_served < best.frames_needed
    # what angles 0.5° apart serve (firmly, frames put aside) can be covered with no fewer
    g = np.arange(0.0, 360.0, 0.5)
    rectangle = usable_rectangle(rig)
    columns = []
    for ring in (ring for ring in solution.rings if ring.needed):
        pointing = ring.pointing_ra_deg, ring.pointing_dec_deg
        columns.append(
            np.all(
                [
                    lit_at((stars.ra_deg, stars.dec_deg), pointing, ring.side, g + turn, rig, rectangle)
                    for turn in (-1.0, -0.5, 0.0, 0.5, 1.0)
                ],
                axis=0,
            )
        )
    held = np.unique(np.array(columns).T, axis=0)
    always_framed = all(frame.arcs == ((0.0, 360.0),) or not frame.fits for frame in solution.frames)
    if always_framed and solution.best.shadow_slack_deg >= 180.0 and set(map(bool, held.any(axis=0))) == {True}:
        assert len(solution.smallest_cover) <= fewest(held)

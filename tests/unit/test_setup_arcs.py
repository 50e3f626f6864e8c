"""Arcs of set-ups on cases that can be worked out in the head: round north, on the whole circle, at their edges."""

import numpy as np
import pytest

from sidelight.ground import spans
from sidelight.setup.arcwork import nearest_to_middle, roomiest, shrink, shrink_at_most, slack_at, sweep

Rows = list[list[float]]
LONG_AND_SHORT = spans.arcs([[10.0, 14.0], [100.0, 140.0]])
NEAREST: list[tuple[list[float], Rows, tuple[float, float] | None]] = [
    ([350.0, 390.0], [[0.0, 360.0]], (10.0, 20.0)),
    ([30.0, 50.0], [[0.0, 360.0]], (40.0, 10.0)),
    ([340.0, 380.0], [[355.0, 370.0]], (0.0, 20.0)),
    ([0.0, 360.0], [[10.0, 20.0], [300.0, 304.0]], (15.0, 180.0)),
    ([0.0, 360.0], [[0.0, 360.0]], (180.0, 180.0)),
    ([0.0, 359.0], [[10.0, 20.0]], (20.0, 20.0)),
    ([20.0, 60.0], [[22.0, 25.0], [50.0, 55.0]], (50.0, 10.0)),
    ([20.0, 60.0], [[22.0, 33.0], [50.0, 55.0]], (33.0, 13.0)),
    ([20.0, 60.0], [[38.0, 55.0]], (40.0, 20.0)),
    ([350.0, 370.0], [[340.0, 352.0], [5.0, 90.0]], (5.0, 5.0)),
    ([20.0, 60.0], [[0.0, 10.0]], None),
    ([0.0, 360.0], [], None),
]
"""An arc, what is allowed, and the allowed angle nearest to the arc's middle with its distance from the ends."""


def test_where_nothing_limits_the_slack_is_half_a_turn() -> None:
    """On the full circle every angle has 180 degrees of slack, in an empty set none has any."""
    assert [slack_at(spans.FULL_CIRCLE, angle) for angle in (0.0, 90.0, 359.9, -700.0)] == [180.0] * 4
    assert slack_at(spans.EMPTY, 90.0) == 0.0
    assert slack_at(spans.arcs([[350.0, 20.0]]), 5.0) == 15.0


@pytest.mark.parametrize(
    ("arcs", "middle"),
    [
        ([[350.0, 20.0]], 5.0),
        ([[340.0, 10.0], [40.0, 69.0]], 355.0),
        ([[0.0, 30.0], [50.0, 90.0], [200.0, 239.0]], 70.0),
        ([[2.0, 360.5]], 181.25),
    ],
)
def test_the_roomiest_angle_is_the_middle_of_the_longest_arc(arcs: Rows, middle: float) -> None:
    """The longest arc counts, whether it is first, last or crosses north."""
    assert roomiest(spans.arcs(arcs)) == pytest.approx(middle, abs=1e-9)


def test_where_all_angles_are_as_good_north_is_named() -> None:
    """The full circle has no middle: 0 stands for it."""
    assert roomiest(spans.FULL_CIRCLE) == 0.0


def test_the_allowed_angle_nearest_to_the_middle() -> None:
    """The middle where it is allowed, else the end of the nearest allowed piece; on the whole circle none is near."""
    for arc, allowed, expected in NEAREST:
        found = nearest_to_middle(np.array(arc), spans.arcs(allowed))
        assert (found is None) == (expected is None)
        if found is not None:
            assert found == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("by_deg", "left"),
    [
        (0.0, [[10.0, 14.0], [100.0, 140.0]]),
        (1.0, [[11.0, 13.0], [101.0, 139.0]]),
        (5.0, [[105.0, 135.0]]),
        (19.9, [[119.9, 120.1]]),
    ],
)
def test_arcs_are_shortened_at_both_ends(by_deg: float, left: Rows) -> None:
    """While something of the longest arc stays, shrinking at most is shrinking; shorter arcs go."""
    assert shrink_at_most(LONG_AND_SHORT, by_deg) == pytest.approx(np.array(left))
    assert np.array_equal(shrink_at_most(LONG_AND_SHORT, by_deg), shrink(LONG_AND_SHORT, by_deg))


@pytest.mark.parametrize("by_deg", [20.0, 30.0, 500.0])
def test_the_middle_of_the_longest_arc_stays(by_deg: float) -> None:
    """Where shrinking leaves nothing, a thousandth of the longest arc stays, about its middle."""
    assert len(shrink(LONG_AND_SHORT, by_deg)) == 0
    assert shrink_at_most(LONG_AND_SHORT, by_deg) == pytest.approx(np.array([[119.98, 120.02]]))


def test_what_has_no_ends_loses_nothing() -> None:
    """The full circle and the empty set stay what they are."""
    assert np.array_equal(shrink_at_most(spans.FULL_CIRCLE, 3.0), spans.FULL_CIRCLE)
    assert len(shrink_at_most(spans.EMPTY, 3.0)) == 0


def test_a_sweep_cuts_at_every_end() -> None:
    """An arc round north, two arcs, the full circle and nothing: who holds each elementary arc, by the eye."""
    sets = [spans.arcs(rows) for rows in ([[350.0, 5.0]], [[2.0, 20.0], [340.0, 352.0]], [[0.0, 360.0]], [])]
    pieces, held = sweep(sets)
    assert pieces.tolist() == [[0, 2], [2, 5], [5, 20], [20, 340], [340, 350], [350, 352], [352, 360]]
    assert held.astype(int).tolist() == [
        [1, 1, 0, 0, 0, 1, 1],
        [0, 1, 1, 0, 1, 1, 0],
        [1, 1, 1, 1, 1, 1, 1],
        [0, 0, 0, 0, 0, 0, 0],
    ]

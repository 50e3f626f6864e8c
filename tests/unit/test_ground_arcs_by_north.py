"""Arcs beside north that do not meet there stay apart; a whole turn and more is the whole circle."""

import numpy as np

from sidelight.ground import spans


def test_arcs_that_stop_short_of_north_stay_apart() -> None:
    """Up to north and from 5° on are two arcs, and so are up to 350° and from north on."""
    to_north = spans.arcs_union(spans.arcs([[350, 360]]), spans.arcs([[5, 10]]))
    assert to_north.tolist() == [[5.0, 10.0], [350.0, 360.0]]
    from_north = spans.arcs_union(spans.arcs([[300, 350]]), spans.arcs([[0, 10]]))
    assert from_north.tolist() == [[0.0, 10.0], [300.0, 350.0]]
    assert spans.arcs_contain(to_north, [2.0, 355.0, 7.0]).tolist() == [False, True, True]
    assert spans.arcs_contain(from_north, [355.0, 5.0]).tolist() == [False, True]


def test_a_turn_and_a_little_is_the_circle() -> None:
    """From 20° to 381° is all of it; a degree less than a turn is not."""
    assert spans.arcs([[20, 381]]).tolist() == [[0.0, 360.0]]
    assert spans.total(spans.arcs([[20, 379]])) == 359.0


def test_arcs_across_north_keep_their_length() -> None:
    """Whatever is cut at north is joined again: lengths of union and rest add up to the turn."""
    for start in np.arange(340.0, 360.0, 3.0):
        one = spans.arcs([[start, start + 30.0]])
        assert spans.total(one) == 30.0
        assert spans.total(spans.arcs_complement(one)) == 330.0
        assert spans.arcs_intersect(one, spans.arcs([[start, start + 21.0]])).tolist() == [[start, start + 21.0]]

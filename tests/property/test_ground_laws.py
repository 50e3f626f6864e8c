"""Laws of interval sets, arcs, angles and roots that hold for any input."""

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from tests.strategies.ground import angles as any_angle
from tests.strategies.ground import arc_rows, declinations, right_ascensions, span_rows

from sidelight.ground import angles, spans
from sidelight.ground.roots import bracketed_roots

few = settings(max_examples=60, deadline=None)


def is_clean(rows: np.ndarray) -> bool:
    """Tell whether rows are sorted, of positive length and apart."""
    return bool(np.all(rows[:, 1] > rows[:, 0]) and np.all(rows[1:, 0] > rows[:-1, 1]))


@few
@given(span_rows, span_rows, st.lists(st.floats(-60, 90), min_size=1, max_size=20))
def test_union_and_intersection_are_those_of_points(a: np.ndarray, b: np.ndarray, points: list[float]) -> None:
    """A point is in the union when it is in either set, and in the intersection when it is in both."""
    both, either = spans.intersect(a, b), spans.union(a, b)
    assert is_clean(both)
    assert is_clean(either)
    at = np.array(points)
    ends = np.concatenate([a.ravel(), b.ravel()])
    at = at[~np.isin(at, ends)]
    in_a, in_b = spans.contains(a, at), spans.contains(b, at)
    assert np.array_equal(spans.contains(either, at), in_a | in_b)
    assert np.array_equal(spans.contains(both, at), in_a & in_b)


@few
@given(span_rows)
def test_a_set_and_its_complement_fill_the_line(a: np.ndarray) -> None:
    """Lengths of a set and its complement add up to the whole."""
    inside = spans.intersect(a, [[-60.0, 90.0]])
    rest = spans.complement(a, -60.0, 90.0)
    assert abs(spans.total(inside) + spans.total(rest) - 150.0) < 1e-9
    assert spans.total(spans.intersect(inside, rest)) == 0


@few
@given(arc_rows, arc_rows, st.lists(any_angle, min_size=1, max_size=20))
def test_arcs_follow_their_points_round_north(a: np.ndarray, b: np.ndarray, points: list[float]) -> None:
    """Union, intersection and complement of arcs hold point by point, arcs across north included."""
    first, second = (
        spans.arcs_union(*[spans.arcs([row]) for row in a]),
        spans.arcs_union(*[spans.arcs([row]) for row in b]),
    )
    at = np.mod(np.array(points), 360.0)
    ends = np.mod(np.concatenate([a.ravel(), b.ravel(), [0.0]]), 360.0)
    near_an_end = np.abs(spans_distance(at, ends)).min(axis=1) < 1e-9
    at = at[~near_an_end]
    in_a = np.any((np.mod(at[:, None] - a[:, 0], 360.0)) <= a[:, 1] - a[:, 0], axis=1)
    in_b = np.any((np.mod(at[:, None] - b[:, 0], 360.0)) <= b[:, 1] - b[:, 0], axis=1)
    assert np.array_equal(spans.arcs_contain(first, at), in_a)
    assert np.array_equal(spans.arcs_contain(spans.arcs_union(first, second), at), in_a | in_b)
    assert np.array_equal(spans.arcs_contain(spans.arcs_intersect(first, second), at), in_a & in_b)
    assert np.array_equal(spans.arcs_contain(spans.arcs_complement(first), at), ~in_a)


def spans_distance(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Return turns between each of a and each of b."""
    return angles.turn_deg(a[:, None], b[None, :])


@few
@given(arc_rows, any_angle, any_angle)
def test_slack_turns_with_the_arcs(a: np.ndarray, at: float, by: float) -> None:
    """Turning arcs and needle together leaves the slack as it is."""
    one = spans.arcs_union(*[spans.arcs([row]) for row in a])
    before = float(spans.arcs_slack(one, at))
    after = float(spans.arcs_slack(spans.arcs_turn(one, by), at + by))
    assume(before > 1e-6)
    assert abs(before - after) < 1e-6


@few
@given(right_ascensions, declinations, st.floats(0, 359.9), st.floats(0.001, 179.0))
def test_going_a_distance_at_an_angle_measures_back(ra: float, dec: float, angle: float, distance: float) -> None:
    """A point put at a position angle and separation by vectors is measured at that angle and separation."""
    assume(abs(dec) < 89.9)
    to_point = angles.unit_vector(ra, dec)
    north = angles.unit_vector(ra + 180, 90 - dec) if dec > 0 else angles.unit_vector(ra, dec + 90)
    east = np.cross(north, to_point)
    d, p = np.radians(distance), np.radians(angle)
    there = np.cos(d) * to_point + np.sin(d) * (np.cos(p) * north + np.sin(p) * east)
    ra2, dec2 = angles.direction_deg(there)
    assert abs(float(angles.separation_deg(ra, dec, ra2, dec2)) - distance) < 1e-9
    assert abs(float(angles.turn_deg(angles.position_angle_deg(ra, dec, ra2, dec2), angle))) < 1e-6


@few
@given(right_ascensions, declinations)
def test_sexagesimal_text_reads_back(ra: float, dec: float) -> None:
    """What is written as hours or degrees, minutes and seconds reads back to the last digit shown."""
    back_ra = angles.parse_angle_deg(angles.format_ra(ra, 3), hours=True)
    assert abs(float(angles.turn_deg(back_ra, ra))) <= 0.0005 * 15 / 3600 + 1e-9
    back_dec = angles.parse_angle_deg(angles.format_dec(dec, 2), hours=False)
    assert abs(back_dec - dec) <= 0.005 / 3600 + 1e-9


@few
@given(st.lists(st.tuples(st.floats(-5, 5), st.floats(0.1, 5)), min_size=1, max_size=10), st.floats(0.3, 3))
def test_roots_of_steep_and_flat_functions(roots: list[tuple[float, float]], power: float) -> None:
    """Every root of sign(x - r)|x - r|^k is found to the tolerance, whatever k."""
    r = np.array([root for root, _ in roots])
    width = np.array([half for _, half in roots])
    found = bracketed_roots(lambda x: np.sign(x - r) * np.abs(x - r) ** power, r - width, r + 0.7 * width, 1e-6)
    assert np.all(np.abs(found - r) <= 1e-6)


@few
@given(any_angle)
def test_wrapping_is_a_full_turn_away(angle: float) -> None:
    """A wrapped angle is in range and a whole number of turns from the given one."""
    for wrapped, low in ((float(angles.wrap_360(angle)), 0.0), (float(angles.wrap_180(angle)), -180.0)):
        assert low <= wrapped < low + 360.0
        turns = (angle - wrapped) / 360.0
        assert abs(turns - round(turns)) < 1e-9

"""Laws of rings, arcs and frames that hold for any sky."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.strategies.ground import arc_rows
from tests.strategies.setup import (
    framed_at,
    lit_at,
    on_sensor,
    plane_of,
    poles_and_elsewhere,
    rectangles,
    scattered,
    seeds,
    small_rig,
    want,
)

from sidelight.ground import spans
from sidelight.rig.guider import GuideRectangle
from sidelight.setup.arcwork import nearest_to_middle, roomiest, shrink, slack_at, sum_of, sweep
from sidelight.setup.framing import frame_arcs, plane_outlines, room_mm
from sidelight.setup.rings import lit_angles, side_arcs, star_arcs
from sidelight.targets.records import Outline

few = settings(max_examples=40, deadline=None)
EDGE_DEG = 1e-6


def clear_of(arcs: np.ndarray, angles: np.ndarray, least_deg: float) -> np.ndarray:
    """Return the angles that are not next to an end of an arc."""
    ends = np.mod(arcs.ravel(), 360.0)
    apart = np.abs(np.mod(angles[:, None] - ends + 180.0, 360.0) - 180.0)
    return angles[(apart > least_deg).all(axis=1)]


@few
@given(poles_and_elsewhere, rectangles, seeds, st.sampled_from(["east", "west", "any"]))
def test_rings_are_where_turned_stars_meet_the_sensor(
    pointing: tuple[float, float], rectangle: GuideRectangle, seed: int, side: str
) -> None:
    """At any angle, poles and north included, a ring is lit when a star turned into the sensor's frame is inside."""
    random = np.random.default_rng(seed)
    rig = small_rig()
    stars = scattered(random, pointing, 25, 1.2)[:2]
    places = plane_of(stars, pointing, 1600.0)
    lit = lit_angles((places[:, 0], places[:, 1]), side, rectangle)
    angles = clear_of(lit, random.uniform(0.0, 360.0, 200), EDGE_DEG)
    assert np.array_equal(spans.arcs_contain(lit, angles), lit_at(stars, pointing, side, angles, rig, rectangle))


@few
@given(rectangles, st.floats(0.0, 40.0), st.floats(0.0, 360.0), st.floats(-720.0, 720.0))
def test_a_turned_star_turns_its_arcs(rectangle: GuideRectangle, rho: float, q: float, turn: float) -> None:
    """Arcs follow the star round the circle, lie symmetrically about it and are shorter than half a turn."""
    rows, _ = star_arcs(rho, q, rectangle)
    turned, _ = star_arcs(rho, q + turn, rectangle)
    np.testing.assert_allclose(turned - turn, rows, rtol=1e-5, atol=1e-9)
    assert np.allclose(np.sort((2 * q - rows).ravel()), np.sort(rows.ravel()), atol=1e-9)
    assert np.all(rows[:, 1] - rows[:, 0] < 180.0)


@few
@given(rectangles, poles_and_elsewhere, seeds)
def test_east_is_west_turned_by_half_a_turn(
    rectangle: GuideRectangle, pointing: tuple[float, float], seed: int
) -> None:
    """The same stars light the east ring half a turn from where they light the west ring."""
    stars = scattered(np.random.default_rng(seed), pointing, 10, 1.2)[:2]
    places = plane_of(stars, pointing, 1600.0).T
    west = side_arcs((places[0], places[1]), "west", rectangle)[0]
    east = side_arcs((places[0], places[1]), "east", rectangle)[0]
    assert east.shape == west.shape
    np.testing.assert_allclose(np.mod(east - west, 360.0), 180.0, rtol=1e-5)


def test_an_empty_sky_is_dark() -> None:
    """No star, no arc; and no arc for a sensor without an inside."""
    nothing = np.empty(0)
    assert len(lit_angles((nothing, nothing), "west", GuideRectangle(20.0, 2.0, 2.0))) == 0
    assert len(star_arcs(20.0, 10.0, GuideRectangle(20.0, 0.0, 2.0))[0]) == 0
    assert on_sensor(np.empty((0, 2)), 0.0, GuideRectangle(20.0, 2.0, 2.0)).any() is np.False_


@few
@given(arc_rows, arc_rows, st.lists(st.floats(0, 359.99), min_size=1, max_size=20))
def test_sums_of_arcs_hold_every_sum(first: np.ndarray, second: np.ndarray, points: list[float]) -> None:
    """An angle is in the sum when, turned back by the second set, it meets the first; shrinking undoes widening."""
    a, b = (
        spans.arcs_union(*map(spans.arcs, [[row] for row in first])),
        spans.arcs_union(*map(spans.arcs, [[row] for row in second])),
    )
    both = sum_of(a, b)
    for point in clear_of(both, np.array(points), 1e-6):
        back = spans.arcs(point - b[:, ::-1])
        assert bool(spans.arcs_contain(both, point)) == (spans.total(spans.arcs_intersect(a, back)) > 0)
    np.testing.assert_allclose(shrink(spans.arcs([[10.0, 40.0], [350.0, 353.0]]), 2.0), [[12.0, 38.0]])


@few
@given(arc_rows, arc_rows)
def test_the_best_allowed_angle_of_an_arc(first: np.ndarray, second: np.ndarray) -> None:
    """No allowed angle of an arc has more slack than the one that is chosen, and the chosen one is allowed."""
    allowed = spans.arcs_union(*map(spans.arcs, [[row] for row in second]))
    for arc in spans.arcs_union(*map(spans.arcs, [[row] for row in first])):
        found = nearest_to_middle(arc, allowed)
        tried = np.linspace(arc[0], arc[1], 200)[1:-1]
        tried = tried[spans.arcs_contain(allowed, tried)]
        best = np.max(np.minimum(tried - arc[0], arc[1] - tried), initial=-1.0)
        if arc[1] - arc[0] >= 360.0:
            assert (found is not None) == (len(allowed) > 0)
        elif found is None:
            assert len(tried) == 0
        else:
            assert found[1] >= best - 1e-9
            assert spans.arcs_contain(spans.arcs(allowed + np.array([-1e-9, 1e-9])), found[0])
            assert abs(slack_at(arc[None, :], found[0]) - found[1]) < 1e-9


@few
@given(arc_rows.filter(len))
def test_no_angle_of_a_grid_has_more_slack_than_the_roomiest(rows: np.ndarray) -> None:
    """Turned either way, the roomiest angle stays in the set at least as long as any of 3,600 others."""
    arcs = spans.arcs_union(*map(spans.arcs, [[row] for row in rows]))
    best = roomiest(arcs)
    assert 0.0 <= best < 360.0
    assert spans.arcs_slack(arcs, best) >= np.max(spans.arcs_slack(arcs, np.arange(0.0, 360.0, 0.1))) - 1e-9


@few
@given(st.lists(arc_rows, min_size=1, max_size=5), st.lists(st.floats(0, 359.99), min_size=1, max_size=20))
def test_a_sweep_says_who_holds_each_angle(sets: list[np.ndarray], points: list[float]) -> None:
    """The elementary arcs fill the circle once, and each is held by just the sets that contain its angles."""
    every = [spans.arcs_union(*map(spans.arcs, [[row] for row in rows])) for rows in sets]
    pieces, held = sweep(every)
    assert pieces[0, 0] == 0.0
    assert pieces[-1, 1] == 360.0
    assert np.array_equal(pieces[1:, 0], pieces[:-1, 1])
    for point in clear_of(np.concatenate([*every, [[0.0, 0.0]]]), np.array(points), 1e-9):
        column = held[:, np.searchsorted(pieces[:, 1], point)]
        assert column.tolist() == [bool(spans.arcs_contain(one, point)) for one in every]


@few
@given(poles_and_elsewhere, st.floats(0.5, 18.0), st.floats(0.05, 1.0), st.floats(0.0, 180.0), seeds)
def test_frames_hold_their_outlines(
    place: tuple[float, float], major: float, flatness: float, angle: float, seed: int
) -> None:
    """An outline and its neighbour are in the frame exactly on the arcs found; half a turn changes nothing."""
    random = np.random.default_rng(seed)
    rig = small_rig()
    neighbour = scattered(random, place, 1, 0.3)
    outlines = (
        Outline("object", *place, major, major * flatness, angle),
        Outline("neighbour", float(neighbour[0][0]), float(neighbour[1][0]), 1.0, 0.5, None),
    )
    target = want("object", place, *outlines).target
    plane = plane_outlines(target, rig)
    arcs = frame_arcs(plane)
    angles = random.uniform(0.0, 360.0, 60)
    angles = angles[np.abs(room_mm(plane, angles)) > 0.01]
    inside = spans.arcs_contain(arcs, angles)
    assert np.array_equal(inside, framed_at(target, place, angles, rig))
    assert np.array_equal(inside, spans.arcs_contain(arcs, angles + 180.0))


@few
@given(poles_and_elsewhere, st.floats(0.5, 12.0), st.floats(0.5, 10.0), seeds)
def test_granted_shifts_frame_more(place: tuple[float, float], major: float, shift: float, seed: int) -> None:
    """With a shift granted an object off the middle fits wherever it fitted without, and maybe elsewhere."""
    centre = scattered(np.random.default_rng(seed), place, 1, 0.35)
    outline = Outline("object", float(centre[0][0]), float(centre[1][0]), major, major / 2, 40.0)
    target = want("object", place, outline).target
    rig = small_rig()
    without = frame_arcs(plane_outlines(target, rig))
    granted = frame_arcs(plane_outlines(target, rig, shift_arcmin=shift))
    assert spans.total(spans.arcs_intersect(without, granted)) > spans.total(without) - 1e-5

"""Small convex geometry against every corner of a polygon, a linear programme, and rays to the far end's arc."""

import itertools
import math

import numpy as np
import pytest
from scipy.optimize import linprog

from sidelight.rig.guider import GuideRectangle
from sidelight.setup.convex import Core, MovingStars, nearest_distances, nearest_point

SENSOR = GuideRectangle(20.0, 1.6, 2.8)
WIDE = GuideRectangle(20.0, 1.6, 9.0)


def nearest_of_all(planes: np.ndarray) -> float:
    """Return the least distance from the origin of itself, its feet on the lines and their crossings inside all."""
    places = [np.zeros(2)] + [c * np.array([nx, ny]) for nx, ny, c in planes]
    for one, other in itertools.combinations(planes, 2):
        lines = np.array([one[:2], other[:2]])
        if abs(np.linalg.det(lines)) > 1e-9:
            places.append(np.linalg.solve(lines, [one[2], other[2]]))
    inside = [at for at in places if np.all(planes[:, :2] @ at <= planes[:, 2] + 1e-8)]
    return min((float(np.hypot(*at)) for at in inside), default=math.inf)


def polygons(number: int, sides: int, seed: int) -> np.ndarray:
    """Draw half-planes, some of them parallel to the first or opposed to it."""
    random = np.random.default_rng(seed)
    angle = random.uniform(0.0, 2 * np.pi, (number, sides))
    for k in range(1, sides):
        parallel = random.random(number) < 0.15
        angle[parallel, k] = angle[parallel, 0]
    planes = np.stack([np.cos(angle), np.sin(angle), random.uniform(-1.5, 2.5, (number, sides))], axis=-1)
    for k in range(1, sides):
        opposed = random.random(number) < 0.1
        planes[opposed, k, :2] = -planes[opposed, 0, :2]
    return planes


@pytest.mark.parametrize("sides", [1, 2, 3, 4, 6, 9])
def test_no_corner_is_nearer_than_the_nearest_point(sides: int) -> None:
    """One polygon at a time or many at once: the distance is the least of corners and feet, or there is none."""
    every = polygons(80, sides, sides)
    expected = [nearest_of_all(planes) for planes in every]
    assert nearest_distances(every) == pytest.approx(expected, abs=1e-7)
    for planes, distance in zip(every, expected, strict=True):
        point = nearest_point([tuple(row) for row in planes.tolist()])
        assert (point is None) == math.isinf(distance)
        if point is not None:
            assert math.hypot(*point) == pytest.approx(distance, abs=1e-7)
            assert np.all(planes[:, :2] @ point <= planes[:, 2] + 1e-8)
    assert sides == 1 or len({math.isinf(one) for one in expected}) == 2


TOUCHING = {
    "a strip without a width": ([(0.6, 0.8, 2.0), (-0.6, -0.8, -2.0)], 2.0),
    "three lines through one point": (
        [(-1.0, 0.0, -1.0), (0.0, -1.0, -1.0), (0.5**0.5, 0.5**0.5, 2.0**0.5)],
        2.0**0.5,
    ),
    "the same line twice": ([(-1.0, 0.0, -3.0), (-1.0, 0.0, -3.0)], 3.0),
    "a strip that is not there": ([(0.6, 0.8, 2.0), (-0.6, -0.8, -2.001)], math.inf),
    "a triangle that is not there": ([(-1.0, 0.0, -1.0), (0.0, -1.0, -1.0), (0.5**0.5, 0.5**0.5, 1.41)], math.inf),
}


def test_what_is_only_just_there_is_found() -> None:
    """Half-planes that share one line or one point have a nearest point; with a gap between they have none."""
    for name, (planes, distance) in TOUCHING.items():
        for order in itertools.permutations(planes):
            point = nearest_point(order)
            assert (math.inf if point is None else math.hypot(*point)) == pytest.approx(distance, abs=1e-8), name
            assert nearest_distances(np.array([order])) == pytest.approx([distance], abs=1e-8), name


@pytest.mark.parametrize("turn", [0.3, 1.0, 2.3])
def test_the_core_s_box_is_what_a_linear_programme_finds(turn: float) -> None:
    """The core's nearest and widest places are its box's; its farthest falls short by a chord's bulge."""
    core = Core(SENSOR, turn)
    planes = np.array(core.planes)

    def best(*goal: float) -> float:
        return float(linprog(goal, planes[:, :2], planes[:, 2], bounds=(None, None)).fun)

    assert not core.empty
    assert best(1.0, 0.0) == pytest.approx(core.low_mm, abs=1e-9)
    assert -best(0.0, -1.0) == pytest.approx(core.half_across_mm, abs=1e-9)
    assert best(0.0, 1.0) == pytest.approx(-core.half_across_mm, abs=1e-9)
    assert core.high_mm == SENSOR.stem_radius_mm + SENSOR.half_along_mm
    assert core.high_mm * (1 - 1e-5) <= -best(-1.0, 0.0) <= core.high_mm


@pytest.mark.parametrize("turn", [0.3, 0.5, 1.0, 2.3])
def test_the_far_end_is_an_arc_about_the_axis(turn: float) -> None:
    """Within the turn no ray leaves the core beyond the arc, or over 0.2 µm per 20 mm short of it; mirrored."""
    core = Core(WIDE, turn)
    planes, far = np.array(core.planes), core.high_mm
    at = np.radians(np.linspace(-turn, turn, 2 * 3 * 4 * 5 * 7 + 1))
    # only what lies outwards; the sides are out of the way
    toward = planes[:, :2] @ np.array([np.cos(at), np.sin(at)])
    leaves = np.min(np.where(toward > 0.5, planes[:, 2:] / np.where(toward > 0.5, toward, 1.0), np.inf), axis=0)
    assert np.all(leaves <= far + 1e-9)
    assert np.all(leaves >= far - 2e-4 * far / 20.0)
    assert leaves == pytest.approx(leaves[::-1], abs=1e-10)


def test_a_turn_too_large_leaves_no_core() -> None:
    """A core is empty from the turn on at which the far corner, turned, leaves the sensor's side, or the far end."""
    for rectangle in (SENSOR, GuideRectangle(20.0, 0.01, 8.0)):
        near, far = (
            rectangle.stem_radius_mm - rectangle.half_along_mm,
            rectangle.stem_radius_mm + rectangle.half_along_mm,
        )
        side = math.degrees(math.atan(rectangle.half_across_mm / near))
        end = math.degrees(math.acos(near / far))
        limit = min(side, end)
        assert not Core(rectangle, limit - 1e-6).empty
        assert Core(rectangle, limit + 1e-6).empty


@pytest.mark.parametrize("east", [False, True])
@pytest.mark.parametrize("spare", [0.0, 0.3])
def test_shifts_bring_a_star_onto_the_core(east: bool, spare: float) -> None:
    """A shift is in each half-plane when the star, moved by it and its drift, is on that side of the edge."""
    random = np.random.default_rng(4)
    core = Core(SENSOR, 1.0)
    planes = np.array(core.planes)
    side = -1.0 if east else 1.0
    place = side * np.array([20.0, 0.0]) + random.uniform(-4.0, 4.0, (30, 2))
    direction = random.uniform(0.0, 2 * np.pi, 30)
    along = np.column_stack([np.sin(direction), np.cos(direction)])
    stars = MovingStars(place, random.uniform(-0.1, 0.1, (30, 2)), along)
    found = core.shifts_for(stars, east, spare)
    assert np.hypot(found[..., 0], found[..., 1]) == pytest.approx(np.ones(found.shape[:2]), abs=1e-12)
    inside = 0
    for star, (where, drift, toward) in enumerate(zip(*stars, strict=True)):
        for shift in random.uniform(-3.0, 3.0, (40, 2)):
            moved = side * (where + drift * (toward @ shift) - shift)
            on_its_side = planes[:, :2] @ moved <= planes[:, 2] + spare
            assert np.array_equal(found[star, :, :2] @ shift <= found[star, :, 2], on_its_side)
            inside += bool(on_its_side.all())
    assert inside > 20

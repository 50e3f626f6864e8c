"""Laws of pointing shifts: shortest points of polygons, shifts against dense grids, stretches ruled out rightly."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from tests.strategies.setup import (
    FewStars,
    framed_at,
    lit_at,
    on_sensor,
    plane_of,
    rectangles,
    scattered,
    seeds,
    small_rig,
    want,
)

from sidelight.rig.guider import GuideRectangle, usable_rectangle
from sidelight.rig.optics import sky_deg
from sidelight.setup.cameras import CameraRule
from sidelight.setup.convex import Core, nearest_distances, nearest_point
from sidelight.setup.pairs import bounds
from sidelight.setup.records import Constraints
from sidelight.setup.shifts import Search
from sidelight.setup.solve import ready_task, solve
from sidelight.setup.task import Task, reaches_for
from sidelight.targets.records import Outline

few = settings(max_examples=14, deadline=None)
half_planes = st.lists(st.tuples(st.floats(0, 2 * np.pi), st.floats(-1.0, 3.0)), min_size=1, max_size=8)


@settings(max_examples=60, deadline=None)
@given(half_planes)
def test_the_nearest_point_of_a_polygon(rows: list[tuple[float, float]]) -> None:
    """The point lies in every half-plane, and no grid point that does is nearer; none is found when there is none."""
    planes = [(float(np.cos(angle)), float(np.sin(angle)), c) for angle, c in rows]
    point = nearest_point(planes)
    distance = nearest_distances(np.array([planes, planes]))
    assert distance == pytest.approx([np.hypot(*point) if point else np.inf] * 2, abs=1e-9)
    x, y = np.meshgrid(np.linspace(-8, 8, 161), np.linspace(-8, 8, 161))
    inside = np.all([nx * x + ny * y <= c for nx, ny, c in planes], axis=0)
    if point is None:
        assert not np.any(np.all([nx * x + ny * y <= c - 1e-6 for nx, ny, c in planes], axis=0))
    else:
        assert all(nx * point[0] + ny * point[1] <= c + 1e-6 for nx, ny, c in planes)
        assert np.hypot(*point) <= np.min(np.hypot(x, y)[inside], initial=np.inf) + 1e-9


@few
@given(rectangles, st.floats(0.0, 4.0), seeds)
def test_a_star_on_the_core_stays_through_the_turn(rectangle: GuideRectangle, turn: float, seed: int) -> None:
    """A place is in the core when, and but for half a micrometre only when, every turned sensor holds it."""
    core = Core(rectangle, turn)
    random = np.random.default_rng(seed)
    r, along, across = rectangle.stem_radius_mm, rectangle.half_along_mm, rectangle.half_across_mm
    u = random.uniform(r - along, r + along, 300)
    v = random.uniform(-across, across, 300)
    # a guider at position angle 0 points north: u is Y, v is X
    stays = on_sensor(np.column_stack([v, u]), np.linspace(-turn, turn, 81), rectangle).all(axis=0)
    outside = np.array([max(nu * a + nv * b - c for nu, nv, c in core.planes) for a, b in zip(u, v, strict=True)])
    assert np.all(stays[outside <= 0])
    assert np.all(~stays[outside > 5e-4])
    inside = outside <= 0
    assert np.all(u[inside] >= core.low_mm - 1e-9)
    assert np.all(np.abs(v[inside]) <= core.half_across_mm + 1e-9)


def one_target(
    seed: int, place: tuple[float, float], shift_arcmin: float, size_arcmin: float, aside_arcmin: float = 0.0
) -> tuple[Task, FewStars]:
    """Make a question of one target that needs both sides, with a shift granted, its outline maybe off the middle."""
    random = np.random.default_rng(seed)
    rig = small_rig()
    stars = FewStars(*scattered(random, place, 70, 1.1))
    outline = Outline("object", place[0], place[1] - aside_arcmin / 60, size_arcmin, size_arcmin / 3, 50.0)
    wants = [want("object", place, outline, shift_allowed_arcmin=shift_arcmin)]
    return ready_task(rig, wants, reaches_for(rig, wants, stars), Constraints(), None), stars


def serves_firmly(
    task: Task, stars: FewStars, pointing: tuple[float, float], g: float, p: float, spare: float
) -> bool:
    """Tell whether on both sides one star stays for a turn of 1° (less `spare`), and the frame holds as well."""
    places = plane_of((stars.ra_deg, stars.dec_deg), pointing, task.focal_mm)
    turns = np.linspace(-1, 1, 21) * (task.tolerance_deg - spare)
    rectangle = usable_rectangle(task.rig)
    for side in (0.0, 180.0):
        if not on_sensor(places, g + side + turns, rectangle).all(axis=0).any():
            return False
    target = task.subjects[0].want.target
    return bool(framed_at(target, pointing, p + turns, task.rig, -0.002 if spare > 0 else 0.002).all())


places = st.tuples(st.floats(0.0, 359.9), st.one_of(st.floats(-75.0, 75.0), st.floats(-88.0, 88.0)))


@few
@given(seeds, places, st.floats(1.0, 5.0), st.floats(0.0, 14.0), st.floats(0.0, 359.9))
def test_no_shift_on_a_dense_grid_is_shorter(
    seed: int, place: tuple[float, float], granted: float, size: float, g: float
) -> None:
    """The shift that is found serves, and no shorter one on a grid 0.03 mm apart serves with room to spare."""
    task, stars = one_target(seed, place, granted, size)
    search = Search(task, CameraRule(task))
    assume(search.movers)
    p = search.rule.camera_deg(g)
    moved = search.move(search.movers[0], g, p)
    if moved.served == 2 and moved.length_mm > 0:
        pointing = sky_deg(*moved.shift_mm, *place, task.focal_mm)
        assert serves_firmly(task, stars, (float(pointing[0]), float(pointing[1])), g, p, 2e-3)
    least = moved.length_mm if moved.served == 2 else task.subjects[0].shift_mm
    steps = np.arange(-least, least + 0.03, 0.03)
    east, north = (one.ravel() for one in np.meshgrid(steps, steps))
    shorter = np.hypot(east, north) < least - 0.002
    ra, dec = sky_deg(east[shorter], north[shorter], *place, task.focal_mm)
    # the coarse look: which of the shifts put a star on both sensors at all
    rough = [k for k in range(len(ra)) if _near_both(stars, (float(ra[k]), float(dec[k])), g, task)]
    for k in rough:
        assert not serves_firmly(task, stars, (float(ra[k]), float(dec[k])), g, p, 0.0)


def _near_both(stars: FewStars, pointing: tuple[float, float], g: float, task: Task) -> bool:
    """Tell whether both sensors hold a star at the angle itself."""
    seen = (stars.ra_deg, stars.dec_deg)
    rectangle = usable_rectangle(task.rig)
    return all(lit_at(seen, pointing, side, np.array([g]), task.rig, rectangle)[0] for side in ("east", "west"))


@few
@given(seeds, places, st.floats(1.0, 5.0), st.floats(1.0, 19.0), st.floats(0.01, 0.5), st.booleans())
def test_bounds_hold_all_over_a_stretch(
    seed: int, place: tuple[float, float], granted: float, size: float, half: float, fine: bool
) -> None:
    """No angle within a stretch serves more, or as much with a shorter shift, than the stretch's bound says."""
    task, _ = one_target(seed, place, granted, size, aside_arcmin=6.0)
    search = Search(task, CameraRule(task))
    assume(search.movers)
    random = np.random.default_rng(seed)
    middles = random.uniform(0.0, 360.0, 6)
    mover = search.movers[0]
    frame = search.frame_stretch(mover, middles, half)
    served, least = bounds(mover, search.core, middles, half, fine, frame)
    for middle, most, shortest in zip(middles, served, least, strict=True):
        for g in middle + random.uniform(-half, half, 3):
            moved = search.move(mover, float(g), search.rule.camera_deg(float(g)))
            assert moved.served <= most
            assert moved.served < most or moved.length_mm >= shortest - 1e-6


@settings(max_examples=10, deadline=None)
@given(seeds, st.integers(2, 3), st.floats(1.0, 4.0))
def test_no_guider_angle_needs_less_shift(seed: int, number: int, granted: float) -> None:
    """The shifted set-up stands a re-check, and no sampled g serves more, or all with a smaller worst shift."""
    random = np.random.default_rng(seed)
    rig = small_rig()
    spots = [(float(random.uniform(0, 360)), dec) for dec in (-40.0, 5.0, 55.0)[:number]]
    stars = FewStars(*np.concatenate([scattered(random, spot, 80, 1.1) for spot in spots], axis=1))
    wants = [want(f"target {k}", spot, shift_allowed_arcmin=granted) for k, spot in enumerate(spots)]
    solution = solve(rig, wants, stars, explain=False)
    best = solution.best
    assert best is not None
    assert best.largest_shift_arcmin <= granted + 1e-6
    for place in (place for place in best.places if place.needed and place.star is not None):
        pointing = place.pointing_ra_deg, place.pointing_dec_deg
        turns = np.linspace(-1, 1, 41) * (place.slack_deg - 1e-4)
        angles = (best.guider_angle_deg or 0.0) + turns
        assert lit_at((stars.ra_deg, stars.dec_deg), pointing, place.side, angles, rig, usable_rectangle(rig)).all()
    task = ready_task(rig, wants, reaches_for(rig, wants, stars), Constraints(), None)
    search = Search(task, CameraRule(task))
    for g in random.uniform(0.0, 360.0, 25):
        moves = [search.move(mover, float(g), search.rule.camera_deg(float(g))) for mover in search.movers]
        served = sum(one.served for one in moves)
        worst = max((one.length_mm for one in moves), default=0.0)
        assert served <= best.rings_served
        if served == best.rings_needed and best.largest_shift_arcmin > 0:
            assert np.degrees(np.arctan(worst / task.focal_mm)) * 60 >= best.largest_shift_arcmin - 0.01

"""What the frame allows a shift: against corners, turned points, and a general-purpose minimiser."""

import math

import numpy as np
import pytest
from scipy.optimize import minimize
from tests.strategies.setup import FewStars, framed_at, outline_points, plane_of, small_rig, want

from sidelight.rig.optics import sky_deg
from sidelight.setup.framelimit import FrameLimit, FrameStretch, farthest_mm, frame_over
from sidelight.setup.framing import plane_outlines
from sidelight.setup.records import Constraints
from sidelight.setup.solve import ready_task
from sidelight.setup.task import Task, reaches_for
from sidelight.targets.records import Outline, Target

PLACE = (80.0, 30.0)
FOCAL_MM = 1600.0
CAMERA_PX = (4144, 2822)
LARGE_PX = (9576, 6388)
"""44 by 30 mm."""
NOTHING = 1e-9
"""A size that is as good as none, where 0 would stand for one that is not known."""


def at(east_mm: float, north_mm: float) -> tuple[float, float]:
    """Return the sky place that falls on a point of the focal plane."""
    ra, dec = sky_deg(east_mm, north_mm, *PLACE, FOCAL_MM)
    return float(ra), float(dec)


def east_north(along_mm: float, aside_mm: float, turn_deg: float) -> tuple[float, float]:
    """Return (east, north) of a place counted along a position angle and 90° on from it."""
    place = (along_mm + 1j * aside_mm) * np.exp(1j * math.radians(turn_deg))
    return float(place.imag), float(place.real)


def half_frame_mm(camera_px: tuple[int, int] = CAMERA_PX) -> tuple[float, float]:
    """Return half the width and half the height of the frame without its border."""
    rig = small_rig(camera_px=camera_px)
    border_mm = FOCAL_MM * math.tan(math.radians(rig.tolerances.frame_border_arcmin / 60))
    return rig.camera.width_mm / 2 - border_mm, rig.camera.height_mm / 2 - border_mm


def ready(*outlines: Outline, camera_px: tuple[int, int] = CAMERA_PX, granted_arcmin: float = 20.0) -> Task:
    """Make a question of one target whose pointing may move."""
    rig, stars = small_rig(camera_px=camera_px), FewStars(*np.empty((3, 0)))
    wants = [want("one", PLACE, *outlines, shift_allowed_arcmin=granted_arcmin)]
    return ready_task(rig, wants, reaches_for(rig, wants, stars), Constraints(), None)


def point(along_mm: float, aside_mm: float, turn_deg: float) -> Outline:
    """Return an outline without a size, at a place counted along a position angle and 90° on from it."""
    return Outline("a point", *at(*east_north(along_mm, aside_mm, turn_deg)))


def stretches(random: np.random.Generator, number: int) -> FrameStretch:
    """Draw what a frame may allow, nothing at all among it, and angles where it says nothing."""
    low = random.uniform(-3.0, 2.0, (number, 2))
    high = low + random.uniform(-1.0, 4.0, (number, 2))
    return FrameStretch(random.random(number) > 0.2, random.uniform(-360, 360, number), low, high)


def seen_by_stem(frame: FrameStretch, row: int, across_mm: float, up_mm: float) -> tuple[float, float]:
    """Return (u, v) of a shift given in the frame's axes: up stands turn_deg on from the stem, across 90° more."""
    turned = (up_mm + 1j * across_mm) * np.exp(1j * math.radians(frame.turn_deg[row]))
    return turned.real, turned.imag


def test_boxes_hold_the_corners_closely() -> None:
    """A box is that of the four corners; one without an inside, or without a say, is empty or unlimited."""
    frame = stretches(np.random.default_rng(1), 60)
    kinds = set()
    for row, box in enumerate(frame.boxes()):
        low, high = frame.low_mm[row], frame.high_mm[row]
        if not frame.known[row]:
            assert box.tolist() == [-np.inf, np.inf, -np.inf, np.inf]
            kinds.add("unknown")
        elif np.any(low > high):
            assert box[0] > box[1]
            assert box[2] > box[3]
            kinds.add("impossible")
        else:
            u, v = np.array([seen_by_stem(frame, row, a, b) for a in (low[0], high[0]) for b in (low[1], high[1])]).T
            assert box == pytest.approx([min(u), max(u), min(v), max(v)], abs=1e-12)
            kinds.add("possible")
    assert len(kinds) == 3


def test_planes_hold_what_the_limits_hold() -> None:
    """A shift is in all four half-planes when it is within both limits; without a say every shift is."""
    random = np.random.default_rng(2)
    frame = stretches(random, 40)
    rows = random.permutation(40)
    inside = 0
    for row, planes in zip(rows, frame.planes(rows), strict=True):
        for across, up in random.uniform(-3.5, 4.5, (60, 2)):
            shift = np.array([across, up])
            u, v = seen_by_stem(frame, row, across, up)
            held = np.all((frame.low_mm[row] <= shift) & (shift <= frame.high_mm[row]))
            assert np.all(planes[:, :2] @ [u, v] <= planes[:, 2]) == (held or not frame.known[row])
            inside += bool(held and frame.known[row])
        assert np.hypot(planes[:, 0], planes[:, 1]) == pytest.approx(np.ones(4), abs=1e-12)
    assert inside > 50


def test_rest_is_allowed_where_no_shift_is_within_the_limits() -> None:
    """The pointing may stay where nothing is said, or where 0 is within the limits on both axes."""
    low, high = np.array([[-1.0, -1], [-1, 1], [1, -1], [-2, -2], [1, 1], [0, 0]]), np.array([2.0, -1.0])
    highs = np.array([[1.0, 1], [1, 2], [2, 1], [-1, 1], [2, 2], [0, 0]])
    known = np.array([True, True, True, True, False, True])
    allowed = FrameStretch(known, np.zeros(6), low, highs).allows_rest
    assert allowed.tolist() == [True, False, False, False, True, True]
    assert not FrameStretch(known[:1], np.zeros(1), -high[None, ::-1], -high[None, :]).allows_rest[0]


def test_limits_over_a_stretch_lie_farther_out() -> None:
    """The limits are those of outline points seen at the camera's angle, each put out by what is asked for."""
    outlines = (Outline("one", *at(2.0, 3.0), 6.0, 2.0, 50.0), Outline("two", *at(-4.0, 1.0), 3.0, 3.0, 0.0))
    rig, target = small_rig(), Target("t", *PLACE, outlines)
    width, height = half_frame_mm()
    camera, guider = np.array([10.0, 75.0, 200.0]), np.array([40.0, 300.0, 10.0])
    frame = frame_over(plane_outlines(target, rig), camera, guider, np.array([True, False, True]), 0.7)
    points = plane_of(outline_points(target, 5000), PLACE, FOCAL_MM) @ [1.0, 1j]
    seen = points * np.exp(1j * np.radians(camera))[:, None]
    ends = np.array([seen.real, seen.imag])
    size = np.array([[width], [height]])
    low, high = frame.low_mm.T, frame.high_mm.T
    assert low == pytest.approx(np.max(ends, axis=2) - size - 0.7, abs=1e-4)
    assert high == pytest.approx(np.min(ends, axis=2) + size + 0.7, abs=1e-4)
    assert np.mod(frame.turn_deg + guider - camera, 360.0) == pytest.approx(np.zeros(3), abs=1e-9)
    assert frame.known.tolist() == [True, False, True]


def test_nothing_lies_farther_out_than_the_farthest() -> None:
    """The bound holds for every outline point, and is at most the diagonal of a circle's square too far."""
    rig = small_rig()
    for outlines in (
        (Outline("one", *at(6.0, 3.0), 6.0, 6.0, None),),
        (Outline("one", *at(1.0, 1.0), 9.0, 2.0, 30.0), Outline("two", *at(-4.0, -8.0), 1.0, 0.5, 120.0)),
        (Outline("one", *at(-3.0, -3.0), 5.0, NOTHING, 45.0),),
    ):
        target = Target("t", *PLACE, outlines)
        far = float(np.max(np.hypot(*plane_of(outline_points(target, 2000), PLACE, FOCAL_MM).T)))
        sizes = [FOCAL_MM * math.tan(math.radians(one.semi_major_arcmin / 60)) for one in outlines]
        assert far - 1e-4 <= farthest_mm(plane_outlines(target, rig)) <= far + (math.sqrt(2) - 1) * max(sizes) + 1e-3
    line = plane_outlines(target, rig)
    assert farthest_mm(line) == pytest.approx(far, abs=1e-3)


def test_the_frame_holds_through_the_whole_tolerance() -> None:
    """A point that comes nearest to the border between two of the angles looked at is held to 0.03 µm.

    Seen from a camera turned by up to a degree, a point 0.25° off the middle of a side comes nearest in between.
    """

    def held(camera_px: tuple[int, int], along_mm: float, towards_deg: float) -> bool:
        one = point(along_mm, 0.0, 30.0 + towards_deg)
        return FrameLimit(ready(one, camera_px=camera_px), 0, 30.0).holds((0.0, 0.0))

    for camera_px in (CAMERA_PX, LARGE_PX):
        width, height = half_frame_mm(camera_px)
        for side, limit in ((0.0, height), (90.0, width), (180.0, height), (270.0, width)):
            assert not held(camera_px, limit + 1e-6, side + 0.25)
            assert held(camera_px, limit - 3e-5, side + 0.25)
            # a turn beyond the tolerance does not count: 2.5° off, 1.5° are left at its end
            away = limit / math.cos(math.radians(1.5))
            assert held(camera_px, away - 1e-3, side + 2.5)
            assert not held(camera_px, away + 2e-3, side + 2.5)


@pytest.mark.parametrize("seed", range(6))
def test_a_shift_is_held_when_all_is_in_the_frame_about_the_shifted_pointing(seed: int) -> None:
    """What holds is framed all over the tolerance by turned outline points, what does not is not, to 2 µm."""
    random = np.random.default_rng(seed)
    east, north = random.uniform(-4.0, 4.0, 2)
    outlines = (Outline("one", *at(east, north), 7.0, 3.0, 60.0), Outline("two", *at(2.0, 1.0), 3.0, 1.0, 10.0))
    task = ready(*outlines)
    limits = FrameLimit(task, 0, 50.0)
    assert not limits.waived
    assert len(limits.angles_deg) > 1
    target, angles = task.subjects[0].want.target, 50.0 + np.linspace(-1.0, 1.0, 41)
    held = set()
    for shift in random.uniform(-7.0, 7.0, (60, 2)):
        holds = limits.holds((float(shift[0]), float(shift[1])))
        held.add(holds)
        spare = -0.002 if holds else 0.002
        assert framed_at(target, at(*shift), angles, task.rig, spare).all() == holds
    assert held == {True, False}


@pytest.mark.parametrize("seed", range(6))
def test_planes_about_a_shift_hold_that_shift_as_it_is_held(seed: int) -> None:
    """Seen from the stem at any angle, a shift is in all half-planes drawn about it when the frame holds it."""
    random = np.random.default_rng(seed)
    task = ready(Outline("one", *at(3.0, -2.0), 9.0, 5.0, 60.0))
    limits = FrameLimit(task, 0, 50.0)
    held = set()
    for east, north in random.uniform(-9.0, 9.0, (80, 2)):
        g = float(random.uniform(0.0, 360.0))
        u, v = np.array([(north + 1j * east) * np.exp(-1j * math.radians(g))]).view(float)
        planes = np.array(limits.planes(g, (float(east), float(north))))
        inside = bool(np.all(planes[:, :2] @ [u, v] <= planes[:, 2]))
        assert inside == limits.holds((float(east), float(north)))
        assert np.hypot(planes[:, 0], planes[:, 1]) == pytest.approx(np.ones(len(planes)), abs=1e-12)
        held.add(inside)
    assert held == {True, False}


@pytest.mark.parametrize("corner", [(1, 0), (0, 1), (1, 1), (-1, 0), (0, -1), (-1, 1), (1, -1), (-1, -1)])
def test_the_shortest_shift_is_a_minimiser_s(corner: tuple[int, int]) -> None:
    """Beyond a side or a corner of the frame the shift is the shortest that scipy's SLSQP finds, to 0.3 µm."""
    width, height = half_frame_mm()
    up, across = corner[0] * (height + 1.5) + 0.5, corner[1] * (width + 1.0) + 0.3
    camera = 35.0
    limits = FrameLimit(ready(point(up, across, camera)), 0, camera)
    place = np.array(at(*east_north(up, across, camera)))[:, None]
    turns = np.exp(-1j * np.radians(camera + np.linspace(-1.0, 1.0, 9)))

    def room(shift: np.ndarray) -> np.ndarray:
        east, north = plane_of(tuple(place), at(*east_north(*shift, camera)), FOCAL_MM)[0]
        seen = (north + 1j * east) * turns
        return np.concatenate([height - np.abs(seen.real), width - np.abs(seen.imag)])

    start = np.array([up, across]) * 0.5
    found = minimize(
        lambda s: s @ s, start, constraints={"type": "ineq", "fun": room}, options={"ftol": 1e-10, "eps": 1e-5}
    )
    assert np.min(room(found.x)) > -1e-6
    shift = limits.shortest()
    assert shift is not None
    assert math.hypot(*shift) == pytest.approx(math.sqrt(found.fun), abs=3e-4)
    assert math.hypot(*shift) > 0.6
    assert shift == pytest.approx(east_north(*found.x, camera), abs=1e-3)
    assert limits.holds(shift)


def test_no_shift_is_found_beyond_what_is_granted() -> None:
    """A hair more than is needed is enough, a hair less is not; where nothing is needed nothing is moved."""
    height = half_frame_mm()[1]
    needed_arcmin = 60 * math.degrees(math.atan(2.0 / FOCAL_MM))
    for factor, found in ((0.999, False), (1.001, True)):
        # granted less, the frame is asked for at the camera's own angle only, which needs as much
        task = ready(point(height + 2.0, 0.0, 0.0), granted_arcmin=factor * needed_arcmin)
        limits = FrameLimit(task, 0, 0.0)
        assert not limits.waived
        assert (limits.shortest() is not None) == found
    assert FrameLimit(ready(point(height - 1.0, 0.0, 0.0)), 0, 0.0).shortest() == (0.0, 0.0)


def test_where_the_tolerance_cannot_be_had_the_angle_alone_counts() -> None:
    """What fits at one angle but not a degree beside it is held at that angle; a small one is asked for all."""
    width, height = half_frame_mm()
    half = math.hypot(width, height) - 0.01
    upright = math.degrees(math.atan2(width, height))
    line = Outline("line", *PLACE, 60 * math.degrees(math.atan(half / FOCAL_MM)), NOTHING, 20.0)
    tight = FrameLimit(ready(line), 0, 20.0 + upright)
    assert tight.angles_deg.tolist() == [20.0 + upright]
    assert tight.holds((0.0, 0.0))
    wide = FrameLimit(ready(Outline("disc", *PLACE, 5.0)), 0, 20.0)
    assert [min(wide.angles_deg), max(wide.angles_deg)] == pytest.approx([19.0, 21.0])
    assert np.max(np.diff(wide.angles_deg)) <= 0.5 + 1e-9


def test_what_fits_nowhere_limits_nothing() -> None:
    """A target larger than the frame is waived: any shift is held and no half-plane stands in its way."""
    limits = FrameLimit(ready(Outline("giant", *PLACE, 70.0)), 0, 20.0)
    assert limits.waived
    assert limits.holds((0.0, 0.0))
    assert limits.holds((5.0, -3.0))
    assert limits.planes(10.0, (0.0, 0.0)) == []
    assert limits.shortest() == (0.0, 0.0)

"""Joint angles of camera and guider from arcs alone: against a fine grid of all pairs, and cases worked by hand."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from tests.strategies.arc_tasks import (
    CLOSED,
    EVERY,
    MIDDLES,
    OPEN,
    Asked,
    Rows,
    arc_task,
    depth,
    random_question,
    stem_allowed,
)
from tests.strategies.setup import FewStars, framed_at, small_rig, want

from sidelight.ground import spans
from sidelight.rig.guider import usable_rectangle
from sidelight.rig.optics import sky_deg
from sidelight.rig.shadow import shadow_free
from sidelight.setup.joint import (
    Choice,
    arc_of,
    best_camera_deg,
    camera_cells,
    guided_choices,
    most_together,
    runs,
    share_of_angles,
    touches,
    unguided_choices,
)
from sidelight.setup.records import Constraints
from sidelight.setup.solve import ready_task, solve
from sidelight.setup.task import Task, reaches_for
from sidelight.targets.records import Outline

HELD = [
    Constraints(),
    Constraints(camera_angle_deg=40.5),
    Constraints(stem_offset_deg=-35.0),
]
UPRIGHT: Rows = [[10.0, 20.0], [190.0, 200.0]]
LEVEL: Rows = [[100.0, 110.0], [280.0, 290.0]]
HAIR_DEG = 1e-6
"""Angles next to an end stand inside it by that much."""
Names = list[tuple[int, float, float]]


def grids(task: Task) -> tuple[np.ndarray, np.ndarray]:
    """Return guider and camera angles of the grid; half the circle of camera angles, where nothing is held."""
    held = task.constraints
    if held.camera_angle_deg is not None:
        return OPEN, np.array([held.camera_angle_deg])
    return (MIDDLES, OPEN[:360]) if held.stem_offset_deg is None else (OPEN, OPEN)


def served_sets(task: Task, margin_deg: float) -> np.ndarray:
    """Return (g, p, rings): what each pair of angles of the grid serves, nothing where the stem may not stand."""
    g, p = grids(task)
    framed = [depth(subject.camera_arcs, p) > margin_deg for subject in task.subjects]
    lit = [depth(ring.lit, g) > 0 for ring in task.needed]
    free = stem_allowed(task, g[:, None] - p, margin_deg)
    every = [one[:, None] & framed[ring.subject] & free for one, ring in zip(lit, task.needed, strict=True)]
    return np.stack(every, axis=-1)


def most_slack(task: Task, rings: tuple[int, ...], margin_deg: float) -> float:
    """Return the most slack with which some pair of angles serves these rings."""
    _, p = grids(task)
    subjects = {task.needed[k].subject for k in rings}
    framed = np.all([depth(task.subjects[i].camera_arcs, p) > margin_deg for i in subjects], axis=0)
    half_step = (p[1] - p[0]) / 2 if len(p) > 1 else 0.0
    p = np.unique(np.concatenate([p[framed] - half_step, p[framed] + half_step]))
    slack = np.min([depth(task.needed[k].lit, CLOSED) for k in rings], axis=0)
    allowed = stem_allowed(task, CLOSED[:, None] - p, margin_deg, ends=True).any(axis=1)
    return float(np.max(np.where(allowed, slack, -1.0)))


@pytest.mark.parametrize("held", HELD)
@pytest.mark.parametrize("margin_deg", [0.0, 2.0])
def test_no_pair_of_angles_on_a_fine_grid_does_better(held: Constraints, margin_deg: float) -> None:
    """The first choice serves as many rings as any pair of the grid, with the most slack that any such pair has."""
    served_some = 0
    for seed in range(30):
        task = arc_task(*random_question(seed), held)
        sets = served_sets(task, margin_deg)
        counts = sets.sum(axis=-1)
        choices = guided_choices(task, margin_deg + HAIR_DEG)
        assert (choices[0].served if choices else 0) == counts.max()
        if not choices:
            continue
        served_some += 1
        best = np.unique(sets[counts == counts.max()], axis=0)
        slacks = [most_slack(task, tuple(np.flatnonzero(one).tolist()), margin_deg) for one in best]
        assert choices[0].slack_deg == pytest.approx(max(slacks), abs=1e-5)
        assert [(-one.served, -one.slack_deg) for one in choices] == sorted(
            (-one.served, -one.slack_deg) for one in choices
        )
        for one in choices:
            check_choice(task, one, margin_deg)
        for better, worse in itertools.combinations(choices, 2):
            assert depth(np.array([better.arc]), np.array(worse.guider_angle_deg)) < 0
    assert served_some > 10


def check_choice(task: Task, choice: Choice, margin_deg: float) -> None:
    """Hold what a choice says of its angles against the arcs."""
    g, p = np.array(choice.guider_angle_deg), np.array(choice.camera_angle_deg)
    hair = 1e-8
    assert stem_allowed(task, g - p, margin_deg - hair, ends=True)
    framed = [depth(subject.camera_arcs, p) >= margin_deg - hair for subject in task.subjects]
    lit = [float(depth(ring.lit, g)) for ring in task.needed if framed[ring.subject]]
    assert sum(one >= choice.slack_deg - hair for one in lit) >= choice.served
    if choice.arc[1] - choice.arc[0] < 360.0:
        turned = (g - choice.arc[0]) % 360.0
        inside = float(min(turned, choice.arc[1] - choice.arc[0] - turned))
        assert choice.slack_deg == pytest.approx(max(0.0, inside), abs=hair)


@pytest.mark.parametrize("held", HELD)
def test_the_share_is_what_a_grid_measures(held: Constraints) -> None:
    """The part of g that serves every ring and frame is the part of the grid's g that do, for some camera angle."""
    some = 0
    for seed in range(40):
        asked, stem = random_question(seed, most=2)
        task = arc_task(asked, stem, held)
        sets = served_sets(task, 0.0).all(axis=-1).any(axis=1)
        assert share_of_angles(task) == pytest.approx(float(np.mean(sets)), abs=1e-6)
        some += bool(0 < np.mean(sets) < 1)
    assert some > 1


@pytest.mark.parametrize("guided", [True, False])
def test_a_share_worked_out_by_hand(guided: bool) -> None:
    """Framed at 20 of 360 degrees; with a stem at 0 to 4 and 180 to 184 g has 14 twice, 7 of them lit."""
    task = arc_task([Asked(UPRIGHT, [[0.0, 17.0]])], [[0.0, 4.0], [180.0, 184.0]], guided=guided)
    assert share_of_angles(task) == pytest.approx((7.0 if guided else 20.0) / 360.0)
    never = arc_task([Asked(UPRIGHT, EVERY), Asked(LEVEL, EVERY)], guided=guided)
    assert share_of_angles(never) == 0.0


def named(choices: list[Choice]) -> Names:
    """Return rings served, guider angle and slack of choices."""
    return [(one.served, round(one.guider_angle_deg or 0.0, 6), round(one.slack_deg, 6)) for one in choices]


BY_HAND: list[tuple[list[Asked], Names]] = [
    # the same after half a turn is named once; not with other slack, not elsewhere, not with fewer rings
    ([Asked(EVERY, [[10, 40], [190, 220]])], [(1, 25, 15)]),
    ([Asked(EVERY, [[10, 40], [190, 222]])], [(1, 206, 16), (1, 25, 15)]),
    ([Asked(EVERY, [[10, 40], [191, 221]])], [(1, 25, 15), (1, 206, 15)]),
    ([Asked(EVERY, [[10, 40], [194, 224]])], [(1, 25, 15), (1, 209, 15)]),
    ([Asked(EVERY, [[10, 40]], [[10, 40], [190, 220]])], [(2, 25, 15), (1, 205, 15)]),
    # one ring alone has its middle in the arc of both, which crosses north
    ([Asked(EVERY, [[350, 370]], [[350, 361]])], [(2, 355.5, 5.5)]),
    # of two targets that never fit together either one may be the better
    ([Asked(UPRIGHT, [[0, 10]]), Asked(LEVEL, [[100, 140]])], [(1, 120, 20), (1, 5, 5)]),
    ([Asked(UPRIGHT, [[100, 140]]), Asked(LEVEL, [[0, 10]])], [(1, 120, 20), (1, 5, 5)]),
    # all three, then two of three; where a camera angle frames one alone, its ring is two less
    (
        [
            Asked(UPRIGHT, [[100, 110], [150, 160]]),
            Asked(UPRIGHT, [[100, 110], [150, 160]]),
            Asked([*UPRIGHT, [50, 60], [230, 240]], [[100, 110], [200, 210]]),
        ],
        [(3, 105, 5), (2, 155, 5)],
    ),
    # lit everywhere, and nowhere
    ([Asked(EVERY, EVERY)], [(1, 180, 180)]),
    ([Asked(EVERY, [[0, 0]])], []),
]


@pytest.mark.parametrize(("asked", "expected"), BY_HAND)
def test_choices_worked_out_by_hand(asked: list[Asked], expected: Names) -> None:
    """Which choices are named, in which order, with which slack."""
    assert named(guided_choices(arc_task(asked), 0.0)) == expected


def test_no_more_choices_than_asked_for() -> None:
    """Seven arcs of one ring, longest first: six unless told, else as many as asked for."""
    rows = [[50.0 * k, 50.0 * k + 10.0 + k] for k in range(7)]
    task = arc_task([Asked(EVERY, rows)])
    longest_first = [round(50.0 * k + 5.0 + k / 2, 6) for k in range(6, -1, -1)]
    assert [one[1] for one in named(guided_choices(task, 0.0))] == longest_first[:6]
    assert [one[1] for one in named(guided_choices(task, 0.0, 2))] == longest_first[:2]
    assert len(guided_choices(task, 0.0, 20)) == 7


@pytest.mark.parametrize(
    ("asked", "together"),
    [
        ([Asked(LEVEL, [[350, 10]], [[5, 20]]), Asked(UPRIGHT, [[9, 12], [100, 200]])], 3),
        ([Asked(LEVEL, [[350, 10]], [[5, 20]]), Asked(UPRIGHT, [[100, 200]])], 2),
        ([Asked(LEVEL, [[350, 5]], [[5, 20]])], 1),
    ],
)
def test_most_rings_lit_at_once(asked: list[Asked], together: int) -> None:
    """Frames do not count, arcs that only touch do not overlap."""
    assert most_together(arc_task(asked)) == together


def test_cells_are_the_sets_that_fit_together() -> None:
    """Largest set first; the margin comes off the camera's arcs and the stem's, and not off the whole ones."""
    wide: Rows = [[0.0, 30.0], [180.0, 210.0]]
    cells = camera_cells(arc_task([Asked(wide, EVERY), Asked(UPRIGHT, EVERY)], [[40.0, 50.0]]), 2.0)
    assert [one.framed.tolist() for one in cells] == [[True, True], [True, False], [False, False]]
    assert cells[0].camera_arcs == pytest.approx(np.array([[12.0, 18.0], [192.0, 198.0]]))
    assert cells[0].guider_arcs == pytest.approx(np.array([[54.0, 66.0], [234.0, 246.0]]))
    assert cells[0].whole_arcs == pytest.approx(np.array(UPRIGHT))
    assert cells[1].camera_arcs == pytest.approx(np.array([[2.0, 28.0], [182.0, 208.0]]))


@pytest.mark.parametrize(
    ("arcs", "met"),
    [
        ([[350.0, 362.0]], [True, False, False, True]),
        ([[2.0, 5.0]], [True, False, False, False]),
        ([[3.0, 5.0]], [False, False, False, False]),
        ([[3.0, 5.5], [8.0, 8.5]], [False, True, True, False]),
        ([[359.0, 363.0]], [True, False, False, True]),
        ([[359.0, 366.0]], [True, True, False, True]),
        ([[359.0, 365.0]], [True, False, False, True]),
        ([[0.0, 360.0]], [True, True, True, True]),
        ([], [False, False, False, False]),
    ],
)
def test_which_pieces_an_arc_set_meets(arcs: Rows, met: list[bool]) -> None:
    """Pieces 0 to 3, 5 to 7, 7 to 9 and 350 to 360: an end in common is not enough, north is no end."""
    pieces = np.array([[0.0, 3.0], [5.0, 7.0], [7.0, 9.0], [350.0, 360.0]])
    assert touches(pieces, spans.arcs(arcs)).tolist() == met


@pytest.mark.parametrize(
    ("flags", "expected"),
    [
        ("1111", [([0, 1, 2, 3], [0, 360])]),
        ("0000", []),
        ("1011", [([2, 3, 0], [90, 370])]),
        ("0110", [([1, 2], [10, 180])]),
        ("0101", [([1], [10, 90]), ([3], [180, 360])]),
        ("1001", [([3, 0], [180, 370])]),
        ("1100", [([0, 1], [0, 90])]),
    ],
)
def test_runs_on_a_circle(flags: str, expected: list[tuple[list[int], list[float]]]) -> None:
    """Pieces that follow one another round the circle, across north too, and the arcs that they fill."""
    pieces = np.array([[0.0, 10.0], [10.0, 90.0], [90.0, 180.0], [180.0, 360.0]])
    found = runs(np.array([one == "1" for one in flags]))
    assert sorted((run.tolist(), arc_of(pieces, run).tolist()) for run in found) == sorted(expected)


STEMS: list[Rows] = [
    [[85.0, 94.0], [265.0, 274.0]],
    [[86.0, 95.0], [266.0, 275.0]],
    [[350.0, 372.0], [170.0, 192.0]],
    [[40.0, 139.0], [220.0, 319.0]],
    EVERY,
]
FRAMES: list[Rows] = [EVERY, [[0.0, 70.0], [180.0, 250.0]], [[100.0, 131.0], [280.0, 311.0]]]


@pytest.mark.parametrize("stem", STEMS)
@pytest.mark.parametrize("frame", FRAMES)
def test_the_camera_has_most_room_and_the_stem_is_near_the_top(stem: Rows, frame: Rows) -> None:
    """No camera angle of a grid has more room, for the frame and the stem together; θ is in [−90°, 90°)."""
    task = arc_task([Asked(frame, EVERY)], stem)
    p = 0.25 * np.arange(1440)
    for g in np.arange(0.0, 360.0, 7.5):
        camera = best_camera_deg(task, float(g), spans.arcs(frame))
        room = np.minimum(depth(spans.arcs(frame), p), depth(spans.arcs(stem), g - p))
        if room.max() <= 0:
            assert camera == g
            continue
        here = min(depth(spans.arcs(frame), np.array(camera)), depth(spans.arcs(stem), np.array(g - camera)))
        assert here == pytest.approx(room.max(), abs=1e-9)
        assert 0.0 <= camera < 360.0
        assert -90.0 <= (g - camera + 180.0) % 360.0 - 180.0 < 90.0
        if stem is EVERY and frame is EVERY:
            assert camera == g


def test_what_is_held_is_kept() -> None:
    """A held camera stays, and a clamped stem goes with the guider."""
    asked = [Asked(EVERY, EVERY)]
    assert (
        best_camera_deg(arc_task(asked, held=Constraints(camera_angle_deg=-30.0)), 77.0, spans.FULL_CIRCLE) == 330.0
    )
    clamped = arc_task(asked, held=Constraints(stem_offset_deg=25.0))
    assert best_camera_deg(clamped, 10.0, spans.FULL_CIRCLE) == 345.0


def test_without_a_guider_the_frames_alone_choose() -> None:
    """Most targets first, then most room; each once for both halves of the circle; a held angle is the only one."""
    wide: Rows = [[0.0, 50.0], [180.0, 230.0]]
    asked = [Asked(wide), Asked(UPRIGHT), Asked(LEVEL)]
    choices = unguided_choices(arc_task(asked, guided=False))
    chosen = [(one.served, one.camera_angle_deg, one.slack_deg) for one in choices]
    assert chosen == [(2, 15, 5), (1, 25, 25), (1, 105, 5)]
    assert [one.arc for one in choices] == [(10, 20), (0, 50), (100, 110)]
    assert {one.guider_angle_deg for one in choices} == {None}
    for held, served in ((15.0, 2), (30.0, 1), (-75.0, 1), (90.0, 0)):
        task = arc_task(asked, held=Constraints(camera_angle_deg=held), guided=False)
        assert unguided_choices(task) == [Choice(held % 360.0, None, served, 0.0, (held, held))]
    spare = replace(task, subjects=tuple(replace(one, required=False) for one in task.subjects))
    assert [one.served for one in unguided_choices(spare)] == [0]


@pytest.mark.parametrize("rotator", [False, True])
def test_a_corner_between_frame_and_shadow_serves(rotator: bool) -> None:
    """A star that only the last of the frame's angles reach, the stem at the shadow, is served at any angle.

    Two crossed lines leave the camera 1 degree, the shadow the stem 93; the star comes on to the sensor 0.2 degrees
    before the end of both, so that nothing keeps the tolerance.
    """
    rig, place = replace(small_rig(stem_radius_mm=18.0), rotator=rotator), (80.0, 30.0)
    rectangle = usable_rectangle(rig)
    half_arc_deg = np.degrees(np.arcsin(rectangle.half_across_mm / 18.0))
    no_stars = FewStars(*np.empty((3, 0)))
    for turn_deg in np.arange(20.0, 180.0, 25.3).tolist():
        lines = [Outline("line", *place, 19.3, 0.01, angle) for angle in (turn_deg, turn_deg + 84.0)]
        wants = [want("one", place, *lines, sides="west")]
        task = ready_task(rig, wants, reaches_for(rig, wants, no_stars), Constraints(), None)
        last_deg = task.subjects[0].free_arcs[0, 1] + task.stem_arcs[-1, 1] - 0.2
        q = np.radians(last_deg + half_arc_deg)
        ra, dec = sky_deg(18.0 * np.sin(q), 18.0 * np.cos(q), *place, 1600.0)
        best = solve(rig, wants, FewStars(*np.array([[ra], [dec], [9.0]])), explain=False).best
        assert best is not None
        assert (best.rings_served, best.frames_served) == (1, 1)
        assert best.slack_deg == pytest.approx(0.2, abs=1e-4)
        camera_deg = best.targets[0].camera_angle_deg
        assert framed_at(wants[0].target, place, np.array([camera_deg]), rig, -1e-4)[0]
        assert shadow_free(np.array([best.stem_offset_deg]), rig)[0]

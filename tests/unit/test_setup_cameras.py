"""The camera angle that goes with a guider angle while pointings may move: against all whole degrees."""

from dataclasses import replace

import numpy as np
import pytest
from tests.strategies.arc_tasks import EVERY, Asked, Rows, arc_task, depth, framed_on, random_question
from tests.strategies.setup import outline_points, plane_of

from sidelight.ground import spans
from sidelight.setup.cameras import CameraRule, shift_arcs
from sidelight.setup.records import Constraints
from sidelight.setup.task import Task
from sidelight.targets.records import Outline

WHOLE = np.arange(360.0)
EITHER: Rows = [[85.0, 94.0], [265.0, 274.0]]
THIN: Rows = [[40.0, 41.0], [220.0, 221.0]]
WIDE: Rows = [[320.0, 400.0], [140.0, 220.0]]
GUIDERS = np.arange(0.0, 360.0, 0.5)


def room_mm(task: Task, index: int, angles_deg: np.ndarray) -> np.ndarray:
    """Return by how much the frame holds a target, by turning points of its outlines."""
    subject, rig = task.subjects[index], task.rig
    focal_mm = rig.telescope.effective_focal_length_mm
    places = plane_of(outline_points(subject.want.target, 2000), subject.pointing_deg, focal_mm)
    border_mm = focal_mm * np.tan(np.radians(rig.tolerances.frame_border_arcmin / 60))
    turned = (places[:, 0] + 1j * places[:, 1]) * np.exp(1j * np.radians(angles_deg))[:, None]
    across = rig.camera.width_mm / 2 - border_mm - np.abs(turned.real).max(axis=1)
    return np.asarray(np.minimum(across, rig.camera.height_mm / 2 - border_mm - np.abs(turned.imag).max(axis=1)))


def merits(task: Task, angles_deg: np.ndarray) -> list[tuple[int, float, float]]:
    """Return for each camera angle: rings of the framed targets, freedom to move (mm), room to turn."""
    framed_rings, freedom, room = (np.zeros(len(angles_deg)) for _ in range(3))
    room += 360.0
    for index, subject in enumerate(task.subjects):
        arcs = spans.FULL_CIRCLE if subject.waived else np.array(subject.frame.arcs, dtype=float).reshape(-1, 2)
        inside = depth(arcs, angles_deg) >= 0
        framed_rings += inside * sum(ring.subject == index for ring in task.needed)
        if subject.required and not subject.waived:
            spare = room_mm(task, index, angles_deg) - subject.shift_mm
            freedom = np.where(inside, np.minimum(freedom, spare), freedom)
            room = np.where(inside, np.minimum(room, depth(arcs, angles_deg)), room)
    rows = zip(framed_rings.astype(int).tolist(), freedom.tolist(), room.tolist(), strict=True)
    return list(rows)


def check_best(task: Task, guiders: np.ndarray) -> None:
    """No whole degree at which the stem keeps the tolerance has more merit, or the limit where none does."""
    rule = CameraRule(task)
    cameras = rule.cameras_deg(guiders)
    every, chosen = merits(task, WHOLE), merits(task, cameras)
    for g, camera, merit in zip(guiders, cameras, chosen, strict=True):
        offset = (g - WHOLE + 180.0) % 360.0 - 180.0
        upper = (offset >= -90.0) & (offset < 90.0)
        for margin in (task.tolerance_deg, 0.0):
            allowed = np.flatnonzero(upper & (depth(task.stem_arcs, offset) >= margin))
            if len(allowed):
                break
        else:
            continue
        here = (g - camera + 180.0) % 360.0 - 180.0
        assert -90.0 <= here < 90.0
        assert depth(task.stem_arcs, np.array(here)) >= margin
        best = max((every[k] for k in allowed), key=lambda one: (one[0], round(one[1], 3), one[2]))
        assert merit[0] >= best[0]
        if merit[0] == best[0]:
            assert merit[1] >= best[1] - 2e-3
            if abs(merit[1] - best[1]) < 1e-6:
                assert merit[2] >= best[2] - 2e-3


@pytest.mark.parametrize("stem", [EITHER, THIN, EVERY, [[350.0, 370.0], [170.0, 190.0]]])
@pytest.mark.parametrize(
    "frames", [[EVERY], [WIDE], [WIDE, [[150.0, 230.0], [330.0, 410.0]]], [WIDE, [[80.0, 90.0]]]]
)
def test_no_whole_degree_is_better(stem: Rows, frames: list[Rows]) -> None:
    """Dots, whose pointings are free: most rings framed, then most room to turn, the stem near the picture's top."""
    check_best(arc_task([Asked(one, EVERY) for one in frames], stem), GUIDERS)


@pytest.mark.parametrize("seed", range(6))
def test_no_whole_degree_is_better_at_random(seed: int) -> None:
    """The same for random arcs, where each target needs one ring or two."""
    check_best(arc_task(*random_question(seed)), GUIDERS[::3])


@pytest.mark.parametrize("granted_mm", [0.5, 2.0])
def test_the_freest_camera_angle_is_taken(granted_mm: float) -> None:
    """Of two outlines that fit at all angles the one with the least room less the granted shift decides."""
    task = arc_task([Asked(EVERY, EVERY), Asked(EVERY, EVERY), Asked(EVERY, EVERY), Asked(EVERY)])
    sizes = [Outline("ellipse", 0.0, 10.0, 11.0, 6.0, 30.0), Outline("line", 20.0, 10.0, 12.0, 0.1, 70.0)]
    sizes += [Outline("huge", 40.0, 10.0, 90.0, 80.0, 0.0), Outline("idle", 60.0, 10.0, 12.5, 0.1, 150.0)]
    subjects = [
        replace(
            subject,
            want=replace(subject.want, target=replace(subject.want.target, outlines=(outline,))),
            shift_mm=granted_mm,
            waived=subject is task.subjects[2],
        )
        for subject, outline in zip(task.subjects, sizes, strict=True)
    ]
    check_best(replace(task, subjects=tuple(subjects)), GUIDERS[::20])


def test_without_limits_it_is_a_whole_degree() -> None:
    """Angles are looked at 1 degree apart; where two targets fit on less than that, the middle is found too."""
    task = arc_task([Asked(EVERY, EVERY)], [[20.0, 30.0], [200.0, 210.0]])
    cameras = CameraRule(task).cameras_deg(GUIDERS)
    assert np.array_equal(cameras, np.round(cameras))
    task = arc_task([Asked([[10.0, 20.3], [190.0, 200.3]], EVERY), Asked([[20.1, 50.0], [200.1, 230.0]], EVERY)])
    assert CameraRule(task).camera_deg(30.0) == pytest.approx(20.2)
    assert CameraRule(task).camera_deg(190.0) == pytest.approx(200.2)


def test_where_the_stem_may_not_stand_the_best_frame_counts() -> None:
    """The stem is allowed only below: nothing is near the picture's top, and the first of the best is named."""
    task = arc_task([Asked(WIDE, EVERY)], [[170.0, 190.0]])
    assert CameraRule(task).camera_deg(50.0) in (0.0, 180.0)


def test_held_angles_and_clamped_stems() -> None:
    """A held camera stays for all g, a clamped stem goes with g; neither depends on frames."""
    asked = [Asked(WIDE, EVERY)]
    held = CameraRule(arc_task(asked, held=Constraints(camera_angle_deg=-30.0, stem_offset_deg=5.0)))
    assert held.cameras_deg(np.array([10.0, 200.0])).tolist() == [330.0, 330.0]
    clamped = CameraRule(arc_task(asked, held=Constraints(stem_offset_deg=25.0)))
    assert clamped.cameras_deg(np.array([10.0, 200.0])).tolist() == [345.0, 175.0]
    assert clamped.camera_deg(10.0) == 345.0
    for rule in (held, clamped):
        assert rule.steady(np.array([10.0, 200.0]), 3.0).all()


@pytest.mark.parametrize("stem", [EITHER, EVERY, [[350.0, 370.0], [170.0, 190.0]]])
@pytest.mark.parametrize("half_deg", [0.3, 2.0])
def test_steady_where_the_same_camera_angle_stays(stem: Rows, half_deg: float) -> None:
    """Steady exactly where the ends of the stretch have the same camera angle as its middle, or the opposite one."""
    rule = CameraRule(arc_task([Asked([[10.0, 12.0], [190.0, 192.0]], EVERY), Asked(WIDE, EVERY)], stem))
    steady = rule.steady(GUIDERS, half_deg)
    cameras = {turn: rule.cameras_deg(GUIDERS + turn) for turn in (-half_deg, 0.0, half_deg)}
    same = [np.round(cameras[turn] - cameras[0.0], 6) % 180.0 == 0 for turn in (-half_deg, half_deg)]
    assert np.array_equal(steady, same[0] & same[1])
    assert steady.any()
    assert rule.steady(GUIDERS, 0.0).all()
    assert stem is EVERY or not steady.all()


def test_what_may_be_framed_nearby() -> None:
    """With the stem clamped, what some g within the stretch frames; held, what that angle does; else every set."""
    asked = [
        Asked([[350.0, 365.0], [170.0, 185.0]], EVERY),
        Asked([[100.0, 110.0], [280.0, 290.0]], EVERY),
        Asked([], EVERY),
    ]
    clamped = CameraRule(arc_task(asked, held=Constraints(stem_offset_deg=25.0)))
    for half_deg in (0.0, 0.75, 4.0):
        found = clamped.framed_near(GUIDERS, half_deg)
        near = GUIDERS[:, None] - 25.0 + np.linspace(-half_deg, half_deg, 65)
        expected = [(depth(spans.arcs(one.camera), near) >= 0).any(axis=1) for one in asked]
        assert np.array_equal(found, np.array(expected).T[:, None, :])
    held = CameraRule(arc_task(asked, held=Constraints(camera_angle_deg=285.0)))
    assert held.framed_near(GUIDERS, 30.0).tolist() == [[[False, True, False]]]
    free = CameraRule(arc_task(asked))
    sets = {tuple(one) for one in free.framed_near(GUIDERS, 1.0)[0].tolist()}
    assert sets == {(True, False, False), (False, True, False), (False, False, False)}


def test_arcs_with_the_shift() -> None:
    """The angles at which a target fits with its shift; all for what is too large anyway."""
    subject = arc_task([Asked(WIDE, EVERY)]).subjects[0]
    assert shift_arcs(subject) == pytest.approx(spans.arcs(WIDE))
    assert shift_arcs(replace(subject, waived=True)) == pytest.approx(spans.FULL_CIRCLE)
    assert shift_arcs(replace(subject, frame=framed_on(subject.frame, []))).shape == (0, 2)

"""Set-ups that move pointings, with one star each: which target moves, how far, and what stays as it was."""

from dataclasses import replace

import numpy as np
import pytest
from tests.strategies.setup import FewStars, small_rig, want

from sidelight.rig.guider import usable_rectangle
from sidelight.rig.optics import sky_deg
from sidelight.setup.candidates import resting_setups
from sidelight.setup.moving import may_move, moved_setup
from sidelight.setup.records import Constraints, SetUp, SideNeed, Want
from sidelight.setup.solve import ready_task
from sidelight.setup.task import Task, reaches_for
from sidelight.targets.records import Outline

FOCAL_MM, STEM_MM = 1600.0, 18.0
RIG = small_rig(focal_mm=FOCAL_MM, stem_radius_mm=STEM_MM)
SENSOR = usable_rectangle(RIG)
FAR_MM = STEM_MM + SENSOR.half_along_mm
GRANTED = Constraints(grant_shift_arcmin=5.0)
TO_ARCMIN = 0.01
"""Shifts are the least to within that."""
Star = tuple[tuple[float, float], float, float]


def sky_of(*stars: Star) -> FewStars:
    """Return stars given by their target's place, distance in the focal plane (mm) and position angle there."""
    at = [
        sky_deg(rho_mm * np.sin(np.radians(q_deg)), rho_mm * np.cos(np.radians(q_deg)), *place, FOCAL_MM)
        for place, rho_mm, q_deg in stars
    ]
    ra, dec = np.array(at, dtype=float).T
    return FewStars(ra, dec, np.full(len(stars), 8.0))


def task_of(
    wants: list[Want], stars: FewStars, held: Constraints, rotator: bool = False, guided: bool = True
) -> Task:
    """Make a question ready."""
    rig = replace(RIG, rotator=rotator, guider=RIG.guider if guided else None)
    return ready_task(rig, wants, reaches_for(rig, wants, stars), held, None)


def arcmin(mm: float) -> float:
    """Return the angle of a length in the focal plane."""
    return float(np.degrees(np.arctan(mm / FOCAL_MM)) * 60)


def farthest_kept_mm() -> float:
    """Return how far from the axis a star near a corner just stays on the sensor for 1 degree each way."""
    beside = np.radians(np.arange(1.0, 20.0, 0.001))
    turn = np.radians(1.0)
    return float(np.max(np.minimum(FAR_MM / np.cos(beside - turn), SENSOR.half_across_mm / np.sin(beside + turn))))


@pytest.mark.parametrize(
    ("granted_arcmin", "needed", "may"), [(0.0, True, False), (2.0, True, True), (2.0, False, False)]
)
def test_what_may_move(granted_arcmin: float, needed: bool, may: bool) -> None:
    """A pointing may move where a shift is granted to a target that is needed."""
    place = (80.0, 30.0)
    one = want("one", place, shift_allowed_arcmin=granted_arcmin)
    other = replace(want("other", (200.0, 0.0)), sides=(SideNeed("west"),))
    asked = [one if needed else replace(one, sides=(SideNeed("west", False),)), other]
    assert may_move(task_of(asked, sky_of((place, STEM_MM, 0.0)), Constraints())) is may


@pytest.mark.parametrize(
    "held", [Constraints(25.0, 35.0, 5.0), Constraints(25.0, None, 5.0), Constraints(None, 35.0, 5.0)]
)
def test_held_angles_stay_and_the_pointing_moves(held: Constraints) -> None:
    """A star 0.4 mm beyond the sensor's far end at g = 60 is brought in by 0.4 mm, and by less into a corner.

    Where g is free the corner is turned towards it. A target that is not needed stays.
    """
    place = (80.0, 30.0)
    idle = Want(want("idle", (10.0, 0.0)).target, (SideNeed("west", False),))
    task = task_of([want("one", place, sides="west"), idle], sky_of((place, FAR_MM + 0.4, 60.0)), held)
    setup = moved_setup(task, None)
    assert setup is not None
    assert setup.shifts_proved
    assert setup.rings_served == 1
    one, other = setup.targets
    assert other.shift_arcmin == 0.0
    if held.camera_angle_deg is not None:
        assert one.camera_angle_deg == 25.0
    if held.stem_offset_deg is not None:
        assert setup.stem_offset_deg == pytest.approx(35.0, abs=1e-6)
    short_mm = 0.4 if None not in (held.camera_angle_deg, held.stem_offset_deg) else FAR_MM + 0.4 - farthest_kept_mm()
    assert one.shift_arcmin == pytest.approx(arcmin(short_mm), abs=TO_ARCMIN)
    assert setup.shadow_slack_deg >= task.tolerance_deg - 1e-6


def rotating() -> tuple[Task, SetUp]:
    """Return four targets on a rotator and their set-up at rest.

    One is well served; of the next the star is 0.4 mm beyond the sensor; two sides of the third share 1 degree only;
    of the fourth the frame holds two crossed lines, 0.3′ above its middle, for less than a degree to either side.
    """
    good, beyond, tight, aside = ((80.0, 30.0), (140.0, 0.0), (200.0, -20.0), (260.0, 20.0))
    half_deg = float(np.degrees(np.arcsin(SENSOR.half_across_mm / STEM_MM)))
    stars = sky_of(
        (good, STEM_MM, 10.0),
        (beyond, FAR_MM + 0.4, 50.0),
        (tight, STEM_MM, 100.0),
        (tight, STEM_MM, 280.0 + 2 * half_deg - 1.0),
        (aside, STEM_MM, 40.0),
    )
    lines = [Outline("line", aside[0], aside[1] + 0.3 / 60, 18.8, 0.01, angle) for angle in (20.0, 104.0)]
    wants = [
        want("good", good, sides="west"),
        want("beyond", beyond, sides="west"),
        want("tight", tight),
        want("aside", aside, *lines, sides="west"),
    ]
    task = task_of(wants, stars, GRANTED, rotator=True)
    return task, resting_setups(task)[0]


def test_on_a_rotator_each_moves_by_itself() -> None:
    """The stem stays; who is well served stays too, the others are moved or turned until their stars stay."""
    task, rest = rotating()
    assert (rest.rings_served, rest.frames_served) == (4, 4)
    assert 0 < rest.targets[3].frame_slack_deg < 1.0
    moved = moved_setup(task, rest)
    assert moved is not None
    assert moved.shifts_proved
    assert (moved.rings_served, moved.frames_served) == (5, 4)
    assert moved.slack_deg >= task.tolerance_deg
    assert moved.stem_offset_deg == pytest.approx(rest.stem_offset_deg, abs=1e-6)
    by_name = {one.target: one for one in moved.targets}
    assert by_name["good"] == rest.targets[0]
    assert by_name["beyond"].shift_arcmin == pytest.approx(arcmin(FAR_MM + 0.4 - farthest_kept_mm()), abs=TO_ARCMIN)
    assert 0 < by_name["tight"].shift_arcmin < 5.0
    assert by_name["aside"].framed
    assert by_name["aside"] != rest.targets[3]


def test_without_a_guider_shifts_are_the_shortest() -> None:
    """At the camera angle that frames both with shifts, a dot above the frame comes in and the other stays."""
    up = (80.0, 30.0)
    border_mm = RIG.camera.height_mm / 2 - FOCAL_MM * np.tan(np.radians(1.0 / 60))
    above = sky_deg(0.0, border_mm + 0.5, *up, FOCAL_MM)
    dot = Outline("dot", float(above[0]), float(above[1]))
    wants = [want("above", up, dot), want("middle", (200.0, 0.0))]
    task = task_of(wants, sky_of((up, STEM_MM, 0.0)), replace(GRANTED, camera_angle_deg=0.0), guided=False)
    setup = moved_setup(task, None)
    assert setup is not None
    above_place, middle = setup.targets
    assert middle.shift_arcmin == 0.0
    assert setup.frames_served == 2
    assert above_place.shift_arcmin == pytest.approx(arcmin(0.5), abs=0.02)

"""Pointing shifts with every kind of rig: frames that need them, held angles, rotators, no guider."""

import numpy as np
import pytest
from tests.strategies.setup import FewStars, framed_at, lit_at, scattered, small_rig, want

from sidelight.rig.guider import usable_rectangle
from sidelight.rig.records import Rig
from sidelight.setup.records import Constraints, SetUp, Want
from sidelight.setup.solve import solve
from sidelight.targets.records import Outline

PLACES = [(80.0, 30.0), (200.0, -20.0)]


def question(**rig: bool | float) -> tuple[Rig, list[Want], FewStars]:
    """Make two targets of which one is cut off unless its pointing moves, and many stars."""
    random = np.random.default_rng(11)
    stars = FewStars(*np.concatenate([scattered(random, place, 160, 1.3) for place in PLACES], axis=1))
    aside = Outline("aside", PLACES[0][0], PLACES[0][1] + 0.28, 9.0, 5.0, 90.0)
    return small_rig(**rig), [want("aside", PLACES[0], aside), want("other", PLACES[1])], stars


def check(rig: Rig, wants: list[Want], stars: FewStars, best: SetUp, granted: float) -> None:
    """Hold frames and stars of a set-up against the sky at its shifted pointings."""
    for one, asked in zip(best.targets, wants, strict=True):
        pointing = one.pointing_ra_deg, one.pointing_dec_deg
        assert one.shift_arcmin <= granted + 1e-6
        assert one.shift_arcmin == pytest.approx(np.hypot(one.shift_east_arcmin, one.shift_north_arcmin), abs=1e-4)
        assert bool(framed_at(asked.target, pointing, np.array([one.camera_angle_deg]), rig, -0.001)[0]) == one.framed
        for place in (place for place in best.places if place.target == one.target):
            angle = np.array([one.guider_angle_deg])
            lit = lit_at((stars.ra_deg, stars.dec_deg), pointing, place.side, angle, rig, usable_rectangle(rig))
            assert bool(lit[0]) == (place.star is not None)


@pytest.mark.parametrize(
    ("rig", "held"),
    [
        ({}, Constraints()),
        ({}, Constraints(camera_angle_deg=20.0)),
        ({}, Constraints(stem_offset_deg=0.0)),
        ({"rotator": True}, Constraints()),
        ({"rotator": True}, Constraints(camera_angle_deg=20.0)),
        ({"kind": "fork"}, Constraints()),
    ],
)
def test_a_shift_brings_a_target_into_the_frame(rig: dict[str, bool], held: Constraints) -> None:
    """Without a grant the target is cut off or binds the camera; with one all is served and stands a re-check."""
    asked = question(**rig)
    granted = Constraints(held.camera_angle_deg, held.stem_offset_deg, 12.0)
    without = solve(*asked, held, explain=False).best
    with_it = solve(*asked, granted, explain=False)
    assert with_it.best is not None
    assert without is not None
    check(*asked, with_it.best, 12.0)
    check(*asked, without, 0.0)
    assert with_it.best.rings_served == with_it.best.rings_needed
    assert with_it.best.frames_served == 2
    assert not all(one.framed for one in without.targets)
    assert with_it.best.largest_shift_arcmin > 0


def test_without_a_guider_shifts_serve_the_frame_alone() -> None:
    """Framing only: the shortest shift that brings the outline in is taken, and none where none is needed."""
    rig, wants, stars = question(guided=False)
    held = Constraints(camera_angle_deg=90.0)
    without = solve(rig, wants, stars, held).best
    with_it = solve(rig, wants, stars, Constraints(camera_angle_deg=90.0, grant_shift_arcmin=15.0)).best
    assert without is not None
    assert with_it is not None
    assert (without.frames_served, with_it.frames_served) == (1, 2)
    aside, other = with_it.targets
    assert other.shift_arcmin == 0
    assert 0 < aside.shift_arcmin < 15.0
    shorter = aside.pointing_ra_deg, aside.pointing_dec_deg - 0.002
    assert framed_at(wants[0].target, (aside.pointing_ra_deg, aside.pointing_dec_deg), np.array([90.0]), rig, -0.001)[
        0
    ]
    assert not framed_at(wants[0].target, shorter, np.array([90.0]), rig)[0]


def test_a_rotator_without_a_guider_frames_each_by_itself() -> None:
    """Each target has its own camera angle, in the middle of its own widest arc."""
    rig = small_rig(guided=False, rotator=True)
    long = [
        want(f"long {k}", place, Outline("long", *place, 20.0, 2.0, 30.0 + 90.0 * k))
        for k, place in enumerate(PLACES)
    ]
    still = solve(small_rig(guided=False), long, FewStars(*np.empty((3, 0))))
    turning = solve(rig, long, FewStars(*np.empty((3, 0))))
    assert turning.best is not None
    assert still.best is not None
    assert turning.best.camera_angle_deg is None
    assert (still.best.frames_served, turning.best.frames_served) == (1, 2)
    assert len(still.smallest_cover) == 2
    assert turning.share_of_angles == 1.0
    assert turning.outcome == "serves_all"

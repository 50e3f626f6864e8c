"""Laws of joint solutions: they serve what they say, nothing on a grid beats them, and shares are measured shares."""

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from tests.strategies.setup import FewStars, framed_at, lit_at, on_sensor, plane_of, questions, seeds

from sidelight.ground import spans
from sidelight.rig.guider import usable_rectangle
from sidelight.rig.records import Rig
from sidelight.rig.shadow import shadow_free
from sidelight.setup.records import Constraints, GuidePlace, SetUp, Solution, Want
from sidelight.setup.solve import solve

few = settings(max_examples=25, deadline=None)
Question = tuple[Rig, list[Want], FewStars]
NEAR_DEG = 1e-4


def lit_for(question: Question, place: GuidePlace, angles: np.ndarray) -> np.ndarray:
    """Tell for each g whether the ring of a place is lit, by turning stars into the sensor's frame."""
    rig, _, stars = question
    pointing = place.pointing_ra_deg, place.pointing_dec_deg
    return lit_at((stars.ra_deg, stars.dec_deg), pointing, place.side, angles, rig, usable_rectangle(rig))


def check_served(question: Question, setup: SetUp) -> None:
    """Hold every star, slack and frame of a set-up against the sky."""
    rig, wants, _ = question
    rectangle = usable_rectangle(rig)
    by_key = {want.target.key: want.target for want in wants}
    stands = {one.target: one for one in setup.targets}
    served = []
    for place in setup.places:
        g = stands[place.target].guider_angle_deg
        assert g is not None
        assert (place.star is not None) == bool(lit_for(question, place, np.array([g]))[0])
        if place.star is None:
            continue
        star = np.array([[place.star.ra_deg], [place.star.dec_deg]])
        at = plane_of(
            (star[0], star[1]), (place.pointing_ra_deg, place.pointing_dec_deg), rig.telescope.focal_length_mm
        )
        turn = 180.0 if place.side == "east" else 0.0
        assert on_sensor(at, np.array([g + turn]), rectangle)[0, 0]
        inside = np.linspace(-1, 1, 41) * (place.slack_deg - NEAR_DEG)
        assert lit_for(question, place, g + inside).all()
        if place.slack_deg < 180.0:
            assert not lit_for(question, place, g + np.array([-1, 1]) * (place.slack_deg + NEAR_DEG)).all()
        assert place.star_slack_deg <= place.slack_deg + 1e-9
        one = stands[place.target]
        if place.needed and (one.framed or one.frame_waived):
            served.append(place.slack_deg)
    assert setup.rings_served == len(served)
    assert setup.slack_deg == (min(served) if served else 0.0)
    for one in setup.targets:
        pointing = one.pointing_ra_deg, one.pointing_dec_deg
        if one.framed:
            turned = one.camera_angle_deg + np.linspace(-1, 1, 21) * (one.frame_slack_deg - NEAR_DEG)
            assert framed_at(by_key[one.target], pointing, turned, rig, -0.01).all()
    theta = (setup.stem_offset_deg or 0.0) + np.linspace(-1, 1, 21) * (setup.shadow_slack_deg - NEAR_DEG)
    if setup.shadow_slack_deg > NEAR_DEG:
        assert shadow_free(theta, rig).all()


@settings(max_examples=12, deadline=None)
@given(questions())
def test_set_ups_serve_what_they_say(question: Question) -> None:
    """Stars, slacks, frames and counts of the best, the next best and every member of a cover stand a re-check."""
    solution = solve(question[0], question[1], question[2])
    assert solution.best is not None
    for setup in (solution.best, *solution.next_best):
        check_served(question, setup)
    ranks = [one.rings_served for one in (solution.best, *solution.next_best)]
    assert ranks == sorted(ranks, reverse=True)


def grid_counts(question: Question, solution: Solution, g: np.ndarray, p: np.ndarray) -> np.ndarray:
    """Return (g, p): how many needed rings are served, by brute force; −1 where the prism's shadow falls."""
    rig, wants, _ = question
    waived = {one.target for one in solution.frames if not one.fits}
    total = np.zeros((len(g), len(p)), dtype=int)
    for want in wants:
        target = want.target
        framed = framed_at(target, (target.ra_deg, target.dec_deg), p, rig, 0.01) | (target.key in waived)
        for place in (one for one in solution.best.places if one.target == target.key and one.needed):
            total += lit_for(question, place, g)[:, None] & framed
    return np.where(shadow_free(g[:, None] - p, rig), total, -1)


@few
@given(questions(), seeds)
def test_no_pair_of_angles_serves_more(question: Question, seed: int) -> None:
    """Among thousands of camera and guider angles none serves more rings, and none as many with more slack."""
    random = np.random.default_rng(seed)
    solution = solve(question[0], question[1], question[2], explain=False)
    best = solution.best
    assert best is not None
    g = np.concatenate([np.arange(0.0, 360.0, 3.0), random.uniform(0, 360, 60)])
    p = np.concatenate([np.arange(0.0, 180.0, 12.0), random.uniform(0, 180, 6)])
    counts = grid_counts(question, solution, g, p)
    assert counts.max() <= best.rings_served
    if best.recommended and best.rings_served == best.rings_needed:
        lit = [ring.lit for ring in solution.rings if ring.needed]
        slack = np.min([spans.arcs_slack(one, g) for one in lit], axis=0)
        firm = shadow_free(g[:, None] - p + 1.0, question[0]) & shadow_free(g[:, None] - p - 1.0, question[0])
        targets = [want.target for want in question[1]]
        for turn in (-1.0, 0.0, 1.0):
            for target in targets:
                if target.key not in {one.target for one in solution.frames if not one.fits}:
                    firm &= framed_at(target, (target.ra_deg, target.dec_deg), p + turn, question[0], 0.01)
        full = firm & (counts == best.rings_needed)
        assert np.max(np.where(full, slack[:, None], 0.0)) <= best.slack_deg + 1e-6


@few
@given(questions(), seeds)
def test_the_share_is_the_share_that_sampling_finds(question: Question, seed: int) -> None:
    """The share of g that serves everything is within a sample's error of the share of sampled g that do."""
    solution = solve(question[0], question[1], question[2], explain=False)
    assert solution.best is not None
    g = (np.arange(720) + np.random.default_rng(seed).uniform()) / 2
    counts = grid_counts(question, solution, g, np.arange(0.0, 180.0, 1.0)).max(axis=1)
    needed = [place for place in solution.best.places if place.needed]
    framed = np.ones(len(g), dtype=bool)
    assume(all(one.fits for one in solution.frames))
    measured = float(np.mean((counts == len(needed)) & framed))
    # sampled p may miss a narrow pair of frame and shadow limits, but never finds too much but for an arc's ends
    ends = 2 * sum(len(ring.lit) for ring in solution.rings) + 8
    assert measured <= solution.share_of_angles + ends / 720
    if solution.best.recommended:
        assert measured >= solution.share_of_angles - ends / 720
        assert solution.share_of_angles > 0


@few
@given(questions(), st.floats(0.0, 359.9), st.floats(-180.0, 179.9))
def test_held_angles_are_held(question: Question, camera: float, stem: float) -> None:
    """A fixed camera angle and a clamped stem stay, in every set-up of the answer, and so do the sky's facts."""
    for held in (
        Constraints(camera_angle_deg=camera),
        Constraints(stem_offset_deg=stem),
        Constraints(camera_angle_deg=camera, stem_offset_deg=stem),
    ):
        solution = solve(question[0], question[1], question[2], held, explain=False)
        assert solution.best is not None
        for setup in (solution.best, *solution.next_best):
            if held.camera_angle_deg is not None:
                assert abs((setup.camera_angle_deg - camera + 180.0) % 360.0 - 180.0) < 1e-6
            if held.stem_offset_deg is not None:
                assert abs((setup.stem_offset_deg - stem + 180.0) % 360.0 - 180.0) < 1e-6
        check_served(question, solution.best)


@few
@given(questions(), st.floats(0.0, 360.0))
def test_more_freedom_never_serves_less(question: Question, camera: float) -> None:
    """A held camera serves no more rings than a free one, and a wish less to serve leaves no more unserved."""
    rig, wants, stars = question
    free = solve(rig, wants, stars, explain=False)
    held = solve(rig, wants, stars, Constraints(camera_angle_deg=camera), explain=False)
    fewer = solve(rig, wants, stars, Constraints(leave_out=(wants[0].target.key,)), explain=False)
    assert free.best is not None
    assert held.best is not None
    assert held.best.rings_served <= free.best.rings_served
    assert held.share_of_angles <= free.share_of_angles + 1e-9
    if fewer.best is not None:
        assert fewer.best.rings_needed - fewer.best.rings_served <= free.best.rings_needed - free.best.rings_served

"""Laws of set-ups with a rotator: one stem offset for all, a camera angle for each, nothing on a grid beats them."""

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from tests.strategies.setup import FewStars, framed_at, lit_at, questions, rings_needed, rings_of_the_cover

from sidelight.rig.guider import usable_rectangle
from sidelight.rig.records import Rig
from sidelight.rig.shadow import shadow_free
from sidelight.setup.records import Constraints, Want
from sidelight.setup.solve import solve

few = settings(max_examples=15, deadline=None)


@few
@given(questions(3))
def test_no_stem_offset_serves_more(question: tuple[Rig, list[Want], FewStars]) -> None:
    """Every target keeps the stem's offset, is served as said, and no sampled θ with free p serves more rings."""
    rig, wants, stars = replace(question[0], rotator=True), question[1], question[2]
    solution = solve(rig, wants, stars, explain=False)
    best = solution.best
    assert best is not None
    assert best.stem_offset_deg is not None
    rectangle, seen = usable_rectangle(rig), (stars.ra_deg, stars.dec_deg)
    for one in best.targets:
        offset = (one.guider_angle_deg or 0.0) - one.camera_angle_deg - best.stem_offset_deg
        assert abs((offset + 180.0) % 360.0 - 180.0) < 1e-6
        pointing = one.pointing_ra_deg, one.pointing_dec_deg
        for place in (place for place in best.places if place.target == one.target):
            lit = lit_at(seen, pointing, place.side, np.array([one.guider_angle_deg]), rig, rectangle)
            assert bool(lit[0]) == (place.star is not None)
    waived = {frame.target for frame in solution.frames if not frame.fits}
    theta, p = np.arange(0.0, 360.0, 15.0), np.arange(0.0, 360.0, 5.0)
    served = np.zeros(len(theta), dtype=int)
    for one in wants:
        pointing = one.target.ra_deg, one.target.dec_deg
        framed = framed_at(one.target, pointing, p, rig, 0.01) | (one.target.key in waived)
        count = np.zeros((len(theta), len(p)), dtype=int)
        for place in (place for place in best.places if place.target == one.target.key and place.needed):
            lit = lit_at(seen, pointing, place.side, (theta[:, None] + p).ravel(), rig, rectangle)
            count += lit.reshape(count.shape) & framed
        served += count.max(axis=1)
    assert served[shadow_free(theta, rig)].max(initial=0) <= best.rings_served


@few
@given(questions(3))
def test_a_rotator_never_serves_less(question: tuple[Rig, list[Want], FewStars]) -> None:
    """Turning for each target serves at least what one angle for all does; held still, it is like no rotator."""
    rig, wants, stars = question
    turning = replace(rig, rotator=True)
    still = Constraints(camera_angle_deg=37.0)
    with_it, without = (solve(one, wants, stars, explain=False).best for one in (turning, rig))
    assert with_it is not None
    assert without is not None
    assert with_it.rings_served >= without.rings_served
    assert solve(turning, wants, stars, still, explain=False) == solve(rig, wants, stars, still, explain=False)


@few
@given(questions(3))
def test_covers_with_a_rotator_serve_every_ring(question: tuple[Rig, list[Want], FewStars]) -> None:
    """With a rotator too the set-ups of a cover serve between them every ring that any angle lights."""
    rig, wants, stars = replace(question[0], rotator=True), question[1], question[2]
    solution = solve(rig, wants, stars)
    if not solution.smallest_cover:
        return
    assert rings_of_the_cover(solution) | set(solution.cover_leaves_out) == rings_needed(solution)

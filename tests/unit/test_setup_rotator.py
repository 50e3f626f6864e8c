"""One stem offset for all and a camera angle for each, from arcs alone: against a fine grid and cases by hand."""

import itertools

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

from sidelight.ground import spans
from sidelight.setup.place import Pose
from sidelight.setup.records import Constraints
from sidelight.setup.rotator import most_slack, share_of_stems, stem_choices, stem_options
from sidelight.setup.task import Task

HELD = [Constraints(), Constraints(stem_offset_deg=-35.5)]
TO_DEG = 1e-4
"""Slacks are the largest to within that."""
HAIR_DEG = 1e-6
NARROW: Rows = [[10.0, 12.0], [190.0, 192.0]]


def stems(task: Task) -> np.ndarray:
    """Return the stem offsets of the grid."""
    held = task.constraints.stem_offset_deg
    return MIDDLES if held is None else np.array([held])


def counts_of(task: Task, index: int, theta: np.ndarray, margin_deg: float) -> np.ndarray:
    """Return (θ, p): how many needed rings of one target each pair of angles of the grid serves."""
    p = OPEN
    framed = depth(task.subjects[index].camera_arcs, p) > margin_deg
    own = [ring.lit for ring in task.needed if ring.subject == index]
    return np.sum([(depth(lit, theta[:, None] + p) > 0) & framed for lit in own], axis=0)


def slack_of(task: Task, index: int, theta_deg: float, rings: tuple[int, ...], margin_deg: float) -> float:
    """Return the most slack that some camera angle gives these rings of one target at one stem offset."""
    p = CLOSED
    framed = depth(task.subjects[index].camera_arcs, p) >= margin_deg
    slack = np.min([depth(task.needed[k].lit, theta_deg + p) for k in rings], axis=0)
    return float(np.max(np.where(framed, slack, -1.0)))


def worst_at(task: Task, poses: list[Pose], margin_deg: float) -> tuple[int, float]:
    """Return how many rings poses serve, and the least slack of a target's served rings."""
    served, worst = 0, 180.0
    for index, pose in enumerate(poses):
        assert pose.guider_angle_deg is not None
        framed = float(depth(task.subjects[index].camera_arcs, np.array(pose.camera_angle_deg)))
        lit = [float(depth(one.lit, np.array(pose.guider_angle_deg))) for one in task.needed if one.subject == index]
        slacks = [one for one in lit if one > 0 and framed >= margin_deg - HAIR_DEG]
        served += len(slacks)
        worst = min(worst, *slacks) if slacks else worst
    return served, worst


@pytest.mark.parametrize("held", HELD)
@pytest.mark.parametrize("margin_deg", [0.0, 2.0])
def test_no_stem_offset_on_a_fine_grid_does_better(held: Constraints, margin_deg: float) -> None:
    """The first choice serves as many rings as any θ of the grid; with one target, with as much slack as any."""
    some = 0
    for seed in range(24 if held.stem_offset_deg else 10):
        asked, stem = random_question(seed, most=3 if seed % 2 else 1)
        task = arc_task(asked, stem, held, rotator=True)
        theta = stems(task)
        counts = [counts_of(task, index, theta, margin_deg).max(axis=1) for index in range(len(asked))]
        total = np.where(stem_allowed(task, theta, margin_deg), np.sum(counts, axis=0), 0)
        choices = stem_choices(task, margin_deg)
        if not total.max():
            assert not choices
            continue
        some += 1
        stem_deg, poses = choices[0]
        assert stem_allowed(task, np.array(stem_deg), margin_deg - HAIR_DEG, ends=True)
        assert all(one.guider_angle_deg == one.camera_angle_deg + stem_deg for one in poses)
        served, worst = worst_at(task, poses, margin_deg)
        assert served == total.max()
        if held.stem_offset_deg is None:
            assert worst == pytest.approx(best_worst(task, theta, total, margin_deg), abs=2 * TO_DEG)
    assert some > 4


def best_worst(task: Task, theta: np.ndarray, total: np.ndarray, margin_deg: float) -> float:
    """Return the largest least slack of the targets among stem offsets that serve the most rings."""
    cells = np.flatnonzero(total == total.max())
    best = -1.0
    for cell in cells:
        ways = [ways_at(task, index, theta[cell], margin_deg) for index in range(len(task.subjects))]
        ways = [one for one in ways if one]
        for end in (theta[cell] - 0.5, theta[cell], theta[cell] + 0.5):
            worst = min(
                max(slack_of(task, task.needed[rings[0]].subject, end, rings, margin_deg) for rings in several)
                for several in ways
            )
            best = max(best, worst)
    return best


def ways_at(task: Task, index: int, theta_deg: float, margin_deg: float) -> list[tuple[int, ...]]:
    """Return the largest sets of one target's rings that some camera angle serves together at one stem offset."""
    own = tuple(k for k, ring in enumerate(task.needed) if ring.subject == index)
    p = OPEN
    framed = depth(task.subjects[index].camera_arcs, p) > margin_deg
    for size in range(len(own), 0, -1):
        sets = [
            rings
            for rings in itertools.combinations(own, size)
            if np.any(framed & np.all([depth(task.needed[k].lit, theta_deg + p) > 0 for k in rings], axis=0))
        ]
        if sets:
            return sets
    return []


@pytest.mark.parametrize("held", HELD)
def test_the_share_of_stems_is_what_a_grid_measures(held: Constraints) -> None:
    """The part of θ that serves every ring and frame, each target at its own camera angle."""
    some = 0
    for seed in range(40):
        asked, stem = random_question(seed, most=2)
        task = arc_task(asked, stem, held, rotator=True)
        theta = stems(task)
        full = stem_allowed(task, theta, 0.0)
        for index in range(len(asked)):
            needs = sum(ring.subject == index for ring in task.needed)
            full &= counts_of(task, index, theta, 0.0).max(axis=1) == needs
        if held.stem_offset_deg is None:
            assert share_of_stems(task) == pytest.approx(float(np.mean(full)), abs=1e-9)
        else:
            assert (share_of_stems(task) > 0) == full[0]
        some += bool(full.any())
    assert some > 3


def test_one_ring_worked_out_by_hand() -> None:
    """Framed at 10 to 12 and lit at 50 to 60, the stem between 45 and 47 only: θ = 45 gives g = 55 for p = 10.

    No stem offset outside is taken although nothing else would be lost, and half a turn of the camera is as good.
    """
    task = arc_task([Asked(NARROW, [[50.0, 60.0]])], [[45.0, 47.0]], rotator=True)
    [(stem_deg, [pose])] = stem_choices(task, 0.0)
    assert 45.0 - HAIR_DEG <= stem_deg <= 45.0 + TO_DEG
    assert pose.guider_angle_deg == pytest.approx(55.0, abs=TO_DEG)
    assert share_of_stems(task) == pytest.approx(2.0 / 360.0)
    assert stem_choices(arc_task([Asked(NARROW, [[50.0, 60.0]])], [[60.0, 70.0]], rotator=True), 0.0) == []


def test_the_worst_target_has_most_slack() -> None:
    """Framed at 10 to 12 and lit at 50 to 70 and at 59 to 69: the second one's middle, 64, is the limit, 5 degrees.

    It asks for θ of 52 to 54; there the first one, at g = 62 to 66, has more.
    """
    asked = [Asked(NARROW, [[50.0, 70.0]]), Asked(NARROW, [[59.0, 69.0]])]
    options = stem_options(arc_task(asked, rotator=True), 0.0)
    stem_deg, slack_deg = most_slack(options, spans.arcs([[0.0, 180.0]]))
    assert 5.0 - TO_DEG <= slack_deg <= 5.0
    assert 52.0 - TO_DEG <= stem_deg <= 54.0 + TO_DEG


def test_the_slack_asked_of_two_may_be_between_their_middles() -> None:
    """Framed at 0 to 2, lit at 40 to 60 and 52 to 72: middles 12 apart, of which the frame gives 2, cost 5 of 10."""
    point: Rows = [[0.0, 2.0], [180.0, 182.0]]
    asked = [Asked(point, [[40.0, 60.0]]), Asked(point, [[52.0, 72.0]])]
    options = stem_options(arc_task(asked, rotator=True), 0.0)
    stem_deg, slack_deg = most_slack(options, spans.arcs([[0.0, 180.0]]))
    assert 5.0 - TO_DEG <= slack_deg <= 5.0
    assert stem_deg == pytest.approx(55.0, abs=TO_DEG)


def test_where_nothing_limits_the_slack_is_half_a_turn() -> None:
    """Rings lit at every angle leave 180 degrees, the most there is."""
    options = stem_options(arc_task([Asked(EVERY, EVERY)], rotator=True), 0.0)
    assert 180.0 - TO_DEG <= most_slack(options, spans.FULL_CIRCLE)[1] <= 180.0

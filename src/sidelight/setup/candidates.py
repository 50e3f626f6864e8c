"""Candidate set-ups of a question, described and ranked: rings served, sound stars, slack, star brightness."""

import math

from sidelight.ground.angles import turn_deg
from sidelight.setup.arcwork import roomiest
from sidelight.setup.joint import MOST_CHOICES, guided_choices, most_together, share_of_angles, unguided_choices
from sidelight.setup.moving import may_move, moved_setup
from sidelight.setup.place import Pose, describe
from sidelight.setup.records import SetUp
from sidelight.setup.rotator import share_of_stems, stem_choices
from sidelight.setup.task import Task

TWIN_DEG = 1e-3
EDGE_DEG = 1e-6
"""On the edge of frame and shadow by so much inside, so that rounding does not put it out."""
GAUGE_DECIMALS = 1
"""Slacks that differ by less than a gauge shows (0.1°) count as equal, and the brighter stars decide."""


def rank(setup: SetUp) -> tuple[float, ...]:
    """Return a sort key, best first."""
    limit = (
        setup.slack_deg if setup.recommended else min(setup.slack_deg, setup.frame_slack_deg, setup.shadow_slack_deg)
    )
    faintest = math.inf if setup.faintest_star_mag is None else setup.faintest_star_mag
    return (
        -setup.rings_served,
        -setup.frames_served,
        not setup.recommended,
        setup.doubtful_stars_count,
        -round(limit, GAUGE_DECIMALS),
        setup.largest_shift_arcmin,
        faintest,
    )


def complete(setup: SetUp) -> bool:
    """Tell whether a set-up serves every needed ring and frame."""
    return setup.rings_served == setup.rings_needed and setup.frames_served == setup.frames_needed


def resting_setups(task: Task, most: int = MOST_CHOICES) -> list[SetUp]:
    """Return the best set-ups on different arcs with every target as it is pointed, best first.

    First those whose frame and stem keep the tolerance; if none of them serves everything, those on the edge as well.
    """
    found: list[SetUp] = []
    for margin_deg in (max(task.tolerance_deg, EDGE_DEG), EDGE_DEG):
        found += [describe(task, poses) for poses in _poses(task, margin_deg, most)]
        if any(complete(one) for one in found) or not _margin_matters(task, found):
            break
    if not any(one.rings_served for one in found) and task.guided:
        found += [describe(task, poses) for poses in _framing_only(task)]
    return without_twins(sorted(found, key=rank))


def best_setups(task: Task) -> list[SetUp]:
    """Return the best set-ups, best first, with pointings moved only when that is granted and resting does not do."""
    found = resting_setups(task)
    if may_move(task) and not (found and found[0].recommended):
        moved = moved_setup(task, found[0] if found else None)
        if moved is not None:
            found = sorted([*found, moved], key=rank)
    return without_twins(found)


def share(task: Task) -> float:
    """Return the share of angles that serves everything at rest: of θ with a rotator, else of g, or p unguided."""
    if not task.turning:
        return share_of_angles(task)
    if task.guided:
        return share_of_stems(task)
    framed = all(len(subject.camera_arcs) for subject in task.subjects if subject.required)
    return 1.0 if framed else 0.0


def _margin_matters(task: Task, found: list[SetUp]) -> bool:
    """Tell whether more could be served nearer to the frame's and the shadow's limits than what was found."""
    if not task.guided or not task.needed:
        return False
    served = max((one.rings_served for one in found), default=0)
    return task.turning or served < most_together(task)


def _poses(task: Task, margin_deg: float, most: int) -> list[list[Pose]]:
    """Return the poses of every candidate."""
    number = len(task.subjects)
    if task.guided and task.turning:
        return [poses for _, poses in stem_choices(task, margin_deg)][:most]
    if task.guided:
        return [
            [Pose(choice.camera_angle_deg, choice.guider_angle_deg)] * number
            for choice in guided_choices(task, margin_deg, most)
        ]
    if task.turning:
        arcs = [subject.camera_arcs for subject in task.subjects]
        return [[Pose(roomiest(one) if len(one) else 0.0, None) for one in arcs]]
    return [[Pose(choice.camera_angle_deg, None)] * number for choice in unguided_choices(task)]


def _framing_only(task: Task) -> list[list[Pose]]:
    """Return poses for a guider that finds no star at all: the best frames, the stem where it throws no shadow."""
    stem_deg = roomiest(task.fixed_stem)
    return [
        [Pose(choice.camera_angle_deg, choice.camera_angle_deg + stem_deg)] * len(task.subjects)
        for choice in unguided_choices(task)[:1]
    ]


def without_twins(setups: list[SetUp]) -> list[SetUp]:
    """Return the set-ups without those that repeat an earlier one, or repeat it turned by half a turn."""
    kept: list[SetUp] = []
    for one in setups:
        if not any(_twins(one, other) for other in kept):
            kept.append(one)
    return kept


def _twins(one: SetUp, other: SetUp) -> bool:
    """Tell whether two set-ups are the same to a thousandth of a degree, or turned by half a turn serve the same."""
    if (one.rings_served, one.frames_served) != (other.rings_served, other.frames_served):
        return False
    if (
        abs(one.slack_deg - other.slack_deg) > TWIN_DEG
        or abs(one.largest_shift_arcmin - other.largest_shift_arcmin) > TWIN_DEG
    ):
        return False
    return all(
        _apart_deg(mine.guider_angle_deg or 0.0, its.guider_angle_deg or 0.0) < TWIN_DEG
        and _apart_deg(mine.camera_angle_deg, its.camera_angle_deg) < TWIN_DEG
        for mine, its in zip(one.targets, other.targets, strict=True)
    )


def _apart_deg(one_deg: float, other_deg: float) -> float:
    """Return how far two angles are apart when half a turn counts as nothing."""
    turn = abs(float(turn_deg(one_deg, other_deg)))
    return min(turn, 180.0 - turn)
